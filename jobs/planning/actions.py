"""The verbs of the week. Each is one function, one transaction, and safe to send twice."""

from collections.abc import Iterable, Mapping
from datetime import date, datetime, timedelta
from secrets import token_urlsafe

from django.db import transaction
from django.db.models import Q

from jobs.makes.ideas import actions as ideas
from jobs.makes.models import Make, Stage
from jobs.planning.models import (
    FELL_THROUGH,
    AfterFitting,
    Appointment,
    BenchTime,
    CalendarFeed,
    Declined,
    Fitting,
    HoursTaken,
    OwnWeek,
    PlanRules,
    ReadyToCut,
    Wait,
    is_forgotten,
)
from jobs.planning.plan.book import monday_of
from jobs.planning.plan.jobs import is_marked, needs_cut_mark
from jobs.planning.queries import hours_now
from jobs.pricing.models import WorkOrder
from jobs.tickets import actions as tickets
from jobs.tickets.actions.lock import locked
from jobs.tickets.heels import other_shoes
from jobs.tickets.history import record
from jobs.tickets.models import Line, State, Ticket
from studio.shop import clock
from studio.shop.locales import show_day, show_when
from studio.shop.models import Profile, User


class PlanError(ValueError):
    """The step cannot be taken; the message says why and what would help.

    ``field`` names what was asked wrongly, such as ``day``; empty where nothing in particular was.
    """

    def __init__(self, message: str, field: str = "") -> None:
        super().__init__(message)
        self.field = field


LONGEST = timedelta(days=1)


@transaction.atomic
def book_fitting(
    *, ticket: Ticket, starts_at: datetime, minutes: int, kind: str, studio: Profile, by: User
) -> Fitting:
    """Book a fitting. The same ticket at the same time twice is one fitting.

    Work that stood after a missed or cancelled fitting stands after this one.
    Raises PlanError for a time that is past, a closed day or a clash.
    """
    ticket = locked(ticket)
    if twin := ticket.fittings.filter(starts_at=starts_at, state=Fitting.State.BOOKED).first():
        return twin
    if not ticket.is_open:
        raise PlanError(f"Ticket {ticket.number} is {ticket.get_state_display().lower()}.")
    check_time(starts_at, minutes, studio)
    fitting = Fitting.objects.create(ticket=ticket, starts_at=starts_at, minutes=minutes, kind=kind)
    stranded = AfterFitting.objects.filter(fitting__ticket=ticket, fitting__state__in=FELL_THROUGH)
    stranded.update(fitting=fitting)
    record(
        ticket, by, f"{fitting.get_kind_display()} booked: {show_when(starts_at, studio.locale)}."
    )
    return fitting


@transaction.atomic
def move_fitting(*, fitting: Fitting, starts_at: datetime, studio: Profile, by: User) -> Fitting:
    """Another time for a fitting that is booked or was missed. Raises as ``book_fitting``."""
    ticket, fitting = _held(fitting)
    if fitting.starts_at == starts_at and fitting.state == Fitting.State.BOOKED:
        return fitting
    if fitting.state not in {Fitting.State.BOOKED, Fitting.State.MISSED}:
        raise PlanError(f"This fitting was {fitting.get_state_display().lower()} already.")
    check_time(starts_at, fitting.minutes, studio, besides=fitting)
    was = show_when(fitting.starts_at, studio.locale)
    fitting.starts_at, fitting.state = starts_at, Fitting.State.BOOKED
    fitting.sequence += 1
    fitting.save(update_fields=["starts_at", "state", "sequence"])
    name = fitting.get_kind_display()
    record(ticket, by, f"{name} moved: {was} → {show_when(starts_at, studio.locale)}.")
    return fitting


def keep_fitting(*, fitting: Fitting, by: User) -> Fitting:
    """The client came: the work after it may start."""
    return _close(fitting, Fitting.State.KEPT, "kept", by)


def miss_fitting(*, fitting: Fitting, by: User) -> Fitting:
    """The client did not come: the work after it waits for a new day."""
    return _close(fitting, Fitting.State.MISSED, "missed", by)


def cancel_fitting(*, fitting: Fitting, by: User) -> Fitting:
    return _close(fitting, Fitting.State.CANCELLED, "cancelled", by)


@transaction.atomic
def work_after(*, line: Line, fitting: Fitting | None, by: User) -> None:
    """This operation's work starts only after that fitting (None: after none in particular)."""
    ticket = locked(line.garment.ticket)
    if fitting is not None and fitting.ticket_id != ticket.pk:
        raise PlanError("This fitting belongs to another ticket.")
    known = AfterFitting.objects.filter(line=line).first()
    if (known and known.fitting_id) == (fitting and fitting.pk):
        return
    name = f"{line.garment.letter} {line.name}"
    if fitting is None:
        AfterFitting.objects.filter(line=line).delete()
        record(ticket, by, f"{name}: after no fitting in particular.")
        return
    AfterFitting.objects.update_or_create(line=line, defaults={"fitting": fitting})
    record(ticket, by, f"{name}: after the {fitting.get_kind_display().lower()}.")


