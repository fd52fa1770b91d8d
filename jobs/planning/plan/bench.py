"""The bench calendar: working days cut into buckets by whatever interrupts them.

With it goes how much bench time is really lost. Plain data in, plain data out. Moments go in aware
and come out in UTC, since Python subtracts and compares two moments of one zone by their wall
clocks. So minutes are real ones: a day on which the clock changes is as long as it is.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from functools import cached_property
from itertools import groupby, pairwise
from operator import attrgetter
from zoneinfo import ZoneInfo

MINUTE = timedelta(minutes=1)


@dataclass(frozen=True)
class Shift:
    """The bench hours of a weekday: wall time it opens and minutes it stays open."""

    starts: time
    minutes: int


@dataclass(frozen=True)
class ShopHours:
    """Shifts by weekday (Monday is 0), and days off."""

    shifts: dict[int, Shift]
    closed: frozenset[date]

    def is_open(self, day: date) -> bool:
        return day.weekday() in self.shifts and day not in self.closed

    @property
    def opens(self) -> time:
        """The earliest hour at which a day begins; nine where none does (the program's choice)."""
        return min((shift.starts for shift in self.shifts.values()), default=time(9))

    def minutes_in_week(self, monday: date) -> int:
        """Bench minutes of a whole week, before lost time."""
        days = [monday + timedelta(days=ahead) for ahead in range(7)]
        return sum(self.shifts[day.weekday()].minutes for day in days if self.is_open(day))

    def usual_own(self, monday: date, percent: int) -> int:
        """The owner's share of a week's bench time, rounded down to whole minutes."""
        return self.minutes_in_week(monday) * percent // 100


@dataclass(frozen=True)
class Busy:
    """A stretch in which the bench rests: an appointment, or a block of own hours."""

    starts: datetime
    ends: datetime


@dataclass(frozen=True)
class Bucket:
    """A stretch of bench time that nothing cuts. ``minutes`` is what can really be sewn in it."""

    day: date
    starts: datetime
    ends: datetime
    minutes: int

    def clock(self, sewn: int) -> timedelta:
        """How long ``sewn`` minutes take by the clock, lost time included; whole minutes."""
        if not self.minutes:
            return timedelta()
        return (self.ends - self.starts) // MINUTE * sewn // self.minutes * MINUTE

    def sewn(self, clock: timedelta) -> int:
        """How many minutes can be sewn in so much time by the clock; whole minutes."""
        whole = (self.ends - self.starts) // MINUTE
        return clock // MINUTE * self.minutes // whole if whole else 0


@dataclass(frozen=True)
class Bench:
    """Buckets from now on, in order. Index 0 is what is left of the present stretch.

    Every day has at least one bucket (an empty one when nothing can be sewn), so that weeks are
    ranges of buckets.
    """

    now: datetime
    today: date
    zone: ZoneInfo
    buckets: tuple[Bucket, ...]

    @cached_property
    def capacity(self) -> tuple[int, ...]:
        return tuple(bucket.minutes for bucket in self.buckets)

    @cached_property
    def _starts(self) -> list[datetime]:
        return [bucket.starts for bucket in self.buckets]

    @cached_property
    def _ends(self) -> list[datetime]:
        return [bucket.ends for bucket in self.buckets]

    @cached_property
    def _days(self) -> list[date]:
        return [bucket.day for bucket in self.buckets]

    def last_before(self, moment: datetime) -> int:
        """The last bucket that ends by ``moment``; -1 when none does."""
        return bisect_right(self._ends, moment.astimezone(UTC)) - 1

    def first_after(self, moment: datetime) -> int:
        """The first bucket that starts at or after ``moment``; may lie past the horizon."""
        return bisect_left(self._starts, moment.astimezone(UTC))

    def last_of_day(self, day: date) -> int:
        """The last bucket on or before ``day``; -1 when the bench starts later."""
        return bisect_right(self._days, day) - 1

    def first_of_day(self, day: date) -> int:
        return bisect_left(self._days, day)

    def latest_start(self, by: datetime, sewn: int) -> datetime:
        """When to start at the latest so that ``sewn`` minutes are done ``by`` then.

        Never earlier than now: past that there is no later start. O(buckets passed over).
        """
        by, left = by.astimezone(UTC), sewn
        for bucket in reversed(self.buckets[: bisect_left(self._starts, by)]):
            ends = min(bucket.ends, by)
            here = bucket.sewn(ends - bucket.starts)
            if here >= left:
                return ends - bucket.clock(left)
            left -= here
        return self.now

    def day_of(self, moment: datetime) -> date:
        """The studio's local day of a moment."""
        return moment.astimezone(self.zone).date()

    def minutes_on(self, day: date) -> int:
        first, last = self.first_of_day(day), self.last_of_day(day)
        return sum(bucket.minutes for bucket in self.buckets[first : last + 1])


def lay_out(
    now: datetime,
    days: int,
    zone: ZoneInfo,
    shifts: Mapping[int, Shift],
    *,
    closed: Iterable[date] = (),
    busy: Sequence[Busy] = (),
    cuts: Iterable[datetime] = (),
    lost_percent: int = 0,
) -> Bench:
    """The bench of ``days`` days from today.

    A shift belongs to its weekday (Monday is 0). ``busy`` takes its minutes away and cuts;
    ``cuts`` (promise times) only cut, so that *before noon* is exact. ``lost_percent`` of each
    day is not sewn; the minutes left are rounded down to whole ones, from the morning on.
    Raises ValueError for a shift that runs over midnight. O((days + busy + cuts) log).
    """
    today = now.astimezone(zone).date()
    now = now.astimezone(UTC)
    shut = set(closed)
    stops = sorted({moment.astimezone(UTC) for moment in cuts})
    rests = sorted((rest.starts.astimezone(UTC), rest.ends.astimezone(UTC)) for rest in busy)
    buckets: list[Bucket] = []
    for day in (today + timedelta(days=ahead) for ahead in range(days)):
        shift = None if day in shut else shifts.get(day.weekday())
        opens, closes = hours_of(day, shift, zone)
        opens = max(opens, min(now, closes))
        pieces = _cut(_rest(opens, closes, rests), stops) or [(closes, closes)]
        buckets += _buckets(day, pieces, lost_percent)
    return Bench(now, today, zone, tuple(buckets))


def cut_each_day(bench: Bench, hour: time, lost_percent: int) -> Bench:
    """The same bench cut at ``hour`` of every day, so that *by then* is exact. O(buckets)."""
    buckets: list[Bucket] = []
    for day, held in groupby(bench.buckets, key=attrgetter("day")):
        stop = datetime.combine(day, hour, bench.zone).astimezone(UTC)
        pieces = _cut([(bucket.starts, bucket.ends) for bucket in held], [stop])
        buckets += _buckets(day, pieces, lost_percent)
    return replace(bench, buckets=tuple(buckets))


def sew_longer(bench: Bench, added: Mapping[date, int], lost_percent: int, opens: time) -> Bench:
    """The same bench with so many minutes more, by the clock, on these days.

    The day begins earlier, so that the time helps what is promised for that day; today ends later.
    A closed day begins at ``opens``. Days that are past or behind the laid-out bench stay as they
    are. O(buckets).
    """
    buckets: list[Bucket] = []
    for day, held in groupby(bench.buckets, key=attrgetter("day")):
        pieces = [(bucket.starts, bucket.ends) for bucket in held]
        if more := added.get(day, 0) * MINUTE:
            starts, ends = pieces[0]
            if day == bench.today:
                starts, ends = pieces[-1]
                pieces[-1] = (max(starts, bench.now), max(ends, bench.now) + more)
            elif starts == ends:
                starts = datetime.combine(day, opens, bench.zone).astimezone(UTC)
                pieces[0] = (starts, starts + more)
            else:
                pieces[0] = (starts - more, ends)
        buckets += _buckets(day, pieces, lost_percent)
    return replace(bench, buckets=tuple(buckets))


def _buckets(
    day: date, pieces: Iterable[tuple[datetime, datetime]], lost_percent: int
) -> Iterator[Bucket]:
    """The pieces of one day. However it is cut, it holds as many minutes in all."""
    gone = held = 0
    for starts, ends in pieces:
        gone += (ends - starts) // MINUTE
        minutes = gone * (100 - lost_percent) // 100 - held
        held += minutes
        yield Bucket(day, starts, ends, minutes)


def hours_of(day: date, shift: Shift | None, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """When the bench opens and closes, in UTC; a closed day is an empty stretch at its midnight."""
    starts = shift.starts if shift else time(0)
    opens = datetime.combine(day, starts, zone).astimezone(UTC)
    if shift is None:
        return opens, opens
    ends = starts.hour * 60 + starts.minute + shift.minutes
    if ends > 24 * 60:
        raise ValueError("A working day cannot run over midnight: end it by 24:00.")
    last, rest = divmod(ends, 24 * 60)
    closes = datetime.combine(day + timedelta(days=last), time(*divmod(rest, 60)), zone)
    return opens, max(opens, closes.astimezone(UTC))


def _rest(
    opens: datetime, closes: datetime, rests: Sequence[tuple[datetime, datetime]]
) -> list[tuple[datetime, datetime]]:
    """What the appointments leave of a day."""
    pieces, at = [], opens
    for starts, ends in rests:
        if ends <= at or starts >= closes:
            continue
        if starts > at:
            pieces.append((at, starts))
        at = max(at, ends)
    if at < closes:
        pieces.append((at, closes))
    return pieces


def _cut(
    pieces: list[tuple[datetime, datetime]], stops: Sequence[datetime]
) -> list[tuple[datetime, datetime]]:
    """The pieces cut once more where something is due."""
    cut = []
    for begins, ends in pieces:
        inside = stops[bisect_right(stops, begins) : bisect_left(stops, ends)]
        edges = [begins, *inside, ends]
        cut += list(pairwise(edges))
    return cut


@dataclass(frozen=True)
class LostTime:
    """Bench minutes of the days on which anything was timed, and the minutes timed in them."""

    days: int
    bench: int
    sewn: int

    @property
    def percent(self) -> int:
        """The lost part in whole percent, half up. Needs at least one day."""
        lost = self.bench - self.sewn
        return (200 * lost + self.bench) // (2 * self.bench)


def lost_time(bench: Bench, sewn: Iterable[Busy]) -> LostTime:
    """What of the bench was sewn in, on the days on which anything was.

    Times that run beside each other count once, and what lies outside the bench hours not at all.
    ``bench`` is laid out without lost time. O(buckets times stretches).
    """
    stretches = _merged(sewn)
    days: set[object] = set()
    total = 0
    for bucket in bench.buckets:
        held = sum(
            max(0, (min(ends, bucket.ends) - max(starts, bucket.starts)) // MINUTE)
            for starts, ends in stretches
        )
        if held:
            days.add(bucket.day)
            total += held
    capacity = sum(bucket.minutes for bucket in bench.buckets if bucket.day in days)
    return LostTime(len(days), capacity, total)


def _merged(sewn: Iterable[Busy]) -> list[tuple[datetime, datetime]]:
    merged: list[tuple[datetime, datetime]] = []
    for starts, ends in sorted((s.starts.astimezone(UTC), s.ends.astimezone(UTC)) for s in sewn):
        if merged and starts <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(merged[-1][1], ends))
        else:
            merged.append((starts, ends))
    return merged
