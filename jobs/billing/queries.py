"""What is owed, paid, invoiced and taken: of one ticket, of all, and between two days.

Money is integer minor units; days are local to the studio, a first and a last one both included.
"""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any
from uuid import UUID, uuid4

from django.db.models import (
    BigIntegerField,
    Case,
    Count,
    Exists,
    F,
    OuterRef,
    Prefetch,
    QuerySet,
    Subquery,
    Sum,
    Value,
    When,
)
from django.db.models.functions import Cast, Coalesce

from jobs.billing.models import Invoice, Payment
from jobs.billing.points import client_owes, is_abroad
from jobs.pricing.quote import TaxMode
from jobs.tickets.models import Garment, MessageKind, SentMessage, State, Ticket
from jobs.tickets.quoting import TicketDraft
from studio.shop import clock
from studio.shop.models import User

# A first nudge after a week, then the months that notices and storage fees usually go by.
AGES = (7, 30, 60, 90, 120)


def standing_invoices() -> QuerySet[Invoice]:
    """Invoices that no credit note took back as a whole, though lines of them may be credited."""
    invoices: QuerySet[Invoice] = Invoice.objects.filter(kind=Invoice.Kind.INVOICE)
    return invoices.exclude(Exists(_whole_credits("pk")))


def line_credits() -> QuerySet[Invoice]:
    """Credit notes of single lines, while their invoice stands: so much less is owed."""
    notes: QuerySet[Invoice] = Invoice.objects.filter(part=True)
    return notes.exclude(Exists(_whole_credits("refers_to")))


def _whole_credits(of: str) -> QuerySet[Invoice]:
    notes: QuerySet[Invoice] = Invoice.objects.filter(refers_to=OuterRef(of), part=False)
    return notes.order_by()


def with_balances(tickets: QuerySet[Ticket]) -> QuerySet[Any]:
    """Each ticket with ``paid`` and ``balance`` in minor units, in the tickets' own query.

    What was credited of single lines is not owed. A cancelled ticket owes nothing; what was paid
    on it stands as a balance below zero until it is given back. Only whole minor units are added up
    in the database, so the sums are exact.
    """
    sums = (
        Payment.objects.filter(ticket=OuterRef("pk"))
        .order_by()
        .values("ticket")
        .annotate(total=Sum("amount"))
        .values("total")
    )
    notes = line_credits().filter(ticket=OuterRef("pk")).order_by()
    credited = notes.values("ticket").annotate(total=Sum("gross")).values("total")
    whole = BigIntegerField()
    owing = Case(
        When(state=State.CANCELLED, then=0),
        default=F("gross") + Cast(Coalesce(Subquery(credited), 0), whole),
        output_field=whole,
    )
    return tickets.annotate(paid=Cast(Coalesce(Subquery(sums), 0), whole)).annotate(
        balance=owing - F("paid")
    )


def owed(ticket: Ticket) -> int:
    """What the work comes to less what was credited of it, in minor units: nothing once the ticket
    is cancelled."""
    if ticket.state == State.CANCELLED:
        return 0
    return ticket.gross - credited(ticket)


def credited(ticket: Ticket, until: datetime | None = None) -> int:
    """What was credited of single lines of the invoice that stands, in minor units."""
    notes = line_credits().filter(ticket=ticket)
    if until:
        notes = notes.filter(issued_at__lt=until)
    return -sum(notes.values_list("gross", flat=True))


def paid(ticket: Ticket) -> int:
    """What was paid less what was given back, in minor units."""
    return sum(ticket.payments.values_list("amount", flat=True))


def balance(ticket: Ticket) -> int:
    """What is still to be paid, in minor units; below zero when there is money to give back."""
    return paid_and_open(ticket)[1]


def paid_and_open(ticket: Ticket) -> tuple[int, int]:
    """What was ``paid`` and the ``balance``. One query."""
    payments = ticket.payments.order_by().annotate(of_paper=Value(0))
    notes = line_credits().filter(ticket=ticket).order_by().annotate(of_paper=Value(1))
    figures = payments.values_list("of_paper", "amount").union(
        notes.values_list("of_paper", "gross"), all=True
    )
    total, less = 0, 0
    for of_paper, amount in figures:
        total, less = (total, less + amount) if of_paper else (total + amount, less)
    return total, (0 if ticket.state == State.CANCELLED else ticket.gross + less) - total


def open_invoice(ticket: Ticket) -> Invoice | None:
    """The invoice that no credit note took back as a whole. There is at most one."""
    return standing_invoices().filter(ticket=ticket).first()


@dataclass(frozen=True)
class Standing:
    """How an issued paper stands today; ``to_pay``, or to give back, in minor units, nothing where
    it is settled."""

    words: str
    to_pay: int


