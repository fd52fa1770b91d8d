"""Too much promised: which promises to move, how much longer to sew, what is left over then; and
what the clients are told."""

import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from enum import Enum
from functools import cached_property
from urllib.parse import urlencode

from django.contrib import messages
from django.db.models import Count
from django.db.models.fields.json import KeyTextTransform
from django.http import HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from jobs.planning import actions as plan_actions
from jobs.planning import core
from jobs.planning.messages import about_new_day
from jobs.planning.models import LongerDay
from jobs.planning.plan.at_risk import Mend, Risk, Tight, promises_at_risk, tightest
from jobs.planning.plan.bench import cut_each_day
from jobs.planning.plan.book import Book
from jobs.planning.plan.make_it_fit import (
    STEP,
    InTheWay,
    LeftOver,
    Proposal,
    StudioHours,
    in_the_way,
    left_over,
    propose,
)
from jobs.planning.queries import read_week
from jobs.tickets import actions
from jobs.tickets.forms import PromiseDayForm
from jobs.tickets.messages import ClientMessage
from jobs.tickets.models import MessageKind, SentMessage, Ticket
from jobs.tickets.queries import promised_before, ticket_or_404
from jobs.tickets.views import ask_promise, say_step
from studio.shop import clock
from studio.shop.history import HistoryError
from studio.shop.http import StudioRequest, go_back, say, ticked
from studio.shop.locales import show_when
from studio.shop.look.bars import Bar, Part
from studio.shop.may import Tick
from studio.shop.models import Entry, Profile

FEW = 3
"""Promises at risk that are told where some are to be moved; the others are a tap away."""


@dataclass(frozen=True)
class Choice:
    """What is ticked, and the minutes by the clock that are added to days: the page's address.

    ``move=26-0143`` for each ticket, ``longer-2026-12-03=45`` for each day.
    """

    moved: frozenset[str] = frozenset()
    longer: Mapping[date, int] = field(default_factory=dict)

    @classmethod
    def of(cls, data: QueryDict) -> "Choice":
        """``more`` and ``less`` name a day that gets a step more or less. Nonsense is left out."""
        longer: dict[date, int] = {}
        for name, minutes in data.items():
            day = _day(name.removeprefix("longer-")) if name.startswith("longer-") else None
            if day and re.fullmatch(r"[0-9]{1,4}", str(minutes)):
                longer[day] = int(str(minutes))
        for name, step in (("more", STEP), ("less", -STEP)):
            if day := _day(data.get(name, "")):
                longer[day] = longer.get(day, 0) + step
        most = plan_actions.LONGEST_ADDED
        kept = {day: min(minutes, most) for day, minutes in longer.items() if minutes > 0}
        return cls(frozenset(data.getlist("move")), kept)

    def __bool__(self) -> bool:
        return bool(self.moved or self.longer)

    def __or__(self, other: "Choice") -> "Choice":
        """Both: of a day that is longer in both, the longer."""
        days = {*self.longer, *other.longer}
        longer = {day: max(self.longer.get(day, 0), other.longer.get(day, 0)) for day in days}
        return Choice(self.moved | other.moved, longer)

    @property
    def pairs(self) -> list[tuple[str, str]]:
        """As fields of a form."""
        return [
            *(("move", number) for number in sorted(self.moved)),
            *((f"longer-{day}", str(minutes)) for day, minutes in sorted(self.longer.items())),
        ]

    @property
    def address(self) -> str:
        query = urlencode(self.pairs)
        return f"{reverse('too-much')}?{query}" if query else reverse("too-much")


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


class Stays(Enum):
    """Why a promise is better not moved."""

    FITTING = "comes to try on"
    EVENT = "an event"
    MOVED = "moved once"


