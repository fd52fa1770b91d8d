"""What is owed, paid, invoiced and taken: of one ticket, of all, and between two days.

Money is integer minor units; days are local to the studio, a first and a last one both included.
"""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any
from uuid import UUID, uuid4

from django.db.models import (
    BigIntegerField,
    Case,
    Count,
    F,
    OuterRef,
    QuerySet,
    Subquery,
    Sum,
    TextField,
    Value,
    When,
)
from django.db.models.fields.json import KT
from django.db.models.functions import Cast, Coalesce

from jobs.billing.models import Invoice, Payment
from jobs.tickets.models import Agreement, Garment, State, Ticket, garment_words
from studio.shop import clock

NAME = KT("data__client__name")  # of the client, as an invoice or a receipt copies it

# A first nudge after a week, then the months that notices and storage fees usually go by.
AGES = (7, 30, 60, 90, 120)


def with_balances(tickets: QuerySet[Ticket]) -> QuerySet[Any]:
    """Each ticket with ``paid`` and ``balance`` in minor units, in the tickets' own query.

    A cancelled ticket owes nothing; what was paid on it stands as a balance below zero until it
    is given back. Only whole minor units are added up in the database, so the sums are exact.
    """
    sums = (
        Payment.objects.filter(ticket=OuterRef("pk"))
        .order_by()
        .values("ticket")
        .annotate(total=Sum("amount"))
        .values("total")
    )
    whole = BigIntegerField()
    owing = Case(When(state=State.CANCELLED, then=0), default=F("gross"), output_field=whole)
    return tickets.annotate(paid=Cast(Coalesce(Subquery(sums), 0), whole)).annotate(
        balance=owing - F("paid")
    )


def owed(ticket: Ticket) -> int:
    """What the work comes to, in minor units: nothing once the ticket is cancelled."""
    return 0 if ticket.state == State.CANCELLED else ticket.gross


def paid(ticket: Ticket) -> int:
    """What was paid less what was given back, in minor units."""
    return sum(ticket.payments.values_list("amount", flat=True))


def balance(ticket: Ticket) -> int:
    """What is still to be paid, in minor units; below zero when there is money to give back."""
    return owed(ticket) - paid(ticket)


def open_invoice(ticket: Ticket) -> Invoice | None:
    """The invoice that no credit note took back. There is at most one."""
    return ticket.invoices.filter(kind=Invoice.Kind.INVOICE, credits=None).first()


@dataclass(frozen=True)
class Standing:
    """How an issued paper stands today; ``to_pay`` in minor units, nothing where it is settled."""

    words: str
    to_pay: int


def standing(issued: Invoice, credit: Invoice | None, payments: list[Payment]) -> Standing:
    """``payments`` are those booked since it was issued."""
    if issued.kind == Invoice.Kind.CREDIT:
        return Standing("Credit note", 0)
    if credit:
        return Standing("Taken back", 0)
    rest: int = issued.data["balance"] - sum(payment.amount for payment in payments)
    return Standing("To pay", rest) if rest > 0 else Standing("Paid", 0)


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


@dataclass(frozen=True)
class TicketMoney:
    """The money of one ticket, for its page. Amounts are minor units of ``currency``.

    ``outdated`` is true when the standing invoice no longer says what the ticket says.
    ``form_key`` is fresh: the forms on the page send it along, so that a double click books once.
    """

    currency: str
    net: int
    tax: int
    owed: int
    paid: int
    balance: int
    payments: list[Payment]
    invoices: list[Invoice]
    standing: Invoice | None
    outdated: bool
    form_key: UUID

    @property
    def to_settle(self) -> int:
        """The balance without its sign: to be paid, or to be given back."""
        return abs(self.balance)


def ticket_money(ticket: Ticket) -> TicketMoney:
    """What is owed on the ticket, how it was paid, what was invoiced."""
    payments = list(ticket.payments.select_related("taken_by", "reverses", "reversed_by"))
    invoices = list(ticket.invoices.select_related("refers_to"))
    credited = {invoice.refers_to_id for invoice in invoices}
    standing = next(
        (i for i in invoices if i.kind == Invoice.Kind.INVOICE and i.pk not in credited), None
    )
    total = sum(payment.amount for payment in payments)
    return TicketMoney(
        currency=ticket.currency,
        net=ticket.net,
        tax=ticket.tax,
        owed=owed(ticket),
        paid=total,
        balance=owed(ticket) - total,
        payments=payments,
        invoices=invoices,
        standing=standing,
        outdated=bool(standing and standing.gross != owed(ticket)),
        form_key=uuid4(),
    )


