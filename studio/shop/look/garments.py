"""Which drawing a garment has, and where on it the work is marked as stitches.

The drawings are the symbols of ``static/studio/garments.svg``, 80 wide and 100 high; the marks are
paths on them (``marks.csv``). A studio may name its garments and its work as it likes, so both are
known by the words in their names (common practice of the trade). What nobody knows is a covered
hanger, and its work lies where the order of work puts it.
"""

import csv
import re
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from importlib.resources import files

from studio.shop.look.colours import PLAIN, contrast, dye

# The first that matches counts, so that a dressing gown is no gown and a shirt dress is a dress.
KINDS: list[tuple[str, str]] = [
    ("life", r"life ?(jacket|vest)|harness"),
    ("protective", r"protective|work ?wear|hi.?vis|uniform"),
    ("night", r"night|pyjama|pajama|dressing gown|robe"),
    ("gown", r"wedding|bridal|evening|ball|gown|prom"),
    ("child", r"child|kid|baby|toddler"),
    ("waistcoat", r"waistcoat|gilet|\bvest\b"),
    ("jumpsuit", r"jump ?suit|swim|bathing|body ?suit|overall|dungaree|play ?suit|boiler"),
    ("dress", r"dress|pinafore|sari|kaftan"),
    ("jeans", r"jean|denim trouser"),
    ("shorts", r"\bshorts\b"),
    ("trousers", r"trouser|pant|chino|legging|slacks"),
    ("skirt", r"skirt|kilt"),
    ("coat", r"coat|parka|cape|cloak|mac\b"),
    ("jacket", r"jacket|blazer|suit|anorak|tuxedo"),
    ("knit", r"knit|jumper|pullover|sweater|cardigan|jersey|hoodie|fleece"),
    ("shirt", r"shirt|top|blouse|tunic|polo"),
    ("curtains", r"curtain|drape|blind|net\b"),
    ("cushion", r"cushion|pillow|quilt|duvet|blanket|throw|cover|sheet|cloth\b"),
    ("bag", r"bag|purse|case"),
]  # fmt: skip
# Where each kind of work lies, as a path on each drawing.
PLACES: defaultdict[str, dict[str, str]] = defaultdict(dict)
for _mark in csv.DictReader(files(__package__).joinpath("marks.csv").read_text().splitlines()):
    PLACES[_mark["drawing"]][_mark["place"]] = _mark["path"]
MARKED = {
    "hem": "hem", "waist": "waist", "sides": "side seams", "legs": "legs", "zip": "zip",
    "knee": "knee", "patch": "patch", "button": "buttons", "seam": "seam", "darts": "darts",
    "lining": "lining", "bodice": "bodice", "straps": "straps", "cuffs": "sleeves",
    "shoulders": "shoulders", "collar": "collar", "bustle": "bustle",
}  # fmt: skip

# The first that matches counts; ``hem of lining`` is about the lining.
WORK: list[tuple[str, str]] = [
    ("lining", r"lining"),
    ("bustle", r"bustle"),
    ("knee", r"knee|elbow"),
    ("patch", r"patch|\bhole|darn|mend|pocket"),
    ("zip", r"zip|fasten|hook|slider"),
    ("straps", r"strap|handle"),
    ("shoulders", r"shoulder"),
    ("cuffs", r"sleeve|cuff|armhole"),
    ("button", r"button"),
    ("collar", r"collar|neck|lapel"),
    ("darts", r"dart"),
    ("bodice", r"bodice|bust"),
    ("legs", r"taper|\bleg"),
    ("waist", r"waist|elastic|band|heading"),
    ("sides", r"side|centre back|take in|let out"),
    ("hem", r"hem|shorten|lengthen|length|turn.?up"),
    ("seam", r"seam|repair|stitch"),
]
ORDERED = {10: "sides", 20: "cuffs", 30: "zip", 40: "hem", 50: "lining", 60: "button"}
"""By the places of the order of work (``WorkOrder`` of the price list), where words do not help."""

CHALK, INK = "#ffffff", "#1f1c18"


def first_match(words: str, table: Iterable[tuple[str, str]]) -> str:
    return next((name for name, said in table if re.search(said, words, re.IGNORECASE)), "")


def drawing_of(kind: str) -> str:
    """The symbol for a kind of garment by its name: ``gown`` for ``Wedding or evening dress``."""
    return first_match(kind, KINDS) or "other"


def place_of(work: str, order: int = 0) -> str:
    """Where a kind of work lies, by its name or else by its place in the order of work."""
    return first_match(work, WORK) or ORDERED.get(order, "")


@dataclass(frozen=True)
class Drawing:
    """A garment as it is drawn.

    ``symbol`` is the drawing, ``dye`` the colour of its cloth and ``known`` whether somebody has
    said it; ``marks`` are paths on it, in the colour ``thread`` that stands out from the cloth.
    ``words`` say the same to whoever does not see it.
    """

    symbol: str
    dye: str
    known: bool
    marks: str
    thread: str
    words: str


def draw(kind: str, colour: str = "", work: Iterable[tuple[str, int]] = ()) -> Drawing:
    """The drawing of a garment: kind and colour in words, work as names with their order."""
    symbol = drawing_of(kind)
    places = dict.fromkeys(place_of(name, order) for name, order in work)
    marks = {place: PLACES[symbol][place] for place in places if place in PLACES[symbol]}
    cloth = dye(colour)
    named = ", ".join(part for part in (kind, colour) if part)
    marked = ", ".join(MARKED[place] for place in marks)
    return Drawing(
        symbol=symbol,
        dye=cloth or PLAIN,
        known=bool(cloth),
        marks="".join(marks.values()),
        thread=max((CHALK, INK), key=lambda thread: contrast(thread, cloth or PLAIN)),
        words=f"{named}; marked: {marked}" if marked else named,
    )