def what_stays(book: Book, tickets: Collection[str]) -> dict[str, tuple[Stays, str]]:
    """The promises among these tickets that are better not moved: why, and for what event.

    One query. What was moved before is known from the agreements: two of them with different days.
    """
    with_fitting = {job.ticket for job in book.jobs if job.fittings}
    promises = Count(KeyTextTransform("promise_at", "agreements__data"), distinct=True)
    rows = Ticket.objects.filter(number__in=tickets).annotate(promises=promises).order_by()
    stays: dict[str, tuple[Stays, str]] = {}
    for number, event, times in rows.values_list("number", "event", "promises"):
        if number in with_fitting:
            stays[number] = Stays.FITTING, ""
        elif event:
            stays[number] = Stays.EVENT, event
        elif times > 1:
            stays[number] = Stays.MOVED, ""
    return stays


@dataclass(frozen=True)
class PromiseRow:
    """A promise in the way: its ``new_day`` if it is ticked, None where no day was found.

    ``stays`` says why it is better not moved.
    """

    way: InTheWay
    ticket: Ticket
    ticked: bool
    new_day: date | None
    stays: str


@dataclass(frozen=True)
class LongerRow:
    """A day on which adding bench time helps; ``lacks`` is what is still to be added to it."""

    day: date
    added: int
    lacks: int = 0
    today: bool = False
    closed: bool = False


@dataclass(frozen=True)
class MakeItFit:
    """The page: one figure, ``left.over``, for its bar, its list and its foot.

    ``proposal`` is the smallest way out of the week as it stands, None where all promises hold.
    ``spared`` are the days on which nobody sews longer without a step of its own: today, and those
    on which the studio is closed. ``lost`` is the percent of every hour that is not sewn.
    """

    choice: Choice
    left: LeftOver
    proposal: Proposal | None
    spared: frozenset[date]
    today: date
    lost: int
    movable: list[PromiseRow]
    staying: list[PromiseRow]
    longer: list[LongerRow]
    messages: list[ClientMessage]

    @property
    def over(self) -> int:
        return self.left.over

    @property
    def moved(self) -> list[PromiseRow]:
        return [row for row in self.rows if row.ticked]

    @property
    def rows(self) -> list[PromiseRow]:
        return [*self.movable, *self.staying]

    @property
    def moved_minutes(self) -> int:
        return sum(row.way.minutes for row in self.moved)

    @property
    def added_minutes(self) -> int:
        return sum(self.choice.longer.values())

    @property
    def added(self) -> list[LongerRow]:
        """The days that are chosen to be longer."""
        return self._days_of(self.choice.longer)

    def _days_of(self, longer: Mapping[date, int]) -> list[LongerRow]:
        return [
            LongerRow(
                day,
                minutes,
                today=day == self.today,
                closed=day in self.spared and day != self.today,
            )
            for day, minutes in sorted(longer.items())
        ]

    @cached_property
    def next_choice(self) -> Choice | None:
        """The proposal, in two steps where today or a closed day is needed: these come second.

        None where nothing is enough.
        """
        if self.proposal is None:
            return None
        longer = dict(self.proposal.longer)
        if any(minutes > plan_actions.LONGEST_ADDED for minutes in longer.values()):
            return None
        usual = {day: added for day, added in longer.items() if day not in self.spared}
        first = Choice(frozenset(self.proposal.moved), usual)
        if self.choice | first != self.choice:
            return first
        return self.choice | Choice(first.moved, longer)

    @property
    def take(self) -> str:
        """The address at which that is ticked; empty where nothing is enough."""
        return self.next_choice.address if self.next_choice else ""

    @property
    def smallest(self) -> list[PromiseRow]:
        """The promises that are moved next."""
        moved = self.next_choice.moved - self.choice.moved if self.next_choice else ()
        return [row for row in self.rows if row.way.job.ticket in moved]

    @property
    def smallest_names(self) -> str:
        """Whom the proposal moves, as they are called; of more than two how many."""
        names = [row.ticket.client.name.split()[0] for row in self.smallest]
        return " and ".join(names) if len(names) < 3 else f"{len(names)} promises"

    @property
    def smallest_minutes(self) -> int:
        return sum(row.way.minutes for row in self.smallest)

    @property
    def smallest_longer(self) -> list[LongerRow]:
        """The days that are made longer next, each by so much."""
        if self.next_choice is None:
            return []
        more = {
            day: added - self.choice.longer.get(day, 0)
            for day, added in self.next_choice.longer.items()
        }
        return self._days_of({day: added for day, added in more.items() if added > 0})

    @property
    def smallest_added(self) -> int:
        return sum(row.added for row in self.smallest_longer)

    @property
    def lacking(self) -> int:
        """What is left over, by the clock and in steps."""
        return sum(minutes for _, minutes in self.left.longer)

    @property
    def ready(self) -> bool:
        """Whether what is ticked and added can be agreed."""
        return self.left.fits and all(self.left.days.values()) and bool(self.choice)

    @property
    def bar(self) -> Bar:
        """A piece for each ticket, first promised first; what does not fit lies past the edge.

        What was taken out leaves the bar bare, so that it drops and keeps its scale.
        """
        parts, room = [], self.left.bench
        rows = sorted(self.rows, key=lambda row: (row.way.promised, row.way.job.ticket))
        for row in rows:
            if not row.ticked:
                fits = min(row.way.minutes, room)
                parts.append(Part("clients", fits, words=row.ticket.client.name))
                room -= fits
        parts.append(Part("over", self.over))
        parts.append(Part("free", self.moved_minutes, words="Moved"))
        return Bar(
            parts,
            size=self.left.bench if self.over else 0,
            ticks=60 if self.left.promised < 24 * 60 else 240,
            about="Promised by the last day that is too full",
        )


