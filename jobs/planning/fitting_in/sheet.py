"""The page: a few things that fit, those that nearly do, and pairs nobody has thought of."""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from uuid import UUID, uuid4

from jobs.makes.lengths import show_cloth
from jobs.makes.matching import MOST, Check, Pair, Short, best, fitting, nearly, needed
from jobs.makes.models import Cloth, ClothPlan, Make, Pattern
from jobs.planning.fitting_in.reading import Stock, read_stock
from jobs.planning.plan.book import monday_of
from jobs.planning.plan.weeks import week_bars
from jobs.planning.reading import read_book
from studio.shop import clock
from studio.shop.models import Profile
from studio.shop.money import exact, round_half_up

NEW_WORDS = 120
STEPS = {Cloth.Unit.METRE: Decimal(10), Cloth.Unit.YARD: Decimal("6.35")}


@dataclass(frozen=True)
class Row:
    """A make or a pattern, with the cloth. Lengths are in words, in the unit the cloth has.

    ``spare`` is what is left over of one-way cloth, ``others`` what else the cloth is meant for;
    ``short`` says of one that nearly fits what is missing, ``minutes`` or a length.
    """

    make: Make | None
    pattern: Pattern | None
    cloth: Cloth
    since: date
    minutes: int | None
    longer: bool
    takes: str
    left: str
    spare: str
    shrinks: Decimal
    unmeasured: bool
    in_season: bool
    others: tuple[str, ...]
    short: str = ""
    short_minutes: int = 0
    form_key: UUID | None = None

    @property
    def title(self) -> str:
        return str(self.make or self.pattern)

    @property
    def idea(self) -> str:
        """The words of a new card for this pair."""
        return f"{self.title} of {self.cloth.name}"[:NEW_WORDS]


@dataclass(frozen=True)
class FittingSheet:
    """``free`` are the minutes of this week that are the owner's or nobody's, from now on.

    ``own`` of them are own hours; ``until`` is the week's last day.
    """

    until: date
    own: int
    free: int
    fits: list[Row]
    nearly: list[Row]
    unlinked: list[Row]
    bare: bool


def fitting_sheet(studio: Profile) -> FittingSheet:
    """The queries of the book and six, however much cloth there is."""
    monday = monday_of(clock.today())
    until = monday + timedelta(days=6)
    bars = week_bars(read_book(studio, until=until).book, monday)
    own = bars.total("own")
    free = own + bars.free
    stock = read_stock(studio.country)
    pairs = [
        (wish, length)
        for wish, length in fitting(stock.pattern_wishes, stock.lengths, free)
        if (stock.patterns[wish.id].pk, length.id) not in stock.linked
    ]
    return FittingSheet(
        until=until,
        own=own,
        free=free,
        fits=[_row(stock, pair, free) for pair in best(_of_makes(stock, free))],
        nearly=[
            _row(stock, pair, free, short)
            for pair, short in nearly(stock.make_wishes, stock.lengths, free)
        ],
        unlinked=[_row(stock, pair, free) for pair in best(pairs, MOST)],
        bare=not stock.lengths or not (stock.makes or stock.patterns),
    )


def _of_makes(stock: Stock, free: int) -> list[Pair]:
    return fitting(stock.make_wishes, stock.lengths, free)


def _row(stock: Stock, pair: Pair, free: int, short: Short | None = None) -> Row:
    wish, length = pair
    cloth, make = stock.cloths[length.id], stock.makes.get(wish.id)
    takes, left = needed(wish, length) or Fraction(0), exact(cloth.left_mm)
    others = [plan for plan in stock.promised.get(cloth.pk, []) if plan.make != make]
    by_cloth = short is not None and short.check == Check.CLOTH
    return Row(
        make=make,
        pattern=stock.patterns.get(wish.id),
        cloth=cloth,
        since=cloth.here_since,
        minutes=wish.minutes,
        longer=wish.minutes is not None and wish.minutes > free,
        takes=_words(takes, cloth),
        left=_words(left, cloth),
        spare="" if by_cloth or not length.one_way else _words(left - takes, cloth),
        shrinks=length.along,
        unmeasured=not length.washed and length.shrink_along is None,
        in_season=wish.out_of_season == 0,
        others=tuple(_promise(plan) for plan in others),
        short=_words(short.by, cloth) if by_cloth and short and short.by else "",
        short_minutes=int(short.by or 0) if short and not by_cloth else 0,
        form_key=None if make else uuid4(),
    )


def _words(mm: Fraction, cloth: Cloth) -> str:
    """Rounded to a centimetre or a quarter of an inch: nobody cuts finer."""
    step = STEPS[Cloth.Unit(cloth.unit)]
    return show_cloth(round_half_up(exact(mm) / exact(step)) * step, cloth.unit)


def _promise(plan: ClothPlan) -> str:
    """Such as ``1.2 m for Red coat``."""
    return f"{plan.typed} for {plan.make}" if plan.typed else f"some for {plan.make}"
