"""The page of a ticket: its work as a tick list, and the one step that comes next."""

from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum
from functools import cached_property

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from clients.fields import unit_of
from jobs.billing.messages import about_balance
from jobs.billing.queries import TicketMoney, ticket_money
from jobs.counter.messages.drafts import Sent, moment_key
from jobs.counter.papers import unsaid_on
from jobs.planning.bench_time import LineTime, times_on
from jobs.planning.messages import WaitMessages
from jobs.planning.models import Fitting, Wait
from jobs.planning.running import RunningTime, running_time
from jobs.planning.ticket_plan import LinePlan, TicketPlan, ticket_plan
from jobs.planning.waits import WaitForm
from jobs.tickets.agreements import line_prices, tell_asked
from jobs.tickets.cautions import care_of
from jobs.tickets.documents.papers import PrintRun, presses
from jobs.tickets.facts import on_page
from jobs.tickets.fit.cloth_ends import line_too_long
from jobs.tickets.forms import CareForm, PromiseDayForm
from jobs.tickets.messages import ClientMessage, about_ready
from jobs.tickets.models import (
    Agreement,
    Garment,
    Line,
    MessageKind,
    SentMessage,
    State,
    Ticket,
)
from jobs.tickets.queries import agreements_of, sums_on, ticket_or_404
from jobs.tickets.quoting import line_minutes
from studio.shop import clock, history
from studio.shop.http import StudioRequest
from studio.shop.look.garments import drawing_of
from studio.shop.may import Tick
from studio.shop.models import Profile

MOST_WITH_BUTTONS = 3
"""Up to so many operations each row has its own Start; of more, one drawer has them all."""
MOST_LINES = 5
"""Of more operations only those of the first garments are in sight."""


class Stage(StrEnum):
    """Where a line of the tick list stands. What is earlier here counts before the later."""

    DONE = "done"
    EXCUSED = "excused"
    RUNNING = "running"
    WAITS = "waits"
    UNMEASURED = "unmeasured"
    FITTING = "fitting"
    UNMARKED = "unmarked"
    OPEN = "open"


@dataclass(frozen=True)
class WorkRow:
    """One line of the tick list: how long it was agreed and took, and what holds it up.

    ``running`` is the reader's own clock; ``message`` asks the client again for what it waits for.
    """

    line: Line
    agreed: int
    time: LineTime
    plan: LinePlan | None = None
    running: RunningTime | None = None
    message: WaitMessages | None = None
    too_long: str = ""

    @property
    def wait(self) -> Wait | None:
        return self.plan.wait if self.plan else None

    @property
    def is_open(self) -> bool:
        return self.plan is not None

    @property
    def ran(self) -> int:
        """Minutes with those of the clock that runs."""
        return self.time.spent + (self.running.minutes if self.running else 0)

    @cached_property
    def stage(self) -> Stage:
        line, plan = self.line, self.plan
        stages = {
            Stage.DONE: bool(line.done_at),
            Stage.EXCUSED: bool(line.not_done_why),
            Stage.RUNNING: self.running is not None,
            Stage.WAITS: self.wait is not None,
            Stage.UNMEASURED: plan is not None and line.to_measure,
            Stage.FITTING: bool(plan and (plan.after or plan.wants_fitting)),
            Stage.UNMARKED: bool(plan and plan.unmarked),
        }
        return next((stage for stage, holds in stages.items() if holds), Stage.OPEN)


class Step(StrEnum):
    """What comes next on a ticket."""

    PRINT = "print"
    START = "start"
    MEASURE = "measure"
    MARK = "mark"
    FITTED = "fitted"
    FITTING = "fitting"
    BOOK = "book"
    FINISH = "finish"
    ASK = "ask"
    RESUME = "resume"
    READY = "ready"
    TELL = "tell"
    HAND_OVER = "hand-over"
    TAKE = "take"
    GIVE_BACK = "give-back"
    HAND_BACK = "hand-back"


STEPS = {
    Stage.OPEN: Step.START,
    Stage.UNMEASURED: Step.MEASURE,
    Stage.UNMARKED: Step.MARK,
    Stage.FITTING: Step.FITTING,
    Stage.WAITS: Step.RESUME,
}
"""What is done with open work, the first that there is before the others."""


@dataclass(frozen=True)
class NextStep:
    """The one button of the page's foot; ``row`` is the work that it is about, or ``fitting``."""

    kind: Step
    row: WorkRow | None = None
    fitting: Fitting | None = None
    message: ClientMessage | None = None


