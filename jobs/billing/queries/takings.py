"""What was taken and what was invoiced between two days of the studio, both included."""

from dataclasses import dataclass
from datetime import date

from jobs.billing.models import Invoice, Payment


@dataclass(frozen=True)
class MethodTakings:
    """One way to pay, in minor units; ``given_back`` and ``reversed`` are usually below zero."""

    label: str
    taken: int
    given_back: int
    reversed: int

    @property
    def total(self) -> int:
        return self.taken + self.given_back + self.reversed


@dataclass(frozen=True)
class Takings:
    """The payments in their order, and what they come to for each method and in all."""

    payments: list[Payment]
    methods: list[MethodTakings]
    all: MethodTakings


@dataclass(frozen=True)
class Invoiced:
    """What was invoiced less what was credited, in minor units."""

    count: int
    net: int
    tax: int
    gross: int


def taken_on(day: date) -> Takings:
    """The day-end sheet: cash, card and transfer taken on one day."""
    return taken_between(day, day)


def taken_between(first: date, last: date) -> Takings:
    rows = Payment.objects.filter(day__range=(first, last)).order_by("taken_at", "pk")
    payments = list(rows.select_related("ticket__client", "taken_by", "reverses"))
    methods = [
        _sums(label, [payment for payment in payments if payment.method == method])
        for method, label in Payment.Method.choices
    ]
    return Takings(payments, methods, _sums("In all", payments))


def invoiced_between(first: date, last: date) -> Invoiced:
    rows = list(
        Invoice.objects.filter(issued_on__range=(first, last)).values_list("net", "tax", "gross")
    )
    net, tax, gross = (sum(column) for column in zip(*rows, strict=True)) if rows else (0, 0, 0)
    return Invoiced(len(rows), net, tax, gross)


def _sums(label: str, payments: list[Payment]) -> MethodTakings:
    def total(*kinds: Payment.Kind) -> int:
        return sum(payment.amount for payment in payments if payment.kind in kinds)

    kinds = Payment.Kind
    return MethodTakings(
        label,
        taken=total(kinds.DEPOSIT, kinds.PART, kinds.BALANCE),
        given_back=total(kinds.REFUND),
        reversed=total(kinds.REVERSAL),
    )
