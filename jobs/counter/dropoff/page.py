"""One turn of the drop-off page: what was typed comes in, the button acts, all is read."""

import re
from collections import Counter
from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date, time, timedelta
from decimal import Decimal
from functools import cached_property
from typing import Any
from uuid import UUID, uuid4

from django.forms import BoundField
from django.http import QueryDict
from django.utils.datastructures import MultiValueDict
from django.utils.dateparse import parse_time

from clients.sheets.known import Body, body_of
from jobs.counter.dropoff.desk import (
    FIRST_KIND,
    FURTHEST,
    CounterForm,
    StandingTicket,
    again,
    bring,
    choose_day,
    day_given,
    fold_colours,
    load,
    press,
    write,
)
from jobs.counter.dropoff.forms import (
    GarmentForm,
    GarmentRows,
    TicketForm,
)
from jobs.counter.dropoff.merge import (
    GONE,
    Merge,
    fields_of,
    of_ticket,
    read_opened,
)
from jobs.counter.dropoff.who import WhoForm
from jobs.planning.honest_date import (
    DayState,
    PromiseDay,
    StandingWork,
    WeekAnswer,
    promise_calendar,
    standing_work,
)
from jobs.planning.plan.book import monday_of
from jobs.planning.plan.rush import DayCost
from jobs.pricing.models import Measure, Operation
from jobs.pricing.quote import Quote, QuoteError, named_already
from jobs.tickets.actions import photographs
from jobs.tickets.fit.body import finished_along
from jobs.tickets.models import Line, Ticket
from jobs.tickets.quoting import quote_lines
from studio.shop.forms import TOO_OLD
from studio.shop.http import StudioRequest
from studio.shop.models import User
from studio.shop.once import content_of
from studio.shop.pictures import PictureError
from studio.shop.together import HOLD, TAKE, Merged, who_changed
from studio.shop.week import first_working_day, load_week

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
BRING = "bring"
FROM_SHEET = "from-sheet:"
CHOICES = (f"{TAKE}:", f"{HOLD}:")
ROW = re.compile(r"(?:id_)?(g\d{1,3})-", re.ASCII)
LATELY, MOST_OFTEN = 200, 4
"""Of so many lines that came in last, the kinds of work that are offered in one press."""
WEEKS, MOST_WEEKS = 3, 6
"""Weeks that are shown, and how many where the first possible day lies far ahead."""
MOST_EARLIER = 4


@dataclass(frozen=True)
class PromiseCalendar:
    """Weeks from Monday to Sunday, None for days before today.

    ``day`` is the one on the form, ``safe`` the one that is proposed, ``earlier`` those that a rush
    may be promised for, the latest and so the cheapest first.
    """

    day: date | None
    safe: date | None
    days: tuple[PromiseDay, ...]

    @property
    def weeks(self) -> list[list[PromiseDay | None]]:
        """From the week of the first day that can be had, or this one if that is near."""
        if not self.days:
            return []
        cells: list[PromiseDay | None] = [None] * self.days[0].day.weekday()
        cells += self.days
        rows = [cells[at : at + 7] for at in range(0, len(cells), 7)]
        while len(rows) > MOST_WEEKS and not any(_can_be_had(cell) for cell in rows[0]):
            rows.pop(0)
        return rows[:MOST_WEEKS]

    @property
    def chosen(self) -> PromiseDay | None:
        return next((row for row in self.days if row.day == self.day), None)

    @property
    def tight(self) -> frozenset[date]:
        """Days that cost nobody anything as it stands, but lie before the safe one."""
        return frozenset(
            row.day
            for row in self.days
            if row.state is DayState.SAFE and self.safe and row.day < self.safe
        )

    @property
    def earlier(self) -> list[PromiseDay]:
        rush = [row for row in self.days if row.rush and (not self.safe or row.day < self.safe)]
        return rush[::-1][:MOST_EARLIER]

    @property
    def full_until(self) -> date | None:
        """The last day before the earlier ones that is too full."""
        first = min((row.day for row in self.earlier), default=None)
        full = [row.day for row in self.days if row.state is DayState.FULL]
        return max((day for day in full if first is None or day < first), default=None)


def _can_be_had(cell: PromiseDay | None) -> bool:
    return cell is not None and cell.state in {DayState.SAFE, DayState.OWN}


