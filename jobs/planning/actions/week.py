"""Fittings, waits, the clock, and the hours of the week."""

from collections.abc import Iterable, Mapping
from contextlib import AbstractContextManager
from datetime import date, datetime, timedelta
from secrets import token_urlsafe
from typing import Any

from django.db import transaction
from django.db.models import Model, Q

from jobs.makes.ideas import actions as ideas
from jobs.makes.models import Make, Stage
from jobs.planning import verbs
from jobs.planning.models import (
    CALENDAR,
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
from jobs.planning.plan.workload import is_marked, needs_cut_mark
from jobs.planning.queries import clash_with, hours_now
from jobs.pricing.models import FittingPlace, WorkOrder
from jobs.tickets import actions as tickets
from jobs.tickets.actions.lock import locked
from jobs.tickets.heels import other_shoes
from jobs.tickets.models import Line, Ticket
from studio.shop import clock
from studio.shop.history import Step, Verb, record
from studio.shop.locales import show_day, show_when
from studio.shop.models import Entry, Profile, User
from studio.shop.numbers import lock

REMEMBERED = timedelta(days=1)
"""How long the history has the name of an appointment that was removed or changed."""

LONGEST_SITTING = 24 * 60
"""Minutes that can be written down at once."""
WEEK_MINUTES = 7 * 24 * 60


class PlanError(ValueError):
    """The step cannot be taken; the message says why and what would help.

    ``field`` names what was asked wrongly, such as ``day``; empty where nothing in particular was.
    """

    def __init__(self, message: str, field: str = "") -> None:
        super().__init__(message)
        self.field = field


def book_fitting(
    *, ticket: Ticket, starts_at: datetime, minutes: int, kind: str, studio: Profile, by: User
) -> Fitting:
    """Book a fitting. The same ticket at the same time twice is one fitting.

    Work that stood after a missed or cancelled fitting stands after this one.
    Raises PlanError for a time that is past, a closed day or a clash.
    """
    with record(verbs.BOOKED, about=ticket, by=by, kind=kind, starts_at=starts_at) as step:
        ticket = locked(ticket)
        if twin := ticket.fittings.filter(starts_at=starts_at, state=Fitting.State.BOOKED).first():
            return twin
        if not ticket.is_open:
            raise PlanError(f"Ticket {ticket.number} is {ticket.get_state_display().lower()}.")
        check_time(starts_at, minutes, studio)
        fitting = Fitting.objects.create(
            ticket=ticket, starts_at=starts_at, minutes=minutes, kind=kind
        )
        step.add(fitting)
        stranded = AfterFitting.objects.filter(
            fitting__ticket=ticket, fitting__state__in=FELL_THROUGH
        )
        step.keep(*stranded)
        stranded.update(fitting=fitting)
    return fitting


def move_fitting(*, fitting: Fitting, starts_at: datetime, studio: Profile, by: User) -> Fitting:
    """Another time for a fitting that is booked or was missed. Raises as ``book_fitting``."""
    with record(verbs.MOVED, about=fitting.ticket, by=by, starts_at=starts_at) as step:
        fitting = _locked_fitting(fitting)
        if fitting.starts_at == starts_at and fitting.state == Fitting.State.BOOKED:
            return fitting
        if fitting.state not in {Fitting.State.BOOKED, Fitting.State.MISSED}:
            raise PlanError(f"This fitting was {fitting.get_state_display().lower()} already.")
        check_time(starts_at, fitting.minutes, studio, besides=fitting)
        step.parameters |= {"kind": fitting.kind, "was": fitting.starts_at}
        step.keep(fitting)
        fitting.starts_at, fitting.state = starts_at, Fitting.State.BOOKED
        fitting.sequence += 1
        fitting.save(update_fields=["starts_at", "state", "sequence"])
    return fitting


def keep_fitting(*, fitting: Fitting, by: User) -> Fitting:
    """The client came: the work after it may start."""
    return _close(fitting, Fitting.State.KEPT, verbs.KEPT, by)


def miss_fitting(*, fitting: Fitting, by: User) -> Fitting:
    """The client did not come: the work after it waits for a new day."""
    return _close(fitting, Fitting.State.MISSED, verbs.MISSED, by)


def cancel_fitting(*, fitting: Fitting, by: User) -> Fitting:
    return _close(fitting, Fitting.State.CANCELLED, verbs.CANCELLED, by)


def work_after(
    *, line: Line, fitting: Fitting | None, by: User, place: str = FittingPlace.AFTER
) -> None:
    """This operation's work starts only after that fitting (None: after none in particular).

    Without one its ``place`` says whether it comes after the first fitting or before it.
    """
    ticket, after = line.garment.ticket, AfterFitting.objects.filter(line=line)
    kind = fitting.kind if fitting else place if place == FittingPlace.BEFORE else ""
    with _record_of(verbs.AFTER_FITTING, line, by, kind=kind) as step:
        locked(ticket)
        if fitting is not None and fitting.ticket_id != ticket.pk:
            raise PlanError("This fitting belongs to another ticket.")
        step.keep(after, line)
        if line.fitting_place != place:
            line.fitting_place = place
            line.save(update_fields=["fitting_place"])
        if fitting is None:
            after.delete()
        else:
            AfterFitting.objects.update_or_create(line=line, defaults={"fitting": fitting})


def check_time(
    starts_at: datetime,
    minutes: int,
    studio: Profile,
    besides: Fitting | Appointment | None = None,
    *,
    closed: bool = False,
) -> None:
    """Raises PlanError for a time that is past, on a closed day, or taken by something else.

    ``closed`` says that the studio need not be open. Until the transaction ends nobody else takes
    a time.
    """
    day = clock.local(starts_at).date()
    if starts_at < clock.now():
        raise PlanError("This time is over. Choose a later one.", "time")
    if not (closed or hours_now().is_open(day)):
        raise PlanError(
            f"The studio is closed on {show_day(day, studio.locale)}. Choose a day on which it is "
            "open; own sewing can be put on any.",
            "day",
        )
    lock(CALENDAR)
    if other := clash_with(starts_at, minutes, besides=besides):
        when = show_when(other.starts_at, studio.locale)
        raise PlanError(f"That clashes with: {other}, {when}.", "time")


def _close(fitting: Fitting, state: str, verb: Verb, by: User) -> Fitting:
    with record(verb, about=fitting.ticket, by=by, kind=fitting.kind) as step:
        fitting = _locked_fitting(fitting)
        if fitting.state == state:
            return fitting
        if fitting.state != Fitting.State.BOOKED:
            raise PlanError(f"This fitting was {fitting.get_state_display().lower()} already.")
        step.keep(fitting)
        fitting.state = state
        fitting.save(update_fields=["state"])
    return fitting


def _locked_fitting(fitting: Fitting) -> Fitting:
    """The fitting read again, its ticket held until the transaction ends."""
    ticket = locked(fitting.ticket)
    fitting = Fitting.objects.get(pk=fitting.pk)
    fitting.ticket = ticket
    return fitting


def _record_of(verb: Verb, line: Line, by: User, **parameters: Any) -> AbstractContextManager[Step]:
    """Record what is done with a line: its letter and name go with it."""
    garment = line.garment
    return record(
        verb, about=garment.ticket, by=by, letter=garment.letter, name=line.name, **parameters
    )


def hold(*, line: Line, what: str, question: str, expected: date | None, by: User) -> Wait:
    """The operation cannot go on. Holding it again changes nothing.

    Raises PlanError when it is done, off the ticket, or what it waits for is not said.
    """
    question = question.strip()
    with _record_of(verbs.HELD, line, by, what=what, question=question) as step:
        ticket = locked(line.garment.ticket)
        line = Line.objects.select_related("garment").get(pk=line.pk)
        if waiting := line.waits.filter(ended_at=None).first():
            return waiting
        if what not in Wait.What.values:
            raise PlanError("Say what it waits for.")
        if line.done_at or line.removed_at or not ticket.is_open:
            raise PlanError("This operation is no longer open.")
        wait = Wait.objects.create(
            line=line, what=what, question=question, since=clock.now(), expected=expected, by=by
        )
        step.add(wait)
    return wait


@transaction.atomic
def end_wait(*, wait: Wait, studio: Profile, by: User) -> Ticket:
    """The work can go on; the promise moves by the days it waited, and the agreement says why.

    Days on which several operations of the ticket waited at once move the promise once. The new
    day is the first open one. Ending it twice changes nothing.
    """
    with _record_of(verbs.RESUMED, wait.line, by, what=wait.what) as step:
        ticket = locked(wait.line.garment.ticket)
        wait = Wait.objects.select_related("line__garment").get(pk=wait.pk)
        if wait.ended_at:
            return ticket
        step.keep(wait)
        wait.ended_at = clock.now()
        wait.save(update_fields=["ended_at"])
    days = _days_alone(wait)
    if not days or not ticket.is_open:
        return ticket
    day = _first_open(clock.local(ticket.promise_at).date() + timedelta(days=days))
    return tickets.move_promise(
        ticket=ticket,
        promise_at=clock.at(day, clock.local(ticket.promise_at).time()),
        studio=studio,
        by=by,
        reason=f"waited {days} day{'s' if days != 1 else ''} for {wait.get_what_display().lower()}",
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


def ready_to_cut(*, line: Line, by: User, marked_at: str = "") -> ReadyToCut:
    """The hem is marked and may be cut. ``marked_at`` is the heel height it was marked at.

    Raises PlanError for a hem after a fitting as long as the heel height is not known, and where
    another was known before until ``marked_at`` is the new one: a hem marked in the wrong shoes is
    the costliest mistake of the trade.
    """
    with _record_of(verbs.READY_TO_CUT, line, by) as step:
        locked(line.garment.ticket)
        line = Line.objects.select_related("garment").get(pk=line.pk)
        marks = ReadyToCut.objects.filter(line=line)
        mark = marks.first()
        if mark and is_marked(mark.at, line.garment.heel_changed_at):
            return mark
        _check_heel(line, marked_at)
        step.keep(marks)
        mark, _ = marks.update_or_create(line=line, defaults={"at": clock.now(), "by": by})
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
    time = BenchTime(
        line=line,
        make=make,
        stage=stage,
        purpose=purpose,
        started_at=ended - timedelta(minutes=minutes),
        minutes=minutes,
        by=by,
    )
    with _record_time(verbs.TIME_NOTED, time, by) as step:
        twin = BenchTime.objects.filter(
            line=line,
            make=make,
            stage=stage,
            purpose=purpose,
            started_at=time.started_at,
            minutes=minutes,
            by=by,
        ).first()
        if twin:
            return twin
        time.save()
        step.add(time)
    return time


def _record_time(
    verb: Verb, time: BenchTime, by: User, **parameters: Any
) -> AbstractContextManager[Step]:
    """Record what is done with minutes: on the pages of their ticket, make, stage or the week."""
    about: list[Model] = [PlanRules(pk=PlanRules.ONLY)]
    what = time.get_purpose_display()
    if time.line:
        about, what = [time.line.garment.ticket], f"{time.line.garment.letter} {time.line.name}"
    elif time.make:
        about, what = [time.make], str(time.make)
    elif time.stage:
        about, what = [time.stage, time.stage.release], f"{time.stage.release}, {time.stage}"
    return record(verb, about=about, by=by, what=what, length=time.minutes, **parameters)


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
    if minutes is None or minutes == gone:
        running.minutes = gone
        running.save(update_fields=["minutes"])
        return running
    with _record_time(verbs.TIME_TRIMMED, running, running.by, ran=gone) as step:
        step.keep(running)
        running.minutes = step.parameters["length"] = minutes
        running.save(update_fields=["minutes"])
    return running


def set_rules(*, rules: PlanRules, by: User) -> PlanRules:
    """How every week is planned from now on; weeks with hours of their own keep them."""
    rules.pk = PlanRules.ONLY
    rules.full_clean(validate_unique=False)
    with record(verbs.RULES, about=rules, by=by) as step:
        step.keep(PlanRules.objects.all())
        rules.save()
    return rules


def set_own_weeks(*, minutes: Mapping[date, int | None], by: User) -> None:
    """The own minutes of weeks, by a day of each; None goes back to the usual share."""
    if any(chosen is not None and not 0 <= chosen <= WEEK_MINUTES for chosen in minutes.values()):
        raise PlanError("A week has 168 hours.")
    wanted = {monday_of(day): chosen for day, chosen in minutes.items()}
    weeks = OwnWeek.objects.filter(monday__in=wanted)
    with record(verbs.OWN_WEEKS, about=PlanRules(pk=PlanRules.ONLY), by=by) as step:
        step.keep(weeks)
        known = dict(weeks.values_list("monday", "minutes"))
        changed = {day: chosen for day, chosen in wanted.items() if known.get(day) != chosen}
        step.parameters["weeks"] = sorted(changed.items())
        for monday, chosen in changed.items():
            if chosen is None:
                OwnWeek.objects.filter(monday=monday).delete()
            else:
                OwnWeek.objects.update_or_create(monday=monday, defaults={"minutes": chosen})


@transaction.atomic
def put_appointment(
    *, kind: str, name: str, starts_at: datetime, minutes: int, studio: Profile, by: User
) -> Appointment:
    """An appointment, or own hours put on a day. The same twice is one.

    Own hours may lie on a day on which the studio is closed: they are the owner's alone, and give
    the bench nothing for clients. Raises PlanError for a time that is past, a day that is closed to
    what is to be put there, or a clash.
    """
    lock(CALENDAR)
    if twin := Appointment.objects.filter(kind=kind, starts_at=starts_at, name=name).first():
        return twin
    check_time(starts_at, minutes, studio, closed=kind == Appointment.Kind.OWN)
    facts = {"kind": kind, "name": name, "starts_at": starts_at, "minutes": minutes}
    with _record_appointment(verbs.APPOINTMENT_PUT, kind, starts_at, by) as step:
        appointment = Appointment.objects.create(**facts)
        step.add(appointment)
    return appointment


@transaction.atomic
def change_appointment(
    *,
    appointment: Appointment,
    name: str,
    starts_at: datetime,
    minutes: int,
    studio: Profile,
    by: User,
) -> Appointment:
    """Another hour, length or name; its kind stays. Raises PlanError as putting it does."""
    lock(CALENDAR)
    kind = appointment.kind
    check_time(starts_at, minutes, studio, appointment, closed=kind == Appointment.Kind.OWN)
    with _record_appointment(verbs.APPOINTMENT_CHANGED, kind, starts_at, by) as step:
        step.keep(Appointment.objects.filter(pk=appointment.pk))
        appointment.name, appointment.starts_at, appointment.minutes = name, starts_at, minutes
        appointment.save(update_fields=["name", "starts_at", "minutes"])
    return appointment


@transaction.atomic
def take_off_appointment(*, appointment: Appointment, by: User) -> None:
    kind, starts_at = appointment.kind, appointment.starts_at
    with _record_appointment(verbs.APPOINTMENT_REMOVED, kind, starts_at, by) as step:
        rows = Appointment.objects.filter(pk=appointment.pk)
        step.keep(rows)
        rows.delete()


def _record_appointment(
    verb: Verb, kind: str, starts_at: datetime, by: User
) -> AbstractContextManager[Step]:
    """The step, about the plan; of older ones the hour alone is remembered."""
    done, undone = Q(verb__in=verbs.APPOINTMENTS), Q(undoes__verb__in=verbs.APPOINTMENTS)
    old = Entry.objects.filter(done | undone, at__lt=clock.now() - REMEMBERED)
    old.order_by().update(changes=[])
    rules = PlanRules(pk=PlanRules.ONLY)
    return record(verb, about=rules, by=by, kind=kind, starts_at=starts_at)


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


def take_minutes_off(*, time: BenchTime, by: User) -> None:
    """Minutes of a stage that were none. Taken off twice, they are gone all the same.

    Those of client work, and a clock that still runs, stay as they are.
    """
    times = BenchTime.objects.filter(pk=time.pk, stage__isnull=False, minutes__isnull=False)
    with _record_time(verbs.TIME_REMOVED, time, by) as step:
        step.keep(times)
        times.delete()


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
