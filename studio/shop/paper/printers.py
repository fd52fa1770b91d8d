"""Which printers the studio has, and which paper lies in each.

The profile keeps them as plain data, ``[{"name": ..., "size": ..., "papers": [...]}]``. A paper
lies in one printer, and a printer holds one size: a press gives each printer a file of one size.
"""

from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from studio.shop.models import Profile

SHEET, ROLL, CARD = "sheet", "roll", "card"


@dataclass(frozen=True)
class Size:
    """A page of ``paper.PAGES`` as an owner knows it."""

    kind: str
    words: str


SIZES = {
    "A4": Size(SHEET, "A4"),
    "Letter": Size(SHEET, "US Letter"),
    "A5": Size(SHEET, "A5"),
    "roll": Size(ROLL, "80 mm"),
    "roll-58": Size(ROLL, "58 mm"),
    "A6": Size(CARD, "A6"),
    "A7": Size(CARD, "74 \N{MULTIPLICATION SIGN} 105 mm"),
    "3x5": Size(CARD, "3 \N{MULTIPLICATION SIGN} 5 in"),
    "4x6": Size(CARD, "4 \N{MULTIPLICATION SIGN} 6 in"),
    "label-62": Size(CARD, "62 mm label roll"),
}
USUAL_SIZE = {SHEET: "A4", ROLL: "roll", CARD: "A6"}
USUAL_NAME = {SHEET: "Sheet printer", ROLL: "Counter roll", CARD: "Tag printer"}
SHEETS, ROLLS, CARDS = (
    frozenset(key for key, size in SIZES.items() if size.kind == kind)
    for kind in (SHEET, ROLL, CARD)
)


@dataclass(frozen=True)
class PaperKind:
    """What can be printed, and the sizes it is made for."""

    words: str
    sizes: frozenset[str]


# A tag needs room for a number that is read at two metres: two by two on a sheet, never on a roll
# of thermal paper, which turns black under the iron.
PAPERS = {
    "claim": PaperKind("Claim ticket", SHEETS | ROLLS),
    "tags": PaperKind("Garment tags", CARDS | {"A4", "Letter"}),
    "work": PaperKind("Work sheet", SHEETS),
    "agreement": PaperKind("Agreement", SHEETS),
    "invoice": PaperKind("Invoice", SHEETS),
    "receipt": PaperKind("Receipt", SHEETS | ROLLS | {"A6", "4x6"}),
    "lists": PaperKind("Lists and notices", SHEETS),
}


def could_lie(paper: str, kind: str) -> bool:
    """Whether the paper is made for some size of that kind of printer."""
    return any(SIZES[size].kind == kind for size in PAPERS[paper].sizes)


AT_DROP_OFF = ("claim", "tags")


@dataclass(frozen=True)
class Printer:
    name: str
    size: str
    papers: tuple[str, ...]

    @property
    def kind(self) -> str:
        return SIZES[self.size].kind

    @property
    def plain(self) -> dict[str, Any]:
        """As the profile keeps it."""
        return {"name": self.name, "size": self.size, "papers": list(self.papers)}


def usual_printers(sheet: str) -> list[dict[str, Any]]:
    """A printer of sheets, and cards for the tags."""
    others = tuple(key for key in PAPERS if key != "tags")
    printers = (
        Printer(USUAL_NAME[SHEET], sheet, others),
        Printer(USUAL_NAME[CARD], USUAL_SIZE[CARD], ("tags",)),
    )
    return [printer.plain for printer in printers]


def printers_of(studio: Profile) -> list[Printer]:
    """The studio's printers in their order; the usual ones until the owner has said which."""
    return [
        Printer(it["name"], it["size"], tuple(it["papers"]))
        for it in studio.printers or usual_printers(studio.paper)
    ]


def size_of(studio: Profile, paper: str) -> str:
    """The size in the printer in which a paper lies; the sheet where it lies in none."""
    sizes = (it.size for it in printers_of(studio) if paper in it.papers)
    return next(sizes, sheet_of(studio))


def sheet_of(studio: Profile) -> str:
    """The size of the studio's sheets."""
    return _first(studio, SHEETS, studio.paper)


def roll_of(studio: Profile) -> str:
    """The size of the studio's roll, 80 mm where it has none."""
    return _first(studio, ROLLS, "roll")


def _first(studio: Profile, sizes: Collection[str], usual: str) -> str:
    return next((it.size for it in printers_of(studio) if it.size in sizes), usual)
