"""The year as a board: what was hoped for in each season, what was made, what came unplanned."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import time
from decimal import Decimal

from django.db.models import Prefetch, Q

from jobs.makes.ideas.actions import ON_THE_WALL
from jobs.makes.ideas.queries import face_of
from jobs.makes.models import Budget, Cloth, ClothPlan, Gap, Hope, Make, MakeState, Picture
from jobs.makes.shelf.queries import cut_by_day, free_lengths
from jobs.makes.wishes import cloth_meant
from jobs.makes.year.actions import DONE_WITH
from jobs.makes.year.board import Board, Finished, Hoped, Lane, board
from jobs.makes.year.seasons import Name, Season, season_of, seasons_of
from jobs.planning.bench_time import HoursGuess, guesses_of, spent_by_day
from studio.shop import clock
from studio.shop.look.garments import drawing_of

SHOWN_IN_A_LANE = 9
SHOWN_FOR_SOME_TIME = 12
MARKS = {
    MakeState.FINISHED: "made",
    MakeState.UNDER_WAY: "under way",
    MakeState.RESTING: "resting",
    MakeState.LET_GO: "let go",
}


@dataclass(frozen=True)
class BoardTile:
    """A make or a gap on the board. ``key`` is how a form names it: ``make-3`` or ``gap-2``.

    ``planned`` is what was hoped for when the season began, ``later`` what came to it since, and
    ``moved_on`` what of the plan is no longer hoped for. Without a picture it is ``drawn_as`` some
    garment, in the ``colour`` of its cloth. ``worn`` is the kind of season it is for, which is no
    hope to make it in one.
    """

    key: str
    words: str
    picture: Picture | None = None
    address: str = ""
    mark: str = ""
    movable: bool = True
    planned: bool = False
    later: bool = False
    moved_on: bool = False
    drawn_as: str = ""
    colour: str = ""
    worn: str = ""

    @property
    def gap(self) -> bool:
        return self.key.startswith("gap")

    @property
    def note(self) -> str:
        """What is said of it in a row, in a word or two; a tick says that it is made."""
        if self.mark:
            return "" if self.mark == "made" else self.mark
        return "moved on" if self.moved_on else "added later" if self.later else ""


@dataclass(frozen=True)
class Strip:
    """What was planned, from its first picture to its last, and what came of it in words."""

    words: str
    first: Picture | None
    last: Picture | None
    outcome: str
    made: bool = False
    address: str = ""


@dataclass(frozen=True)
class SeasonBar:
    """Hours or metres of a season: what was, what was hoped, what was a year before, and what was
    set aside for it, each as a share of the longest bar of the year in thousandths.
    """

    was: int
    hoped: int
    before: int
    budget: int


@dataclass(frozen=True)
class LaneShown:
    """``hoped`` is what stands, in the owner's order, then what of the plan is no longer hoped for.

    ``sewn`` and ``wanted`` are minutes, ``cut`` and ``asked`` mm of cloth, and ``budget`` has what
    was set aside of both, if anything was.
    """

    season: Season
    begun: bool
    over: bool
    hoped: list[BoardTile]
    made: list[BoardTile]
    unplanned: list[BoardTile]
    strips: list[Strip]
    sewn: int
    wanted: int
    sewn_before: int
    cut: Decimal
    asked: Decimal
    guessed: Decimal
    has_cloth: bool
    hours: SeasonBar
    cloth: SeasonBar
    budget: Budget | None

    @property
    def minutes_beyond(self) -> int:
        """What is hoped for or sewn beyond what was set aside."""
        aside = self.budget.minutes if self.budget else None
        return max(0, max(self.sewn, self.wanted) - aside) if aside is not None else 0

    @property
    def mm_beyond(self) -> Decimal:
        aside = self.budget.mm if self.budget else None
        beyond = max(self.cut, self.asked) - aside if aside is not None else Decimal(0)
        return max(Decimal(0), beyond)

    @property
    def movable(self) -> bool:
        """Whether anything may still be put in or taken out."""
        return not self.over

    @property
    def next_hidden(self) -> str:
        """The key of the first tile that is not shown, where only the first few are."""
        hidden = [tile for tile in self.hoped[SHOWN_IN_A_LANE:] if not tile.moved_on]
        return hidden[0].key if hidden else ""

    @property
    def hidden(self) -> int:
        return sum(not tile.moved_on for tile in self.hoped[SHOWN_IN_A_LANE:])

    @property
    def made_count(self) -> int:
        return len(self.made) + len(self.unplanned)


@dataclass(frozen=True)
class YearBoard:
    year: int
    lanes: list[LaneShown]
    facts: Board
    under_way: int
    some_time: list[BoardTile]
    gaps: list[BoardTile]
    free: list[tuple[Cloth, Decimal]]

    @property
    def begun(self) -> bool:
        return self.lanes[0].begun

    @property
    def over(self) -> bool:
        return self.lanes[-1].over

    @property
    def worn(self) -> list[tuple[str, int]]:
        """The kinds of season that things for some time are for, and how many of each."""
        counts = Counter(tile.worn for tile in self.some_time)
        return [(name.value, counts[name.value]) for name in Name if counts[name.value]]

    def for_some_time(self, *, worn: str, every: bool) -> list[BoardTile]:
        """Those for one kind of season, else the first few or ``every`` one."""
        chosen = [tile for tile in self.some_time if not worn or tile.worn == worn]
        return chosen if worn or every else chosen[:SHOWN_FOR_SOME_TIME]

    @property
    def sewn(self) -> int:
        return sum(lane.sewn for lane in self.lanes)

    @property
    def wanted(self) -> int:
        return sum(lane.wanted for lane in self.lanes)

    @property
    def sewn_before(self) -> int:
        return sum(lane.sewn_before for lane in self.lanes)

    @property
    def gaps_hoped(self) -> bool:
        return any(tile.gap for lane in self.lanes for tile in lane.hoped)

    @property
    def cut(self) -> Decimal:
        return sum((lane.cut for lane in self.lanes), Decimal(0))

    @property
    def asked(self) -> Decimal:
        return sum((lane.asked for lane in self.lanes), Decimal(0))

    @property
    def guessed(self) -> Decimal:
        return sum((lane.guessed for lane in self.lanes), Decimal(0))


def year_board(year: int, winter_begins: int) -> YearBoard:
    """All of the board's page, in a fixed number of queries for any number of makes."""
    seasons = seasons_of(year, winter_begins)
    first, last = seasons[0].first, seasons[-1].last
    makes = {
        make.pk: make
        for make in Make.objects.filter(
            Q(hopes__begins__in=[season.first for season in seasons])
            | Q(state=MakeState.FINISHED, finished_on__range=(first, last))
            | Q(state__in=[*ON_THE_WALL])
        )
        .distinct()
        .select_related("pattern")
        .prefetch_related(
            "pictures",
            "pattern__needs",
            Prefetch("cloth_plans", ClothPlan.objects.select_related("cloth")),
        )
    }
    hopes = list(
        Hope.objects.filter(begins__in=[season.first for season in seasons]).select_related("gap")
    )
    guesses = guesses_of(makes[hope.make_id] for hope in hopes if hope.make_id)
    done = [
        Finished(make.pk, make.finished_on)
        for make in sorted(makes.values(), key=lambda make: (make.finished_on or last, make.pk))
        if make.state == MakeState.FINISHED and make.finished_on
    ]
    facts = board(
        seasons,
        [_wish(hope, makes, guesses) for hope in hopes],
        done,
        starts={season.first: clock.at(season.first, time.min) for season in seasons},
        now=clock.now(),
    )
    gaps = list(Gap.objects.filter(dropped_at=None, filled=None))
    missed = {gap.pk: gap for gap in [*gaps, *(hope.gap for hope in hopes if hope.gap)]}
    hoped = {(hope.make_id, hope.gap_id) for hope in Hope.objects.filter(until=None)}
    return YearBoard(
        year=year,
        lanes=_lanes(facts, makes, missed, winter_begins),
        facts=facts,
        under_way=sum(make.state == MakeState.UNDER_WAY for make in makes.values()),
        some_time=[
            _tile(make) for make in makes.values()
            if make.state in ON_THE_WALL and (make.pk, None) not in hoped
        ],
        gaps=[_tile(gap) for gap in gaps if (None, gap.pk) not in hoped],
        free=free_lengths(),
    )  # fmt: skip