@dataclass(frozen=True)
class TicketPage:
    """What the page says of the ticket itself. ``money`` is none for a helper."""

    ticket: Ticket
    studio: Profile
    garments: list[Garment]
    rows: dict[int, list[WorkRow]]
    plan: TicketPlan
    money: TicketMoney | None
    agreements: list[Agreement]
    sent: Sent

    @cached_property
    def work(self) -> list[WorkRow]:
        return [row for garment in self.garments for row in self.rows[garment.pk]]

    @property
    def open(self) -> list[WorkRow]:
        return [row for row in self.work if row.is_open]

    @property
    def done(self) -> int:
        return sum(row.stage == Stage.DONE for row in self.work)

    @property
    def waits(self) -> list[WorkRow]:
        """What waits, the longest first."""
        rows = [(row.wait.since, row) for row in self.open if row.wait]
        return [row for _, row in sorted(rows, key=lambda pair: pair[0])]

    @property
    def many(self) -> bool:
        return len(self.work) > MOST_WITH_BUTTONS

    @cached_property
    def in_sight(self) -> list[Garment]:
        """All garments; of a long ticket that of the next step, and what fits beside it."""
        if len(self.work) <= MOST_LINES:
            return self.garments
        row = self.step.row if self.step else None
        first = row.line.garment_id if row else self.garments[0].pk
        room, shown = MOST_LINES - 1 - len(self.rows[first]), {first}
        for garment in self.garments:
            if garment.pk not in shown and len(self.rows[garment.pk]) <= room:
                shown.add(garment.pk)
                room -= len(self.rows[garment.pk])
        return [garment for garment in self.garments if garment.pk in shown]

    @property
    def folded(self) -> list[Garment]:
        return [garment for garment in self.garments if garment not in self.in_sight]

    @property
    def unmeasured(self) -> bool:
        return any(row.stage == Stage.UNMEASURED for row in self.open)

    @property
    def running(self) -> RunningTime | None:
        return next((row.running for row in self.open if row.running), None)

    @property
    def on_the_bench(self) -> bool:
        return self.ticket.state in {State.RECEIVED, State.IN_WORK}

    @property
    def late(self) -> bool:
        return self.on_the_bench and self.ticket.promise_at < clock.now()

    @property
    def doubtful(self) -> bool:
        """What waits cannot be ready in time: it is promised for today, or comes too late."""
        day = clock.local(self.ticket.promise_at).date()
        return any(
            day <= clock.today() or (row.wait.expected is not None and row.wait.expected >= day)
            for row in self.waits
            if row.wait
        )

    @property
    def undetermined(self) -> bool:
        """Whether something waits for nobody knows how long, so that no day can be promised."""
        return any(row.wait is not None and row.wait.expected is None for row in self.waits)

    @property
    def things_left(self) -> str:
        return ", ".join(garment.things_left for garment in self.garments if garment.things_left)

    @property
    def next_fitting(self) -> Fitting | None:
        booked = (row.fitting for row in self.plan.fittings)
        return next((one for one in booked if one.state == Fitting.State.BOOKED), None)

    @property
    def fitting_asks(self) -> bool:
        """Whether a fitting has to be called kept or missed, moved, or given a new day."""
        return any(row.now or row.too_late or row.wants_day for row in self.plan.fittings)

    @property
    def owed(self) -> int:
        """What a client who has everything has still to pay; 0 where nobody may know."""
        gone = self.ticket.state == State.COLLECTED
        return max(self.money.balance, 0) if gone and self.money else 0

    @cached_property
    def here(self) -> list[Garment]:
        return [garment for garment in self.garments if garment.handed_over_at is None]

    @property
    def to_hand_back(self) -> list[Garment]:
        """What was cancelled and is still here."""
        return self.here if self.ticket.state == State.CANCELLED else []

    @cached_property
    def to_hang(self) -> list[Garment]:
        """Garments that are done, and of which nobody has said where they hang."""
        if not self.ticket.is_open:
            return []
        unsewn = {row.line.garment_id for row in self.open}
        return [one for one in self.here if not one.hangs and one.pk not in unsewn]

    @property
    def told(self) -> SentMessage | None:
        """The latest that the client was told, or was to be."""
        return self.sent.rows[0] if self.sent.rows else None

    @property
    def presses(self) -> list[PrintRun]:
        return presses(self.studio, len(self.garments))

    @property
    def printed(self) -> bool:
        return any(agreement.printed for agreement in self.agreements)  # type: ignore[attr-defined]

    @cached_property
    def step(self) -> NextStep | None:
        ticket = self.ticket
        if not ticket.is_open:
            return self._settle()
        if ticket.state == State.READY:
            message = about_ready(ticket, self.studio)
            today = ticket.ready_at and clock.local(ticket.ready_at).date() == clock.today()
            told = self.sent.told(ticket, MessageKind.READY, moment_key(ticket.ready_at))
            kind = Step.TELL if today and message.way and not told else Step.HAND_OVER
            return NextStep(kind, message=message)
        return self._sew()

    def _settle(self) -> NextStep | None:
        if self.owed:
            message = about_balance(self.ticket, self.owed, self.studio)
            return NextStep(Step.TAKE, message=message)
        if self.money and self.money.balance < 0:
            return NextStep(Step.GIVE_BACK)
        return NextStep(Step.HAND_BACK) if self.to_hand_back else None

    def _sew(self) -> NextStep | None:
        first: dict[Stage, WorkRow] = {}
        for row in self.open:
            first.setdefault(row.stage, row)
        if not first:
            return NextStep(Step.READY)
        if running := first.get(Stage.RUNNING):
            forgotten = running.running and running.running.forgotten
            return None if forgotten else NextStep(Step.FINISH, running)
        if asked := next((row.fitting for row in self.plan.fittings if row.now), None):
            return NextStep(Step.FITTED, fitting=asked)
        fresh = clock.local(self.ticket.received_at).date() == clock.today()
        if self.ticket.state == State.RECEIVED and fresh and not self.printed:
            return NextStep(Step.PRINT)
        stage = next(stage for stage in STEPS if stage in first)
        return self._of(first[stage], STEPS[stage])

    def _of(self, row: WorkRow, kind: Step) -> NextStep:
        """A step of one operation. What waits for the client is asked for, the rest resumed."""
        if kind == Step.FITTING:
            after = row.plan.after if row.plan else None
            return NextStep(Step.FITTING if after else Step.BOOK, row, fitting=after)
        if kind == Step.RESUME:
            row = self.waits[0]
            message = row.message.plain if row.message else None
            theirs = row.wait and row.wait.what in {Wait.What.CLIENT, Wait.What.SHOES}
            asks = theirs and message and message.way
            return NextStep(Step.ASK if asks else Step.RESUME, row, message=message)
        return NextStep(kind, row)


