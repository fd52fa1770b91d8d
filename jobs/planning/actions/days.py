"""What the owner moves: work put on days, promises moved to new ones, days that are longer."""

from collections.abc import Callable, Iterable, Mapping
from datetime import date, datetime

from django.db import transaction
from django.db.models import QuerySet

from jobs.makes.models import Make
from jobs.planning import verbs
from jobs.planning.actions.week import PlanError
from jobs.planning.models import LongerDay, OwnSewingDay, PlanRules, SewingDay
from jobs.planning.queries import HORIZON, hours_now
from jobs.tickets import actions as tickets
from jobs.tickets.actions.lock import locked
from jobs.tickets.models import Line, MessageKind, SentMessage, Ticket
from studio.shop import clock, history
from studio.shop.history import record
from studio.shop.locales import show_day
from studio.shop.models import Entry, Profile, User


def put_on_day(*, lines: Iterable[Line], day: date, studio: Profile, by: User) -> None:
    """Operations of one ticket are sewn on that day, and on no other. The same twice is once.

    Raises PlanError for a day that is past, closed or too far away, and for work that is done.
    What the day costs is the page's to say beforehand: nothing is refused for want of room.
    """
    lines = sorted(lines, key=lambda line: line.pk)
    if not lines:
        raise PlanError("Say which work to put on that day.")
    ticket = lines[0].garment.ticket
    with record(verbs.PUT_ON_DAY, about=ticket, by=by, works=_words(lines), day=day) as step:
        ticket = locked(ticket)
        _check_day(day, studio)
        still_open = Line.objects.filter(
            pk__in=[line.pk for line in lines],
            garment__ticket=ticket,
            done_at=None,
            not_done_why="",
            removed_at=None,
        )
        if not ticket.is_open or still_open.count() < len(lines):
            raise PlanError("This work is no longer open.")
        step.keep(_days_of(lines))
        for line in lines:
            SewingDay.objects.update_or_create(line=line, defaults={"day": day})


def let_loose(*, lines: Iterable[Line], by: User) -> None:
    """Operations of one ticket are sewn wherever the plan has them. Twice is once."""
    lines = sorted(lines, key=lambda line: line.pk)
    if not lines:
        return
    ticket, days = lines[0].garment.ticket, _days_of(lines)
    with record(verbs.LET_LOOSE, about=ticket, by=by, works=_words(lines)) as step:
        locked(ticket)
        step.keep(days)
        days.delete()


def _days_of(lines: Iterable[Line]) -> QuerySet[SewingDay]:
    return SewingDay.objects.filter(line__in=lines)


def _words(lines: Iterable[Line]) -> list[str]:
    return [f"{line.garment.letter} {line.name}" for line in lines]


def _check_day(day: date, studio: Profile, *, closed: bool = False) -> None:
    if day < clock.today():
        raise PlanError("This day is over. Choose a later one.", "day")
    if (day - clock.today()).days >= HORIZON:
        raise PlanError("The week is not planned as far as this day.", "day")
    if not (closed or hours_now().is_open(day)):
        raise PlanError(f"The studio is closed on {show_day(day, studio.locale)}.", "day")


def put_own_on_day(
    *,
    day: date,
    minutes: int,
    studio: Profile,
    by: User,
    make: Make | None = None,
    taken_from: date | None = None,
) -> None:
    """So many own minutes are sewn on that day, at no hour in particular, perhaps for a make.

    They are all that the day holds of them: sent twice it is once. ``taken_from`` is the day they
    were on before, which holds none any more. Raises PlanError as `put_on_day`, and for no minutes.
    """
    if not 1 <= minutes <= 24 * 60:
        raise PlanError("Write between 1 minute and a day.", "minutes")
    rows = _own_days(make, [day, taken_from or day])
    with record(verbs.OWN_ON_DAY, about=_the_week(), by=by, day=day, length=minutes) as step:
        _check_day(day, studio)
        step.keep(rows)
        rows.exclude(day=day).delete()
        OwnSewingDay.objects.update_or_create(day=day, make=make, defaults={"minutes": minutes})


def let_own_loose(*, day: date, by: User, make: Make | None = None) -> None:
    """Own minutes that were put on a day are sewn wherever the plan has them. Twice is once."""
    rows = _own_days(make, [day])
    with record(verbs.OWN_LET_LOOSE, about=_the_week(), by=by, day=day) as step:
        step.keep(rows)
        rows.delete()


