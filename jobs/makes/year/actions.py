"""Hoping for something in a season, what was missing, and sitting down with a year."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.db import transaction

from jobs.makes import verbs
from jobs.makes.ideas.actions import MakeError
from jobs.makes.lengths import ClothLength
from jobs.makes.models import Budget, Gap, Hope, Judgement, Make, MakeState, Sitting
from jobs.makes.order import put_before
from jobs.makes.year.seasons import Name, Season, season
from studio.shop import clock
from studio.shop.actions import save_profile
from studio.shop.history import record
from studio.shop.models import Entry, Profile, User
from studio.shop.numbers import lock

DONE_WITH = (MakeState.FINISHED, MakeState.LET_GO)
BOARD = "board"
"""What is locked before anything else while something is put into a season or out of it."""


@transaction.atomic
def hope(
    *, thing: Make | Gap, to: Season | None, before: Hope | None = None, by: User
) -> Entry | None:
    """Hope for it in that season, in its row ahead of ``before`` or last; None is *some time*.

    A season that is over takes nothing more, and what is finished or let go is not hoped for:
    MakeError. Mere order within a season is no history. Two that move at once do so one after
    the other.
    """
    lock(BOARD)
    thing = type(thing).objects.select_for_update().get(pk=thing.pk)
    if to and to.last < clock.today():
        raise MakeError(f"{to} is over.")
    if to and isinstance(thing, Make) and thing.state in DONE_WITH:
        raise MakeError(f"“{thing}” is put away. Take it up again first.")
    old = thing.hopes.select_for_update().filter(until=None).first()
    if old and to and old.begins == to.first:
        if before != old:
            _place(old, before)
        return None
    if old is None and to is None:
        return None
    verb = verbs.HOPE if to else verbs.HOPE_SOME_TIME
    with record(verb, about=thing, by=by, words=str(thing), season=str(to or "")) as step:
        if old:
            step.keep(old)
            old.until = clock.now()
            old.save(update_fields=["until"])
        if to:
            what = {"make": thing} if isinstance(thing, Make) else {"gap": thing}
            when = {"year": to.year, "season": to.name.value, "begins": to.first}
            new = Hope.objects.create(**what, **when, since=clock.now())
            _place(new, before)
            step.add(new)
    return step.entry


def _place(moved: Hope, before: Hope | None) -> None:
    """Number the season's row anew with ``moved`` ahead of ``before``, or last."""
    standing = Hope.objects.select_for_update().filter(until=None, begins=moved.begins)
    Hope.objects.bulk_update(put_before(list(standing), moved, before), ["place"])


@transaction.atomic
def hope_for_all(
    *, things: Sequence[Make | Gap], to: Season | None, before: Hope | None, by: User
) -> list[Entry]:
    """All of them one after the other, or none where one is refused: MakeError."""
    entries = [hope(thing=thing, to=to, before=before, by=by) for thing in things]
    return [entry for entry in entries if entry]


@transaction.atomic
def miss(*, words: str, kind: Gap.Kind, days: Gap.Days, by: User) -> tuple[Gap, Entry | None]:
    """Write down what was reached for and not there."""
    facts: dict[str, Any] = {"words": words, "kind": kind, "days": days}
    gap = Gap.objects.create(**facts, added_at=clock.now())
    with record(verbs.MISS, about=gap, by=by, words=words) as step:
        step.add(gap)
    return gap, step.entry


@transaction.atomic
def fill(*, gap: Gap, make: Make, by: User) -> Entry | None:
    """The make is to be what was missing; what was hoped for the gap is hoped for the make."""
    lock(BOARD)
    gap = Gap.objects.select_for_update().get(pk=gap.pk)
    with record(verbs.FILL_GAP, about=make, by=by, words=make.words, gap=gap.words) as step:
        step.keep(gap)
        gap.filled = make
        gap.save(update_fields=["filled"])
    if standing := gap.hopes.filter(until=None).first():
        to = season(standing.year, Name(standing.season), _winter())
        hope(thing=gap, to=None, by=by)
        if to.last >= clock.today():
            hope(thing=make, to=to, by=by)
    return step.entry


