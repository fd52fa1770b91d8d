"""How the measures of one body stand to each other: sentences about those that do not fit.

Each rule names what it rests on. None of them is a law of nature: people differ.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from clients.fit.measures import MEASURES, Values, larger

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


# The first five follow from the definitions, the others from survey means (common practice).
ORDERS = (
    Order("high_bust", "bust", "the bust is taken where it is largest", equal=True),
    Order("underbust", "bust", "the bust is taken where it is largest"),
    Order("inseam", "outseam", "the outside leg begins at the waist"),
    Order("neck", "neck_base", SURVEY),
    Order("waist_to_hip", "outseam", "the outside leg goes on to the floor"),
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


def orders(values: Values) -> Iterator[Remark]:
    for order in ORDERS:
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


def sides(values: Values) -> Iterator[Remark]:
    """Left and right differ by more than 2 cm (common practice)."""
    for key, measure in MEASURES.items():
        pair: list[Decimal] = [values[key, s] for s in ("left", "right") if (key, s) in values]
        if len(pair) == 2 and abs(pair[0] - pair[1]) > SIDES_MM:
            says = f"{measure.name}: left and right differ by more than 2 cm (3/4 in)."
            yield Remark((key,), says)
