"""What a piece of work is about: where it lies, which sums answer it, and how its hem is made;
which measures of the body a piece of work is about, and which of them is its finished length.

Work is known by where it lies on the drawing of its garment (``studio.shop.look.garments``); which
measures it is about is common practice.
"""

import re
from collections.abc import Collection

from jobs.pricing.models import Basis
from jobs.tickets.models import Line
from studio.shop.look.garments import drawing_of, place_of

ANY = ""
LEGS = ("trousers", "jeans", "shorts", "jumpsuit", "night", "child")
LONG = ("dress", "gown")
SLEEVED = (*LONG, "shirt", "knit", "jacket", "coat", "jumpsuit", "night", "child", "protective")
# By place, then by the drawing of the garment.
ABOUT: dict[str, dict[str, tuple[str, ...]]] = {
    "hem": {
        **dict.fromkeys(LEGS, ("inseam", "outseam")),
        **dict.fromkeys(LONG, ("hollow_hem", "nape_floor", "waist_floor_front")),
        "skirt": ("outseam", "waist_floor_front", "waist_floor_back"),
    },
    "cuffs": {ANY: ("arm_length", "cb_wrist", "hand")},
    "waist": {ANY: ("waist", "stomach", "high_hip")},
    "sides": {ANY: ("bust", "waist", "hip")},
    "bodice": {ANY: ("bust", "underbust", "waist")},
    "darts": {ANY: ("bust", "waist", "hip")},
    "legs": {ANY: ("thigh", "knee", "calf", "instep")},
    "shoulders": {ANY: ("shoulder", "shoulder_width", "across_back")},
    "collar": {ANY: ("neck",)},
}
# What a finished length is measured along, as the body was.
FINISHED = {
    ("cuffs", ANY): "arm_length", ("hem", "gown"): "hollow_hem", ("hem", "dress"): "hollow_hem",
}  # fmt: skip


def measures_about(kind: str, work: str, order: int = 0) -> tuple[str, ...]:
    """The measures that ``work`` on a garment of ``kind`` is about, the first the most."""
    by_drawing = ABOUT.get(place_of(work, order), {})
    return by_drawing.get(drawing_of(kind), by_drawing.get(ANY, ()))


def finished_along(kind: str, work: str, order: int = 0) -> str:
    """The measure that is the finished length of the work itself; empty where none is."""
    place = place_of(work, order)
    return FINISHED.get((place, drawing_of(kind)), FINISHED.get((place, ANY), ""))


def hem_of(kind: str, words: str = "") -> str:
    """The row of the table of hem depths for a garment, by its kind and what else is said of it."""
    drawing, said = drawing_of(kind), f"{kind} {words}".casefold()
    if drawing == "skirt":
        circle = re.search(r"circle|bias", said)
        return "skirt_circle" if circle else "skirt_flared" if "flare" in said else "skirt"
    if drawing == "trousers":
        men = re.search(r"\b(men|gent|boy|uniform|suit)", said)
        return "trousers" if men else "womens_trousers"
    if drawing == "shirt":
        return "blouse_out" if "blouse" in said else "shirt"
    return HEMS.get(drawing, "dress")


HEMS = {
    "jeans": "jeans", "shorts": "womens_trousers", "jumpsuit": "womens_trousers", "gown": "gown",
    "coat": "jacket", "jacket": "jacket", "waistcoat": "jacket", "knit": "pullover",
    "child": "child", "night": "child", "curtains": "curtains",
}  # fmt: skip


def bases_of(kind: str) -> list[Basis]:
    """How an amount on such a garment can be meant: curtains have no legs and trousers no sleeves.

    What no drawing is known for may be meant in any way.
    """
    drawing = drawing_of(kind)
    if drawing == "other":
        return [*Basis]
    legs, sleeves = drawing in LEGS, drawing in SLEEVED
    return [
        basis
        for basis in Basis
        if (legs or basis != Basis.LEG) and (sleeves or basis != Basis.SLEEVE)
    ]


def answers(places: Collection[str], line: Line) -> bool:
    """Whether a sum about ``places`` may give the amount of the line, which is not another's.

    Work of nobody's list, of which no word is known, may ask anything.
    """
    place = place_of(line.name, line.work_order)
    unknown = line.operation_id is None and not place_of(line.name)
    if place == "lining" and re.search(r"\bhem", line.name, re.IGNORECASE):
        place = "hem"
    return unknown or place in places