def age_in_days(moment: datetime) -> int:
    """How many local midnights have passed since ``moment``."""
    return (clock.today() - clock.local(moment).date()).days


def ready_tickets() -> QuerySet[Any]:
    """Tickets that are ready, by client, with ``here`` pieces and their balance."""
    pieces = (
        Garment.objects.filter(ticket=OuterRef("pk"), removed_at=None, handed_over_at=None)
        .order_by()
        .values("ticket")
        .annotate(count=Count("pk"))
        .values("count")
    )
    ready = Ticket.objects.filter(state=State.READY).select_related("client")
    counted = ready.annotate(here=Coalesce(Subquery(pieces), 0))
    return with_balances(counted).order_by("client__name_key", "pk")


def ready_since_today() -> QuerySet[Ticket]:
    """Tickets that became ready today, with what they are drawn from, in the order they did."""
    ready = Ticket.objects.whole().filter(state=State.READY, ready_at__gte=_start_of(0))
    return ready.order_by("ready_at", "pk")


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


@dataclass(frozen=True)
class LedgerRow:
    """One line of an invoice or credit note, or one payment. Money is minor units or None."""

    day: date
    kind: str
    number: str
    refers_to: str
    ticket: str
    client: str
    what: str
    currency: str
    tax_name: str = ""
    tax_percent: str = ""
    net: int | None = None
    tax: int | None = None
    gross: int | None = None
    method: str = ""
    paid: int | None = None
    handed_over: int | None = None


def ledger(first: date, last: date) -> list[LedgerRow]:
    """The rows from ``first`` to ``last``, both included, by day; of one day, invoices first.

    A ticket that was handed over is a row of its own, whose net stands apart from what is invoiced.
    """
    invoices = Invoice.objects.filter(issued_on__range=(first, last)).order_by("pk")
    payments = Payment.objects.filter(day__range=(first, last)).order_by("pk")
    rows = [row for invoice in invoices for row in _charges(invoice)]
    rows += [_payment_row(payment) for payment in payments]
    rows += [_ticket_row(ticket) for ticket in _with_names(handed_over(first, last))]
    return sorted(rows, key=lambda row: row.day)


def _charges(invoice: Invoice) -> Iterator[LedgerRow]:
    for line in [*invoice.data["lines"], *invoice.data["adjustments"]]:
        rate = line["tax_facts"] or {"name": "", "percent": ""}
        yield LedgerRow(
            **_heading(invoice),
            day=invoice.issued_on,
            kind=invoice.get_kind_display(),
            refers_to=(invoice.data["refers_to"] or {"number": ""})["number"],
            what=": ".join(part for part in (line["garment"], line["name"]) if part),
            tax_name=rate["name"],
            tax_percent=rate["percent"],
            net=line["net"],
            tax=line["tax"],
            gross=line["gross"],
        )


def _payment_row(payment: Payment) -> LedgerRow:
    return LedgerRow(
        **_heading(payment),
        day=payment.day,
        kind=payment.get_kind_display(),
        refers_to=payment.data["reverses"] or payment.data["invoice"],
        what=payment.note,
        method=payment.get_method_display(),
        paid=payment.amount,
    )


def _with_names(tickets: QuerySet[Any]) -> QuerySet[Any]:
    """With ``copied_name``, the client's as it stands in the books: that of an invoice or else of a
    receipt, which stays when the client is erased. Without either it is empty."""
    names = [
        Subquery(rows.objects.filter(ticket=OuterRef("pk")).order_by("pk").values(name=NAME)[:1])
        for rows in (Invoice, Payment)
    ]
    name = Coalesce(*names, Value(""), output_field=TextField())
    named: QuerySet[Any] = tickets.annotate(copied_name=name)
    return named