def _own_days(make: Make | None, days: list[date]) -> QuerySet[OwnSewingDay]:
    return OwnSewingDay.objects.filter(make=make, day__in=days)


def _the_week() -> PlanRules:
    return PlanRules(pk=PlanRules.ONLY)


TOO_FULL = "the days before were too full"
LONGEST_ADDED = 480
"""Minutes that a day can be longer."""


@transaction.atomic
def agree_new_days(
    *,
    days: Mapping[Ticket, datetime],
    longer: Mapping[date, int] | None = None,
    studio: Profile,
    by: User,
    reason: str = TOO_FULL,
) -> list[Entry]:
    """Promise these tickets for other moments and sew longer on these days: all of it or nothing.

    Each ticket is agreed anew, with a version and an entry of its own. Gives the entries, the
    latest last, which `take_back` undoes together. Sent twice it is once. Raises TicketError as
    ``tickets.actions.move_promise`` and PlanError as `set_longer_days`.
    """

    def agree() -> None:
        if longer:
            set_longer_days(minutes=longer, studio=studio, by=by)
        for ticket, promise_at in sorted(days.items(), key=lambda row: row[0].pk):
            tickets.move_promise(
                ticket=ticket, promise_at=promise_at, studio=studio, by=by, reason=reason
            )

    return entries_of(by, agree)


@transaction.atomic
def put_there(
    *,
    lines: Iterable[Line],
    day: date,
    days: Mapping[Ticket, datetime],
    studio: Profile,
    by: User,
) -> list[Entry]:
    """Put work on a day and agree the new days of those whose promises give way: all or nothing.

    Gives the entries as `agree_new_days` does. Raises what it and `put_on_day` raise.
    """

    def both() -> None:
        agree_new_days(days=days, studio=studio, by=by)
        put_on_day(lines=lines, day=day, studio=studio, by=by)

    return entries_of(by, both)


def entries_of(by: User, act: Callable[[], None]) -> list[Entry]:
    """What ``act`` wrote into the history, the latest last."""
    before = Entry.objects.order_by("-pk").values_list("pk", flat=True).first() or 0
    act()
    return list(Entry.objects.filter(pk__gt=before, by=by, undoes=None).order_by("pk"))


@transaction.atomic
def take_back(*, entries: Iterable[Entry], by: User) -> None:
    """Undo these steps together, the latest first. Raises HistoryError, and then nothing is."""
    for entry in sorted(entries, key=lambda entry: -entry.pk):
        history.undo(entry=entry, by=by)


def tell_new_day(*, ticket: Ticket, by: User) -> None:
    """Write down that the client was told of the day the ticket is promised for. Twice is once."""
    day = clock.local(ticket.promise_at).date()
    facts = {"number": ticket.number, "day": day}
    same = {"ticket": ticket, "kind": MessageKind.MOVED, "about": day.isoformat(), "wrong": ""}
    with record(verbs.TOLD_NEW_DAY, about=ticket, by=by, **facts) as step:
        locked(ticket)
        if not SentMessage.objects.filter(**same).exists():
            way = SentMessage.Way.OTHER
            step.add(SentMessage.objects.create(**same, way=way, at=clock.now(), by=by))


def set_longer_days(*, minutes: Mapping[date, int], studio: Profile, by: User) -> None:
    """So many minutes more are sewn on these days, by the clock; 0 as usual. Twice is once.

    Days to come begin earlier, today ends later; a day on which the studio is closed may be sewn
    on too. Raises PlanError for a day that is past or too far away, and for too many minutes.
    """
    rows = LongerDay.objects.filter(day__in=minutes)
    with record(verbs.LONGER_DAYS, about=_the_week(), by=by, days=sorted(minutes.items())) as step:
        for day, added in minutes.items():
            _check_day(day, studio, closed=True)
            if not 0 <= added <= LONGEST_ADDED:
                raise PlanError(f"Add at most {LONGEST_ADDED // 60} hours to a day.", "minutes")
        step.keep(rows)
        rows.filter(day__in=[day for day, added in minutes.items() if not added]).delete()
        for day, added in minutes.items():
            if added:
                LongerDay.objects.update_or_create(day=day, defaults={"minutes": added})
