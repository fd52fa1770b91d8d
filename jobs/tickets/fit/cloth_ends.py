"""Where the cloth of a garment ends, and whether an amount goes beyond it."""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from django.forms import Form

from clients.fit import hems
from clients.fit.lengths import Length, Unit, parse_length
from jobs.pricing.models import Measure, WorkOrder
from jobs.tickets.fit.answers import Show
from jobs.tickets.models import Line
from jobs.tickets.quoting import LineDraft
from studio.shop.money import exact

Ends = Mapping[str, Mapping[str, str]]
"""By place (a garment of the table of hem depths), see ``models.Garment``."""
SLEEVE = "sleeve"


@dataclass(frozen=True)
class KnownEnd:
    """Where a garment's edge is ``now`` (0: not measured) and what is ``turned_up`` behind it."""

    now: Fraction
    turned_up: Fraction | None
    as_typed: dict[str, dict[str, str]]

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
    for key in ("now", "turned_up"):
        if length := (typed or {}).get(key):
            read[key] = length
        elif key in remembered:
            read[key] = parse_length(remembered[key], unit, zero=True)
    as_typed = {key: length.with_unit for key, length in read.items()}
    return KnownEnd(
        exact(read["now"].mm) if "now" in read else Fraction(0),
        exact(read["turned_up"].mm) if "turned_up" in read else None,
        {place: as_typed} if as_typed else {},
    )


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