def standing(issued: Invoice, notes: list[Invoice], payments: list[Payment]) -> Standing:
    """``notes`` are credit notes that refer to it, ``payments`` those booked since its issue."""
    if issued.kind == Invoice.Kind.CREDIT:
        return Standing("Credit note", 0)
    if not all(note.part for note in notes):
        return Standing("Taken back", 0)
    credited = sum(note.gross for note in notes)
    rest: int = issued.data["balance"] + credited - sum(payment.amount for payment in payments)
    if rest:
        return Standing("To pay", rest) if rest > 0 else Standing("To give back", -rest)
    return Standing("Credited" if issued.gross + credited == 0 else "Paid", 0)


def to_give_back(credit: int, balance: int) -> int:
    """What of a ``credit`` above zero goes back, where the ticket's ``balance`` after it is below
    zero; in minor units."""
    return min(credit, max(-balance, 0))


def gives_back(data: dict[str, Any]) -> int:
    """What an invoice or a receipt has to give back by its copy, or a credit note had at issue."""
    back: int = data.get("to_give_back", 0) if data.get("refers_to") else -data["balance"]
    return max(back, 0)


def standing_payments(ticket: Ticket) -> list[Payment]:
    """Payments and refunds in their order, without those that were reversed, or the reversals."""
    standing = ticket.payments.filter(reverses=None, reversed_by=None)
    return list(standing.order_by("pk"))


def payments_until(
    ticket: Ticket, until: datetime | None = None
) -> tuple[list[Payment], list[Payment]]:
    """All payments booked before ``until``, and those of them that stood then. One query."""
    rows = [row for row in ticket.payments.order_by("pk") if not until or row.taken_at < until]
    reversed_then = {row.reverses_id for row in rows}
    return rows, [row for row in rows if not row.reverses_id and row.pk not in reversed_then]


def usual_kind(ticket: Ticket, amount: int) -> Payment.Kind:
    """What a payment of ``amount`` is called: all that is open, a deposit before, or a part."""
    if amount == balance(ticket):
        return Payment.Kind.BALANCE
    at_work = ticket.state in {State.RECEIVED, State.IN_WORK}
    return Payment.Kind.DEPOSIT if at_work else Payment.Kind.PART


def owes_tax(draft: TicketDraft) -> Mapping[str, Any] | None:
    """The tax that the client owes on work of the ticket; None where the studio charges all."""
    taxes = (line.tax for line in draft.lines if line.tax)
    return next((tax for tax in taxes if client_owes(tax)), None)


@dataclass(frozen=True)
class TicketMoney:
    """The money of one ticket, for its page. Amounts are minor units of ``currency``.

    ``credited`` is what was credited of single lines of the ``standing`` invoice; that is
    ``outdated`` when it no longer says what the ticket says. ``abroad`` says that tax is charged
    and the client may owe it, having a VAT number of another country, and nothing stands on it;
    ``asks_abroad`` that this is to be asked, see ``may_owe_tax``.
    ``form_key`` is fresh: the forms on the page send it along, so that a double click books once.
    """

    currency: str
    net: int
    tax: int
    credited: int
    owed: int
    paid: int
    balance: int
    payments: list[Payment]
    invoices: list[Invoice]
    standing: Invoice | None
    outdated: bool
    abroad: bool
    asks_abroad: bool
    form_key: UUID

    @property
    def to_settle(self) -> int:
        """The balance without its sign: to be paid, or to be given back."""
        return abs(self.balance)

    @property
    def doubts_tax(self) -> bool:
        """Whether it charges tax that a business from abroad may owe itself."""
        return bool(self.abroad and self.tax) or self.asks_abroad


def ticket_money(ticket: Ticket, country: str = "") -> TicketMoney:
    """What is owed on the ticket, how it was paid, what was invoiced; the ``country`` is ours."""
    payments = list(ticket.payments.select_related("taken_by", "reverses", "reversed_by"))
    invoices = list(ticket.invoices.select_related("refers_to"))
    taken_back = {invoice.refers_to_id for invoice in invoices if not invoice.part}
    standing = next(
        (i for i in invoices if i.kind == Invoice.Kind.INVOICE and i.pk not in taken_back), None
    )
    less = -sum(i.gross for i in invoices if standing and i.part and i.refers_to_id == standing.pk)
    cancelled = ticket.state == State.CANCELLED
    owing = 0 if cancelled else ticket.gross - less
    total = sum(payment.amount for payment in payments)
    free = ticket.is_open and not standing and not total
    return TicketMoney(
        currency=ticket.currency,
        net=ticket.net,
        tax=ticket.tax,
        credited=less,
        owed=owing,
        paid=total,
        balance=owing - total,
        payments=payments,
        invoices=invoices,
        standing=standing,
        outdated=bool(standing and (cancelled or standing.gross != ticket.gross)),
        abroad=free
        and ticket.terms["tax_mode"] != TaxMode.NONE
        and is_abroad(_numbers(ticket), country),
        asks_abroad=free and may_owe_tax(ticket, country),
        form_key=uuid4(),
    )


