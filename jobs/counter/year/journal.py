"""The journal of a year: what it tells of each make, and as a PDF.

It grows, so it is rendered whenever somebody asks for it.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Prefetch

from jobs.counter.year.queries import days_of, let_go_in, made_in
from jobs.makes.models import Cloth, ClothMove, ClothPlan, Fate, Make, Picture
from jobs.planning.bench_time import Spent, minutes_of, spent_by_day, spent_by_year
from studio.shop import paper
from studio.shop.models import Profile
from studio.shop.pictures import shrunk

SIDES = {"A5": 900, "A4": 1000, "Letter": 1000}
"""Pixels of a photograph's longer side by size of paper: about 180 dots to the inch."""
SWATCH_SIDE = 240
CUT = (ClothMove.Why.CUT, ClothMove.Why.BACK)


@dataclass(frozen=True)
class ClothUsed:
    """Cloth of a make; ``mm`` is what was cut of it less what was put back, None if never cut."""

    cloth: Cloth
    mm: Decimal | None


@dataclass(frozen=True)
class JournalEntry:
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
    entries: list[JournalEntry]
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
            JournalEntry(
                make, _picture(make.pictures.all()), _cloths(make), minutes.get(make.pk, 0)
            )
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


def title(studio: Profile, year: int) -> str:
    return f"Journal {year}, {studio.name}"


def journal_pdf(journal: Journal, studio: Profile, *, page: str) -> bytes:
    """``page`` is one of ``SIDES``. Pictures are those whose files are there."""
    shown = dict(_pictures(journal, SIDES[page]))
    return paper.render(
        "counter/papers/journal.html",
        {"studio": studio, "journal": journal, "shown": set(shown)},
        title=title(studio, journal.year),
        language=studio.language_tag,
        page=page,
        pictures={str(pk): jpeg for pk, jpeg in shown.items()},
        sheet="journal",
    )


def _pictures(journal: Journal, side: int) -> Iterator[tuple[int, bytes]]:
    """Each picture once, by its id."""
    for picture, most in _sizes(journal, side).items():
        if picture.file.storage.exists(str(picture.file)):
            with picture.file.open("rb") as file:
                yield picture.pk, shrunk(file, most)


def _sizes(journal: Journal, side: int) -> dict[Picture, int]:
    sizes = {
        used.cloth.swatch: SWATCH_SIDE
        for entry in journal.entries
        for used in entry.cloths
        if used.cloth.swatch
    }
    return sizes | {entry.picture: side for entry in journal.entries if entry.picture}
