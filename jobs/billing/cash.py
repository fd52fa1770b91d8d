"""The cash box: its coins and notes, what should lie in it, and what was counted."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import QuerySet, Sum

from jobs.billing.models import CashCount, Payment
from studio.shop.money import to_minor

NOTES_AND_COINS: dict[str, tuple[tuple[int, ...], tuple[int | str, ...]]] = {
    "EUR": ((50, 20, 10, 5), (2, 1, "0.50", "0.20", "0.10")),
    "GBP": ((50, 20, 10, 5), (2, 1, "0.50", "0.20", "0.10")),
    "USD": ((50, 20, 10, 5, 1), ("0.25", "0.10", "0.05", "0.01")),
    "CAD": ((50, 20, 10, 5), (2, 1, "0.25", "0.10", "0.05")),
    "AUD": ((50, 20, 10, 5), (2, 1, "0.50", "0.20", "0.10")),
    "NZD": ((50, 20, 10, 5), (2, 1, "0.50", "0.20", "0.10")),
    "CHF": ((50, 20, 10), (5, 2, 1, "0.50", "0.20", "0.10")),
    "SEK": ((500, 200, 100, 50, 20), (10, 5, 2, 1)),
    "NOK": ((500, 200, 100, 50), (20, 10, 5, 1)),
    "DKK": ((500, 200, 100, 50), (20, 10, 5, 2, 1)),
    "JPY": ((10000, 5000, 1000), (500, 100, 50, 10, 5, 1)),
}
"""The nine that mostly lie in a box, from common practice: whatever else lies there, larger notes
and smaller coins, is counted in one sum. A currency that is not named is counted so as a whole."""


@dataclass(frozen=True)
class Piece:
    """A coin or a note; ``worth`` is in minor units, ``words`` what is written on it."""

    worth: int
    words: str
    note: bool

    @property
    def field(self) -> str:
        return f"piece_{self.worth}"


def pieces_of(currency: str) -> list[Piece]:
    """The largest first."""
    kinds = NOTES_AND_COINS.get(currency, ((), ()))
    pieces = []
    for values, note in zip(kinds, (True, False), strict=True):
        for value in values:
            worth = to_minor(Decimal(value), currency)
            # A coin under one whole is known by its small unit: 50, not 0.50.
            words = str(value) if isinstance(value, int) else str(worth)
            pieces.append(Piece(worth, words, note))
    return pieces


@dataclass(frozen=True)
class CashBox:
    """What should lie in the box now, in minor units: what the count ``last`` left, and the cash
    that was taken since, less what was given back. Without a count nobody can say.
    """

    last: CashCount | None
    cash: int

    @property
    def should_be(self) -> int | None:
        return None if self.last is None else self.last.counted + self.cash


def cash_box() -> CashBox:
    """Two queries."""
    last = CashCount.objects.first()
    cash = Payment.objects.filter(method=Payment.Method.CASH).order_by()
    if last:
        cash = cash.filter(taken_at__gt=last.counted_at)
    return CashBox(last, cash.aggregate(total=Sum("amount"))["total"] or 0)


def counts_of(day: date) -> QuerySet[CashCount]:
    """How often the box was counted on that day, the latest first."""
    return CashCount.objects.filter(day=day).select_related("counted_by")