def _numbers(ticket: Ticket) -> dict[str, str]:
    return {name: getattr(ticket.client, name) for name in ("vat_number", "tax_number")}


def may_owe_tax(ticket: Ticket, country: str) -> bool:
    """Whether to ask if the client owes the tax: a business of another country than ``country``,
    by its address, whose VAT number is not written. Who that is local rules decide."""
    client, numbers = ticket.client, _numbers(ticket)
    business = client.is_company or any(numbers.values())
    elsewhere = bool(country and client.country and client.country != country)
    charged = bool(ticket.tax) and ticket.terms["tax_mode"] != TaxMode.NONE
    return charged and business and elsewhere and not is_abroad(numbers, country)


def age_in_days(moment: datetime) -> int:
    """How many local midnights have passed since ``moment``."""
    return (clock.today() - clock.local(moment).date()).days


def ready_tickets() -> QuerySet[Any]:
    """Tickets that are ready, by client, with ``here`` pieces, these as ``garments``, and their
    balance."""
    pieces = (
        Garment.objects.filter(ticket=OuterRef("pk"), removed_at=None, handed_over_at=None)
        .order_by()
        .values("ticket")
        .annotate(count=Count("pk"))
        .values("count")
    )
    ready = Ticket.objects.filter(state=State.READY).select_related("client")
    counted = ready.annotate(here=Coalesce(Subquery(pieces), 0))
    whole = counted.prefetch_related(Prefetch("garments", Garment.objects.here().order_by("pk")))
    return with_balances(whole).order_by("client__name_key", "pk")


def ready_since_today() -> QuerySet[Ticket]:
    """Tickets that became ready today, with what they are drawn from, in the order they did."""
    ready = Ticket.objects.whole().filter(state=State.READY, ready_at__gte=_start_of(0))
    return ready.order_by("ready_at", "pk")


def told_ready() -> QuerySet[SentMessage]:
    """Of a ticket, as a subquery: its client was told that it is ready."""
    return SentMessage.objects.filter(
        ticket=OuterRef("pk"), kind=MessageKind.READY, wrong="", at__gte=OuterRef("ready_at")
    )


def uncollected(days: int = 0) -> QuerySet[Any]:
    """Ready tickets whose client has not come for at least ``days`` local days, oldest first."""
    return ready_tickets().filter(ready_at__lt=_start_of(days - 1)).order_by("ready_at", "pk")


def waiting_by_age() -> dict[int, int]:
    """How many tickets have been ready for at least each of the ``AGES`` in days, in one query."""
    since = Ticket.objects.filter(state=State.READY).values_list("ready_at", flat=True)
    ages = [age_in_days(moment) for moment in since if moment]
    return {days: sum(age >= days for age in ages) for days in AGES}


def owing() -> QuerySet[Any]:
    """Tickets with money open, or to give back, the oldest first.

    ``since`` is the moment of collection, or else of readiness, or else of drop-off.
    """
    tickets = Ticket.objects.select_related("client").annotate(
        since=Coalesce("collected_at", "ready_at", "received_at")
    )
    return with_balances(tickets).exclude(balance=0).order_by("since", "pk")


@dataclass(frozen=True)
class OpenMoney:
    """What all tickets together have open, in minor units: ``owed`` is ``in_work``, what hangs
    ``ready`` on the rail, and what is ``gone`` to its owner; ``back`` counts the tickets on which
    there is money to give back.
    """

    in_work: int
    ready: int
    gone: int
    to_give_back: int
    back: int

    @property
    def owed(self) -> int:
        return self.in_work + self.ready + self.gone


def open_money() -> OpenMoney:
    rows = list(owing().values_list("state", "balance"))

    def total(*states: str) -> int:
        return sum(balance for state, balance in rows if balance > 0 and state in states)

    back = [-balance for _, balance in rows if balance < 0]
    return OpenMoney(
        in_work=total(State.RECEIVED, State.IN_WORK),
        ready=total(State.READY),
        gone=total(State.COLLECTED),
        to_give_back=sum(back),
        back=len(back),
    )


@dataclass(frozen=True)
class UnpaidAtHome:
    """Tickets that were handed over and not paid, the oldest first; all ``count`` come to
    ``total``, those not in ``tickets`` to ``rest``.
    """

    tickets: list[Any]
    count: int
    total: int

    @property
    def rest(self) -> int:
        shown: int = sum(ticket.balance for ticket in self.tickets)
        return self.total - shown

    @property
    def more(self) -> int:
        return self.count - len(self.tickets)