def check_time(
    starts_at: datetime, minutes: int, studio: Profile, besides: Fitting | None = None
) -> None:
    """Raises PlanError for a time that is past, on a closed day, or taken by something else."""
    ends_at = starts_at + timedelta(minutes=minutes)
    day = clock.local(starts_at).date()
    if starts_at < clock.now():
        raise PlanError("This time is over. Choose a later one.", "time")
    if not hours_now().is_open(day):
        raise PlanError(f"The studio is closed on {show_day(day, studio.locale)}.", "day")
    around = Q(starts_at__lt=ends_at, starts_at__gt=starts_at - LONGEST)
    fittings = Fitting.objects.filter(
        around, state=Fitting.State.BOOKED, ticket__state__in=State.open()
    ).select_related("ticket")
    rows: list[Fitting | Appointment] = [
        *(row for row in fittings if besides is None or row.pk != besides.pk),
        *Appointment.objects.filter(around),
    ]
    for row in rows:
        if row.ends_at > starts_at:
            raise PlanError(
                f"That clashes with: {row}, {show_when(row.starts_at, studio.locale)}.", "time"
            )


@transaction.atomic
def _close(fitting: Fitting, state: str, word: str, by: User) -> Fitting:
    ticket, fitting = _held(fitting)
    if fitting.state == state:
        return fitting
    if fitting.state != Fitting.State.BOOKED:
        raise PlanError(f"This fitting was {fitting.get_state_display().lower()} already.")
    fitting.state = state
    fitting.save(update_fields=["state"])
    record(ticket, by, f"{fitting.get_kind_display()} {word}.")
    return fitting


def _held(fitting: Fitting) -> tuple[Ticket, Fitting]:
    ticket = locked(fitting.ticket)
    return ticket, Fitting.objects.get(pk=fitting.pk)


@transaction.atomic
def hold(*, line: Line, what: str, question: str, expected: date | None, by: User) -> Wait:
    """The operation cannot go on. Holding it again changes nothing.

    Raises PlanError when it is done, off the ticket, or what it waits for is not said.
    """
    ticket = locked(line.garment.ticket)
    line = Line.objects.select_related("garment").get(pk=line.pk)
    if waiting := line.waits.filter(ended_at=None).first():
        return waiting
    if what not in Wait.What.values:
        raise PlanError("Say what it waits for.")
    if line.done_at or line.removed_at or not ticket.is_open:
        raise PlanError("This operation is no longer open.")
    wait = Wait.objects.create(
        line=line, what=what, question=question.strip(), since=clock.now(), expected=expected, by=by
    )
    asked = f" ({wait.question})" if wait.question else ""
    name = f"{line.garment.letter} {line.name}"
    record(ticket, by, f"{name} waits for {wait.get_what_display().lower()}{asked}.")
    return wait


@transaction.atomic
def end_wait(*, wait: Wait, studio: Profile, by: User) -> Ticket:
    """The work can go on; the promise moves by the days it waited, and the agreement says why.

    Days on which several operations of the ticket waited at once move the promise once. The new
    day is the first open one. Ending it twice changes nothing.
    """
    ticket = locked(wait.line.garment.ticket)
    wait = Wait.objects.select_related("line__garment").get(pk=wait.pk)
    if wait.ended_at:
        return ticket
    wait.ended_at = clock.now()
    wait.save(update_fields=["ended_at"])
    what = wait.get_what_display().lower()
    name = f"{wait.line.garment.letter} {wait.line.name}"
    record(ticket, by, f"{name} goes on: {what} is here.")
    days = _days_alone(wait)
    if not days or not ticket.is_open:
        return ticket
    day = _first_open(clock.local(ticket.promise_at).date() + timedelta(days=days))
    return tickets.move_promise(
        ticket=ticket,
        promise_at=clock.at(day, clock.local(ticket.promise_at).time()),
        studio=studio,
        by=by,
        reason=f"waited {days} day{'s' if days != 1 else ''} for {what}",
    )


def _first_open(day: date) -> date:
    """The day itself or the next one that is open; the day itself in a studio without hours."""
    days = (day + timedelta(days=ahead) for ahead in range(366))
    return next(filter(hours_now().is_open, days), day)


def _days_alone(wait: Wait) -> int:
    """Whole local days this wait held the ticket and no other wait of it already counted."""
    mine = _days(wait)
    others = Wait.objects.filter(line__garment__ticket=wait.line.garment.ticket_id)
    for other in others.exclude(pk=wait.pk).exclude(ended_at=None):
        mine -= _days(other)
    return len(mine)


def _days(wait: Wait) -> set[date]:
    """The local days begun while it waited; the day on which the wait began is not one."""
    first = clock.local(wait.since).date()
    last = clock.local(wait.ended_at or clock.now()).date()
    return {first + timedelta(days=ahead) for ahead in range(1, (last - first).days + 1)}


