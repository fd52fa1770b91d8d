"""What pages read of fittings, waits and hems to be marked."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import Exists, OuterRef, Prefetch, QuerySet

from jobs.planning.jobs import marked, needs_cut_mark
from jobs.planning.models import Appointment, Fitting, Wait
from jobs.tickets.heels import other_shoes
from jobs.tickets.models import Line, State, Ticket
from studio.shop import clock
from studio.shop.locales import show_when
from studio.shop.models import Profile

STANDS = [Fitting.State.BOOKED, Fitting.State.KEPT]
AT_THE_BENCH = [State.RECEIVED, State.IN_WORK]


@dataclass(frozen=True)
class FittingRow:
    """A fitting as the ticket's page shows it.

    ``now`` says that it is for today or over and still has to be called kept or missed;
    ``too_late`` that it comes after the promise; ``wants_day`` that it was missed and no later
    one makes up for it.
    """

    fitting: Fitting
    now: bool
    too_late: bool
    wants_day: bool


@dataclass(frozen=True)
class LinePlan:
    """An open operation: what it waits for, and which fittings it may stand after.

    ``unmarked`` is a hem that may not be cut yet, ``needs_heel`` one whose heel is not known,
    ``other_shoes`` says that it was pinned in other ones.
    """

    line: Line
    wait: Wait | None
    choices: list[tuple[str, str, bool]]
    unmarked: bool
    needs_heel: bool
    other_shoes: str


@dataclass(frozen=True)
class TicketPlan:
    """``rows`` are the open operations by their key; none once the ticket is closed."""

    fittings: list[FittingRow]
    rows: dict[int, LinePlan]

    @property
    def too_late(self) -> list[Fitting]:
        return [row.fitting for row in self.fittings if row.too_late]

    @property
    def has_choices(self) -> bool:
        """Whether there is a fitting that work could stand after."""
        return any(row.choices for row in self.rows.values())


def ticket_plan(ticket: Ticket, studio: Profile) -> TicketPlan:
    """The ticket's fittings, and what holds up its open operations. Three queries."""
    fittings = list(ticket.fittings.all())
    tomorrow = clock.at(clock.today() + timedelta(days=1), datetime.min.time())
    rows = [
        FittingRow(
            fitting=one,
            now=one.state == Fitting.State.BOOKED and one.starts_at < tomorrow,
            too_late=one.state == Fitting.State.BOOKED and one.starts_at > ticket.promise_at,
            wants_day=one.state == Fitting.State.MISSED and not _made_up(one, fittings),
        )
        for one in fittings
    ]
    if not ticket.is_open:
        return TicketPlan(rows, {})
    lines = {line.pk: _line_row(line, fittings, studio) for line in _lines(ticket)}
    return TicketPlan(rows, lines)


def _made_up(missed: Fitting, fittings: list[Fitting]) -> bool:
    return any(one.starts_at > missed.starts_at and one.state in STANDS for one in fittings)


def _lines(ticket: Ticket) -> QuerySet[Line]:
    """Its open operations with fitting, mark and open wait, in two queries."""
    waiting = Prefetch("waits", Wait.objects.filter(ended_at=None))
    return (
        Line.objects.filter(
            garment__ticket=ticket,
            garment__removed_at=None,
            removed_at=None,
            done_at=None,
            not_done_why="",
        )
        .select_related("garment", "gate", "cut_mark")
        .prefetch_related(waiting)
        .order_by("garment", "work_order", "pk")
    )


def _line_row(line: Line, fittings: list[Fitting], studio: Profile) -> LinePlan:
    gate = getattr(line, "gate", None)
    after = gate.fitting_id if gate else None
    mark = getattr(line, "cut_mark", None)
    unmarked = needs_cut_mark(line) and not marked(mark, line.garment)
    unknown = line.garment.heel_mm is None and not line.garment.heel_typed
    return LinePlan(
        line=line,
        wait=next(iter(line.waits.all()), None),
        choices=_choices(line, after, fittings, studio),
        unmarked=unmarked,
        needs_heel=unmarked and unknown,
        other_shoes=other_shoes(line.garment) if unmarked else "",
    )


def _choices(
    line: Line, after: int | None, fittings: list[Fitting], studio: Profile
) -> list[tuple[str, str, bool]]:
    """The options of *after which fitting*: value, words, chosen. Empty without any fitting."""
    open_ones = [one for one in fittings if one.state == Fitting.State.BOOKED or one.pk == after]
    if not open_ones:
        return []
    none = "after the next fitting" if line.fitting_first else "at any time"
    return [
        ("", none, after is None),
        *(
            (str(one.pk), f"after: {fitting_words(one, studio)}", one.pk == after)
            for one in open_ones
        ),
    ]


def fitting_words(fitting: Fitting, studio: Profile) -> str:
    """Such as ``First fitting, Tue 8 Dec 16:00``."""
    return f"{fitting.get_kind_display()}, {show_when(fitting.starts_at, studio.locale)}"


def open_waits() -> QuerySet[Wait]:
    """What is waited for on tickets at the bench, the longest first, in one query."""
    return Wait.objects.filter(
        ended_at=None,
        line__done_at=None,
        line__not_done_why="",
        line__removed_at=None,
        line__garment__removed_at=None,
        line__garment__ticket__state__in=AT_THE_BENCH,
    ).select_related("line__garment__ticket__client")


def missed_fittings() -> QuerySet[Fitting]:
    """Missed ones of tickets at the bench that no later fitting makes up for, in one query."""
    later = Fitting.objects.filter(
        ticket=OuterRef("ticket"),
        starts_at__gt=OuterRef("starts_at"),
        state__in=STANDS,
    )
    missed = Fitting.objects.filter(
        ~Exists(later), state=Fitting.State.MISSED, ticket__state__in=AT_THE_BENCH
    )
    return missed.select_related("ticket__client")


def coming_appointments(since: date) -> QuerySet[Appointment]:
    """Those that are not over before the day ``since``."""
    return Appointment.objects.filter(starts_at__gte=clock.at(since, datetime.min.time()))
