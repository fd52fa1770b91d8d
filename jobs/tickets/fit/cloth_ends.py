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

    ``parts`` are what was said of its turn-up, lining or original hem.
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
    for key in (*NOW, *PARTS):
        if length := (typed or {}).get(key):
            read[key] = length
        elif key in remembered:
            read[key] = parse_length(remembered[key], unit, zero=True)
    as_typed = {key: length.with_unit for key, length in read.items()}
    return KnownEnd(
        exact(read["now"].mm) if "now" in read else Fraction(0),
        exact(read["turned_up"].mm) if "turned_up" in read else None,
        {place: as_typed} if as_typed else {},
        {key: exact(read[key].mm) for key in PARTS if key in read},
    )


def hem_fields(work: str) -> dict[str, str]:
    """What a hem is asked for by the name of the work: by field, its label.

    With the original edge kept nothing is turned up.
    """
    parts = {name: PARTS[name] for name, asks in ASKS.items() if asks.search(work)}
    return {"now": NOW["now"], **parts} if "band" in parts else {**NOW, **parts}


def part(name: str, work: str, known: KnownEnd, unit: Unit) -> Fraction:
    """How much of it this ``work`` has: as it was said, else what is usual; 0 where it has none."""
    if not ASKS[name].search(work):
        return Fraction(0)
    return known.parts.get(name) or exact(parse_length(USUALLY[name][unit], unit).mm)


def typed_end(form: Form, now: str = "now") -> dict[str, Length | None]:
    """The two lengths of a valid form; ``now`` is the name of the field for the length of now."""
    return {"now": form.cleaned_data[now], "turned_up": form.cleaned_data["turned_up"]}


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

    Of several edges that may be meant, one that holds the amount is enough.
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
        hem = hems.hem(finished, hems.usual_depth(hems.depths(place)), cloth=known.cloth)
        answers.append(too_long(hem, known, Show(unit)))
    return answers[0] if answers and all(answers) else ""
