"""Where the cloth of a garment ends, and whether an amount goes beyond it."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from django.forms import Form

from clients.fit import hems
from clients.fit.lengths import Length, Mm, Unit, parse_length
from jobs.pricing.models import Measure, WorkOrder
from jobs.tickets.fit.answers import Show
from jobs.tickets.models import Line
from jobs.tickets.quoting import LineDraft
from studio.shop.money import exact

Ends = Mapping[str, Mapping[str, str]]
"""By place (a garment of the table of hem depths), see ``models.Garment``."""
SLEEVE = "sleeve"
NOW = {"now": "Length now", "turned_up": "Turned up now"}
PARTS = {
    "turn_up": "Height of the turn-up", "shorter": "Lining shorter by",
    "band": "Height of the original hem",
}  # fmt: skip
APART: dict[Unit, str] = {"cm": "10 cm", "in": "4 in"}
"""How far above the edge a leg is measured again where its original edge is kept."""
WIDTHS = {"edge_flat": "Width at the edge, flat", "above_flat": "Width {} above it, flat"}
ASKS = {
    "turn_up": re.compile(r"\bturn.?ups?\b|\bcuffed\b", re.IGNORECASE),
    "shorter": re.compile(r"\blined\b|\bwith lining\b", re.IGNORECASE),
    "band": re.compile(r"\boriginal (edge|hem)\b", re.IGNORECASE),
}
USUALLY: dict[str, dict[Unit, str]] = {
    "turn_up": {"cm": "4", "in": "1 5/8"}, "shorter": {"cm": "2", "in": "3/4"},
    "band": {"cm": "1.5", "in": "5/8"},
}  # fmt: skip
"""What holds where nobody typed another, in round figures: common practice."""


@dataclass(frozen=True)
class KnownEnd:
    """Where a garment's edge is ``now`` (0: not measured) and what is ``turned_up`` behind it.

    ``parts`` are what was said of its turn-up, lining or original hem, and its two widths.
    """

    now: Fraction
    turned_up: Fraction | None
    as_typed: dict[str, dict[str, str]]
    parts: dict[str, Fraction] = field(default_factory=dict)

    @property
    def cloth(self) -> Fraction | None:
        """Where the cloth ends, once both were measured."""
        if not self.now or self.turned_up is None:
            return None
        return hems.cloth_end(self.now, self.turned_up)


def known_end(
    ends: Ends, place: str, unit: Unit, typed: Mapping[str, Length | None] | None = None
) -> KnownEnd:
    """What was just ``typed`` of ``now`` and ``turned_up``, else what is remembered of ``place``.

    ``as_typed`` is what to remember.
    """
    remembered = ends.get(place, {})
    read: dict[str, Length] = {}
    for key in (*NOW, *PARTS, *WIDTHS):
        if length := (typed or {}).get(key):
            read[key] = length
        elif key in remembered:
            read[key] = parse_length(remembered[key], unit, zero=True)
    as_typed = {key: length.with_unit for key, length in read.items()}
    return KnownEnd(
        exact(read["now"].mm) if "now" in read else Fraction(0),
        exact(read["turned_up"].mm) if "turned_up" in read else None,
        {place: as_typed} if as_typed else {},
        {key: exact(read[key].mm) for key in (*PARTS, *WIDTHS) if key in read},
    )


def parts_of(work: str) -> list[str]:
    """What a hem has besides its depth, by the name of the work."""
    return [name for name, asks in ASKS.items() if asks.search(work)]


def hem_fields(work: str, unit: Unit) -> dict[str, str]:
    """What a hem is asked for by the name of the work: by field, its label.

    With the original edge kept nothing is turned up.
    """
    parts = {name: PARTS[name] for name in parts_of(work)}
    if "band" in parts:
        widths = {name: label.format(APART[unit]) for name, label in WIDTHS.items()}
        return {"now": NOW["now"], **parts, **widths}
    return {**NOW, **parts}


def part(name: str, work: str, known: KnownEnd, unit: Unit) -> Fraction:
    """How much of it this ``work`` has: as it was said, else what is usual; 0 where it has none."""
    if name not in parts_of(work):
        return Fraction(0)
    return known.parts.get(name) or exact(parse_length(USUALLY[name][unit], unit).mm)


def slant_of(known: KnownEnd, unit: Unit) -> Fraction | None:
    """How a leg widens above its edge; None where not both of its widths are known."""
    if not all(name in known.parts for name in WIDTHS):
        return None
    at_edge, above = (known.parts[name] for name in WIDTHS)
    return hems.slant(at_edge, above, parse_length(APART[unit], unit).mm)


def typed_end(form: Form, now: str = "now") -> dict[str, Length | None]:
    """The lengths of a valid form; ``now`` is the name of the field for the length of now."""
    others = ("turned_up", *PARTS, *WIDTHS)
    return {"now": form.cleaned_data[now]} | {
        name: form.cleaned_data[name] for name in others if name in form.cleaned_data
    }


def too_long(hem: hems.Hem, known: KnownEnd, show: Show) -> str:
    """Why this hem is beyond the cloth; empty where it is not, or where nobody has measured."""
    if hem.way != "no":
        return ""
    by, longest = hem.finished - known.now, hem.longest or Fraction(0)
    if by > 0:
        most = show.down(max(Fraction(0), longest - known.now))
        return f"{show(by)} longer is wanted, at most {most} can be let down."
    left = max(Fraction(0), hem.there or Fraction(0))
    return f"{show(left)} of cloth is left below the finished edge."


def no_turn_up(turn_up: Mm, there: Mm, show: Show) -> str:
    """Why the cloth does not give this turn-up."""
    wanted = 2 * exact(turn_up) + exact(hems.LEAST_INSIDE)
    return (
        f"No: this turn-up takes {show.up(wanted)} below the finished edge,"
        f" {show.down(max(Fraction(0), exact(there)))} is there."
    )


def line_too_long(line: Line | LineDraft, ends: Ends, unit: Unit) -> str:
    """The same of the amount on a line of hems or sleeves, where its garment remembers the cloth.

    It takes what its work takes, a turn-up too. Of several edges that may be meant, one that holds
    the amount is enough.
    """
    if line.amount_mm is None or line.measure not in {Measure.FINISHED, Measure.LET_OUT}:
        return ""
    if line.work_order not in {WorkOrder.HEM, WorkOrder.SLEEVES}:
        return ""
    answers = []
    for place in ends:
        known = known_end(ends, place, unit)
        if (place == SLEEVE) != (line.work_order == WorkOrder.SLEEVES) or known.cloth is None:
            continue
        finished = exact(line.amount_mm) + (0 if line.measure == Measure.FINISHED else known.now)
        turn_up = part("turn_up", line.name, known, unit)
        depth = hems.usual_depth(hems.depths(place))
        try:
            hem = hems.hem(finished, depth, turn_up=turn_up, cloth=known.cloth)
        except hems.NoTurnUpError:
            answers.append(no_turn_up(turn_up, known.cloth - finished, Show(unit)))
        else:
            answers.append(too_long(hem, known, Show(unit)))
    return answers[0] if answers and all(answers) else ""
