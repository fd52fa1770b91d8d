"""What is asked before a sheet is kept: "is that right?", each with its reason. Nothing is refused.

Ranges and tolerances are common practice unless a source is named; the owner may widen a range.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from clients.fit import comparing
from clients.fit.changes import Taking, changed
from clients.fit.lengths import MM, Unit, show_change, show_length, to_mm
from clients.fit.measures import AT_WAIST, MEASURES, SIDES, Range, Spot, spot_name

UNITS: dict[Unit, str] = {"cm": "centimetres", "in": "inches", "mm": "millimetres", "yd": "yards"}
TAPES: tuple[Unit, ...] = ("in", "cm", "mm")
# Under 60, these in centimetres are probably inches: the first percentile of the hip is 86 cm
# (US Army survey of 2012, NATICK/TR-15/007).
UNDER, GREAT = 60, ("bust", "waist", "hip")
GIRTH_MM = 50  # a change of a girth since the last sheet that is asked about


@dataclass(frozen=True)
class Doubt:
    """A question about ``spots``. ``kind`` is unit, range, level, body or change."""

    kind: str
    spots: tuple[Spot, ...]
    says: str


def doubts(
    taking: Taking, *, unit: Unit, ranges: Mapping[str, Range], before: Taking | None = None
) -> list[Doubt]:
    """Everything worth a question about a sheet, in the order in which it is best looked at.

    ``unit`` is the studio's, ``ranges`` hold the owner's own by key, ``before`` is the last sheet.
    A value that was probably read in another unit is compared with nothing else. Linear in the
    number of measures.
    """
    mixed = dict(_mixed(taking, ranges))
    clear = {spot: length for spot, length in taking.lengths.items() if spot not in mixed}
    rest = replace(taking, lengths=clear)
    return [
        *_units(taking, mixed),
        *_outside(rest, ranges, unit),
        *_levels(rest),
        *_body(rest),
        *_since(rest, before, unit),
    ]


def _mixed(taking: Taking, ranges: Mapping[str, Range]) -> Iterator[tuple[Spot, tuple[Unit, bool]]]:
    """Values that are unlikely in their unit, with a likelier one and whether it is usual there."""
    for spot, read in taking.lengths.items():
        usual = ranges.get(spot[0], MEASURES[spot[0]].range)
        small = spot[0] in GREAT and read.unit == "cm" and read.mm < 10 * UNDER
        if read.mm in usual and not (small and usual == MEASURES[spot[0]].range):
            continue
        amount = Fraction(read.mm) / MM[read.unit]
        others = [other for other in TAPES if other != read.unit]
        fitting = [other for other in others if to_mm(amount, other) in usual]
        if fitting or small:
            yield spot, ((fitting or others)[0], bool(fitting))


def _units(taking: Taking, mixed: Mapping[Spot, tuple[Unit, bool]]) -> Iterator[Doubt]:
    """One question for all values that were read in one unit and look like another."""
    groups: dict[tuple[Unit, Unit, bool], list[Spot]] = {}
    for spot, likelier in mixed.items():
        groups.setdefault((taking.lengths[spot].unit, *likelier), []).append(spot)
    for (unit, other, fits), found in groups.items():
        named = ", ".join(f"{spot_name(spot)} {taking.lengths[spot].typed}" for spot in found)
        example = show_length(taking.lengths[found[0]].mm, unit)
        says = (
            f"{named}: unlikely in {UNITS[unit]}{f', usual in {UNITS[other]}' if fits else ''}. "
            f"If it was read in {UNITS[other]}, write {example} {other}."
        )
        yield Doubt("unit", tuple(found), says)


def _outside(taking: Taking, ranges: Mapping[str, Range], unit: Unit) -> Iterator[Doubt]:
    for spot, mm in taking.values.items():
        key, usual = spot[0], ranges.get(spot[0], MEASURES[spot[0]].range)
        # The range of the front length is one from the side of the neck.
        if mm in usual or (key == "front_waist" and taking.front_from == "nape"):
            continue
        low, high = show_length(usual.low, unit), show_length(usual.high, unit)
        says = f"{spot_name(spot)} {show_length(mm, unit)} {unit}: usually {low} to {high}."
        yield Doubt("range", (spot,), says)


def _levels(taking: Taking) -> Iterator[Doubt]:
    found = tuple(spot for spot in taking.values if spot[0] in AT_WAIST)
    if found and not taking.waist_at:
        says = "Where was the waist taken? Unsaid, the next sheet has nothing to compare with."
        yield Doubt("level", found, says)
    front = tuple(spot for spot in taking.values if spot[0] == "front_waist")
    if front and not taking.front_from:
        yield Doubt("level", front, "Where does the front length begin, side of the neck or nape?")


def _body(taking: Taking) -> Iterator[Doubt]:
    values = taking.values
    for rule in (comparing.orders, comparing.sums, comparing.shares, comparing.sides):
        for remark in rule(values):
            spots = tuple(
                (key, side) for key in remark.keys for side in ("", *SIDES) if (key, side) in values
            )
            yield Doubt("body", spots, remark.says)


def _since(taking: Taking, before: Taking | None, unit: Unit) -> Iterator[Doubt]:
    for spot in taking.values:
        change = changed(taking, before, spot)
        if MEASURES[spot[0]].kind == "girth" and change is not None and abs(change) > GIRTH_MM:
            says = (
                f"{spot_name(spot)} {show_change(change, unit)} {unit} since the last sheet: "
                "if that is right, fit again before cutting."
            )
            yield Doubt("change", (spot,), says)