@transaction.atomic
def rename_gap(*, gap: Gap, words: str, by: User) -> Entry | None:
    """Say in other words what is missing."""
    gap = Gap.objects.select_for_update().get(pk=gap.pk)
    if gap.words == words:
        return None
    with record(verbs.RENAME_GAP, about=gap, by=by, words=words) as step:
        step.keep(gap)
        gap.words = words
        gap.save(update_fields=["words"])
    return step.entry


@transaction.atomic
def miss_no_more(*, gap: Gap, by: User) -> Entry | None:
    lock(BOARD)
    gap = Gap.objects.select_for_update().get(pk=gap.pk)
    if gap.dropped_at:
        return None
    standing = gap.hopes.filter(until=None)
    with record(verbs.MISS_NO_MORE, about=gap, by=by, words=gap.words) as step:
        step.keep(gap, standing)
        standing.update(until=clock.now())
        gap.dropped_at = clock.now()
        gap.save(update_fields=["dropped_at"])
    return step.entry


@transaction.atomic
def sit_down(*, year: int) -> Sitting:
    """The sitting of that year, begun now or gone on with."""
    sitting, _new = Sitting.objects.get_or_create(year=year, defaults={"begun_at": clock.now()})
    return sitting


@transaction.atomic
def judge(
    *,
    make: Make,
    answer: Judgement.Verdict,
    whys: list[str],
    words: str,
    sitting: Sitting | None = None,
    by: User,
) -> Entry | None:
    """What the owner says of something made. In one sitting the later answer stands."""
    make = Make.objects.select_for_update().get(pk=make.pk)
    if make.state != MakeState.FINISHED:
        raise MakeError(f"“{make.words}” is not finished.")
    earlier = Judgement.objects.filter(make=make, sitting=sitting) if sitting else None
    judgement = earlier.first() if earlier else None
    facts = {"answer": answer, "whys": whys, "words": words}
    if judgement and all(getattr(judgement, name) == value for name, value in facts.items()):
        return None
    label = str(Judgement.Verdict(answer).label)
    with record(verbs.JUDGE, about=make, by=by, words=make.words, answer=label) as step:
        if judgement:
            step.keep(judgement)
            for name, value in facts.items():
                setattr(judgement, name, value)
            judgement.save()
        else:
            judgement = Judgement.objects.create(
                make=make, sitting=sitting, at=clock.now(), **facts
            )
            step.add(judgement)
    return step.entry


@transaction.atomic
def get_up(*, sitting: Sitting) -> None:
    """The sitting is done; going back to it opens it again."""
    sitting.ended_at = clock.now()
    sitting.save(update_fields=["ended_at"])


@dataclass(frozen=True)
class SetAside:
    """For one season; None where nothing is said of it."""

    minutes: int | None = None
    length: ClothLength | None = None


@transaction.atomic
def set_budgets(*, year: int, seasons: dict[Name, SetAside], by: User) -> Entry | None:
    """About how many hours and how much cloth each season of the year shall take."""
    lock(BOARD)
    standing = {row.season: row for row in Budget.objects.filter(year=year)}
    rows = [standing.get(name.value) or Budget(year=year, season=name.value) for name in seasons]
    kept = [row for row in rows if row.pk]
    with record(verbs.SET_BUDGETS, about=_studio(), by=by, year=str(year)) as step:
        step.keep(*kept)
        for row, said in zip(rows, seasons.values(), strict=True):
            row.minutes = said.minutes
            row.mm, row.typed = (said.length.mm, said.length.typed) if said.length else (None, "")
            new = row.pk is None
            if new and said == SetAside():
                continue
            row.save()
            if new:
                step.add(row)
    return step.entry


@transaction.atomic
def begin_winter_in(*, month: int, by: User) -> Entry | None:
    """Seasons begin otherwise from now on. What was planned for seasons that have begun stays."""
    lock(BOARD)
    profile = Profile.objects.select_for_update().get(pk=1)
    profile.winter_begins = month
    entry = save_profile(studio=profile, fields=["winter_begins"], by=by)
    coming = Hope.objects.select_for_update().filter(until=None, begins__gt=clock.today())
    for standing in coming:
        standing.begins = season(standing.year, Name(standing.season), month).first
    Hope.objects.bulk_update(coming, ["begins"])
    return entry


def _winter() -> int:
    return _studio().winter_begins


def _studio() -> Profile:
    return Profile.objects.get(pk=1)
