"""Minutes really spent: one tap to start, one to stop, or an honest guess afterwards."""

from collections.abc import Mapping
from datetime import datetime, timedelta

from django.db import transaction

from jobs.makes.ideas import actions as ideas
from jobs.makes.models import Make, Stage
from jobs.planning.errors import PlanError
from jobs.planning.models import BenchTime
from jobs.planning.records import is_forgotten
from jobs.tickets import actions as tickets
from jobs.tickets.models import Line
from studio.shop import clock
from studio.shop.models import User

MOST = 24 * 60
"""Minutes that can be written down at once."""


@transaction.atomic
def start_clock(
    *,
    line: Line | None,
    purpose: str,
    by: User,
    make: Make | None = None,
    stage: Stage | None = None,
) -> BenchTime:
    """Start the clock; one that still runs is stopped first. Starting it twice is once.

    Client work starts its ticket, and own sewing its ``make``. Raises PlanError for client work
    without an operation, and as long as a forgotten clock runs: nobody knows what to write down
    for it. Raises MakeError for a make that is put away.
    """
    running = _running(by)
    told = {"line": line, "make": make, "stage": stage, "purpose": purpose}
    if running and all(getattr(running, name) == value for name, value in told.items()):
        return running
    if running and is_forgotten(running.started_at, clock.now()):
        raise PlanError("A forgotten clock still runs. Say first how long that work took.")
    if running:
        _stop(running)
    if purpose == BenchTime.Purpose.CLIENT:
        if line is None:
            raise PlanError("Say which operation you are working on.")
        tickets.start(ticket=line.garment.ticket, by=by)
    if make:
        ideas.start(make=make)
    return BenchTime.objects.create(**told, started_at=clock.now(), by=by)


@transaction.atomic
def stop_clock(*, by: User, minutes: int | None = None) -> BenchTime | None:
    """Stop the running clock; ``minutes`` trims one that was forgotten. None when none runs."""
    running = _running(by)
    if running is None:
        return None
    return _stop(running, minutes)


@transaction.atomic
def finish_work(*, by: User, minutes: int | None = None) -> BenchTime | None:
    """Stop the running clock, and tick the operation done that it ran for.

    Raises PlanError as ``stop_clock`` and TicketError as ticking does.
    """
    time = stop_clock(by=by, minutes=minutes)
    if time and time.line:
        tickets.tick(line=time.line, by=by)
    return time


@transaction.atomic
def log_time(
    *,
    line: Line | None,
    purpose: str,
    minutes: int,
    by: User,
    until: datetime | None = None,
    make: Make | None = None,
    stage: Stage | None = None,
) -> BenchTime:
    """About so many minutes, ``until`` then or now. The same twice is once.

    Raises PlanError below 1 minute, over a day, or for a time to come.
    """
    ended = until or clock.now()
    if not 1 <= minutes <= MOST:
        raise PlanError(f"Write minutes between 1 and {MOST}.")
    if ended > clock.now():
        raise PlanError("This time has not come yet.")
    times, _ = BenchTime.objects.get_or_create(
        line=line,
        make=make,
        stage=stage,
        purpose=purpose,
        started_at=ended - timedelta(minutes=minutes),
        minutes=minutes,
        by=by,
    )
    return times


@transaction.atomic
def catch_up(*, minutes: Mapping[int, int], by: User) -> int:
    """Minutes of operations by their key, for those that are done and were never timed.

    They end when the operation was ticked. Gives how many were written down; sent twice, none the
    second time. Raises PlanError as ``log_time``.
    """
    lines = Line.objects.filter(pk__in=minutes, done_at__isnull=False, bench_times=None)
    for line in lines:
        log_time(
            line=line,
            purpose=BenchTime.Purpose.CLIENT,
            minutes=minutes[line.pk],
            by=by,
            until=line.done_at,
        )
    return len(lines)


def _running(by: User) -> BenchTime | None:
    rows = BenchTime.objects.select_for_update(of=("self",)).filter(by=by, minutes=None)
    return rows.select_related("line__garment__ticket", "make", "stage__release").first()


def _stop(running: BenchTime, minutes: int | None = None) -> BenchTime:
    gone = int((clock.now() - running.started_at).total_seconds() // 60)
    if minutes is not None and not 0 <= minutes <= gone:
        raise PlanError(f"The clock ran {gone} minutes: it can be trimmed, not stretched.")
    running.minutes = gone if minutes is None else minutes
    running.save(update_fields=["minutes"])
    return running
