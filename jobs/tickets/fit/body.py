"""Which measures of the body a piece of work is about, and which of them is its finished length.

Work is known by where it lies on the drawing of its garment (``studio.shop.look.garments``); which
measures it is about is common practice.
"""

from studio.shop.look.garments import drawing_of, place_of

ANY = ""
LEGS = ("trousers", "jeans", "shorts", "jumpsuit", "night", "child")
LONG = ("dress", "gown")
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
