"""The owner's hours: kept, put on a day, or knowingly given up."""

from collections.abc import Iterable
from datetime import date, datetime, timedelta

from django.db import transaction

from jobs.planning.actions.fittings import check_time
from jobs.planning.errors import PlanError
from jobs.planning.models import Appointment, Declined, HoursTaken, OwnWeek, PlanRules
from jobs.planning.plan.book import monday_of
from jobs.tickets.models import Ticket
from studio.shop import clock
from studio.shop.models import Profile, User


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
