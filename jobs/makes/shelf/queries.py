"""What pages read of the shelf."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.core.paginator import Page, Paginator
from django.db.models import QuerySet
from django.shortcuts import get_object_or_404

from jobs.makes.lengths import show_cloth
from jobs.makes.models import Cloth, ClothMove, ClothPlan, Make, MakeState
from jobs.makes.shares import ClothShares, Meant, share_out
from studio.shop.models import Entry
from studio.shop.tables import PER_PAGE
from studio.shop.text import fold

Why = ClothMove.Why
CUT = (Why.CUT, Why.BACK)
"""Together what was cut for makes."""
WAYS = {
    "in": ("Came in", [Why.BOUGHT]),
    "out": ("Went out", [*CUT, Why.GONE]),
    "right": ("Put right", [Why.WASHED, Why.MEASURED]),
}
ORDERS = {"name": ["name"], "most": ["-left_mm", "name"], "new": ["-added_at"]}
LOOKED_IN = ("name", "colour", "fibre", "place", "note")


@dataclass(frozen=True)
class Chosen:
    """Which cloth a list shows: ``where`` is here, gone or all; lengths are mm."""

    text: str = ""
    kind: str = ""
    least: Decimal = Decimal(0)
    wide: Decimal = Decimal(0)
    where: str = "here"
    order: str = "name"


def list_cloth(chosen: Chosen) -> QuerySet[Cloth]:
    """The cloth that is meant, each with its swatch; one query more where words are looked for."""
    rows = Cloth.objects.select_related("swatch").order_by(*ORDERS[chosen.order], "pk")
    if chosen.where != "all":
        rows = rows.filter(gone_at__isnull=chosen.where == "here")
    if chosen.kind:
        rows = rows.filter(kind=chosen.kind)
    rows = rows.filter(left_mm__gte=chosen.least, width_mm__gte=chosen.wide)
    return rows.filter(pk__in=_with_words(chosen.text)) if chosen.text.strip() else rows


def _with_words(text: str) -> list[int]:
    """Cloth that has every word of ``text`` somewhere, without regard to accents."""
    words = fold(text).split()
    rows = Cloth.objects.order_by().values_list("pk", *LOOKED_IN)
    return [pk for pk, *texts in rows if all(word in fold(" ".join(texts)) for word in words)]


def shelf_page(cloths: QuerySet[Cloth], number: str | None) -> Page[Cloth]:
    """A page of cards; one that is none is the first, one after the last is the last."""
    return Paginator(cloths, PER_PAGE).get_page(number)


def cloth_or_404(pk: int) -> Cloth:
    return get_object_or_404(Cloth.objects.select_related("swatch"), pk=pk)


def left_of(cloth: Cloth) -> str:
    """How much is left of it by now, in a sentence."""
    cloth.refresh_from_db(fields=["left_mm"])
    if not cloth.left_mm:
        return "Nothing is left of it."
    return f"{show_cloth(cloth.left_mm, cloth.unit)} left."


def cloth_of(entry: Entry | None) -> Cloth | None:
    """The cloth that an entry of the history is about."""
    keys = entry.subjects.filter(label="makes.cloth").values_list("row", flat=True) if entry else []
    return Cloth.objects.filter(pk__in=keys).first()


def card_and_newest(cloth: Cloth, most: int) -> list[Cloth]:
    """The cloth, and after it the newest others on the shelf, ``most`` of them together."""
    others = Cloth.objects.filter(gone_at=None).exclude(pk=cloth.pk).order_by("-added_at", "-pk")
    return [cloth, *others[: most - 1]]


@dataclass(frozen=True)
class ClothYear:
    """Millimetres that came in, went out (cut and given away, less what was put back) and were
    put right (shrunk or measured again) in one calendar year, and what lay there at its end.
    """

    year: int
    came: Decimal
    went: Decimal
    righted: Decimal
    left: Decimal


def cloth_years() -> list[ClothYear]:
    """Every year with a move, the newest first. Summed here: SQLite would sum in binary."""
    sums: dict[int, dict[str, Decimal]] = {}
    ways = {why: way for way, (_, whys) in WAYS.items() for why in whys}
    for day, why, mm in ClothMove.objects.order_by().values_list("day", "why", "mm"):
        year = sums.setdefault(day.year, dict.fromkeys(WAYS, Decimal(0)))
        year[ways[Why(why)]] += mm
    return list(_running(sums))[::-1]


def _running(sums: dict[int, dict[str, Decimal]]) -> Iterator[ClothYear]:
    left = Decimal(0)
    for year, way in sorted(sums.items()):
        left += sum(way.values())
        yield ClothYear(year, way["in"], -way["out"], way["right"], left)


def on_the_shelf() -> tuple[int, Decimal]:
    """How many lengths lie there and how many millimetres they are together."""
    lengths = Cloth.objects.filter(gone_at=None).order_by().values_list("left_mm", flat=True)
    return len(lengths), sum(lengths, Decimal(0))


@dataclass(frozen=True)
class ShelfShares:
    """The shares of the cloth on a page, and the mm of all that lies there, meant and free.

    ``longest`` is the scale that the bars of the page share.
    """

    rows: list[tuple[Cloth, ClothShares]]
    lengths: int
    meant: Decimal
    free: Decimal

    @property
    def left(self) -> Decimal:
        return self.meant + self.free

    @property
    def longest(self) -> Decimal:
        return max((shares.reach for _, shares in self.rows), default=Decimal(0))


def shelf_shares(page: Iterable[Cloth]) -> ShelfShares:
    """Three queries."""
    shown, here = list(page), list(Cloth.objects.filter(gone_at=None))
    shares = shares_of([*here, *shown])
    return ShelfShares(
        rows=[(cloth, shares[cloth.pk]) for cloth in shown],
        lengths=len(here),
        meant=sum((shares[cloth.pk].meant for cloth in here), Decimal(0)),
        free=sum((shares[cloth.pk].free for cloth in here), Decimal(0)),
    )


def year_moves(year: int, way: str) -> QuerySet[ClothMove]:
    """The rows behind a figure; every way for one that is none."""
    whys = WAYS[way][1] if way in WAYS else list(Why)
    moves = ClothMove.objects.filter(day__year=year, why__in=whys)
    return moves.select_related("cloth", "make", "by")


def way_heading(way: str) -> str:
    """The words for a figure of a year; those for every move where there is no such figure."""
    return WAYS[way][0] if way in WAYS else "Came and went"


def cloth_moves(cloth: Cloth) -> QuerySet[ClothMove]:
    return cloth.moves.select_related("make", "by").order_by("-day", "-pk")


def cloth_plans(cloth: Cloth) -> QuerySet[ClothPlan]:
    """What the cloth is meant for, was made of it, or once might have been."""
    return cloth.plans.select_related("make").order_by("make__state", "pk")


@dataclass(frozen=True)
class PlanLine:
    """A plan of a cloth as its page shows it: ``rest`` mm are still to be cut, None if not said.

    ``open`` says that it takes its part of the cloth; ``short`` mm of it are not there.
    """

    plan: ClothPlan
    rest: Decimal | None
    open: bool
    short: Decimal = Decimal(0)


def plan_lines(cloth: Cloth, shares: ClothShares) -> list[PlanLine]:
    return [
        PlanLine(
            plan,
            shares.rest(plan.make_id),
            plan.make.state not in NO_LONGER_MEANT,
            shares.lacks(plan.make_id),
        )
        for plan in cloth_plans(cloth)
    ]


def open_makes() -> QuerySet[Make]:
    """Makes that cloth can be meant for or cut for, those under way first."""
    states = [MakeState.UNDER_WAY, MakeState.LINED_UP, MakeState.IDEA]
    return Make.objects.filter(state__in=states).order_by("-state", "words", "pk")


NO_LONGER_MEANT = [MakeState.FINISHED, MakeState.LET_GO]


def shares_of(cloths: Iterable[Cloth]) -> dict[int, ClothShares]:
    """What of each cloth was cut, is meant and is free. Two queries.

    Makes under way are served first, then those planned next, ideas, and last what rests.
    """
    left = {cloth.pk: cloth.left_mm for cloth in cloths}
    cut: dict[int, Decimal] = defaultdict(Decimal)
    cut_for: dict[tuple[int, int | None], Decimal] = defaultdict(Decimal)
    moves = ClothMove.objects.filter(why__in=CUT, cloth__in=list(left))
    for pk, make, mm in moves.order_by().values_list("cloth_id", "make_id", "mm"):
        cut[pk] -= mm
        cut_for[pk, make] -= mm
    served = [MakeState.UNDER_WAY, MakeState.LINED_UP, MakeState.IDEA, MakeState.RESTING]
    open_plans = ClothPlan.objects.filter(cloth__in=list(left)).order_by("make__place", "pk")
    rows = open_plans.exclude(make__state__in=NO_LONGER_MEANT)
    plans: dict[int, list[Meant]] = defaultdict(list)
    by_state = sorted(rows.values_list("cloth_id", "make_id", "make__state", "mm"),
                      key=lambda row: served.index(MakeState(row[2])))  # fmt: skip
    for pk, make, _, mm in by_state:
        plans[pk].append(Meant(make, mm, cut_for[pk, make]))
    return {pk: share_out(mm, cut[pk], plans[pk]) for pk, mm in left.items()}


def free_lengths() -> list[tuple[Cloth, Decimal]]:
    """Each cloth on the shelf with the mm of it that are meant for nothing. Three queries."""
    shelf = list(Cloth.objects.filter(gone_at=None).select_related("swatch"))
    shares = shares_of(shelf)
    return [(cloth, shares[cloth.pk].free) for cloth in shelf if shares[cloth.pk].free > 0]


@dataclass(frozen=True)
class FreeCloth:
    """A cloth and the mm of it that are meant for nothing."""

    cloth: Cloth
    free: Decimal


def with_free(cloths: Iterable[Cloth]) -> list[FreeCloth]:
    """Two queries."""
    rows = list(cloths)
    shares = shares_of(rows)
    return [FreeCloth(cloth, shares[cloth.pk].free) for cloth in rows]


def cut_by_day(first: date, last: date) -> dict[date, Decimal]:
    """The mm cut on each day, less what was put back. One query."""
    days: dict[date, Decimal] = {}
    moves = ClothMove.objects.filter(why__in=CUT, day__range=(first, last))
    for day, mm in moves.order_by().values_list("day", "mm"):
        days[day] = days.get(day, Decimal(0)) - mm
    return days