def read_ticket(
    ticket: Ticket, studio: Profile, *, money: bool, running: RunningTime | None
) -> TicketPage:
    plan, times = ticket_plan(ticket, studio), times_on(ticket)
    garments = list(ticket.garments.all())

    def row(line: Line, garment: Garment) -> WorkRow:
        line_plan = plan.rows.get(line.pk)
        wait = line_plan.wait if line_plan else None
        if wait:
            wait.line.garment.ticket = ticket
        mine = running if running and running.time.line_id == line.pk else None
        ends = garment.cloth_ends if ticket.is_open and not line.done_at else {}
        return WorkRow(
            line=line,
            agreed=line_minutes(line),
            time=times.get(line.pk, LineTime()),
            plan=line_plan,
            running=mine,
            message=WaitMessages.of(wait, studio) if wait else None,
            too_long=line_too_long(line, ends, unit_of(studio)) if ends else "",
        )

    return TicketPage(
        ticket=ticket,
        studio=studio,
        garments=garments,
        rows={one.pk: [row(line, one) for line in one.lines.all()] for one in garments},
        plan=plan,
        money=ticket_money(ticket, studio.country) if money else None,
        agreements=agreements_of(ticket),
        sent=Sent.of(ticket),
    )


@require_GET
def ticket(request: StudioRequest, number: str) -> HttpResponse:
    shown = ticket_or_404(number)
    running = running_time(request.user)
    prices = request.user.may(Tick.PRICES)
    page = read_ticket(shown, request.studio, money=prices, running=running)
    entries = list(history.of(shown))
    asked = shown.asked_changes.filter(accepted=None).select_related("by").first()
    promise = clock.local(shown.promise_at)
    agreed = page.agreements[0].data if page.money and page.agreements else {}
    usual = {"day": promise.date(), "time": promise.strftime("%H:%M")}
    return render(
        request,
        "counter/ticket.html",
        {
            "ticket": shown,
            "page": page,
            "photographed": any(garment.photos.all() for garment in page.garments),
            "plan": page.plan,
            "money": page.money,
            "agreements": page.agreements,
            "elsewhere": running if running and not page.running else None,
            "entries": entries,
            "asked": asked,
            "asked_words": tell_asked(
                asked.delta, request.studio.locale, currency=shown.currency if prices else ""
            )
            if asked
            else "",
            "last_step": history.undoable(entries, request.user),
            "prices": line_prices(agreed),
            "adjustments": agreed.get("adjustments", []),
            "promise_form": PromiseDayForm(initial=usual),
            "wait_form": WaitForm(),
            "noted": {garment.pk: on_page(garment) for garment in page.garments},
            "care": care_of(page.garments, request.studio),
            "care_forms": {garment.pk: CareForm(instance=garment) for garment in page.garments},
            "fit": sums_on(shown),
            "windows": {one.pk for one in page.garments if drawing_of(one.kind_name) == "curtains"},
            "unsaid": unsaid_on(shown, page.garments, request.studio),
            "usual_places": request.studio.usual_places,
            "today": clock.today(),
            "tomorrow": clock.today() + timedelta(days=1),
        },
    )