@transaction.atomic
def ready_to_cut(*, line: Line, by: User, marked_at: str = "") -> ReadyToCut:
    """The hem is marked and may be cut. ``marked_at`` is the heel height it was marked at.

    Raises PlanError for a hem after a fitting as long as the heel height is not known, and where
    another was known before until ``marked_at`` is the new one: a hem marked in the wrong shoes is
    the costliest mistake of the trade.
    """
    ticket = locked(line.garment.ticket)
    line = Line.objects.select_related("garment").get(pk=line.pk)
    mark = ReadyToCut.objects.filter(line=line).first()
    if mark and is_marked(mark.at, line.garment.heel_changed_at):
        return mark
    _check_heel(line, marked_at)
    facts = {"at": clock.now(), "by": by}
    mark, _ = ReadyToCut.objects.update_or_create(line=line, defaults=facts)
    record(ticket, by, f"Ready to cut: {line.garment.letter} {line.name}.")
    return mark


def _check_heel(line: Line, marked_at: str) -> None:
    garment = line.garment
    is_hem = line.work_order == WorkOrder.HEM
    if not needs_cut_mark(is_hem, line.fitting_first, garment.heel_changed_at):
        return
    if garment.heel_mm is None and not garment.heel_typed:
        raise PlanError(
            f"Write the heel height of garment {garment.letter} first: "
            "this hem is worn with the event shoes."
        )
    if (words := other_shoes(garment)) and marked_at != garment.heel_typed:
        raise PlanError(words)


LONGEST_SITTING = 24 * 60
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
    facts = {"line": line, "make": make, "stage": stage, "purpose": purpose}
    if running and all(getattr(running, name) == value for name, value in facts.items()):
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
        ideas.start(make=make, by=by)
    return BenchTime.objects.create(**facts, started_at=clock.now(), by=by)


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
    if not 1 <= minutes <= LONGEST_SITTING:
        raise PlanError(f"Write minutes between 1 and {LONGEST_SITTING}.")
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


@transaction.atomic
def set_rules(*, rules: PlanRules) -> PlanRules:
    """How every week is planned from now on; weeks with hours of their own keep them."""
    rules.pk = 1
    rules.full_clean(validate_unique=False)
    rules.save()
    return rules


@transaction.atomic
def set_own_week(*, monday: date, minutes: int | None) -> None:
    """The own minutes of one week; None goes back to the usual share."""
    monday = monday_of(monday)
    if minutes is None:
        OwnWeek.objects.filter(monday=monday).delete()
        return
    if not 0 <= minutes <= 7 * 24 * 60:
        raise PlanError("A week has 168 hours.")
    OwnWeek.objects.update_or_create(monday=monday, defaults={"minutes": minutes})


@transaction.atomic
def put_appointment(
    *, kind: str, name: str, starts_at: datetime, minutes: int, studio: Profile
) -> Appointment:
    """An appointment, or own hours put on a day. The same twice is one.

    Raises PlanError for a time that is past, a closed day or a clash.
    """
    if twin := Appointment.objects.filter(kind=kind, starts_at=starts_at, name=name).first():
        return twin
    check_time(starts_at, minutes, studio)
    return Appointment.objects.create(kind=kind, name=name, starts_at=starts_at, minutes=minutes)


@transaction.atomic
def take_off_appointment(*, appointment: Appointment) -> None:
    Appointment.objects.filter(pk=appointment.pk).delete()


@transaction.atomic
def take_hours(*, ticket: Ticket, lost: Iterable[tuple[date, int]], by: User) -> None:
    """Write into the ledger which weeks' own minutes this ticket took.

    Once per ticket and week; agreed anew, the row can only grow, since what is lost of a week
    that is under way is less than what it took from the whole.
    """
    for monday, minutes in lost:
        row, made = HoursTaken.objects.get_or_create(
            ticket=ticket, monday=monday, defaults={"minutes": minutes, "at": clock.now(), "by": by}
        )
        if not made and minutes > row.minutes:
            row.minutes, row.at, row.by = minutes, clock.now(), by
            row.save(update_fields=["minutes", "at", "by"])


@transaction.atomic
def decline(*, wanted_by: date, minutes: int, note: str, by: User) -> Declined:
    """A rush job that is not taken. The same again within a minute is one."""
    facts = {"by": by, "wanted_by": wanted_by, "minutes": minutes, "note": note.strip()[:300]}
    just_now = clock.now() - timedelta(minutes=1)
    if twin := Declined.objects.filter(**facts, at__gte=just_now).first():
        return twin
    return Declined.objects.create(at=clock.now(), **facts)


@transaction.atomic
def take_minutes_off(*, time: BenchTime) -> None:
    """Minutes of a stage that were none. Taken off twice, they are gone all the same.

    Those of client work, and a clock that still runs, stay as they are.
    """
    BenchTime.objects.filter(pk=time.pk, stage__isnull=False, minutes__isnull=False).delete()


@transaction.atomic
def open_feed(*, full_names: bool, by: User) -> CalendarFeed:
    """A new address of the calendar; the one before leads nowhere from now on."""
    CalendarFeed.objects.all().delete()
    return CalendarFeed.objects.create(
        key=token_urlsafe(32), full_names=full_names, made_at=clock.now(), by=by
    )


def close_feed() -> None:
    """No address any more. Twice is once."""
    CalendarFeed.objects.all().delete()
