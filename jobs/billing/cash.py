"""The cash box: its coins and notes, what should lie in it, and what was counted."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django.db.models import QuerySet, Sum

from jobs.billing.models import CashCount, Payment
from studio.shop.models import User
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
    that was taken since, less what was given back, and what drawers have ``handed_in``. Without a
    count nobody can say.
    """

    last: CashCount | None
    cash: int
    handed_in: int

    @property
    def should_be(self) -> int | None:
        return None if self.last is None else self.last.counted + self.cash + self.handed_in


def cash_box(drawer_of: User | None = None) -> CashBox:
    """The box, or the drawer of a helper, by one rule. Three queries.

    The cash of a helper who counts her drawer is there until she puts it into the box; that of all
    others is in the box.
    """
    last = CashCount.objects.filter(drawer_of=drawer_of).first()
    cash = Payment.objects.filter(method=Payment.Method.CASH).order_by()
    drawers = CashCount.objects.exclude(drawer_of=None).order_by()
    if drawer_of:
        cash, handed_in = cash.filter(taken_by=drawer_of), drawers.none()
    else:
        cash, handed_in = cash.exclude(taken_by__in=drawers.values("drawer_of")), drawers
    if last:
        cash = cash.filter(taken_at__gt=last.counted_at)
        handed_in = handed_in.filter(counted_at__gt=last.counted_at)
    return CashBox(last, _sum(cash, "amount"), _sum(handed_in, "taken_out"))


def _sum(rows: QuerySet[Any], name: str) -> int:
    return rows.aggregate(total=Sum(name))["total"] or 0


@dataclass(frozen=True)
class CountedBox:
    """One count with what lay there before; amounts are minor units."""

    count: CashCount
    before: CashCount | None
    handed_in: int

    @property
    def cash(self) -> int | None:
        """What came in between, in cash, less what was given back."""
        if self.before is None or self.count.expected is None:
            return None
        return self.count.expected + self.count.taken_out - self.before.counted - self.handed_in


def counted_on(day: date) -> list[CountedBox]:
    """How often the box and each drawer was counted on that day, the first first."""
    counts = CashCount.objects.filter(day=day).select_related("counted_by", "drawer_of")
    return [_with_before(count) for count in reversed(counts)]


def _with_before(count: CashCount) -> CountedBox:
    earlier = CashCount.objects.filter(counted_at__lt=count.counted_at)
    before = earlier.filter(drawer_of=count.drawer_of_id).first()
    handed_in = 0
    if before and not count.drawer_of_id:
        between = earlier.exclude(drawer_of=None).filter(counted_at__gt=before.counted_at)
        handed_in = _sum(between.order_by(), "taken_out")
    return CountedBox(count, before, handed_in)


@dataclass(frozen=True)
class Drawer:
    """The cash that a helper took on a day, and how her drawer was ``counted`` last, if it was."""

    helper: User
    cash: int
    counted: CountedBox | None

    @property
    def since(self) -> date | None:
        """The day of the count before, where its cash is not that of the day alone."""
        counted = self.counted
        if counted is None or counted.before is None or counted.cash == self.cash:
            return None
        return counted.before.day


def drawers_of(taken: dict[User, int], counted: Iterable[CountedBox]) -> list[Drawer]:
    """Of everybody who took cash on the day, or whose drawer was counted."""
    last = {one.count.drawer_of: one for one in counted if one.count.drawer_of}
    return sorted(
        (Drawer(helper, taken.get(helper, 0), last.get(helper)) for helper in taken | last),
        key=lambda drawer: drawer.helper.shown_name,
    )