def _wish(hope: Hope, makes: dict[int, Make], guesses: dict[int, HoursGuess]) -> Hoped:
    make = makes.get(hope.make_id or 0)
    guess, meant = guesses.get(hope.make_id or 0), cloth_meant(make) if make else None
    return Hoped(
        make=hope.make_id, gap=hope.gap_id, begins=hope.begins, since=hope.since, until=hope.until,
        minutes=guess.minutes if guess else None,
        mm=meant.mm if meant else None,
        cloth=meant is not None,
        guessed=meant is not None and meant.guessed,
    )  # fmt: skip


def _tile(thing: Make | Gap) -> BoardTile:
    if isinstance(thing, Gap):
        return BoardTile(f"gap-{thing.pk}", thing.words, address=thing.get_absolute_url())
    state, picture = MakeState(thing.state), face_of(thing)
    words = thing.kind or thing.words
    return BoardTile(
        f"make-{thing.pk}",
        str(thing),
        picture,
        thing.get_absolute_url(),
        MARKS.get(state, ""),
        movable=state not in DONE_WITH,
        drawn_as=words if not picture and words and drawing_of(words) != "other" else "",
        colour=next((plan.cloth.colour for plan in thing.cloth_plans.all()), ""),
        worn=thing.season,
    )


def _strip(thing: Make | Gap, planned: Season, winter_begins: int) -> Strip:
    if isinstance(thing, Gap):
        outcome = "still missing"
        if thing.filled_id:
            outcome = "became an idea"
        elif thing.dropped_at:
            outcome = "missed no more"
        return Strip(str(thing), None, None, outcome)
    pictures = in_steps(thing)
    first, last = next(iter(pictures), None), face_of(thing)
    outcome = MARKS.get(MakeState(thing.state), "still an idea")
    if thing.state == MakeState.FINISHED and thing.finished_on:
        when = season_of(thing.finished_on, winter_begins)
        if when.year != planned.year:
            outcome = f"made in {when}"
        elif when != planned:
            outcome = f"made in {when.name}"
    made = thing.state == MakeState.FINISHED
    return Strip(str(thing), first, last, outcome, made, thing.get_absolute_url())