def calendar_of(answer: WeekAnswer, day: date | None, today: date) -> PromiseCalendar:
    """Whole weeks from today on, as many as reach the safe day and a few after it."""
    safe = answer.safe
    last = monday_of(today) + timedelta(weeks=WEEKS, days=-1)
    if safe:
        last = max(last, monday_of(safe + timedelta(days=4)) + timedelta(days=6))
    days = promise_calendar(answer, (last - today).days + 1)
    return PromiseCalendar(day, safe, tuple(no_later_less_likely(days)))


def no_later_less_likely(days: Iterable[PromiseDay]) -> Iterator[PromiseDay]:
    """Work may be sewn as for an earlier day that takes no more own hours: it is no less likely."""
    before: list[PromiseDay] = []
    for row in days:
        if row.chance is None:
            yield row
            continue
        likely = (day.chance or 0 for day in before if day.own <= row.own)
        before.append(replace(row, chance=max(row.chance, *likely, 0)))
        yield before[-1]


@dataclass(frozen=True)
class Problem:
    """One message, the id of the element it stands beside, and a page that helps."""

    target: str
    where: str
    message: str
    link: str = ""


@dataclass(frozen=True)
class SavedBefore:
    """The ticket that this form has made, and what it says otherwise now.

    ``elsewhere`` says that client or payment differ, which are no part of a change.
    """

    ticket: Ticket
    differs: list[str]
    elsewhere: bool


