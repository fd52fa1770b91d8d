"""What fits: pairs of a wish (a make or a pattern) and a length of cloth. Plain data, no Django.

Lengths are mm with at most four decimals, shrinkage per cent with at most one, times whole minutes.
How much cloth a wish takes at another width is said in one place, ``clients.fit.cloth``; here that
sum is turned round, so that a whole shelf is held against a wish by comparing integers.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache
from math import ceil
from typing import NamedTuple

from clients.fit.cloth import QUARTER_YARD, Asked, cloth_needed
from studio.shop.money import exact

MOST = 5
"""So many are told at once: more would be a list to choose from, and no help in choosing."""
PARTS = 10**10  # of a mm: its four decimals, and three of what is left after each shrinking
MOST_SUMS = 50_000  # kept from one shelf to the next


class Check(StrEnum):
    """What a pair has to pass, in this order."""

    MEANT = "meant"
    CLOTH = "cloth"
    WIDTH = "width"
    MINUTES = "minutes"
    KIND = "kind"


NEARLY = {Check.CLOTH: 500, Check.MINUTES: 60}
"""Short by no more mm or minutes than this counts as nearly (a choice of ours)."""


@dataclass(frozen=True)
class Printed:
    """A pattern asks for ``length`` of cloth that is ``width`` wide."""

    width: Decimal
    length: Decimal


@dataclass(frozen=True)
class Wish:
    """Something that could be sewn.

    ``minutes`` are those still to be sewn, None if nobody guessed. ``kinds`` are the kinds of
    cloth it is for, ``meant`` the ids of the lengths that the owner chose for it, and how much of
    each if that was said; none is any. ``aside`` is what is set aside for it of each, beside what
    is free. ``out_of_season`` is 0 for now, 1 for any, 2 for another.
    """

    id: str
    printed: tuple[Printed, ...] = ()
    widest: Decimal | None = None
    minutes: int | None = None
    stops: bool = True
    kinds: frozenset[str] = frozenset()
    meant: Mapping[int, Decimal | None] = field(default_factory=dict)
    heat: int = 0
    out_of_season: int = 1
    aside: Mapping[int, Decimal] = field(default_factory=dict)

    def in_time(self, free: int) -> bool:
        """Whether it can be finished in so many minutes, or left half-way."""
        return self.stops or self.minutes is None or self.minutes <= free


@dataclass(frozen=True)
class ShelfLength:
    """Cloth on the shelf since a day; ``width`` is the usable one, ``repeat`` 0 for none.

    ``left`` is what a wish may take that nothing is set aside for.
    """

    id: int
    kind: str
    width: Decimal
    left: Decimal
    since: date
    washed: bool = False
    shrink_along: Decimal | None = None
    shrink_across: Decimal | None = None
    one_way: bool = False
    repeat: Decimal = Decimal(0)

    @classmethod
    def of_width(cls, width: Decimal) -> "ShelfLength":
        """Cloth of which nothing is known but its width in mm."""
        return cls(id=0, kind="", width=width, left=Decimal(0), since=date.min)

    @property
    def along(self) -> Decimal:
        """What it will still shrink; nothing where nobody measured."""
        return Decimal(0) if self.washed else self.shrink_along or Decimal(0)

    @property
    def across(self) -> Decimal:
        return Decimal(0) if self.washed else self.shrink_across or Decimal(0)

    @property
    def usable(self) -> Fraction:
        """The width that is left after shrinking."""
        return exact(self.width) * (100 - exact(self.across)) / 100


@dataclass(frozen=True)
class Short:
    """The first check a pair fails, and by how many mm or minutes; None where nobody can say."""

    check: Check
    by: Fraction | None = None


Pair = tuple[Wish, ShelfLength]


def needed(wish: Wish, length: ShelfLength) -> Fraction | None:
    """Millimetres of this cloth that the wish takes; None when nobody wrote that down.

    What the owner said goes before what is printed. It is not rounded up as at a shop's counter.
    """
    if (meant := wish.meant.get(length.id)) is not None:
        return exact(meant)
    if not wish.printed:
        return None
    printed = wish.printed[nearest([printed.width for printed in wish.printed], length.width)]
    steps = cloth_needed(asked_of(printed, length), step="5 cm").steps
    return sum((step.amount for step in steps if step.key != "rounding"), Fraction(0))


def asked_of(printed: Printed, length: ShelfLength, widest: Decimal | None = None) -> Asked:
    """The sum that is reckoned for what is printed, on cloth that is there."""
    return Asked(
        amount=printed.length,
        width=printed.width,
        other=length.width,
        one_way=length.one_way,
        repeat=length.repeat,
        shrinks=length.along,
        shrinks_across=length.across,
        widest=widest,
    )


def nearest(widths: Sequence[Decimal], width: Decimal) -> int:
    """The place of the width with the least to convert; of two as near, the narrower."""
    return min(range(len(widths)), key=lambda n: (abs(widths[n] - width), widths[n]))


def room_for(wish: Wish, length: ShelfLength) -> Fraction:
    """The mm that are left for it, with those set aside for it."""
    return exact(length.left) + exact(wish.aside.get(length.id, 0))


def first_failed(wish: Wish, length: ShelfLength, free: int) -> Short | None:
    """The first check that the pair fails with ``free`` minutes to sew in; None if it fits."""
    if wish.meant and length.id not in wish.meant:
        return Short(Check.MEANT)
    need, left = needed(wish, length), room_for(wish, length)
    if need is None or need > left:
        return Short(Check.CLOTH, None if need is None else need - left)
    if need and wish.widest is not None and exact(wish.widest) > length.usable:
        return Short(Check.WIDTH, exact(wish.widest) - length.usable)
    if not wish.in_time(free):
        return Short(Check.MINUTES, Fraction((wish.minutes or 0) - free))
    if wish.kinds and length.kind not in wish.kinds:
        return Short(Check.KIND)
    return None


def fitting(wishes: Iterable[Wish], lengths: Iterable[ShelfLength], free: int) -> list[Pair]:
    """Every pair that passes all checks, wish by wish.

    O(wishes * lengths) comparisons of integers; the sums are made once for each printed width and
    width of cloth.
    """
    shelf = Shelf(lengths)
    return [(wish, length) for wish in wishes for length in shelf.fitting(wish, free)]


def best(pairs: Iterable[Pair], most: int = MOST) -> list[Pair]:
    """One pair of each wish: the warmest, then the season's, then the oldest cloth."""
    chosen: dict[str, Pair] = {}
    for pair in sorted(pairs, key=_rank):
        chosen.setdefault(pair[0].id, pair)
    return list(chosen.values())[:most]