def in_steps(make: Make) -> list[Picture]:
    """Its pictures from the first idea to the worn garment; of one step the older first.

    What a picture shows need not be said: a drawing is a sketch, a photograph comes after that.
    """
    steps = list(Picture.Step)
    sketch = steps.index(Picture.Step.SKETCH)

    def place(picture: Picture) -> tuple[float, int]:
        if picture.step:
            return steps.index(Picture.Step(picture.step)), picture.pk
        return sketch if picture.drawn else sketch + 0.5, picture.pk

    return sorted(make.pictures.all(), key=place)


def _lanes(
    facts: Board, makes: dict[int, Make], gaps: dict[int, Gap], winter_begins: int
) -> list[LaneShown]:
    last = facts.lanes[-1].season.last
    year_before = facts.lanes[0].season.year_before.first
    spent = {day: spent.own for day, spent in spent_by_day(year_before, last).items()}
    cut = cut_by_day(year_before, last)
    budgets = {row.season: row for row in Budget.objects.filter(year=facts.lanes[0].season.year)}
    today = clock.today()

    def minutes(season: Season) -> int:
        return sum(sewn for day, sewn in spent.items() if day in season)

    def thing(wish: Hoped) -> Make | Gap:
        return makes[wish.make] if wish.make is not None else gaps[wish.gap or 0]

    def hoped(lane: Lane) -> list[BoardTile]:
        stands = {wish.thing for wish in lane.standing}
        rows = [*lane.standing, *(wish for wish in lane.hoped if wish.thing not in stands)]
        later = {wish.thing for wish in lane.later}
        return [
            replace(
                tile := _tile(thing(wish)),
                movable=tile.movable and wish.until is None and lane.season.last >= today,
                planned=wish.thing not in later and lane.season.first <= today,
                later=wish.thing in later,
                moved_on=wish.until is not None,
            )
            for wish in rows
        ]

    def metres(season: Season) -> Decimal:
        return sum((mm for day, mm in cut.items() if day in season), Decimal(0))

    rows = []
    for lane in facts.lanes:
        season, before = lane.season, lane.season.year_before
        budget = budgets.get(season.name.value)
        aside = (budget and budget.minutes) or 0, (budget and budget.mm) or Decimal(0)
        hours = minutes(season), lane.hoped_minutes, minutes(before), aside[0]
        cloth = metres(season), lane.hoped_mm, metres(before), aside[1]
        rows.append((lane, budget, hours, cloth))
    longest = max([1, *(max(hours) for _, _, hours, _ in rows)])
    most = max([Decimal(1), *(max(cloth) for *_, cloth in rows)])
    return [
        LaneShown(
            season=lane.season,
            begun=lane.season.first <= today,
            over=lane.season.last < today,
            hoped=hoped(lane),
            made=[_tile(makes[pk]) for pk in lane.made],
            unplanned=[_tile(makes[pk]) for pk in lane.unplanned],
            strips=[_strip(thing(wish), lane.season, winter_begins) for wish in lane.hoped],
            sewn=hours[0],
            wanted=lane.hoped_minutes,
            sewn_before=hours[2],
            cut=cloth[0],
            asked=lane.hoped_mm,
            guessed=lane.guessed_mm,
            has_cloth=lane.cloth,
            hours=_bar(hours, longest),
            cloth=_bar(cloth, most),
            budget=budget,
        )
        for lane, budget, hours, cloth in rows
    ]


def _bar(amounts: Sequence[Decimal | int], most: Decimal | int) -> SeasonBar:
    return SeasonBar(*(round(1000 * amount / most) for amount in amounts))