def unpaid_at_home(most: int = 8) -> UnpaidAtHome:
    """With their garments, photographs and lines, for their pictures. Four queries, or one."""
    rows = owing().filter(state=State.COLLECTED, balance__gt=0)
    tickets = list(rows.prefetch_related("garments__photos", "garments__lines"))
    return UnpaidAtHome(tickets[:most], len(tickets), sum(ticket.balance for ticket in tickets))


def _start_of(days_ago: int) -> datetime:
    day: date = clock.today() - timedelta(days=days_ago)
    return clock.at(day, time())


@dataclass(frozen=True)
class MethodTakings:
    """One way to pay, in minor units; ``given_back`` and ``reversed`` are usually below zero."""

    method: str
    label: str
    count: int
    taken: int
    given_back: int
    reversed: int

    @property
    def mixed(self) -> bool:
        """Whether some of it went back."""
        return bool(self.given_back or self.reversed)

    @property
    def total(self) -> int:
        return self.taken + self.given_back + self.reversed


@dataclass(frozen=True)
class Takings:
    """The payments in their order, and what they come to for each method and in all."""

    payments: list[Payment]
    methods: list[MethodTakings]
    all: MethodTakings

    @property
    def by_day(self) -> dict[date, dict[str, int]]:
        """What each day with an entry came to, for each method."""
        days: dict[date, dict[str, int]] = defaultdict(lambda: dict.fromkeys(Payment.Method, 0))
        for payment in self.payments:
            days[payment.day][payment.method] += payment.amount
        return dict(days)

    @property
    def drawers(self) -> dict[User, int]:
        """The cash that each helper took, less what she gave back: to be counted apart."""
        cash: dict[User, int] = defaultdict(int)
        for payment in self.payments:
            if payment.method == Payment.Method.CASH and not payment.taken_by.is_owner:
                cash[payment.taken_by] += payment.amount
        return dict(cash)

    @property
    def cash(self) -> int:
        return sum(row.total for row in self.methods if row.method == Payment.Method.CASH)

    @property
    def of_the_box(self) -> int:
        """The cash that no helper has in a drawer of her own."""
        return self.cash - sum(self.drawers.values())


@dataclass(frozen=True)
class Invoiced:
    """What was invoiced less what was credited, in minor units.

    ``of_before`` is what of ``credited`` took back invoices of before these days.
    """

    count: int
    net: int
    tax: int
    gross: int
    credited: int = 0
    of_before: int = 0

    @property
    def uncredited(self) -> int:
        return self.gross + self.credited


def taken_on(day: date) -> Takings:
    """The day-end sheet: cash, card and transfer taken on one day."""
    return taken_between(day, day)


def taken_between(first: date, last: date) -> Takings:
    rows = Payment.objects.filter(day__range=(first, last)).order_by("taken_at", "pk")
    payments = list(rows.select_related("ticket__client", "taken_by", "reverses"))
    methods = [
        _sums(method, label, [payment for payment in payments if payment.method == method])
        for method, label in Payment.Method.choices
    ]
    return Takings(payments, methods, _sums("", "In all", payments))


def taken_by_month(year: int) -> dict[date, dict[str, int]]:
    """What each month with an entry came to, for each method, by its first day. One query."""
    rows = Payment.objects.filter(day__year=year).order_by().values_list("day", "method")
    months: dict[date, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for day, method, amount in rows.annotate(total=Sum("amount")):
        months[day.replace(day=1)][method] += amount
    return {first: dict(amounts) for first, amounts in months.items()}


def invoiced_between(first: date, last: date) -> Invoiced:
    papers = Invoice.objects.filter(issued_on__range=(first, last))
    rows = list(papers.values_list("net", "tax", "gross", "refers_to__issued_on"))
    net, tax, gross = (sum(row[place] for row in rows) for place in range(3))
    credited = -sum(row[2] for row in rows if row[3])
    of_before = -sum(row[2] for row in rows if row[3] and row[3] < first)
    return Invoiced(len(rows), net, tax, gross, credited, of_before)


def _sums(method: str, label: str, payments: list[Payment]) -> MethodTakings:
    def total(*kinds: Payment.Kind) -> int:
        return sum(payment.amount for payment in payments if payment.kind in kinds)

    kinds = Payment.Kind
    return MethodTakings(
        method,
        label,
        len(payments),
        taken=total(kinds.DEPOSIT, kinds.PART, kinds.BALANCE),
        given_back=total(kinds.REFUND),
        reversed=total(kinds.REVERSAL),
    )
