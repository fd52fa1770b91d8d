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


@dataclass(frozen=True)
class ChartColumn:
    """The amounts at one width; not ``published`` where they lie between two printed columns."""

    amounts: tuple[Fraction, ...]
    published: bool = True


def column(width: Mm) -> ChartColumn | None:
    """The column of a width in inches, to the nearest inch; None beyond the chart.

    A width between two printed columns is answered by linear interpolation, row by row.
    """
    printed = columns()
    inch = round_half_up(exact(width))
    for widths, amounts in printed.items():
        if inch in widths:
            return ChartColumn(amounts)
    narrower = [widths for widths in printed if widths[-1] < width]
    wider = [widths for widths in printed if widths[0] > width]
    if not (narrower and wider):
        return None
    here, there = narrower[-1], wider[0]
    share = (exact(width) - here[-1]) / (there[0] - here[-1])
    rows = zip(printed[here], printed[there], strict=True)
    return ChartColumn(tuple(less + share * (more - less) for less, more in rows), published=False)


@dataclass(frozen=True)
class Charted:
    """What the chart says, in yards; ``larger`` where the amount lay between two of its rows."""

    yards: Fraction
    published: bool
    larger: bool


def equivalent(amount: Fraction, width: Mm, other: Mm) -> Charted | None:
    """``amount`` yards at ``width`` inches, at the ``other`` width; None outside the chart.

    Between two rows the larger one is taken (common practice). Below the first row and above the
    last nothing is published.
    """
    here, there = column(width), column(other)
    if here is None or there is None or amount < here.amounts[0]:
        return None
    row = next((row for row, size in enumerate(here.amounts) if size >= amount), None)
    if row is None:
        return None
    published = here.published and there.published
    return Charted(there.amounts[row], published, here.amounts[row] != amount)


def alike(width: Mm, other: Mm) -> bool:
    """Two widths in inches that need the same length: equal, or of one printed column."""
    inches = round_half_up(exact(width)), round_half_up(exact(other))
    columned = any(set(inches) <= set(widths) for widths in columns())
    return exact(width) == exact(other) or columned


INCH = Fraction(254, 10)
YARD = 36 * INCH
QUARTER_YARD = YARD / 4
FAR_APART = 20  # inches; the chart adds a quarter yard for a large difference: common practice
STEPS = {"1/8 yd": YARD / 8, "5 cm": Fraction(50), "10 cm": Fraction(100)}


@dataclass(frozen=True)
class Addition:
    """One step of the sum: ``amount`` is what it adds; the first is the amount itself."""

    key: str
    amount: Fraction


@dataclass(frozen=True)
class ClothNeed:
    """What to buy. The first step is the amount itself: its key says where it is from.

    It is ``same`` for widths that are alike, ``chart``, ``between`` two columns of the chart, or
    ``area``, an estimate. ``larger`` says that the chart's next larger row was taken, ``apart``
    that the widths differ so much that the chart would have a quarter yard added.
    ``usable`` is the width left for the pieces; ``fits`` is None where no widest piece was named.
    """

    steps: tuple[Addition, ...]
    total: Fraction
    usable: Fraction
    fits: bool | None
    larger: bool = False
    apart: bool = False

    @property
    def way(self) -> str:
        return self.steps[0].key

    @property
    def estimated(self) -> bool:
        """By the area, wholly or for what the cloth loses of its width."""
        return self.way == "area" or any(step.key == "across" for step in self.steps)

    @property
    def charted(self) -> bool:
        """The chart was read, if only between two of its columns."""
        return self.way in {"chart", "between"}


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
    far_apart: bool = False
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
    way, base, larger = _base(asked)
    steps = [Addition(way, base), *_extras(asked)]
    if way != "area":
        steps += _added("across", _grown(base, asked.shrinks_across))
    sofar = sum((addition.amount for addition in steps), Fraction(0))
    steps += _added("along", _grown(sofar, asked.shrinks))
    sofar = sum((addition.amount for addition in steps), Fraction(0))
    total = STEPS[step] * -(-sofar // STEPS[step])
    steps += _added("rounding", total - sofar)
    usable = _usable(asked)
    fits = None if asked.widest is None else exact(asked.widest) <= usable
    apart = abs(exact(asked.width) - exact(asked.other)) >= FAR_APART * INCH
    return ClothNeed(tuple(steps), total, usable, fits, larger, apart)


def _base(asked: Asked) -> tuple[str, Fraction, bool]:
    """Where the amount at the other width is from, the amount, and whether of a larger row.

    At a width like the one that the pattern names there is nothing to look up.
    """
    amount = exact(asked.amount)
    width, other = exact(asked.width) / INCH, exact(asked.other) / INCH
    if alike(width, other):
        return "same", amount, False
    if charted := equivalent(amount / YARD, width, other):
        way = "chart" if charted.published else "between"
        return way, charted.yards * YARD, charted.larger
    return "area", amount * exact(asked.width) / _usable(asked), False


def _extras(asked: Asked) -> list[Addition]:
    """A quarter yard for each reason the chart names that is so, and one repeat of the motif."""
    return [
        *_added("one_way", QUARTER_YARD if asked.one_way else 0),
        *_added("cut_on", QUARTER_YARD if asked.cut_on_sleeves else 0),
        *_added("far_apart", QUARTER_YARD if asked.far_apart else 0),
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
