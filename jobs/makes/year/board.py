"""A year as a board: what was hoped for in each season, what was made of it, what came unplanned.

The same board is the record of a past year, the state of this one and the plan of the next. The
plan of a season is what stood when the season began; what is added while it runs is shown, and
is no part of the plan, so that planned and made can be compared. Plain Python; minutes and mm.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal

from jobs.makes.year.seasons import Season


@dataclass(frozen=True)
class Hoped:
    """Something hoped for in the season that begins on ``begins``. Of a make or of a gap.

    ``minutes`` and ``mm`` are what it is guessed to ask for; None while nobody has said. ``cloth``
    says that some is meant for it, ``guessed`` that its ``mm`` are what the pattern asks for.
    """

    make: int | None
    gap: int | None
    begins: date
    since: datetime
    until: datetime | None
    minutes: int | None = None
    mm: Decimal | None = None
    cloth: bool = False
    guessed: bool = False

    @property
    def thing(self) -> tuple[int | None, int | None]:
        return self.make, self.gap

    def stood_at(self, moment: datetime) -> bool:
        return self.since <= moment and (self.until is None or moment < self.until)


@dataclass(frozen=True)
class Finished:
    make: int
    day: date


@dataclass
class Lane:
    """One season. ``hoped`` is its plan, ``standing`` what is hoped for now, in the order it came
    in, ``later`` what of it was added once the season ran.
    """

    season: Season
    hoped: list[Hoped] = field(default_factory=list)
    standing: list[Hoped] = field(default_factory=list)
    later: list[Hoped] = field(default_factory=list)
    made: list[int] = field(default_factory=list)
    unplanned: list[int] = field(default_factory=list)

    @property
    def hoped_minutes(self) -> int:
        return sum(wish.minutes or 0 for wish in self.hoped)

    @property
    def hoped_mm(self) -> Decimal:
        return sum((wish.mm or Decimal(0) for wish in self.hoped), Decimal(0))

    @property
    def guessed_mm(self) -> Decimal:
        """What of it nobody said: the patterns ask for it."""
        return sum((wish.mm or Decimal(0) for wish in self.hoped if wish.guessed), Decimal(0))

    @property
    def cloth(self) -> bool:
        """Whether cloth is meant for anything, of whatever length."""
        return any(wish.cloth for wish in self.hoped)


@dataclass(frozen=True)
class Board:
    lanes: list[Lane]

    @property
    def hoped_makes(self) -> set[int]:
        """Makes that were part of a season's plan, each counted once."""
        return {wish.make for lane in self.lanes for wish in lane.hoped if wish.make is not None}

    @property
    def hoped_and_made(self) -> int:
        return sum(len(lane.made) for lane in self.lanes)

    @property
    def unplanned(self) -> int:
        return sum(len(lane.unplanned) for lane in self.lanes)

    @property
    def made(self) -> int:
        return self.hoped_and_made + self.unplanned


def board(
    seasons: Sequence[Season],
    wishes: Iterable[Hoped],
    finished: Iterable[Finished],
    *,
    starts: dict[date, datetime],
    now: datetime,
) -> Board:
    """The year of these seasons. ``starts`` says at which moment each begins, in local time.

    A make that is in the plan of any season of the year that has begun was hoped for, also when it
    was finished in another; all else that was finished is unplanned.
    """
    lanes = {season.first: Lane(season) for season in seasons}
    for wish in wishes:
        lane = lanes.get(wish.begins)
        if lane is None:
            continue
        if wish.stood_at(min(starts[wish.begins], now)):
            lane.hoped.append(wish)
        if wish.until is None:
            lane.standing.append(wish)
    for lane in lanes.values():
        planned_here = {wish.thing for wish in lane.hoped}
        lane.later = [wish for wish in lane.standing if wish.thing not in planned_here]
    planned = {
        wish.make for lane in lanes.values() if starts[lane.season.first] <= now
        for wish in lane.hoped
    }  # fmt: skip
    for done in finished:
        for lane in lanes.values():
            if done.day in lane.season:
                (lane.made if done.make in planned else lane.unplanned).append(done.make)
    return Board(list(lanes.values()))
