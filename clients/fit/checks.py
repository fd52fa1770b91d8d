"""What is asked before a sheet is kept: "is that right?", each with its reason. Nothing is refused.

Ranges and tolerances are common practice unless a source is named; the owner may widen a range. How
the measures of one body stand to each other is no law of nature: people differ.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from clients.fit.changes import Taking, changed, newest
from clients.fit.handbook import table
from clients.fit.lengths import MM, Length, Unit, show_change, show_length, to_mm
from clients.fit.measures import (
    AT_WAIST,
    MEASURES,
    SIDES,
    Measures,
    Range,
    Spot,
    Values,
    larger,
    spot_name,
)

UNITS: dict[Unit, str] = {
    "cm": "centimetres", "in": "inches", "m": "metres", "mm": "millimetres", "yd": "yards",
}  # fmt: skip
TAPES: tuple[Unit, ...] = ("in", "cm", "mm")
# Under 60, these in centimetres are probably inches: the first percentile of the hip is 86 cm
# (US Army survey of 2012, NATICK/TR-15/007).
UNDER, GREAT = 60, ("bust", "waist", "hip")
GIRTH_MM = 50  # a change of a girth since the last sheet that is asked about
# A child is measured from half of what an adult is, and in a year grows by as much as would be
# asked about; who is pregnant does in four weeks (common practice).
CHILD_LOW = 2
YOUNG, LOOSE = 3, Decimal("1.25")
GROWN = 18
YEAR, MONTH = 365, 28


@dataclass(frozen=True)
class Doubt:
    """A question about ``spots``. ``kind`` is unit, range, level, body or change.

    ``parts`` are what was asked once it is answered, one each where values share a question.
    ``instead`` is what was probably meant, as typed, for each of ``spots``; ``fact`` the fact of
    the sheet that answers.
    """

    kind: str
    spots: tuple[Spot, ...]
    says: str
    asks: tuple[str, ...] = ()
    instead: tuple[str, ...] = ()
    fact: str = ""

    @property
    def parts(self) -> tuple[str, ...]:
        return self.asks or (self.says,)


def doubts(
    taking: Taking,
    *,
    unit: Unit,
    ranges: Mapping[str, Range],
    before: Sequence[Taking] = (),
    child: bool = False,
    born: int | None = None,
    pregnant: bool = False,
) -> list[Doubt]:
    """Everything worth a question about a sheet, in the order in which it is best looked at.

    ``unit`` is the studio's, ``ranges`` hold the owner's own by key, ``before`` are the sheets
    before it from the oldest. A value that was probably read in another unit, or is too small to be
    true, is compared with nothing else; a ``child`` with nothing that was read off adults, but with
    its age where it is known in which year it was ``born``; one who is ``pregnant`` grows.
    O(measures x sheets).
    """
    usual = {key: measure.range for key, measure in taking.measures.items()} | dict(ranges)
    if child:
        usual |= child_ranges(taking.day.year - born if born else None) | dict(ranges)
    lengths = taking.lengths
    likely = {spot: _likely(spot, read, usual, child=child) for spot, read in lengths.items()}
    mixed = dict(_mixed(taking, usual, likely))
    tiny = {spot for spot, own in likely.items() if own != usual[spot[0]]}
    compared = lengths.keys() - mixed.keys() - tiny
    rest = replace(taking, lengths={spot: lengths[spot] for spot in lengths if spot in compared})
    return [
        *_units(taking, mixed),
        *_outside(taking, likely, unit, mixed),
        *_levels(rest),
        *_body(rest, child=child, pregnant=pregnant),
        *_since(rest, before, unit, YEAR if child else MONTH if pregnant else 0),
    ]


def child_ranges(years: int | None) -> dict[str, Range]:
    """The ranges of a child, by the years since the one of its birth where they are known.

    The height is that of children of this age, the year before and after it included (CDC growth
    charts, 2000; under two the WHO's standards, 2006); what is measured along or across the body
    grows with it, under three a quarter to either side, for the parts of the youngest stand
    otherwise to the whole (common practice). No girth is less than in proportion to the height, nor
    more than ``data/child_girths.csv`` has of who is a year older. Without a year it is from half
    of an adult's.
    """
    adult = {key: measure.range for key, measure in MEASURES.items()}
    rows = {int(row["age"]): row for row in table("growth")}
    if years is None or not 0 <= years <= max(rows):
        return {key: Range(own.low / CHILD_LOW, own.high) for key, own in adult.items()}
    grown = rows[max(rows)]
    low = Decimal(rows[max(years - 1, 0)]["low"])
    high = Decimal(rows[min(years + 1, max(rows))]["high"])
    loose = LOOSE if years < YOUNG else 1
    least, most = low / Decimal(grown["low"]) / loose, high / Decimal(grown["high"]) * loose
    girths = _girths_of_children(years + 1)
    ranges = {
        key: Range(own.low * least, girths[key] if key in girths else own.high * most)
        for key, own in adult.items()
    }
    return ranges | {"height": Range(10 * low, 10 * high)}


def _girths_of_children(age: int) -> dict[str, Decimal]:
    """Up to which girth nothing is asked at this birthday, in mm by measure."""
    found = {}
    for row in table("child_girths"):
        ends = {int(name): 10 * Decimal(cm) for name, cm in row.items() if name.isdecimal()}
        ends[GROWN] = MEASURES[row["key"]].range.high
        before = max(end for end in ends if end <= min(age, GROWN))
        after = min(end for end in ends if end >= min(age, GROWN))
        share = Decimal(min(age, GROWN) - before) / max(after - before, 1)
        found[row["key"]] = ends[before] + share * (ends[after] - ends[before])
    return found


def _likely(spot: Spot, read: Length, ranges: Mapping[str, Range], *, child: bool) -> Range:
    """The range in which the value is likely in the unit in which it was read."""
    own = ranges[spot[0]]
    small = not child and spot[0] in GREAT and read.unit == "cm" and read.mm < 10 * UNDER
    if small and own == MEASURES[spot[0]].range:
        return Range(max(own.low, Decimal(10 * UNDER)), own.high)
    return own


def _mixed(
    taking: Taking, ranges: Mapping[str, Range], likely: Mapping[Spot, Range]
) -> Iterator[tuple[Spot, Unit]]:
    """Values that are unlikely in their unit, each with one in which it is usual."""
    for spot, read in taking.lengths.items():
        if read.mm in likely[spot]:
            continue
        amount = Fraction(read.mm) / MM[read.unit]
        for other in TAPES:
            if other != read.unit and to_mm(amount, other) in ranges[spot[0]]:
                yield spot, other
                break


def _units(taking: Taking, mixed: Mapping[Spot, Unit]) -> Iterator[Doubt]:
    """One question for all values that were read in one unit and look like another."""
    groups: dict[tuple[Unit, Unit], list[Spot]] = {}
    for spot, other in mixed.items():
        groups.setdefault((taking.lengths[spot].unit, other), []).append(spot)
    for (unit, other), spots in groups.items():
        named = ", ".join(
            f"{spot_name(spot, taking.measures)} {taking.lengths[spot].typed}" for spot in spots
        )
        example = show_length(taking.lengths[spots[0]].mm, unit)
        says = (
            f"{named}: unlikely in {UNITS[unit]}, usual in {UNITS[other]}. "
            f"If it was read in {UNITS[other]}, write {example} {other}."
        )
        asks = tuple(
            f"{spot_name(spot, taking.measures)} {taking.lengths[spot].typed} {unit}?"
            for spot in spots
        )
        shown = (show_length(taking.lengths[spot].mm, unit) for spot in spots)
        meant = tuple(f"{amount} {other}" for amount in shown)
        yield Doubt("unit", tuple(spots), says, asks, meant)


def _outside(
    taking: Taking, likely: Mapping[Spot, Range], unit: Unit, mixed: Collection[Spot]
) -> Iterator[Doubt]:
    """Values that are usual in no unit: what is usual is said, nothing is guessed."""
    for spot, mm in taking.values.items():
        usual = likely[spot]
        # The range of the front length is one from the side of the neck.
        from_nape = spot[0] == "front_waist" and taking.front_from == "nape"
        if spot in mixed or mm in usual or from_nape:
            continue
        low, high = show_length(usual.low, unit), show_length(usual.high, unit)
        name = spot_name(spot, taking.measures)
        says = f"{name} {show_length(mm, unit)} {unit}: usually {low} to {high}."
        yield Doubt("range", (spot,), says)


def _levels(taking: Taking) -> Iterator[Doubt]:
    at_waist = tuple(spot for spot in taking.values if spot[0] in AT_WAIST)
    if at_waist and not taking.waist_at:
        says = "Where was the waist taken? Unsaid, the next sheet has nothing to compare with."
        yield Doubt("level", at_waist, says, fact="waist_at")
    front = tuple(spot for spot in taking.values if spot[0] == "front_waist")
    if front and not taking.front_from:
        says = "Where does the front length begin, side of the neck or nape?"
        yield Doubt("level", front, says, fact="front_from")


def _body(taking: Taking, *, child: bool, pregnant: bool) -> Iterator[Doubt]:
    values = taking.values
    surveyed = () if pregnant else surveys(values)
    adult = () if child else (surveyed, shares(values))
    for remarks in (orders(values), sums(values), *adult, sides(values, taking.measures)):
        for remark in remarks:
            spots = tuple(
                (key, side) for key in remark.keys for side in ("", *SIDES) if (key, side) in values
            )
            yield Doubt("body", spots, remark.says)


def _since(taking: Taking, before: Sequence[Taking], unit: Unit, grows: int) -> Iterator[Doubt]:
    """``grows``: the days in which it grows by as much as is asked about; 0 if it does not."""
    for spot in taking.values:
        last = newest(before, spot)
        change = changed(taking, last, spot)
        if last is None or change is None or taking.measures[spot[0]].kind != "girth":
            continue
        grown = Fraction(GIRTH_MM * (taking.day - last.day).days, grows) if grows else 0
        if not -GIRTH_MM <= change <= GIRTH_MM + grown:
            by = f"{spot_name(spot, taking.measures)} {show_change(change, unit)} {unit}"
            says = f"{by} since the last sheet: if that is right, fit again before cutting."
            yield Doubt("change", (spot,), says)


SURVEY = "in surveys of adults it is"
SIDES_MM = 20
LEG_MM = 40


@dataclass(frozen=True)
class Order:
    """``less`` is below ``more``, or at most as much where ``equal``. ``why`` ends a sentence."""

    less: str
    more: str
    why: str
    equal: bool = False


# These follow from the definitions; what is among SURVEYED from survey means (common practice).
ORDERS = (
    Order("high_bust", "bust", "the bust is taken where it is largest", equal=True),
    Order("underbust", "bust", "the bust is taken where it is largest"),
    Order("inseam", "outseam", "the outside leg begins at the waist"),
    Order("waist_to_hip", "outseam", "the outside leg goes on to the floor"),
)
SURVEYED = (
    Order("neck", "neck_base", SURVEY),
    Order("waist", "hip", "it often is not so in men and in fuller figures", equal=True),
    Order("knee", "thigh", SURVEY),
    Order("calf", "thigh", SURVEY),
    Order("ankle", "calf", SURVEY),
    Order("wrist", "upper_arm", SURVEY),
)
# Shares of the height, in hundredths (common practice, from survey means).
SHARES = {"inseam": (42, 50), "arm_length": (31, 38), "back_waist": (22, 29)}


@dataclass(frozen=True)
class Remark:
    """A sentence about the measures ``keys``, for the one with the tape."""

    keys: tuple[str, ...]
    says: str


def surveys(values: Values) -> Iterator[Remark]:
    return orders(values, SURVEYED)


def orders(values: Values, known: Sequence[Order] = ORDERS) -> Iterator[Remark]:
    for order in known:
        less, more = larger(values, order.less), larger(values, order.more)
        if less is None or more is None or less < more or (order.equal and less == more):
            continue
        small, large = MEASURES[order.less].name, MEASURES[order.more].name
        wanted = "at most as large as" if order.equal else "smaller than"
        says = f"{small} should be {wanted} {large.lower()}: {order.why}."
        yield Remark((order.less, order.more), says)


def sums(values: Values) -> Iterator[Remark]:
    """Through the legs, across the back, and the leg from both sides.

    The first two are geometry; the third follows from the definition of the rise as waist height
    less crotch height (ISO 8559), with a tolerance of common practice.
    """
    through, rise = larger(values, "crotch_length"), larger(values, "crotch_depth")
    if through is not None and rise is not None and through <= 2 * rise:
        says = "Through the legs should be more than twice the body rise."
        yield Remark(("crotch_length", "crotch_depth"), says)
    back, bust = larger(values, "across_back"), larger(values, "bust")
    if back is not None and bust is not None and 2 * back >= bust:
        yield Remark(("across_back", "bust"), "Twice across the back should be less than the bust.")
    inside, outside = larger(values, "inseam"), larger(values, "outseam")
    if rise is None or inside is None or outside is None or outside <= inside:
        return
    if abs(outside - inside - rise) > LEG_MM:
        says = "Outside leg is usually inside leg plus body rise, give or take 4 cm (1 5/8 in)."
        yield Remark(("outseam", "inseam", "crotch_depth"), says)


def shares(values: Values) -> Iterator[Remark]:
    height = larger(values, "height")
    for key, (least, most) in SHARES.items():
        part = larger(values, key)
        if height and part is not None and not least * height <= 100 * part <= most * height:
            says = f"{MEASURES[key].name} is usually {least} to {most} hundredths of the height."
            yield Remark((key, "height"), says)


def sides(values: Values, measures: Measures) -> Iterator[Remark]:
    """Left and right differ by more than 2 cm (common practice)."""
    for key, measure in measures.items():
        pair: list[Decimal] = [values[key, s] for s in ("left", "right") if (key, s) in values]
        if len(pair) == 2 and abs(pair[0] - pair[1]) > SIDES_MM:
            says = f"{measure.name}: left and right differ by more than 2 cm (3/4 in)."
            yield Remark((key,), says)
