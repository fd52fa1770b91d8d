"""Makes that the owner planned like a promise: own time that has a day.

Their minutes are the first of the own hours until their day; only what these cannot hold comes on
top. They never make the book overfull: what the promises to clients leave no room for is left out,
and nobody is late for it.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from jobs.planning.core import Stage, spare
from jobs.planning.core.share import OWN
from jobs.planning.plan.bench import Bench


@dataclass(frozen=True)
class PlannedMake:
    """A make of which ``minutes`` are still to be sewn, to be worn on ``day``."""

    pk: int
    words: str
    day: date
    minutes: int

    @property
    def stage(self) -> str:
        """It begins like the stages of own hours: whoever tells them apart counts it as own."""
        return f"{OWN} make {self.pk}"


@dataclass(frozen=True)
class OwnWeek:
    """A week of own hours: its first day, and minutes that are on no day yet."""

    monday: date
    loose: int


@dataclass(frozen=True)
class Given:
    """Stages of planned makes, and the minutes that each week's own hours give to them."""

    stages: tuple[Stage, ...]
    by_week: tuple[int, ...]


def give(
    makes: Sequence[PlannedMake],
    bench: Bench,
    clients: Sequence[Stage],
    placed_on: Mapping[date, int],
    weeks: Sequence[OwnWeek],
) -> Given:
    """Room for the makes, the first to be worn first.

    They are sewn in hours that were put on days for nothing in particular (``placed_on``, already
    out of the bench), else in bench time that the ``clients`` leave, for which the nearest weeks
    give of their own hours. What is more than all own hours until then comes on top.
    O(makes * (T + n log n)).
    """
    stages: list[Stage] = []
    given, placed_taken = [0] * len(weeks), 0
    for make in sorted(makes, key=lambda one: (one.day, one.pk)):
        placed = sum(minutes for day, minutes in placed_on.items() if day <= make.day)
        taken = min(make.minutes, max(0, placed - placed_taken))
        placed_taken += taken
        due = bench.last_of_day(make.day)
        room = spare(bench.capacity, [*clients, *stages])[due] if due >= 0 else 0
        minutes = min(make.minutes - taken, max(0, room))
        if not minutes:
            continue
        stages.append(Stage(make.stage, make.stage, 0, minutes, 0, due))
        for place, week in enumerate(weeks):
            if week.monday <= make.day:
                part = min(minutes, week.loose - given[place])
                given[place] += part
                minutes -= part
    return Given(tuple(stages), tuple(given))
