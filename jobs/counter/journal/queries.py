"""What a year's journal tells of each make."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Prefetch

from jobs.counter.year.queries import days_of, let_go_in, made_in
from jobs.makes.models import Cloth, ClothMove, ClothPlan, Fate, Make, Picture
from jobs.planning.making import minutes_of
from jobs.planning.years import Spent, spent_by_day, spent_by_year

CUT = (ClothMove.Why.CUT, ClothMove.Why.BACK)


@dataclass(frozen=True)
class ClothUsed:
    """Cloth of a make; ``mm`` is what was cut of it less what was put back, None if never cut."""

    cloth: Cloth
    mm: Decimal | None


@dataclass(frozen=True)
class Entry:
    """One make. ``picture`` is a photograph, else a sketch; ``minutes`` are those written down."""

    make: Make
    picture: Picture | None
    cloths: list[ClothUsed]
    minutes: int

    @property
    def fate(self) -> str:
        return Fate(self.make.fate).label if self.make.fate else ""


@dataclass(frozen=True)
class Journal:
    """``spent`` are all the minutes of the year, on whatever."""

    year: int
    entries: list[Entry]
    let_go: list[Make]
    spent: Spent


def read_journal(year: int) -> Journal:
    """Seven queries, whatever was made."""
    makes = list(
        made_in(year)
        .select_related("pattern")
        .prefetch_related(
            "pictures",
            Prefetch("cloth_plans", ClothPlan.objects.select_related("cloth__swatch")),
            Prefetch(
                "cloth_moves",
                ClothMove.objects.filter(why__in=CUT).select_related("cloth__swatch"),
            ),
        )
    )
    minutes = minutes_of([make.pk for make in makes])
    return Journal(
        year=year,
        entries=[
            Entry(make, _picture(make.pictures.all()), _cloths(make), minutes.get(make.pk, 0))
            for make in makes
        ],
        let_go=list(let_go_in(year)),
        spent=spent_by_year(spent_by_day(*days_of(year))).get(year, Spent()),
    )


def _picture(pictures: Iterable[Picture]) -> Picture | None:
    """The newest photograph; without one the newest sketch."""
    return max(pictures, key=lambda picture: (not picture.drawn, picture.pk), default=None)


def _cloths(make: Make) -> list[ClothUsed]:
    """What was cut for it; of cloth that was only meant for it, that it was."""
    cut: dict[int, Decimal] = defaultdict(Decimal)
    cloths: dict[int, Cloth] = {}
    for move in make.cloth_moves.all():
        cloths[move.cloth_id] = move.cloth
        cut[move.cloth_id] -= move.mm
    for plan in make.cloth_plans.all():
        cloths.setdefault(plan.cloth_id, plan.cloth)
    return [ClothUsed(cloth, cut.get(pk)) for pk, cloth in cloths.items()]
