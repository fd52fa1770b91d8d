"""A job wanted for a day: what happens if it is taken, and what is asked for it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from jobs.planning.plan.promises import AskedOperation, asked_for
from jobs.planning.plan.rush import DayCost, cost
from jobs.planning.questions import WeekAnswer, ask_week
from jobs.pricing.models import Operation, PriceRules
from jobs.pricing.quote import Item, TaxMode, Terms, price_line
from studio.shop.models import Profile


@dataclass(frozen=True)
class RushAnswer:
    """What the week says to a job wanted for ``day``; ``closed`` where the studio is shut then."""

    week: WeekAnswer
    day: date
    cost: DayCost
    closed: bool

    @property
    def minutes(self) -> int:
        return self.week.promises.asked.minutes

    @property
    def needs_rush(self) -> bool:
        """Whether the day is before the honest one."""
        return self.week.verdict(self.day) != "kept"


@dataclass(frozen=True)
class Fee:
    """Minor units: ``total`` is ``amount`` with the rush on it."""

    amount: int
    fee: int
    percent: Decimal

    @property
    def total(self) -> int:
        return self.amount + self.fee


def ask_rush(studio: Profile, pieces: Iterable[AskedOperation], day: date) -> RushAnswer:
    """The week with and without these pieces of work, promised for the usual hour of ``day``."""
    week = ask_week(studio, asked_for(pieces), ready_by=studio.promise_time)
    closed = bool(week.reading.shop.shifts) and not week.reading.shop.is_open(day)
    return RushAnswer(week, day, cost(week.promises, day), closed)


def pieces_of(works: Iterable[Operation], minutes: int, before: int | None) -> list[AskedOperation]:
    """The operations as listed, and other work of ``minutes``.

    ``before`` of them come before a fitting; None where that work needs none. Those of the list
    that need one come after it.
    """
    pieces = [AskedOperation(work.name, work.minutes, work.fitting_first) for work in works]
    if before is not None:
        pieces.append(AskedOperation("", before))
        pieces.append(AskedOperation("", minutes - before, after=True))
    elif minutes:
        pieces.append(AskedOperation("", minutes))
    return pieces


def rush_fee(amount: int, studio: Profile) -> Fee:
    """What a rush adds to work of ``amount``, as the price list rounds it. One query."""
    rules = PriceRules.load()
    terms = Terms(
        currency=studio.currency,
        tax_mode=TaxMode(studio.tax_mode),
        rounding_step=rules.rounding_step,
        rush_percent=rules.rush_percent,
    )
    price = price_line(Item("", "", amount), terms).price
    return Fee(amount, price - amount, rules.rush_percent)
