"""What a sitting asks, one thing at a time: what was made, ideas, what is missing, next year."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum

from django.db.models import Max, Prefetch, Q, QuerySet
from django.db.models.functions import Coalesce

from jobs.makes.lookback.actions import LOOKED_AT
from jobs.makes.models import ClothPlan, Gap, Hope, Judgement, Look, Make, MakeState, Sitting
from jobs.makes.year.seasons import Season, seasons_of
from studio.shop import clock
from studio.shop.look.garments import drawing_of

MOST_DIGITS = 14
USUAL_WHYS = ("Fits", "Too full", "Colour", "Reached for it", "Nothing goes with it", "Mended")
KIND_OF_DRAWING = {
    "shirt": Gap.Kind.TOP, "knit": Gap.Kind.TOP,
    "jeans": Gap.Kind.TROUSERS, "trousers": Gap.Kind.TROUSERS, "shorts": Gap.Kind.TROUSERS,
    "skirt": Gap.Kind.SKIRT,
    "dress": Gap.Kind.DRESS, "gown": Gap.Kind.DRESS, "jumpsuit": Gap.Kind.DRESS,
    "coat": Gap.Kind.OVER, "jacket": Gap.Kind.OVER, "waistcoat": Gap.Kind.OVER,
}  # fmt: skip
DAYS_OF_SEASON = {
    Make.Season.WINTER: Gap.Days.COLD,
    Make.Season.SPRING: Gap.Days.MILD,
    Make.Season.AUTUMN: Gap.Days.MILD,
    Make.Season.SUMMER: Gap.Days.HOT,
}


class Act(StrEnum):
    MADE = "made"
    IDEAS = "ideas"
    GAPS = "gaps"
    PLAN = "plan"


@dataclass(frozen=True)
class Queue:
    """The things of an act in their order, by key, and which of them were answered already."""

    keys: list[int]
    answered: set[int]

    def at(self, asked: int | None) -> int | None:
        """The one that is asked for, else the first without an answer; None when all have one."""
        if asked in self.keys:
            return asked
        return next((key for key in self.keys if key not in self.answered), None)

    def after(self, key: int) -> int | None:
        place = self.keys.index(key) + 1
        return self.keys[place] if place < len(self.keys) else None

    def before(self, key: int) -> int | None:
        place = self.keys.index(key)
        return self.keys[place - 1] if place else None

    def place(self, key: int) -> int:
        return self.keys.index(key) + 1


def judgements_of(sitting: Sitting) -> QuerySet[Judgement]:
    """Those of a sitting that may not have been begun."""
    return Judgement.objects.filter(sitting__year=sitting.year)


def made_queue(sitting: Sitting, seasons: Sequence[Season]) -> Queue:
    """What was finished in the year, and of earlier years what was last said to be not sure."""
    since, until = seasons[0].first, seasons[-1].last
    rows = Make.objects.filter(state=MakeState.FINISHED).order_by("finished_on", "pk")
    this_year = list(rows.filter(finished_on__range=(since, until)).values_list("pk", flat=True))
    earlier = Judgement.objects.exclude(sitting__year=sitting.year)
    earlier = earlier.filter(make__finished_on__lt=since)
    last = dict(earlier.order_by("at", "pk").values_list("make", "answer"))
    unsure = [pk for pk, answer in last.items() if answer == Judgement.Verdict.UNSURE]
    again = rows.filter(pk__in=unsure).values_list("pk", flat=True)
    answered = set(judgements_of(sitting).values_list("make", flat=True))
    return Queue([*this_year, *again], answered)


def stamp(moment: datetime) -> int:
    """A moment as addresses carry it: milliseconds since 1970."""
    return round(moment.timestamp() * 1000)


def round_since(sitting: Sitting, stamped: str) -> datetime:
    """When this round through the ideas began: the sitting itself, or anew at a later moment."""
    begun = sitting.begun_at
    if not stamped.isdecimal() or len(stamped) > MOST_DIGITS:
        return begun
    since = datetime.fromtimestamp(int(stamped) / 1000, UTC)
    return since if begun < since <= clock.now() else begun


def ideas_queue(since: datetime) -> Queue:
    """Ideas that hang or rest, and those that were dropped in the round that began at ``since``.

    Those come first that were not looked at longest before it.
    """
    looks = Look.objects.filter(at__gte=since, undone_at=None)
    answered = set(looks.values_list("make", flat=True))
    here = Q(state__in=LOOKED_AT) | Q(state=MakeState.LET_GO, pk__in=answered)
    looked = Max("looks__at", filter=Q(looks__undone_at=None, looks__at__lt=since))
    rows = Make.objects.filter(here).annotate(looked=looked)
    keys = rows.order_by(Coalesce("looked", "added_at"), "pk").values_list("pk", flat=True)
    return Queue(list(keys), answered)


def plan_queue(sitting: Sitting) -> Queue:
    """What is carried on: where in the next year, roughly?"""
    dropped = (Look.Answer.REST, Look.Answer.LET_GO)
    aside = Look.objects.filter(at__gte=sitting.begun_at, undone_at=None, answer__in=dropped)
    rows = Make.objects.filter(state__in=(MakeState.IDEA, MakeState.LINED_UP))
    keys = rows.exclude(pk__in=aside.values("make")).order_by("added_at", "pk")
    hoped = Hope.objects.filter(until=None, year=sitting.year + 1).values_list("make", flat=True)
    return Queue(list(keys.values_list("pk", flat=True)), {pk for pk in hoped if pk})


def asked_about(pk: int) -> Make:
    """The make with all that its card in a sitting shows. Six queries."""
    plans = Prefetch("cloth_plans", ClothPlan.objects.select_related("cloth__swatch"))
    said = Prefetch("judgements", Judgement.objects.select_related("sitting"))
    looks = Prefetch("looks", Look.objects.filter(undone_at=None))
    rows = Make.objects.select_related("pattern", "face")
    return rows.prefetch_related("pictures", plans, said, looks, "hopes").get(pk=pk)


def whys() -> list[str]:
    """The usual short words, then those that the owner added, the latest first."""
    added: dict[str, None] = {}
    for words in Judgement.objects.exclude(whys=[]).order_by("-at").values_list("whys", flat=True):
        added |= dict.fromkeys(word for word in words if word not in USUAL_WHYS)
    return [*USUAL_WHYS, *list(added)[:12]]


@dataclass(frozen=True)
class Cell:
    """Clothes that are kept and places that are empty, of one kind for one sort of days.

    ``days`` is None for clothes of which no season is said: they may be worn on any.
    """

    kind: Gap.Kind
    days: Gap.Days | None
    kept: list[Make]
    gaps: list[Gap]


def wardrobe() -> list[tuple[Gap.Kind, list[Cell]]]:
    """Made and not let go, by kind and days, beside what is missing. Four queries.

    The kind is read from the words a make goes by, the days from the season it is for. Where none
    is said it stands apart: no day is made up for it.
    """
    kept: dict[tuple[Gap.Kind, Gap.Days | None], list[Make]] = {}
    for make in _kept():
        kind = KIND_OF_DRAWING.get(drawing_of(f"{make.kind} {make.words}"), Gap.Kind.OTHER)
        days = DAYS_OF_SEASON.get(Make.Season(make.season))
        kept.setdefault((kind, days), []).append(make)
    gaps = list(Gap.objects.filter(dropped_at=None, filled=None))
    return [
        (
            kind,
            [
                Cell(
                    kind, days, kept.get((kind, days), []),
                    [gap for gap in gaps if (gap.kind, gap.days) == (kind, days)],
                )
                for days in (*Gap.Days, None)
            ],
        )
        for kind in Gap.Kind
    ]  # fmt: skip


def _kept() -> QuerySet[Make]:
    last = dict(Judgement.objects.order_by("at", "pk").values_list("make", "answer"))
    let_go = [pk for pk, answer in last.items() if answer == Judgement.Verdict.LET_GO]
    rows = Make.objects.filter(state=MakeState.FINISHED).exclude(fate__in=("given", "apart"))
    return rows.exclude(pk__in=let_go).select_related("face").prefetch_related("pictures")


@dataclass(frozen=True)
class Outcome:
    """What a sitting came to, in numbers."""

    made: int
    keep: int
    let_go: int
    unsure: int
    carried: int
    undecided: int
    rest: int
    dropped: int
    gaps: int


def dropped_in(sitting: Sitting) -> QuerySet[Make]:
    """What was dropped since the sitting began, and still is."""
    looks = {"looks__at__gte": sitting.begun_at, "looks__undone_at": None}
    rows = Make.objects.filter(state=MakeState.LET_GO, looks__answer=Look.Answer.LET_GO, **looks)
    return rows.order_by("looks__at").distinct()


def outcome(sitting: Sitting, winter_begins: int) -> Outcome:
    of_makes = list(judgements_of(sitting).values_list("answer", flat=True))
    looks = Look.objects.filter(at__gte=sitting.begun_at, undone_at=None)
    last = dict(looks.order_by("at", "pk").values_list("make", "answer"))
    of_ideas = list(last.values())
    return Outcome(
        made=len(made_queue(sitting, seasons_of(sitting.year, winter_begins)).keys),
        keep=of_makes.count("keep"),
        let_go=of_makes.count("let_go"),
        unsure=of_makes.count("unsure"),
        carried=of_ideas.count("keep"),
        undecided=of_ideas.count("unsure"),
        rest=of_ideas.count("rest"),
        dropped=of_ideas.count("let_go"),
        gaps=Gap.objects.filter(dropped_at=None, filled=None).count(),
    )