@dataclass(frozen=True)
class Outlook:
    """``promises`` is how many there are. ``fit`` is None when all of them fit.

    ``risks`` are those of Today, each with its reason, without what is moved already. ``bench`` is
    False where there is no bench time at all. ``tickets`` are those that the page shows, by number.
    """

    promises: int
    fit: MakeItFit | None
    tightest: Tight | None
    risks: list[Risk]
    bench: bool
    tickets: Mapping[str, Ticket]

    @property
    def blocks_at_risk(self) -> bool:
        return any(risk.mend is Mend.WEEK for risk in self.risks)

    @property
    def first_risks(self) -> list[Risk]:
        """Where promises are chosen to be moved, the first few; the page is about those then."""
        few = self.fit is not None and len(self.risks) > FEW + 1
        return self.risks[:FEW] if few else self.risks

    @property
    def further_risks(self) -> list[Risk]:
        return self.risks[len(self.first_risks) :]


def look_ahead(studio: Profile, choice: Choice | None = None) -> Outlook:
    """The week with what was chosen, in as many queries as reading it takes and six."""
    week = read_week(studio)
    bench = cut_each_day(week.book.bench, studio.promise_time, week.rules.lost_percent)
    book = replace(week.book, bench=bench)
    hours = StudioHours(
        studio.promise_time, week.hours.is_open, week.hours.opens, week.rules.lost_percent
    )
    ways: list[InTheWay] = []
    tight = None
    try:
        ways = in_the_way(book)
        tight = None if ways else tightest(book)
        has_bench = bool(week.hours.shifts)
    except core.NoBenchTimeError:
        has_bench = False
    risks = promises_at_risk(
        week.book, studio.promise_time, week.hours.is_open, 0, overfull=bool(ways)
    )
    jobs = [*(row.job for row in ways), *(risk.job for risk in risks if risk.job)]
    shown = {job.ticket for job in jobs}
    tickets = {ticket.number: ticket for ticket in Ticket.objects.whole().filter(number__in=shown)}
    promises = [(way, tickets[way.job.ticket]) for way in ways if way.job.ticket in tickets]
    fit = _make_it_fit(book, hours, promises, choice or Choice(), studio) if promises else None
    if fit:
        risks = [risk for risk in risks if not _mended(risk, fit)]
    return Outlook(len(book.jobs), fit, tight, risks, has_bench, tickets)


def _mended(risk: Risk, fit: MakeItFit) -> bool:
    """Whether what is chosen takes the risk away."""
    moved = risk.job is not None and risk.job.ticket in fit.choice.moved
    return moved or (risk.kind == "room" and fit.left.fits)


