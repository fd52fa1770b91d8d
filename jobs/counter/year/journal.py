"""The journal of a year: what it tells of each make, and as a PDF that reads like a book.

Its year is that of the owner's seasons, as on the board, so that its sums are the board's.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Prefetch, QuerySet

from jobs.counter.year.board import LaneShown, YearBoard, in_steps, year_board
from jobs.counter.year.queries import let_go_between
from jobs.makes.ideas.queries import face_of
from jobs.makes.lengths import length_unit
from jobs.makes.models import (
    Cloth,
    ClothMove,
    ClothPlan,
    Fate,
    FurtherPattern,
    Gap,
    Judgement,
    Look,
    Make,
    Pattern,
    Picture,
    Sitting,
)
from jobs.makes.shelf.queries import CUT
from jobs.makes.year.seasons import Season
from jobs.planning.bench_time import Spent, minutes_of, spent_by_day
from studio.shop import paper
from studio.shop.models import Profile
from studio.shop.pictures import shrunk

SIDES = {"A5": 1150, "A4": 1400, "Letter": 1400}
"""Pixels of a full page's longer side by size of paper: about 140 dots to the inch and more."""
SMALL_SIDE = 300
SWATCH_SIDE = 700
MOST_BYTES = {"page": 300_000, "small": 20_000, "swatch": 100_000}
PAGES_BYTES = 9_000_000
"""What all full-page pictures may take together: a journal of fifty makes stays below 15 MB."""
BANDS = 4
"""Cloths of a season that make the page before it."""
READ, LAID_OUT = 500, 900
"""How far it is, in thousandths, when all pictures are read and when the pages are laid out."""


@dataclass(frozen=True)
class ClothUsed:
    """Cloth of a make; ``mm`` is what was cut of it less what was put back, None if never cut."""

    cloth: Cloth
    mm: Decimal | None


@dataclass(frozen=True)
class JournalEntry:
    """One make. ``picture`` fills a page, ``steps`` are the others from the first idea on;
    ``minutes`` are those written down, ``hoped`` whether it was planned when its season began.
    """

    make: Make
    picture: Picture | None
    steps: list[Picture]
    cloths: list[ClothUsed]
    patterns: list[tuple[Pattern, str]]
    minutes: int
    hoped: bool
    judgement: Judgement | None

    @property
    def fate(self) -> str:
        return Fate(self.make.fate).label if self.make.fate else ""

    @property
    def face(self) -> Picture | None:
        return self.picture or next(iter(self.steps), None)


@dataclass(frozen=True)
class Chapter:
    """A season: its lane of the board, and what was finished in it."""

    lane: LaneShown
    entries: list[JournalEntry]

    @property
    def season(self) -> Season:
        return self.lane.season

    @property
    def swatches(self) -> list[Picture]:
        """Of the cloths that were sewn, each once."""
        used = (used.cloth.swatch for entry in self.entries for used in entry.cloths)
        return list({swatch.pk: swatch for swatch in used if swatch}.values())[:BANDS]


@dataclass(frozen=True)
class IdeaSaid:
    """An idea of which something was said in the sitting."""

    make: Make
    picture: Picture | None
    answer: str


@dataclass(frozen=True)
class Journal:
    """``spent`` are all the minutes of the year, on whatever; ``coming`` is the next year's board.

    ``sitting`` is None where nobody sat down with the year; then nothing was said of ideas.
    """

    year: int
    board: YearBoard
    chapters: list[Chapter]
    let_go: list[Make]
    spent: Spent
    sitting: Sitting | None
    ideas: list[IdeaSaid]
    gaps: list[Gap]
    coming: YearBoard

    @property
    def entries(self) -> list[JournalEntry]:
        return [entry for chapter in self.chapters for entry in chapter.entries]

    @property
    def cover(self) -> Picture | None:
        """The last of what was kept and photographed; else of what was photographed, or drawn."""

        def place(entry: JournalEntry) -> tuple[bool, bool]:
            drawn = entry.picture is not None and entry.picture.drawn
            return not drawn, bool(entry.judgement and entry.judgement.answer == "keep")

        shown = [entry for entry in reversed(self.entries) if entry.picture]
        best = max(shown, key=place, default=None)
        return best.picture if best else None

    @property
    def judged(self) -> list[JournalEntry]:
        return [entry for entry in self.entries if entry.judgement]


def read_journal(year: int, winter_begins: int) -> Journal:
    """As many queries whatever was made."""
    board = year_board(year, winter_begins)
    planned = {wish.make for lane in board.facts.lanes for wish in lane.hoped}
    finished = [pk for lane in board.facts.lanes for pk in [*lane.made, *lane.unplanned]]
    makes = {make.pk: make for make in _whole(finished)}
    minutes = minutes_of(finished)
    first, last = board.lanes[0].season.first, board.lanes[-1].season.last
    sitting = Sitting.objects.filter(year=year).first()

    def entry(make: Make) -> JournalEntry:
        picture = _picture(make)
        said = list(make.judgements.all())
        ours = [row for row in said if sitting and row.sitting_id == sitting.pk]
        return JournalEntry(
            make=make,
            picture=picture,
            steps=[other for other in in_steps(make) if other != picture],
            cloths=_cloths(make),
            patterns=_patterns(make),
            minutes=minutes.get(make.pk, 0),
            hoped=make.pk in planned,
            judgement=next(iter(ours or said), None),
        )

    def chapter(lane: LaneShown) -> Chapter:
        rows = [make for make in makes.values() if (make.finished_on or last) in lane.season]
        return Chapter(lane, [entry(make) for make in rows])

    return Journal(
        year=year,
        board=board,
        chapters=[chapter(lane) for lane in board.lanes],
        let_go=list(let_go_between(first, last)),
        spent=sum(spent_by_day(first, last).values(), Spent()),
        sitting=sitting,
        ideas=_ideas(sitting) if sitting else [],
        gaps=list(Gap.objects.filter(dropped_at=None, filled=None)),
        coming=year_board(year + 1, winter_begins),
    )