def _rank(pair: Pair) -> tuple[int, int, date, str, int]:
    wish, length = pair
    return -wish.heat, wish.out_of_season, length.since, wish.id, length.id


def nearly(
    wishes: Iterable[Wish], lengths: Sequence[ShelfLength], free: int, most: int = MOST
) -> list[tuple[Pair, Short]]:
    """Of each wish that fits no cloth the pair that misses least, in the order of ``best``.

    It misses by cloth or by minutes alone, and by no more than ``NEARLY`` says.
    """
    now, soon = Shelf(lengths), Shelf(lengths, grace=NEARLY[Check.CLOTH])
    misses = []
    for wish in wishes:
        if now.fitting(wish, free):
            continue
        missed = [
            ((wish, length), short)
            for length in soon.fitting(wish, free + NEARLY[Check.MINUTES])
            for short in [first_failed(wish, length, free)]
            if short and (short.check == Check.MINUTES or wish.in_time(free))
        ]
        misses += sorted(missed, key=_miss)[:1]
    return sorted(misses, key=lambda miss: _rank(miss[0]))[:most]


def _miss(miss: tuple[Pair, Short]) -> tuple[Fraction, tuple[int, int, date, str, int]]:
    pair, short = miss
    return (short.by or Fraction(0)) / NEARLY[short.check], _rank(pair)


class _Candidate(NamedTuple):
    """A length with what may be asked of it, in parts."""

    room: int
    usable: int
    length: ShelfLength


class Shelf:
    """Lengths of cloth, laid out by their width, with ``grace`` mm added to what is left.

    What a wish takes is more than a length has exactly when what it asks for at that width, before
    shrinking and additions, is more than what these leave of the length.
    """

    def __init__(self, lengths: Iterable[ShelfLength], grace: int = 0) -> None:
        self._by_id = {length.id: length for length in lengths}
        self._by_width: dict[Decimal, list[_Candidate]] = defaultdict(list)
        self._grace = grace
        for length in self._by_id.values():
            self._by_width[length.width].append(_row(length, grace))

    def fitting(self, wish: Wish, free: int) -> list[ShelfLength]:
        """The cloth that passes every check with this wish."""
        if not wish.in_time(free):
            return []
        if wish.meant:
            meant = [self._by_id[pk] for pk in sorted(wish.meant) if pk in self._by_id]
            return [length for length in meant if self._passes(wish, length, free)]
        lengths = self._wide_and_long_enough(wish) if wish.printed else []
        return [length for length in lengths if length.kind in wish.kinds or not wish.kinds]

    def _passes(self, wish: Wish, length: ShelfLength, free: int) -> bool:
        longer = replace(length, left=length.left + self._grace) if self._grace else length
        return first_failed(wish, longer, free) is None

    def _wide_and_long_enough(self, wish: Wish) -> list[ShelfLength]:
        widest = _parts(wish.widest or 0)
        widths = [printed.width for printed in wish.printed]
        lengths: list[ShelfLength] = []
        for width, rows in self._by_width.items():
            asks = _asks(wish.printed[nearest(widths, width)], width)
            lengths += [
                length for room, usable, length in rows if asks <= room and widest <= usable
            ]
        return lengths


def _row(length: ShelfLength, grace: int) -> _Candidate:
    along, across = 1 - exact(length.along) / 100, 1 - exact(length.across) / 100
    extra = QUARTER_YARD * length.one_way + exact(length.repeat)
    room = (exact(length.left) + grace) * along - extra
    return _Candidate(
        _parts(room * across),
        _parts(length.usable),
        length,
    )


@lru_cache(maxsize=MOST_SUMS)
def _asks(printed: Printed, other: Decimal) -> int:
    """What is asked for at the ``other`` width before additions, in parts."""
    plain = ShelfLength.of_width(other)
    return _parts(cloth_needed(asked_of(printed, plain), step="5 cm").steps[0].amount)


def _parts(mm: Decimal | Fraction | int) -> int:
    """Millimetres in parts; rounded up, so that a whole number of parts compares the same."""
    return ceil(exact(mm) * PARTS)
