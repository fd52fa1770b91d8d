"""Times at which a client could come: inside the bench hours and clear of everything booked."""

from collections.abc import Iterator, Sequence
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from jobs.planning.plan.bench import Bench, Busy, Shift, hours_of

STEP = 30
"""Minutes between two times that are offered: people keep full and half hours."""


def free_times(
    bench: Bench, day: date, shift: Shift | None, taken: Sequence[Busy], minutes: int
) -> Iterator[datetime]:
    """The half hours of a day at which ``minutes`` are free, in UTC, earliest first.

    ``shift`` is None on a closed day. O(48 times what is taken).
    """
    if shift is None:
        return
    opens, closes = hours_of(day, shift, bench.zone)
    for starts in _half_hours(day, bench.zone):
        ends = starts + timedelta(minutes=minutes)
        inside = max(opens, bench.now) <= starts and ends <= closes
        if inside and not any(rest.starts < ends and starts < rest.ends for rest in taken):
            yield starts


def spread(times: Sequence[datetime], zone: ZoneInfo) -> list[datetime]:
    """At most three of a day's times: the first before noon, before three, and after that."""
    chosen: dict[int, datetime] = {}
    for moment in times:
        hour = moment.astimezone(zone).hour
        chosen.setdefault((hour >= 12) + (hour >= 15), moment)
    return list(chosen.values())


def _half_hours(day: date, zone: ZoneInfo) -> Iterator[datetime]:
    """The full and half hours of a local day; those that the clock leaps over are left out."""
    for minute in range(0, 24 * 60, STEP):
        wall = datetime.combine(day, time(*divmod(minute, 60)), zone)
        moment = wall.astimezone(UTC)
        if moment.astimezone(zone).time() == wall.time():
            yield moment