def _whole(keys: Iterable[int]) -> QuerySet[Make]:
    cut = ClothMove.objects.filter(why__in=CUT).select_related("cloth__swatch")
    rows = Make.objects.filter(pk__in=keys).select_related("pattern").order_by("finished_on", "pk")
    return rows.prefetch_related(
        "pictures",
        "judgements",
        Prefetch("further_patterns", FurtherPattern.objects.select_related("pattern")),
        Prefetch("cloth_plans", ClothPlan.objects.select_related("cloth__swatch")),
        Prefetch("cloth_moves", cut),
    )


def _picture(make: Make) -> Picture | None:
    """Its chosen face; else the newest that shows it worn, the newest photograph, the newest
    sketch.
    """

    def place(picture: Picture) -> tuple[bool, bool, bool, int]:
        worn = picture.step == Picture.Step.WORN
        return picture.pk == make.face_id, worn, not picture.drawn, picture.pk

    return max(make.pictures.all(), key=place, default=None)


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


def _patterns(make: Make) -> list[tuple[Pattern, str]]:
    """Each with the size that was sewn."""
    first = [(make.pattern, make.size or make.pattern.size)] if make.pattern else []
    return first + [(use.pattern, use.size) for use in make.further_patterns.all()]


def _ideas(sitting: Sitting) -> list[IdeaSaid]:
    """What was last said of each idea, from when the sitting was begun until it ended."""
    looks = Look.objects.filter(at__gte=sitting.begun_at, undone_at=None)
    if sitting.ended_at:
        looks = looks.filter(at__lte=sitting.ended_at)
    last = {look.make_id: look for look in looks.select_related("make").order_by("at", "pk")}
    makes = Make.objects.filter(pk__in=last).prefetch_related("pictures").order_by("added_at", "pk")
    return [IdeaSaid(make, face_of(make), last[make.pk].get_answer_display()) for make in makes]


def title(studio: Profile, year: int) -> str:
    return f"Journal {year}, {studio.name}"


@dataclass(frozen=True)
class Made:
    pdf: bytes
    pages: int


def journal_pdf(
    journal: Journal, studio: Profile, *, page: str, tell: Callable[[int], object] = int
) -> Made:
    """``page`` is one of ``SIDES``. Pictures are those whose files are there.

    ``tell`` hears in thousandths how far it is.
    """
    wanted = _wanted(journal, SIDES[page])
    full_pages = sum(name.startswith("page") for name in wanted)
    most = MOST_BYTES | {"page": min(MOST_BYTES["page"], PAGES_BYTES // max(1, full_pages))}
    pictures = {}
    for number, (name, (picture, side)) in enumerate(wanted.items()):
        if number % 8 == 0:
            tell(READ * number // len(wanted))
        for jpeg in _jpeg(picture, side, most[name.partition("-")[0]]):
            pictures[name] = jpeg
    tell(READ)
    shown: dict[str, set[int]] = defaultdict(set)
    for name in pictures:
        kind, _, key = name.partition("-")
        shown[kind].add(int(key))
    laid = paper.lay_out(
        "counter/papers/journal.html",
        {
            "studio": studio,
            "journal": journal,
            "shown": {kind: shown[kind] for kind in ("page", "small", "swatch")},
            "length_unit": length_unit(studio),
        },
        title=title(studio, journal.year),
        language=studio.language_tag,
        page=page,
        pictures=pictures,
        sheet="journal",
    )
    tell(LAID_OUT)
    return Made(paper.write([laid], title=title(studio, journal.year)), len(laid.pages))


def _jpeg(picture: Picture, side: int, most: int) -> Iterator[bytes]:
    """One, or none where the file is gone."""
    storage = picture.file.storage
    small = side <= SMALL_SIDE and storage.exists(picture.small_file)
    name = picture.small_file if small else str(picture.file)
    if small or storage.exists(name):
        with storage.open(name) as file:
            yield shrunk(file, side, most)


def _wanted(journal: Journal, side: int) -> dict[str, tuple[Picture, int]]:
    """By its name in the template: ``page-3``, ``small-3`` and ``swatch-3``, each once."""
    entries = journal.entries
    strips = [strip for chapter in journal.chapters for strip in chapter.lane.strips]
    coming = [tile for lane in journal.coming.lanes for tile in lane.hoped]
    used = [used.cloth.swatch for entry in entries for used in entry.cloths]
    bands = [swatch for chapter in journal.chapters for swatch in chapter.swatches]
    small = [
        *(picture for entry in entries for picture in [*entry.steps, entry.picture]),
        *(picture for strip in strips for picture in (strip.first, strip.last)),
        *(idea.picture for idea in journal.ideas),
        *(tile.picture for tile in coming),
    ]
    kinds = [
        ("page", [entry.picture for entry in entries], side),
        ("small", small, SMALL_SIDE),
        ("swatch", used, SMALL_SIDE),
        ("swatch", bands, SWATCH_SIDE),
    ]
    return {
        f"{kind}-{picture.pk}": (picture, most)
        for kind, pictures, most in kinds
        for picture in pictures
        if picture
    }
