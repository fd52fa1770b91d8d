"""Fittings: booked while the client stands there, kept, moved or missed."""

from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import Q

from jobs.planning.errors import PlanError
from jobs.planning.models import (
    FELL_THROUGH,
    AfterFitting,
    Appointment,
    Fitting,
)
from jobs.planning.reading import read_shop
from jobs.tickets.actions.locking import locked
from jobs.tickets.history import record
from jobs.tickets.models import Line, State, Ticket
from studio.shop import clock
from studio.shop.locales import show_day, show_when
from studio.shop.models import Profile, User

LONGEST = timedelta(minutes=1440)


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
    if not read_shop().is_open(day):
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