def _make_it_fit(
    book: Book,
    hours: StudioHours,
    promises: list[tuple[InTheWay, Ticket]],
    choice: Choice,
    studio: Profile,
) -> MakeItFit:
    """One query."""
    stays = what_stays(book, [way.job.ticket for way, _ in promises])
    proposal = propose(book, hours, stays)
    moved = choice.moved & {way.job.ticket for way, _ in promises}
    today, last = book.bench.today, max(way.promised for way, _ in promises)
    longer = {day: added for day, added in choice.longer.items() if today <= day <= last}
    left = left_over(book, hours, moved, longer, days=True)

    rows = [
        PromiseRow(
            way,
            ticket,
            way.job.ticket in moved,
            left.days.get(way.job.ticket),
            _why(*stays[way.job.ticket]) if way.job.ticket in stays else "",
        )
        for way, ticket in promises
    ]
    first = proposal.moved if proposal else ()
    movable = sorted(
        (row for row in rows if not row.stays),
        key=lambda row: (row.way.job.ticket not in first, -row.way.minutes),
    )
    return MakeItFit(
        choice=Choice(frozenset(moved), longer),
        left=left,
        proposal=proposal,
        spared=frozenset(
            day
            for day in (today + timedelta(days=ahead) for ahead in range((last - today).days + 1))
            if day == today or not hours.is_open(day)
        ),
        today=today,
        lost=hours.lost_percent,
        movable=movable,
        staying=[row for row in rows if row.stays],
        longer=_longer_rows(book, hours, moved, longer, left),
        messages=_drafts([row for row in [*movable, *rows] if row.ticked], studio),
    )


def _why(why: Stays, event: str) -> str:
    return event or why.value


def _longer_rows(
    book: Book,
    hours: StudioHours,
    moved: Collection[str],
    longer: Mapping[date, int],
    left: LeftOver,
) -> list[LongerRow]:
    """The days up to the last that is too full on which a step more leaves less over."""
    lacks, rows = dict(left.longer), []
    day, last = book.bench.today, left.until or book.bench.today
    while day <= last:
        added = longer.get(day, 0)
        more = {**longer, day: added + STEP}
        if added or day in lacks or left_over(book, hours, moved, more).over < left.over:
            today, closed = day == book.bench.today, not hours.is_open(day)
            rows.append(LongerRow(day, added, lacks.get(day, 0), today, closed))
        day += timedelta(days=1)
    return rows


def _drafts(rows: list[PromiseRow], studio: Profile) -> list[ClientMessage]:
    """What the clients will read, in the order of the list."""
    drafts = {}
    for row in rows:
        if row.new_day:
            ticket, was = row.ticket, row.ticket.promise_at
            ticket.promise_at = clock.at(row.new_day, studio.promise_time)
            drafts[ticket.number] = about_new_day(ticket, was, studio)
            ticket.promise_at = was
    return list(drafts.values())


@require_GET
def too_much(request: StudioRequest) -> HttpResponse:
    choice = Choice.of(request.GET)
    if "more" in request.GET or "less" in request.GET:
        return redirect(choice.address)
    return render(
        request, "planning/too_much.html", {"outlook": look_ahead(request.studio, choice)}
    )


@ticked(Tick.AGREED)
@require_POST
def agree(request: StudioRequest) -> HttpResponse:
    """Promise the new days that the page has shown, and sew longer; twice is once."""
    choice, studio = Choice.of(request.POST), request.studio
    shown = {
        number: day
        for number in choice.moved
        if (day := _day(request.POST.get(f"to-{number}", "")))
    }
    days = {
        ticket: clock.at(shown[ticket.number], studio.promise_time)
        for ticket in Ticket.objects.filter(number__in=shown)
    }
    after = f"{reverse('new-days')}?{urlencode([('ticket', ticket.number) for ticket in days])}"
    if days and all(ticket.promise_at == moment for ticket, moment in days.items()):
        return redirect(after)
    fit = look_ahead(studio, choice).fit
    if not (fit and fit.ready and fit.left.days == shown):
        messages.error(request, "The week has changed meanwhile. Look at the new days once more.")
        return redirect(choice.address)
    before = LongerDay.objects.filter(day__in=choice.longer).values_list("day", "minutes")
    longer = {day: minutes + dict(before).get(day, 0) for day, minutes in choice.longer.items()}
    try:
        entries = plan_actions.agree_new_days(
            days=days, longer=longer, studio=studio, by=request.user
        )
    except (actions.TicketError, plan_actions.PlanError) as wrong:
        messages.error(request, str(wrong))
        return redirect(choice.address)
    words = f"Saved: {_new_days(len(days))}. Now tell them." if days else "All promises hold."
    undo = reverse("new-days-undo")
    say(request, words, undo=undo, entries="-".join(str(entry.pk) for entry in entries))
    return redirect(after if days else "too-much")


