"""The record: all that was made as pictures, by year and season, and what became of it."""

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import timedelta
from decimal import Decimal

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from jobs.makes.ideas.queries import put_away
from jobs.makes.lengths import length_unit
from jobs.makes.models import Fate, Judgement, Make, MakeState
from jobs.makes.shelf.queries import cut_by_day
from jobs.makes.tables import FATES
from jobs.makes.wall.queries import FEW_KINDS, Tile, for_others, tile_of, with_marks
from jobs.makes.year.seasons import Season, season_of, seasons_of
from jobs.planning.bench_time import spent_by_day
from studio.shop.http import StudioRequest

UNSAID = "unsaid"
SAID = {
    Judgement.Verdict.KEEP: "Kept",
    Judgement.Verdict.LET_GO: "To let go",
    Judgement.Verdict.UNSURE: "Not sure",
}
# What is hardly worn comes first, for a phone shows few chips.
OUTCOMES = {fate.value: str(fate.label) for fate in (Fate.RARELY, *FATES)} | {
    answer.value: words for answer, words in SAID.items()
} | {UNSAID: "Never judged"}  # fmt: skip
"""What became of a make, or was last said of it, in the order of the chips."""
MOST_SHOWN = 120
"""Pictures on a page; the years before are a page of their own."""


@dataclass(frozen=True)
class MadeTile:
    """A finished make with the key of its outcome in ``OUTCOMES``."""

    tile: Tile
    outcome: str

    @property
    def make(self) -> Make:
        return self.tile.make

    @property
    def outcome_words(self) -> str:
        return OUTCOMES[self.outcome]


@dataclass
class RecordSeason:
    season: Season
    makes: list[MadeTile] = field(default_factory=list)


@dataclass
class RecordYear:
    """``minutes`` and mm ``cut`` are all of the year's, as its board says them."""

    year: int
    seasons: list[RecordSeason] = field(default_factory=list)
    minutes: int = 0
    cut: Decimal = Decimal(0)

    @property
    def count(self) -> int:
        return sum(len(season.makes) for season in self.seasons)


@dataclass(frozen=True)
class RecordChip:
    key: str
    words: str
    count: int


def outcome_of(make: Make) -> str:
    """What became of it, else what was said of it last."""
    if make.fate:
        return str(Fate(make.fate).value)
    said = next(iter(make.judgements.all()), None)
    return str(said.answer) if said else UNSAID


def made(wanted: str = "") -> list[MadeTile]:
    """All that was made, the latest first, in seven queries; one more where words are sought."""
    rows = with_marks(put_away(state=MakeState.FINISHED, wanted=wanted))
    return [
        MadeTile(tile_of(make), outcome_of(make)) for make in rows.prefetch_related("judgements")
    ]


def chips_of(makes: Iterable[MadeTile]) -> list[RecordChip]:
    """Outcomes and kinds as they occur, and what was made for others."""
    makes = list(makes)
    outcomes = Counter(row.outcome for row in makes)
    kinds = Counter(_kind(row) for row in makes if _kind(row))
    chips = [RecordChip(key, words, outcomes[key]) for key, words in OUTCOMES.items()]
    chips += [
        RecordChip(f"kind-{kind}", kind.capitalize(), n) for kind, n in kinds.most_common(FEW_KINDS)
    ]
    chips.append(RecordChip("others", "For others", sum(_for_others(row) for row in makes)))
    return [chip for chip in chips if chip.count]


def shown_by(key: str, makes: Iterable[MadeTile]) -> list[MadeTile]:
    """Those that a chip holds; all for a key that is none."""
    makes = list(makes)
    if key in OUTCOMES:
        return [row for row in makes if row.outcome == key]
    if key.startswith("kind-"):
        return [row for row in makes if f"kind-{_kind(row)}" == key]
    return [row for row in makes if _for_others(row)] if key == "others" else makes


def _kind(row: MadeTile) -> str:
    return row.make.kind.strip().lower()


def _for_others(row: MadeTile) -> bool:
    return for_others(row.make)


def by_year(makes: Iterable[MadeTile], winter_begins: int) -> list[RecordYear]:
    """The latest year and season first, with the sums of each year. Two queries."""
    seasons: dict[Season, RecordSeason] = {}
    for row in makes:
        if row.make.finished_on:
            season = season_of(row.make.finished_on, winter_begins)
            seasons.setdefault(season, RecordSeason(season)).makes.append(row)
    years: dict[int, RecordYear] = {}
    for season in sorted(seasons, reverse=True):
        year = years.setdefault(season.year, RecordYear(season.year))
        year.seasons.append(seasons[season])
    if years:
        first = seasons_of(min(years), winter_begins)[0].first
        last = seasons_of(max(years), winter_begins)[-1].last
        sewn = {day: spent.own for day, spent in spent_by_day(first, last).items()}
        minutes, cut = defaultdict[int, int](int), defaultdict[int, Decimal](Decimal)
        for day, own in sewn.items():
            minutes[season_of(day, winter_begins).year] += own
        for day, mm in cut_by_day(first, last + timedelta(days=1)).items():
            cut[season_of(day, winter_begins).year] += mm
        for year in years.values():
            year.minutes, year.cut = minutes[year.year], cut[year.year]
    return list(years.values())


def first_years(years: list[RecordYear]) -> tuple[list[RecordYear], int | None]:
    """As many whole years as there is room for, and the first that is left for another page."""
    room = MOST_SHOWN
    for place, year in enumerate(years):
        if place and year.count > room:
            return years[:place], year.year
        room -= year.count
    return years, None


@require_GET
def record(request: StudioRequest) -> HttpResponse:
    """What was made; ``say`` is the make of which is said what became of it.

    What was let go or rests is a page of its own, at the address that it has always had.
    """
    wanted, show = request.GET.get("q", ""), request.GET.get("show", "")
    if request.GET.get("state") in {MakeState.LET_GO, MakeState.RESTING}:
        return _set_aside(request, wanted)
    makes = made(wanted)
    seen = shown_by(show, makes)
    before, say = (_whole(request.GET.get(name, "")) for name in ("before", "say"))
    years = by_year(seen, request.studio.winter_begins)
    years = [year for year in years if before is None or year.year <= before]
    years, older = first_years(years)
    listed = [row for year in years for season in year.seasons for row in season.makes]
    at = next((place for place, row in enumerate(listed) if row.make.pk == say), None)
    following = [row for row in listed[at + 1 :] if row.outcome == UNSAID] if at is not None else []
    shown = {
        "makes": makes,
        "seen": seen,
        "years": years,
        "older": older,
        "chips": chips_of(makes),
        "show": show if len(seen) < len(makes) or show in OUTCOMES else "",
        "wanted": wanted,
        "before": before,
        "saying": None if at is None else listed[at],
        "following": following[0].make if following else None,
        "fates": FATES,
        "length_unit": length_unit(request.studio),
    }
    return render(request, "planning/record/record.html", shown)


def _whole(text: str) -> int | None:
    return int(text) if text.isdecimal() and len(text) < 10 else None


def _set_aside(request: StudioRequest, wanted: str) -> HttpResponse:
    """What rests, and what was let go; each can be brought back."""
    groups = [
        (words, state, [tile_of(make) for make in with_marks(put_away(state=state, wanted=wanted))])
        for words, state in (("Resting", MakeState.RESTING), ("Let go", MakeState.LET_GO))
    ]
    shown = {"groups": groups, "wanted": wanted, "count": sum(len(rows) for *_, rows in groups)}
    return render(request, "planning/record/set_aside.html", shown)
