"""Minutes really spent: one tap to start, one to stop, or an honest guess afterwards."""

from datetime import timedelta

from django.db import transaction

from jobs.planning.errors import PlanError
from jobs.planning.models import BenchTime
from jobs.tickets import actions as tickets
from jobs.tickets.models import Line
from studio.shop import clock
from studio.shop.models import User

FORGOTTEN = 4 * 60
"""Minutes after which a running clock was surely forgotten (common practice: a long sitting)."""


@transaction.atomic
def start_clock(*, line: Line | None, purpose: str, by: User) -> BenchTime:
    """Start the clock; one that still runs is stopped first. Starting it twice is once.

    Client work starts its ticket. Raises PlanError for client work without an operation.
    """
    running = _running(by)
    if running and running.line == line and running.purpose == purpose:
        return running
    if running:
        _stop(running)
    if purpose == BenchTime.Purpose.CLIENT:
        if line is None:
            raise PlanError("Say which operation you are working on.")
        tickets.start(ticket=line.garment.ticket, by=by)
    return BenchTime.objects.create(line=line, purpose=purpose, started_at=clock.now(), by=by)


@transaction.atomic
def stop_clock(*, by: User, minutes: int | None = None) -> BenchTime | None:
    """Stop the running clock; ``minutes`` trims one that was forgotten. None when none runs."""
    running = _running(by)
    if running is None:
        return None
    return _stop(running, minutes)


@transaction.atomic
def log_time(*, line: Line | None, purpose: str, minutes: int, by: User) -> BenchTime:
    """About so many minutes, until now. Raises PlanError below 1 minute or over a day."""
    if not 1 <= minutes <= 24 * 60:
        raise PlanError("Write minutes between 1 and 1440.")
    started = clock.now() - timedelta(minutes=minutes)
    return BenchTime.objects.create(
        line=line, purpose=purpose, started_at=started, minutes=minutes, by=by
    )


def is_forgotten(running: BenchTime) -> bool:
    """Whether the clock runs for longer than anybody sits at the bench."""
    return clock.now() - running.started_at > timedelta(minutes=FORGOTTEN)


def _running(by: User) -> BenchTime | None:
    rows = BenchTime.objects.select_for_update(of=("self",)).filter(by=by, minutes=None)
    return rows.select_related("line__garment__ticket").first()


def _stop(running: BenchTime, minutes: int | None = None) -> BenchTime:
    gone = int((clock.now() - running.started_at).total_seconds() // 60)
    if minutes is not None and not 0 <= minutes <= gone:
        raise PlanError(f"The clock ran {gone} minutes: it can be trimmed, not stretched.")
    running.minutes = gone if minutes is None else minutes
    running.save(update_fields=["minutes"])
    return running