def _ticket_row(ticket: Any) -> LedgerRow:
    return LedgerRow(
        day=_day_of(ticket),
        kind="Handed over",
        number=ticket.number,
        refers_to="",
        ticket=ticket.number,
        client=ticket.copied_name,
        what="Work as agreed, without tax",
        currency=ticket.currency,
        handed_over=ticket.net,
    )


def _day_of(ticket: Ticket) -> date:
    """The local day on which it was handed over."""
    return clock.local(ticket.collected_at or ticket.received_at).date()


def _heading(row: Invoice | Payment) -> dict[str, Any]:
    """What the row was issued as: the copies, not the ticket or the client of today."""
    return {
        "number": row.number,
        "ticket": row.data["ticket"],
        "client": row.data["client"]["name"],
        "currency": row.currency,
    }


@dataclass(frozen=True)
class HandedOver:
    """What the work of tickets that were handed over comes to, in minor units, as it is agreed.

    This is what the work brought in, for the year, the money room and the ledger alike.
    ``invoiced`` is the part of ``net`` that stands on invoices.
    """

    count: int
    net: int
    invoiced: int

    @property
    def not_invoiced(self) -> int:
        return self.net - self.invoiced


def handed_over(first: date, last: date) -> QuerySet[Any]:
    """Tickets whose last piece left from ``first`` to ``last``, with ``invoiced`` net in minor
    units; the latest first."""
    standing = Invoice.objects.filter(
        ticket=OuterRef("pk"), kind=Invoice.Kind.INVOICE, credits=None
    ).order_by()
    tickets = Ticket.objects.filter(
        state=State.COLLECTED,
        collected_at__gte=clock.at(first, time()),
        collected_at__lt=clock.at(last + timedelta(days=1), time()),
    )
    invoiced = Coalesce(Subquery(standing.values("net")[:1]), 0, output_field=BigIntegerField())
    return tickets.annotate(invoiced=invoiced).order_by("-collected_at", "-pk")


def handed_over_between(first: date, last: date) -> HandedOver:
    """One query."""
    rows = list(handed_over(first, last).values_list("net", "invoiced"))
    return HandedOver(len(rows), sum(net for net, _ in rows), sum(part for _, part in rows))


@dataclass(frozen=True)
class IncomeRow:
    """One line of a ticket that was handed over; ``net`` is minor units."""

    day: date
    number: str
    name: str
    garment: str
    quantity: int
    net: int
    currency: str


@dataclass(frozen=True)
class OperationIncome:
    """``pieces`` counts how often it was done."""

    name: str
    pieces: int
    net: int


def income_rows(first: date, last: date, name: str | None = None) -> list[IncomeRow]:
    """The lines handed over from ``first`` to ``last``, the latest day first; with ``name`` only
    its own. They come to ``handed_over_between``. One query.
    """
    agreements = Agreement.objects.filter(
        ticket__in=handed_over(first, last).order_by().values("pk"), version=F("ticket__version")
    ).select_related("ticket")
    rows = (
        row
        for agreement in agreements.order_by("-ticket__collected_at", "-ticket")
        for row in _lines(agreement)
    )
    return [row for row in rows if name is None or row.name == name]


def income_by_operation(first: date, last: date) -> list[OperationIncome]:
    """What each operation and adjustment came to, the largest first. One query."""
    by_name: dict[str, list[IncomeRow]] = defaultdict(list)
    for row in income_rows(first, last):
        by_name[row.name].append(row)
    sums = [
        OperationIncome(name, sum(row.quantity for row in rows), sum(row.net for row in rows))
        for name, rows in by_name.items()
    ]
    return sorted(sums, key=lambda operation: (-operation.net, operation.name))


def _lines(agreement: Agreement) -> Iterator[IncomeRow]:
    ticket, data = agreement.ticket, agreement.data
    pieces = [
        (garment_words(garment["letter"], garment["kind"], garment["colour"]), line)
        for garment in data["garments"]
        for line in garment["lines"]
    ]
    for words, line in [*pieces, *(("", line) for line in data["adjustments"])]:
        yield IncomeRow(
            day=_day_of(ticket),
            number=ticket.number,
            name=line["name"],
            garment=words,
            quantity=line.get("quantity", 1),
            net=line["net"],
            currency=ticket.currency,
        )
