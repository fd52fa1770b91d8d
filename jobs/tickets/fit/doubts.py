"""An amount that is hard to believe: one question, before it is agreed. Nothing is refused."""

from dataclasses import dataclass

from clients.fit.amounts import GIRTHS, Bounds, believable, meant_instead
from clients.fit.lengths import Unit, parse_length, show_length
from clients.sheets.known import Body, BodyFact
from jobs.pricing.models import Basis, Measure
from jobs.tickets.fit.answers import Pin, millimetres
from jobs.tickets.fit.body import measures_about
from jobs.tickets.models import Line
from jobs.tickets.quoting import LineDraft
from studio.shop.look.garments import drawing_of, place_of

SURE = "sure"
"""Sent with an amount that was asked about: the words of it that somebody has said are right."""
HOW = {
    Measure.TAKE_OFF: "{amount} off the {kind}",
    Measure.LET_OUT: "{amount} let out of the {kind}",
    Measure.FINISHED: "The {kind} finished at {amount}",
}
NO_LENGTHS = frozenset({"hand"})  # of the measures that sleeves are about


@dataclass(frozen=True)
class AmountDoubt:
    """``says`` asks about the amount ``key``; ``instead`` is what was probably meant."""

    says: str
    key: str
    instead: tuple[str, ...]


def pin_of_line(line: Line | LineDraft) -> Pin | None:
    if line.amount_mm is None:
        return None
    return Pin(line.amount_mm, line.amount_typed, line.measure, line.basis)


def amount_doubt(kind: str, line: Line | LineDraft, pin: Pin, body: Body) -> AmountDoubt | None:
    """What to ask about ``pin`` as the amount of ``line`` on a garment of ``kind``.

    What the newest sheets of the client say of this place is asked against.
    """
    place, drawing = place_of(line.name, line.work_order), drawing_of(kind)
    about = measures_about(kind, line.name, line.work_order)
    facts = body.of(key for key in about if key not in NO_LENGTHS)
    if place in GIRTHS:
        facts = [fact for fact in facts if fact.key in {"waist", "bust", "hip"}]
    lengths = [length.mm for fact in facts for length in fact.sides.values()]
    twice = pin.basis == Basis.EACH
    bounds = believable(drawing, place, pin.measure, body=lengths, twice=twice)
    if bounds is None or pin.mm in bounds:
        return None
    typed = parse_length(pin.amount_typed, "cm")
    instead = meant_instead(typed, bounds)
    says = HOW[Measure(pin.measure)].format(amount=pin.amount_typed, kind=kind.lower())
    asks = f"did you mean {' or '.join(instead)}?" if instead else "is that right?"
    says = f"{says}{_against(pin, bounds, facts, typed.unit)}: {asks}"
    return AmountDoubt(says, pin.words, tuple(instead))


def _against(pin: Pin, bounds: Bounds, facts: list[BodyFact], unit: Unit) -> str:
    if facts:
        return f" whose {facts[0].name.lower()} is {facts[0].value}"
    tape: Unit = "in" if unit in {"in", "yd"} else "cm"
    too_much = pin.mm > bounds.most
    bound = show_length(millimetres(bounds.most if too_much else bounds.least), tape)
    return f", usually {'at most' if too_much else 'at least'} {bound} {tape}"
