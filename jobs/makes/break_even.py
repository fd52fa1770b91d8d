"""How many copies of a pattern have to be sold until its hours and its costs are paid for.

Plain arithmetic in minor units of one currency and in minutes. What the owner's hours are worth
counts as an outlay like any other, those that are still to come as well. Each amount is rounded
once, to the minor unit, so that whoever adds up the figures of the page comes to the same copies.
"""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from studio.shop.money import exact, round_half_up, whole

RATE = "what an hour of yours is worth"
HOURS = "hours spent, or guessed for a stage to come"


class MissingFactsError(ValueError):
    """Too little is known to say anything; ``missing`` names what has to be told first."""

    def __init__(self, missing: list[str]) -> None:
        self.missing = missing
        super().__init__(f"Still missing: {'; '.join(missing)}.")


@dataclass(frozen=True)
class Facts:
    """What is known of a release.

    ``price`` is that of a copy, None or 0 when it is given away. The shop keeps ``fee_percent`` of
    it and ``fee_amount`` of each sale. ``rate`` is an hour of the owner. ``costs`` is money spent,
    ``earned`` what was left of the copies sold so far.
    """

    price: int | None
    fee_percent: Decimal
    fee_amount: int
    rate: int | None
    minutes_spent: int
    minutes_to_go: int
    costs: int
    earned: int


@dataclass(frozen=True)
class BreakEven:
    """``net`` of a copy, what all hours are ``worth``, ``costs``, and ``earned`` so far.

    ``copies`` is the least number whose net is at least worth and costs together; None when no
    number is. ``copies_to_go`` have still to be sold beyond what was earned: 0 once it is enough,
    None for never. ``hour`` is what an hour has earned so far, costs taken off, so it may be
    negative; None before the first hour.
    """

    net: int
    worth: int
    costs: int
    earned: int
    copies: int | None
    copies_to_go: int | None
    hour: int | None

    @property
    def outlay(self) -> int:
        return self.worth + self.costs

    @property
    def still_to_earn(self) -> int:
        return max(0, self.outlay - self.earned)


def net_per_copy(price: int, fee_percent: Decimal, fee_amount: int) -> int:
    """What is left of one copy, in minor units; negative when the fees are more than the price."""
    kept = round_half_up(whole(price) * exact(fee_percent) / 100)
    return price - kept - whole(fee_amount)


def worth_of(minutes: int, rate: int) -> int:
    """Minutes at ``rate`` minor units an hour."""
    return round_half_up(Fraction(whole(minutes) * whole(rate), 60))


def copies_for(amount: int, net: int) -> int | None:
    """The least number of copies at ``net`` that bring ``amount``; None where none does."""
    if amount <= 0:
        return 0
    return -(-amount // net) if net > 0 else None


def break_even(facts: Facts) -> BreakEven:
    """Constant time. Raises MissingFactsError without a rate, or without any hours."""
    minutes = facts.minutes_spent + facts.minutes_to_go
    if facts.rate is None or not minutes:
        rate = [RATE] if facts.rate is None else []
        raise MissingFactsError(rate + ([] if minutes else [HOURS]))
    net = net_per_copy(facts.price or 0, facts.fee_percent, facts.fee_amount)
    worth = worth_of(minutes, facts.rate)
    outlay = worth + facts.costs
    return BreakEven(
        net=net,
        worth=worth,
        costs=facts.costs,
        earned=facts.earned,
        copies=copies_for(outlay, net),
        copies_to_go=copies_for(outlay - facts.earned, net),
        hour=hour_so_far(facts),
    )


def curve(facts: Facts, tried: int | None = None) -> list[tuple[int, int]]:
    """Prices from about half to about twice that of a copy, each with the copies that break even.

    ``tried`` is one more price that stands among them. Whole steps of 1, 2 or 5 times a power of
    ten, ascending. Prices that leave nothing are left out. Empty without a price; raises
    MissingFactsError as ``break_even`` does.
    """
    outlay = break_even(facts).outlay
    if not facts.price or outlay <= 0:
        return []
    step = next(
        lead * 10**power for power in range(20) for lead in (1, 2, 5)
        if lead * 10**power * 12 >= facts.price
    )  # fmt: skip
    first = max(1, facts.price // 2 // step)
    prices = sorted(
        {facts.price, tried or facts.price, *(step * place for place in range(first, first + 16))}
    )
    nets = [(price, net_per_copy(price, facts.fee_percent, facts.fee_amount)) for price in prices]
    return [(price, -(-outlay // net)) for price, net in nets if net > 0]


def hour_so_far(facts: Facts) -> int | None:
    """What each hour spent has earned, costs taken off; None before the first hour."""
    if not facts.minutes_spent:
        return None
    return round_half_up(Fraction((facts.earned - facts.costs) * 60, facts.minutes_spent))
