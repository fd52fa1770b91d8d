"""A year looked back on: what was made, the cloth, the hours, and what the work brought in."""

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from fractions import Fraction

from django.db.models import QuerySet

from jobs.billing.books import HandedOver, OperationIncome, handed_over_between, income_by_operation
from jobs.makes.ideas.queries import face_of
from jobs.makes.models import Fate, Make, MakeState, Picture, Release
from jobs.makes.shelf.queries import ClothYear, cloth_years, on_the_shelf
from jobs.planning.bench_time import (
    Spent,
    TakenInYear,
    best_month,
    spent_by_day,
    spent_by_year,
    taken_in,
)
from studio.shop import clock
from studio.shop.look.bars import Column, Columns, Part
from studio.shop.money import round_half_up

COMPARED = 5
NOT_SAID = "Not said"


@dataclass(frozen=True)
class Tally:
    """How many makes share a kind, a person or a fate. ``value`` is what the address names."""

    words: str
    value: str
    count: int


@dataclass(frozen=True)
class Narrowed:
    """Which makes are pictured; None is any, the empty text those of which it is not said."""

    kind: str | None = None
    whom: str | None = None
    fate: str | None = None

    @property
    def everything(self) -> bool:
        return self == Narrowed()

    def holds(self, make: Make) -> bool:
        wanted = ((self.kind, make.kind), (self.whom, make.whom), (self.fate, make.fate))
        return all(asked is None or asked == value for asked, value in wanted)


@dataclass(frozen=True)
class PicturedMake:
    make: Make
    picture: Picture | None


@dataclass(frozen=True)
class YearRow:
    """A year beside others. Lengths are mm; ``gone`` is None where money is not told."""

    year: int
    made: int
    spent: Spent
    came: Decimal
    went: Decimal
    gone: HandedOver | None

    @property
    def empty(self) -> bool:
        moved = self.made or self.spent.whole or self.came or self.went
        return not (moved or (self.gone and self.gone.count))


@dataclass(frozen=True)
class Income:
    """What the work brought in: what was handed over, and the operations that come to it."""

    operations: list[OperationIncome]
    gone: HandedOver


@dataclass(frozen=True)
class YearSheet:
    """``shown`` are the makes that are asked for, of ``made`` in all; ``shelf`` is what lies there
    today: how many lengths, and how many mm. ``income`` is None for who may not see it.
    """

    year: int
    made: int
    shown: list[PicturedMake]
    kinds: list[Tally]
    whoms: list[Tally]
    fates: list[Tally]
    let_go: list[Make]
    published: list[Release]
    spent: Spent
    best: tuple[date, int] | None
    taken: TakenInYear
    cloth: ClothYear
    shelf: tuple[int, Decimal]
    hours: Columns
    finished: Columns
    years: list[YearRow] = field(default_factory=list)
    income: Income | None = None

    @property
    def mine_percent(self) -> int:
        """The share of the bench hours that was the owner's, own sewing and releases."""
        whole = self.spent.whole
        return round_half_up(Fraction(self.spent.mine * 100, whole)) if whole else 0


def made_in(year: int) -> QuerySet[Make]:
    """What was finished in the year, in the order of the calendar."""
    makes = Make.objects.filter(state=MakeState.FINISHED, finished_on__year=year)
    return makes.order_by("finished_on", "pk")


def let_go_in(year: int) -> QuerySet[Make]:
    """What was let go in the year, by local day, and still is."""
    return let_go_between(*days_of(year))


def let_go_between(first: date, last: date) -> QuerySet[Make]:
    """On these days and those between them."""
    starts, ends = clock.days(first, last)
    rows = Make.objects.filter(state=MakeState.LET_GO, let_go_at__gte=starts, let_go_at__lt=ends)
    return rows.order_by("let_go_at", "pk")


