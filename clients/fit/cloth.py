"""How much cloth at another width: the published chart, else the area, and every addition shown.

The chart of equivalent amounts (``data/fabric_chart.csv``) counts yards in eighths and whole inches
of width, as it prints them; all other lengths are mm, shares of shrinkage per cent. Sources: the
fabric-width chart of the US extension services with its additions; the area rule is an estimate
that differs from the chart by up to about half a yard.
"""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cache

from clients.fit import FitError
from clients.fit.handbook import table
from clients.fit.lengths import Mm, read_number
from studio.shop.money import exact, round_half_up


@cache
def columns() -> dict[range, tuple[Fraction, ...]]:
    """The amounts of each column, smallest first, by the whole inches of width it stands for."""
    rows = table("fabric_chart")
    return {_widths(head): tuple(read_number(row[head], 8) for row in rows) for head in rows[0]}


def _widths(head: str) -> range:
    least, _, most = head.partition("-")
    return range(int(least), int(most or least) + 1)


def column(width: int) -> tuple[Fraction, ...] | None:
    """The column of a width in inches; None for a width that the chart does not print."""
    return next((amounts for widths, amounts in columns().items() if width in widths), None)


def equivalent(amount: Fraction, width: int, other: int) -> Fraction | None:
    """``amount`` yards at ``width`` inches, at the ``other`` width; None outside the chart.

    Between two rows the larger one is taken (common practice). Below the first row and above the
    last nothing is published.
    """
    here, there = column(width), column(other)
    if here is None or there is None or amount < here[0]:
        return None
    return next((there[row] for row, size in enumerate(here) if size >= amount), None)


INCH = Fraction(254, 10)
YARD = 36 * INCH
QUARTER_YARD = YARD / 4
FAR_APART = 15  # inches between two widths that count as a large difference: common practice
STEPS = {"1/8 yd": YARD / 8, "5 cm": Fraction(50), "10 cm": Fraction(100)}


@dataclass(frozen=True)
class Addition:
    """One step of the sum: ``amount`` is what it adds; the first is the amount itself."""

    key: str
    amount: Fraction


@dataclass(frozen=True)
class ClothNeed:
    """What to buy. ``charted`` says the first step is the chart's; otherwise it is an estimate.

    ``usable`` is the width left for the pieces; ``fits`` is None where no widest piece was named.
    """

    charted: bool
    steps: tuple[Addition, ...]
    total: Fraction
    usable: Fraction
    fits: bool | None


@dataclass(frozen=True)
class Asked:
    """What the pattern asks for at ``width``, and the cloth that is there at ``other``.

    ``usable`` is what is left of ``other`` without selvedges, where it was measured; ``shrinks``
    and ``shrinks_across`` are per cent. ``repeat`` is one repeat of a large motif, 0 for none.
    """

    amount: Mm
    width: Mm
    other: Mm
    usable: Mm | None = None
    one_way: bool = False
    cut_on_sleeves: bool = False
    repeat: Mm = 0
    shrinks: Decimal = Decimal(0)
    shrinks_across: Decimal = Decimal(0)
    widest: Mm | None = None


def cloth_needed(asked: Asked, *, step: str) -> ClothNeed:
    """Chart or area, then the additions, then rounded up to ``step`` (a key of ``STEPS``).

    Raises FitError for shrinkage of half and more.
    """
    if max(asked.shrinks, asked.shrinks_across) >= 50 or min(
        asked.shrinks, asked.shrinks_across
    ) < 0:  # fmt: skip
        raise FitError("Cloth that shrinks by half is not cut: write up to 49 %.")
    charted, base = _base(asked)
    steps = [Addition("chart" if charted else "area", base), *_extras(asked, charted)]
    across = _grown(base, asked.shrinks_across) if charted else Fraction(0)
    steps += _added("across", across)
    sofar = sum((addition.amount for addition in steps), Fraction(0))
    steps += _added("along", _grown(sofar, asked.shrinks))
    sofar = sum((addition.amount for addition in steps), Fraction(0))
    total = STEPS[step] * -(-sofar // STEPS[step])
    steps += _added("rounding", total - sofar)
    usable = _usable(asked)
    fits = None if asked.widest is None else exact(asked.widest) <= usable
    return ClothNeed(charted, tuple(steps), total, usable, fits)


def _base(asked: Asked) -> tuple[bool, Fraction]:
    """The amount at the other width, and whether the chart says so.

    At the width that the pattern names there is nothing to look up.
    """
    widths = (round_half_up(exact(width) / INCH) for width in (asked.width, asked.other))
    yards = equivalent(exact(asked.amount) / YARD, *widths)
    if yards is not None and asked.width != asked.other:
        return True, yards * YARD
    return False, exact(asked.amount) * exact(asked.width) / _usable(asked)


def _extras(asked: Asked, charted: bool) -> list[Addition]:
    """A quarter yard for each reason the chart names, and one repeat of the motif."""
    apart = abs(exact(asked.width) - exact(asked.other)) / INCH
    return [
        *_added("one_way", QUARTER_YARD if asked.one_way else 0),
        *_added("cut_on", QUARTER_YARD if asked.cut_on_sleeves else 0),
        *_added("far_apart", QUARTER_YARD if apart >= FAR_APART else 0),
        *_added("repeat", asked.repeat),
    ]


def _usable(asked: Asked) -> Fraction:
    """The width that is left for pieces: without selvedges where measured, after shrinking."""
    width = exact(asked.other if asked.usable is None else asked.usable)
    return width * (1 - exact(asked.shrinks_across) / 100)


def _grown(amount: Fraction, shrinks: Decimal) -> Fraction:
    """What must be added so that ``amount`` is left after shrinking."""
    return amount / (1 - exact(shrinks) / 100) - amount


def _added(key: str, amount: Mm) -> list[Addition]:
    return [Addition(key, exact(amount))] if amount else []