def _new_days(number: int) -> str:
    return "1 new day" if number == 1 else f"{number} new days"


@require_POST
def undo_new_days(request: StudioRequest) -> HttpResponse:
    numbers = re.findall(r"[0-9]{1,18}", request.POST.get("entries", ""))
    try:
        plan_actions.take_back(entries=Entry.objects.filter(pk__in=numbers), by=request.user)
    except HistoryError as wrong:
        messages.error(request, str(wrong))
    else:
        messages.success(request, "Taken back. All is promised as before.")
    return redirect("too-much")


@dataclass(frozen=True)
class NewDay:
    """A ticket with a new day, the moment promised before, and its message; ``told`` once sent."""

    ticket: Ticket
    was: datetime
    message: ClientMessage
    told: bool


def read_new_days(numbers: Collection[str], studio: Profile) -> list[NewDay]:
    """Those of these tickets that were promised for another day before. Six queries."""
    tickets = list(Ticket.objects.whole().filter(number__in=numbers).prefetch_related("agreements"))
    messages_sent = SentMessage.objects.filter(ticket__in=tickets, kind=MessageKind.MOVED, wrong="")
    told = set(messages_sent.values_list("ticket_id", "about"))
    rows = []
    for ticket in sorted(tickets, key=lambda ticket: (ticket.promise_at, ticket.number)):
        was = promised_before(ticket, ticket.agreements.all())
        if was:
            message = about_new_day(ticket, was, studio)
            day = clock.local(ticket.promise_at).date()
            is_told = (ticket.pk, day.isoformat()) in told
            rows.append(NewDay(ticket, was, message, is_told))
    return rows


@require_GET
def new_days(request: StudioRequest) -> HttpResponse:
    """The messages to the clients, ready to be sent one after another."""
    rows = read_new_days(request.GET.getlist("ticket"), request.studio)
    untold = [row for row in rows if not row.told]
    return render(request, "planning/new_days.html", {"rows": rows, "untold": untold})


@require_POST
def new_day_told(request: StudioRequest, number: str) -> HttpResponse:
    plan_actions.tell_new_day(ticket=ticket_or_404(number), by=request.user)
    shown = [("ticket", other) for other in request.POST.getlist("ticket")] or [("ticket", number)]
    return redirect(f"{reverse('new-days')}?{urlencode(shown)}")


REASON = "the days before were too full"


@require_POST
def move(request: StudioRequest, number: str) -> HttpResponse:
    """Promise this ticket for the usual hour of the day that was offered."""
    ticket = ticket_or_404(number)
    hour = request.studio.promise_time
    form = PromiseDayForm({"day": request.POST.get("day"), "time": hour, "reason": REASON})
    if not form.is_valid():
        messages.error(request, "Choose one of the days on offer.")
        return go_back(request, "too-much")
    if not request.user.may(Tick.AGREED):
        return ask_promise(request, ticket, clock.at(form.cleaned_data["day"], hour), REASON)
    try:
        ticket = actions.move_promise(
            ticket=ticket,
            promise_at=clock.at(form.cleaned_data["day"], hour),
            studio=request.studio,
            by=request.user,
            reason=REASON,
        )
    except actions.TicketError as wrong:
        messages.error(request, str(wrong))
        return go_back(request, "too-much")
    when = show_when(ticket.promise_at, request.studio.locale)
    words = f"Ticket {ticket.number} is promised for {when} now."
    if not request.POST.get("back"):
        words += " Print the new agreement here."
    say_step(request, ticket, words)
    return go_back(request, ticket)