def year_sheet(year: int, *, narrowed: Narrowed, money: bool) -> YearSheet:
    """All of a year's page. ``money`` says whether the reader sees what came in."""
    makes = list(made_in(year).prefetch_related("pictures"))
    days = spent_by_day(date(year - COMPARED + 1, 1, 1), date(year, 12, 31))
    cloth = {row.year: row for row in cloth_years()}
    years = _years(year, spent_by_year(days), cloth, money=money)
    return YearSheet(
        year=year,
        made=len(makes),
        shown=[PicturedMake(make, face_of(make)) for make in makes if narrowed.holds(make)],
        kinds=_tally(makes, lambda make: make.kind),
        whoms=_tally(makes, lambda make: make.whom),
        fates=_tally(makes, lambda make: make.fate, lambda fate: Fate(fate).label),
        let_go=list(let_go_in(year)),
        published=list(Release.objects.filter(published_on__year=year)),
        spent=years[0].spent,
        best=best_month(days, year),
        taken=taken_in(year),
        cloth=cloth.get(year) or _still(year),
        shelf=on_the_shelf(),
        hours=_hours_chart(year, days),
        finished=_finished_chart(year, makes),
        years=[row for row in years if row.year == year or not row.empty],
        income=_income(year, years[0]),
    )


def _months(year: int, parts: Callable[[int], list[Part]], about: str) -> Columns:
    """A chart of the twelve months; ``parts`` says what one comes to."""
    today = clock.today()
    columns = [
        Column(
            f"{date(year, month, 1):%B}", parts(month), mark=f"{date(year, month, 1):%b}"[0],
            current=(year, month) == (today.year, today.month),
        )
        for month in range(1, 13)
    ]  # fmt: skip
    return Columns(columns, about=about)


def _hours_chart(year: int, days: dict[date, Spent]) -> Columns:
    def parts(month: int) -> list[Part]:
        mine = (spent for day, spent in days.items() if (day.year, day.month) == (year, month))
        spent = sum(mine, Spent())
        return [
            Part("clients", spent.client, "Client work"),
            Part("own", spent.own, "Own sewing"),
            Part("releases", spent.release, "Pattern releases"),
        ]

    return _months(year, parts, f"Hours at the bench each month of {year}")


def _finished_chart(year: int, makes: list[Make]) -> Columns:
    months = Counter(make.finished_on.month for make in makes if make.finished_on)

    def parts(month: int) -> list[Part]:
        return [Part("own", months[month], "Made", shown=str(months[month]))]

    return _months(year, parts, f"Made each month of {year}, {len(makes)} in all")


def _years(
    last: int, spent: dict[int, Spent], cloth: dict[int, ClothYear], *, money: bool
) -> list[YearRow]:
    """The last few years up to ``last``, the newest first."""
    first = last - COMPARED + 1
    finished = Make.objects.filter(
        state=MakeState.FINISHED, finished_on__range=(date(first, 1, 1), date(last, 12, 31))
    )
    days = finished.order_by().values_list("finished_on", flat=True)
    made = Counter(day.year for day in days if day)
    rows = []
    for year in range(last, first - 1, -1):
        moved = cloth.get(year) or _still(year)
        gone = handed_over_between(*days_of(year)) if money else None
        rows.append(
            YearRow(year, made[year], spent.get(year, Spent()), moved.came, moved.went, gone)
        )
    return rows


def days_of(year: int) -> tuple[date, date]:
    return date(year, 1, 1), date(year, 12, 31)


def _still(year: int) -> ClothYear:
    """A year in which no cloth was moved."""
    none = Decimal(0)
    return ClothYear(year, none, none, none, none)


def _income(year: int, row: YearRow) -> Income | None:
    return Income(income_by_operation(*days_of(year)), row.gone) if row.gone else None


def _tally(
    makes: Iterable[Make], value_of: Callable[[Make], str], worded: Callable[[str], str] = str
) -> list[Tally]:
    """The most frequent first, those of which nothing is said last."""
    counts = Counter(value_of(make) for make in makes)
    rows = [
        Tally(worded(value) if value else NOT_SAID, value, count) for value, count in counts.items()
    ]
    return sorted(rows, key=lambda row: (not row.value, -row.count, row.words))
