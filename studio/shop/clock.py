"""The studio's own day and time. The database keeps UTC; pages and papers speak local time."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.utils import timezone

from studio.shop.models import Profile

# How far the newest entry may lie ahead: what two machines' clocks differ by.
TOLERANCE = timedelta(minutes=10)

EARLIEST, LATEST = date(1900, 1, 1), date(9000, 12, 31)

_doubted: ContextVar[datetime | None] = ContextVar("doubted", default=None)
_pretended: ContextVar[datetime | None] = ContextVar("pretended", default=None)


@contextmanager
def pretend(moment: datetime) -> Iterator[None]:
    """Act as if it were another moment: how the demo studio gets its past."""
    token = _pretended.set(moment)
    try:
        yield
    finally:
        _pretended.reset(token)


class ClockError(Exception):
    """No number is taken by a clock that lies behind what was saved, unless somebody says so."""


@contextmanager
def doubted(newest: datetime | None) -> Iterator[None]:
    """Inside, ``trust`` raises ClockError where the clock lies behind ``newest``."""
    token = _doubted.set(newest)
    try:
        yield
    finally:
        _doubted.reset(token)


def is_behind(newest: datetime | None) -> bool:
    return newest is not None and newest > now() + TOLERANCE


def trust() -> None:
    """Raises ClockError where nobody should count on what day it is."""
    if is_behind(_doubted.get()):
        raise ClockError


def activate(profile: Profile | None) -> None:
    """Make the studio's time zone the current one (each request, each command)."""
    if profile:
        timezone.activate(ZoneInfo(profile.time_zone))
    else:
        timezone.deactivate()


def now() -> datetime:
    """This moment, aware, in whole milliseconds: what JSON can carry there and back."""
    moment = _pretended.get() or timezone.now()
    return moment.replace(microsecond=moment.microsecond // 1000 * 1000)


def today() -> date:
    """The studio's local day."""
    return timezone.localdate(now())


def local(moment: datetime) -> datetime:
    return timezone.localtime(moment)


def in_utc(moment: datetime) -> datetime:
    return moment.astimezone(UTC)


def at(day: date, hour: time) -> datetime:
    """The aware moment of a local wall time; the earlier one when the clock repeats an hour."""
    return timezone.make_aware(datetime.combine(day, hour))


def days(first: date, last: date) -> tuple[datetime, datetime]:
    """The moments from which and before which something falls on ``first`` to ``last``.

    Days that no book holds, such as one typed as 31.12.9999, are cut to those that a database and
    a time zone can still reckon with.
    """
    begins, ends = max(first, EARLIEST), min(last, LATEST) + timedelta(days=1)
    return at(begins, time.min), at(ends, time.min)


class IsoDate:
    """A day such as ``2026-03-02`` (ISO 8601, the extended calendar format)."""

    regex = r"\d{4}-\d\d-\d\d"

    def to_python(self, value: str) -> date:
        return date.fromisoformat(value)

    def to_url(self, value: date) -> str:
        return value.isoformat()