class DropOff:
    """Everything the page shows. ``standing`` is the ticket that it changes, if it changes one.

    ``trouble`` keeps the whole from being priced or saved, ``wrong`` is that nothing was brought.
    ``idle_rush`` is a rush that moves nothing and costs nothing; ``day_moved`` says that the day of
    the promise is another than its field was sent with; ``saved`` is the ticket that was made of
    the form before; ``touched`` are the garments that got
    photographs. ``focus`` is the id of the element that the page puts the cursor on.
    """

    def __init__(
        self,
        request: StudioRequest,
        data: QueryDict,
        intent: str,
        standing: StandingTicket | None,
        by: User | None = None,
    ) -> None:
        """``by`` has filled it, where that is another than who sends it."""
        self.data, self.standing, self.by = data, standing, by or request.user
        fold_colours(data)
        self.trouble = self.trouble_link = self.wrong = ""
        self.saving = intent.startswith(("save", *CHOICES))
        self.quote: Quote | None = None
        self.saved: SavedBefore | None = None
        self.sent = content_of(request) if self.saving else ""
        written, picked = data.get("promise_day", ""), choose_day(data)
        form_key = self._form_key()
        pictures = self._keep_pictures(request.FILES, form_key)
        self.merged = Merged()
        self._merge(request, standing, intent)
        self.desk = desk = load(request, data, form_key, standing, self.by)
        self.focus = press(data, intent, desk)
        self.who = WhoForm(data, desk=desk)
        self._press_what_needs_the_client(intent)
        self.garments = GarmentRows(data, prefix="g", form_kwargs={"desk": desk})
        rows = [form for form in self.garments if isinstance(form, GarmentForm)]
        self.here = [form for form in rows if not form.is_gone]
        self.touched = [form for form in self.here if form.prefix in pictures]
        for form in self.touched:
            form.wrong_pictures = pictures[str(form.prefix)]
        for form, letter in zip(self.here, LETTERS, strict=False):
            form.body = self._body
            form.letter = standing.letters.get(form.draft.pk or 0, "") if standing else letter
        self.answer = self._ask_week()
        if not standing:
            self._propose_day(picked=picked)
        data["shown_rush"] = data.get("rush", "")
        self.ticket = TicketForm(data, desk=desk)
        self.draft = self.ticket.draft([form.draft for form in self.here])
        self.day: date | None = self.ticket.answers.get("promise_day")
        self.cost: DayCost | None = None
        if self.answer and self.day and self.day >= desk.today:
            self.cost = self.answer.cost(self.day)
        self.idle_rush = self._idle_rush()
        if self.idle_rush:
            self.draft = replace(self.draft, rush_percent=Decimal(0))
        self.day_moved = data.get("promise_day", "") != written
        self._price()
        if self.saving:
            self._check()
        elif intent == "enter" and not self.focus and self.quote and not self.problems():
            self.focus = "save"

    def _merge(self, request: StudioRequest, standing: StandingTicket | None, intent: str) -> None:
        """Bring together what is to be saved and what others changed since the page was opened."""
        if standing is None or not self.saving:
            return
        before = read_opened(self.data.get("opened", ""))
        if before is None:
            self.trouble = TOO_OLD
            return
        now = QueryDict(mutable=True)
        of_ticket(now, standing, request.studio)
        fields = fields_of(now, standing, request.studio, money=self.by.is_owner)
        entry, base = before
        if fields == base:
            return
        merge = Merge(self.data, now, fields, base, request.studio)
        merge.merged.who = who_changed(standing.ticket, entry, self.by)
        if intent.startswith(CHOICES):
            verb, _, name = intent.partition(":")
            merge.choose(verb, name)
        self.merged = merge.run()
        self.data["opened"] = merge.opened(entry)

    def _body(self) -> Body:
        return self.body

    @cached_property
    def body(self) -> Body:
        """What is known of the body of the client."""
        client = self.standing.ticket.client if self.standing else self.who.chosen
        return body_of(client, by=self.by) if client else Body()

    def _press_what_needs_the_client(self, intent: str) -> None:
        if intent.startswith("again") and self.who.last:
            self.focus = again(self.data, self.who.last, self.desk)
        elif intent.startswith(BRING):
            self.focus = bring(self.data, intent.split(":")[1:], self.desk)
        elif intent.startswith(FROM_SHEET):
            self._finish_as_measured(*intent.split(":")[1:3])

    def _finish_as_measured(self, garment: str = "", line: str = "") -> None:
        """Let the work be finished as long as the client's sheet says."""
        prefix = f"g{garment}-l{line}"
        work = self.desk.operations.get(self.data.get(f"{prefix}-operation", ""))
        if work is None:
            return
        fact = self.body.get(finished_along(work.garment_kind.name, work.name, work.work_order))
        if fact and fact.typed:
            write(self.data, prefix, amount=fact.typed, measure=Measure.FINISHED)
            basis = self.data.get(f"{prefix}-basis") or work.usual_basis
            write(self.data, prefix, basis=basis)
            self.data.pop(f"{prefix}-measure_later", None)
            self.focus = f"id_{prefix}-amount"

    @property
    def client_key(self) -> str:
        client = self.standing.ticket.client if self.standing else self.who.chosen
        return str(client.pk) if client else ""

    @property
    def any_work(self) -> bool:
        return any(form.lines_here for form in self.here)

    @property
    def would_be_lost(self) -> bool:
        """Whether there is more than a question: a client, or what was typed or photographed."""
        lines = [line for form in self.here for line in form.lines_here]
        typed = any(line.typed("amount") or line.typed("note") for line in lines)
        taken = any(form.pictures for form in self.here)
        return bool(
            self.standing or self.who.chosen or self.who.typed("new_name") or typed or taken
        )

    def _form_key(self) -> UUID:
        """The key that makes a double click one ticket; a key that is none is given anew."""
        if self.standing:
            return self.standing.draft.form_key
        try:
            return UUID(str(self.data.get("form_key", "")))
        except ValueError:
            return uuid4()

    def _keep_pictures(
        self, files: MultiValueDict[str, Any], form_key: UUID
    ) -> dict[str, list[str]]:
        """Store the photographs the moment they arrive, whatever else on the form is still wrong.

        By the prefix of the garment that got some: what is said of a file that is no picture.
        """
        refused: dict[str, list[str]] = {}
        for name in files:
            prefix = name.removesuffix("-camera")
            for upload in files.getlist(name) if f"{prefix}-kind" in self.data else ():
                messages = refused.setdefault(prefix, [])
                try:
                    photo = photographs.keep(upload, form_key=form_key)
                    self.data.appendlist(f"{prefix}-photos", str(photo.pk))
                except PictureError as wrong:
                    messages.append(f"{upload.name}: {wrong}")
        files.clear()
        return refused

    def _ask_week(self) -> WeekAnswer | None:
        """Ask the week about all the work on the page; None when there is none."""
        lines = [line for form in self.here for line in form.draft.lines]
        if not lines:
            return None
        ticket = self.standing.ticket if self.standing else None
        known = standing_work(ticket) if ticket else StandingWork()
        gated = [line for line in lines if line.fitting_first]
        for form in (form for garment in self.here for form in garment.lines_here):
            form.has_fitting = bool(known.fitting or gated) and not known.fitted
        studio = self.desk.studio
        try:
            hour: time | None = parse_time(self.data.get("promise_time", ""))
        except ValueError:
            hour = None
        hour = hour or studio.promise_time
        return known.ask(studio, lines, ready_by=hour, ticket=ticket)

    def _propose_day(self, *, picked: bool) -> None:
        """Put the safe day on the page, until the owner has chosen another.

        Where the week has no answer (no work yet, none with minutes, no bench time), the usual lead
        time holds. Choosing the safe day itself hands the choice back to the week.
        """
        data, honest = self.data, self.answer.safe if self.answer else None
        if honest and honest > self.desk.today + FURTHEST:
            honest = None
        was_rush = bool(data.get("shown_rush"))
        # What is saved is the day that was seen.
        rush = was_rush if self.saving and "shown_rush" in data else bool(data.get("rush"))
        if picked and honest and not rush and data["promise_day"] == honest.isoformat():
            data["chosen"] = ""
        turned = "shown_rush" in data and rush != was_rush and not picked
        if turned and (was_rush or not self._gives_way()):
            # A rush that is pressed looks for an earlier day; let go, it leaves the choice of day.
            data["chosen"] = ""
        if not data.get("chosen"):
            day = honest or first_working_day(self.desk.studio.lead_days)
            if rush and honest and self.answer:
                earlier = calendar_of(self.answer, honest, self.desk.today).earlier
                day = earlier[0].day if earlier else day
            data["promise_day"] = day.isoformat()

    def _gives_way(self) -> bool:
        """Whether the day on the form is one for which somebody gives way."""
        day = day_given(self.data.get("promise_day", ""))
        return bool(day and self.answer and self.answer.cost(date.fromisoformat(day)))

    def _idle_rush(self) -> bool:
        """Whether a rush is ticked for a day on which nobody gives way for it.

        One that was agreed stays, though the honest day may be another by now.
        """
        agreed = self.standing.draft.rush_percent if self.standing else None
        if agreed or not (self.draft.rush_percent and self.day and self.answer):
            return False
        return bool(self.answer.known) and self.day >= self.desk.today and not self.cost

    def _price(self) -> None:
        """Price what there is, line by line, and the whole."""
        lines = [line for form in self.here for line in form.lines_here]
        self.trouble = self.trouble or (self.desk.tax_trouble if lines else "")
        if not lines or self.trouble:
            return
        try:
            self.quote = quote_lines(self.draft, [line.draft for line in lines], self.desk.terms)
        except QuoteError as wrong:
            self.trouble = str(wrong)
            return
        for line, quoted in zip(lines, self.quote.lines, strict=True):
            line.quoted = quoted

    def _check(self) -> None:
        """What saving cannot do without, said beside the field."""
        who, ticket = self.who, self.ticket
        if who.makes_one and not who.answers.get("new_name"):
            who.miss("new_name", "Write the client's name.")
        elif not (self.standing or who.makes_one or who.chosen):
            who.miss("q", "Choose a client, or make a new one.")
        if not self.here:
            self.wrong = "Add what was brought."
        for garment in self.here:
            self._check_garment(garment)
        if ticket.answers.get("promise_day") is None:
            ticket.miss("promise_day", "Say on which day it will be ready.")
        if ticket.answers.get("promise_time") is None:
            ticket.miss("promise_time", "Say at what time it will be ready.")
        paid = ticket.answers.get("paid")
        if paid and not ticket.answers.get("method"):
            ticket.miss("method", "Say how it was paid.")
        self._ask()
        for name in ("deposit", "paid"):
            if self.quote and (ticket.answers.get(name) or 0) > self.quote.gross:
                ticket.add_error(name, "This is more than the work costs.")

    def _ask(self) -> None:
        """Say beside its field what both have changed; of a whole row, beside what it has."""
        for form in self.forms():
            for name in form.fields:
                question = self.merged.questions.get(form.add_prefix(name))
                if question and name == GONE and isinstance(form, GarmentForm):
                    form.wrong = question.beside
                elif question:
                    form.add_error("note" if name == GONE else name, question.beside)

    def _check_garment(self, garment: GarmentForm) -> None:
        if not garment.draft.kind_name:
            garment.miss("kind_name", "Say what it is.")
        if not garment.lines_here:
            garment.wrong = "Say what is to be done."
        for line in garment.lines_here:
            if line.doubt:
                line.add_error("amount", line.doubt.says)
            if not line.draft.name:
                line.miss("name", "Say what is to be done.")
            if line.is_silent:
                line.miss("amount", "Write how far, or tick “Measure later”.")
            if line.asks_place and not line.answers.get("fitting_place"):
                line.miss("fitting_place", "Say whether it is sewn before or after the fitting.")
            to_order = line.draft.operation_id is None and line.draft.pk is None
            if to_order and not self.desk.sets_prices:
                line.add_error("note", "Only the owner can add work that is not on the list.")
            elif to_order and line.answers.get("price") is None:
                line.miss("price", "Say what it costs.")

    def forms(self) -> Iterator[CounterForm]:
        """Every form in the order of the page, but for those of what was taken off."""
        if not self.standing:
            yield self.who
        for garment in self.here:
            yield garment
            yield from garment.lines_here
        yield self.ticket

    def often(self) -> list[list[Operation]]:
        """The work that came in most often lately, while nothing else is on the page. One query."""
        if self.here:
            return []
        lines = Line.objects.order_by("-pk").values_list("operation_id", flat=True)
        counted = Counter(str(pk) for pk in lines[:LATELY])
        listed = {
            str(work.pk): work
            for kind in self.desk.kinds.values()
            for work in kind.operations.all()
        }
        works = [[listed[pk]] for pk, count in counted.most_common() if pk in listed and count > 1]
        return works[:MOST_OFTEN]

    @cached_property
    def calendar(self) -> PromiseCalendar | None:
        """None where the week has no answer."""
        if not (self.answer and self.answer.known):
            return None
        return calendar_of(self.answer, self.day, self.desk.today)

    @property
    def open(self) -> str:
        """The prefix of the garment that lies open: where the cursor is, or the last one."""
        at = ROW.match(self.focus)
        here = [str(form.prefix) for form in self.here]
        wanted = at[1] if at else self.data.get("open", "")
        return wanted if wanted in here else here[-1] if here else ""

    def live_fields(self) -> Iterator[BoundField]:
        """The fields that stand on the page whoever the client is; chips only if there are any."""
        for form in self.forms():
            if form is not self.who:
                yield from (f for f in form.visible_fields() if getattr(f.field, "choices", True))

    def problems(self) -> list[Problem]:
        """Everything that is wrong, in the order of the page."""
        return [*self._problems()]

    def _problems(self) -> Iterator[Problem]:
        for form in self.forms():
            for name, messages in form.errors.items():
                for message in messages:
                    words = self._asked_words(str(message))
                    yield Problem(target_of(form[name]), str(form[name].label), words)
            if isinstance(form, GarmentForm):
                name = form.draft.kind_name or "Garment"
                if form.wrong:
                    yield Problem(f"{form.prefix}-first", name, self._asked_words(form.wrong))
                for message in form.wrong_pictures:
                    yield Problem(f"id_{form.prefix}-camera", "Photograph", message)
        if self.wrong:
            yield Problem(FIRST_KIND, "Garments", self.wrong)
        if self.trouble:
            yield Problem("save", "Ticket", self.trouble, self.trouble_link)

    def _asked_words(self, message: str) -> str:
        """The message of a field; of one that is asked about, without its buttons."""
        questions = self.merged.questions.values()
        return next((asked.words for asked in questions if asked.beside == message), message)

    def notices(self) -> Iterator[str]:
        """What is worth a second look but may be meant."""
        if self.merged.news:
            yield f"{self.merged.sentence} It stands here as well."
        day, wanted, answer = self.day, self.ticket.answers.get("wanted_by"), self.answer
        if day and (answer.is_closed(day) if answer else not load_week().is_open(day)):
            yield "The studio is closed on the day of the promise."
        if self.idle_rush:
            yield "This day is no rush: nobody gives way for it, so nothing is charged for one."
        if day and wanted and day > wanted:
            yield "Ready by is later than it is wanted."
        for line in self.draft.lines:
            for surcharge in line.surcharges:
                if named_already(surcharge["name"], line.name):
                    yield (
                        f"“{line.name}” says {surcharge['name'].lower()} already: the surcharge is"
                        " charged on top of it. Remove it unless both are meant."
                    )

    def rush_fee(self) -> int:
        """What the rush adds, or would add, to the price."""
        lines, terms, rush = self.draft.lines, self.desk.terms, self.desk.rush_percent
        drafts = (replace(self.draft, rush_percent=percent) for percent in (Decimal(0), rush))
        with suppress(QuoteError):
            calm, hurried = (quote_lines(draft, lines, terms).gross for draft in drafts)
            return hurried - calm
        return 0

    def context(self, *, shows_errors: bool) -> dict[str, Any]:
        """What the templates show besides the page itself."""
        problems = self.problems() if shows_errors else []
        if problems:
            self.focus = problems[0].target
        for form in self.forms():
            form.show()
            for bound in form:
                if self.focus in {bound.auto_id, f"{bound.auto_id}_0"}:
                    bound.field.widget.attrs["autofocus"] = True
        return {"page": self, "problems": problems, "focus": self.focus}


def target_of(field: BoundField) -> str:
    """The id that a link to the field leads to: of chips, the first."""
    return f"{field.auto_id}_0" if field.use_fieldset else field.auto_id
