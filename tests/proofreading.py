"""A finished paper as a proof-reader sees it: what is wrong with it, by the readers of others.

pypdf walks the structure, pdfium draws and tells of all that is drawn in which marked content it
stands, zxing-cpp reads codes. What is asked of the structure are the clauses of PDF/UA-1 (ISO
14289-1:2014) that a program can check; a person has to say whether the words are good.
"""

import ctypes
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, ClassVar

import pypdf
import pypdfium2
import zxingcpp
from pypdf.generic import ArrayObject, DictionaryObject, IndirectObject
from pypdfium2 import raw

from studio.shop.paper import PAGES
from tests import papers

# What a thermal printer of 203 dots to the inch and an old one, or a fax, of 100 make of a page:
# dots that are black or white.
DOTS = (203, 100)
CODED = ("Code that",)  # how the words of a picture of a code begin
# ISO 32000-1, 14.8.4: the standard types that papers use.
GROUPS = {"Document", "Part", "Art", "Sect", "Div", "NonStruct"}
BLOCKS = {"H1", "H2", "H3", "H4", "H5", "H6", "P", "L", "LI", "Lbl", "LBody", "Table", "TR", "TH",
          "TD", "THead", "TBody", "TFoot", "Caption"}  # fmt: skip
INLINE = {"Span", "Link", "Figure", "Form", "Note"}
# The one that the program brings along, and for names in other scripts those of .ci/set_up.py.
OURS = re.compile(r"/([A-Z]{6}\+)?(Studio-Inter|DejaVu-Sans|Noto-Color-Emoji|Droid-Sans-Fallback)")
BROUGHT_ALONG = re.compile(r"/([A-Z]{6}\+)?Studio-Inter")


def faults(pdf: bytes, size: str, *, usual: bool = False) -> list[str]:
    """What is wrong with a paper that was printed for ``size``; nothing where it is sound."""
    return [
        *size_faults(pdf, size),
        *text_faults(pdf, size),
        *code_faults(pdf),
        *structure_faults(pdf, usual=usual),
    ]


def size_faults(pdf: bytes, size: str) -> list[str]:
    """One file is for one printer: all pages are of its size."""
    page = PAGES[size]
    fitted = size.startswith("roll")
    wanted = {page.width} if fitted else {(page.width, page.height)}
    found = {width if fitted else (width, height) for width, height in papers.sizes(pdf)}
    return [f"pages of {found} instead of {wanted}"] if found != wanted else []


def text_faults(pdf: bytes, size: str) -> list[str]:
    """Nothing is cut off, printed over or broken, and no letter is below 8 pt."""
    found = [f"ink in the margin of page {page + 1}" for page in papers.margins_broken(pdf, size)]
    sizes = papers.sizes(pdf)
    for number, (letters, _) in enumerate(papers.letters_and_words(pdf)):
        width, height = (side / papers.MM_PER_POINT for side in sizes[number])
        out = [
            letter["text"]
            for letter in letters
            if min(letter["x0"], letter["top"]) < -0.5
            or letter["x1"] > width + 0.5
            or letter["bottom"] > height + 0.5
        ]
        if out:
            found.append(f"page {number + 1} loses {''.join(out)!r}")
        if under := letters_under_pictures(pdf, number, letters):
            found.append(f"page {number + 1}: a picture lies over {under!r}")
    found += [f"printed over: {pair}" for pair in papers.printed_over(pdf)]
    return found + [f"broken: {pair}" for pair in papers.broken_figures(pdf)]


def letters_under_pictures(pdf: bytes, number: int, letters: list[dict[str, Any]]) -> str:
    """Letters of which half lies inside of a picture's quiet zone of 2 mm, or of the picture."""
    page = pypdfium2.PdfDocument(pdf)[number]
    height, quiet = page.get_height(), 2 / papers.MM_PER_POINT
    boxes = [item.get_bounds() for item in page.get_objects(filter=[raw.FPDF_PAGEOBJ_IMAGE])]
    return "".join(
        letter["text"]
        for letter in letters
        for left, low, right, high in boxes
        if right - left > 12 / papers.MM_PER_POINT
        # A coloured letter is a picture of its own, which is no wider than the letter.
        and right - left > 1.5 * (letter["x1"] - letter["x0"])
        and left + quiet < (letter["x0"] + letter["x1"]) / 2 < right - quiet
        and height - high + quiet < (letter["top"] + letter["bottom"]) / 2 < height - low - quiet
    )


def code_faults(pdf: bytes) -> list[str]:
    """Each picture of a code is read off black and white dots."""
    found = []
    for number, drawn in enumerate(pictures_of_codes(pdf)):
        for dots in DOTS:
            read = len(codes_at(pdf, number, dots)) if drawn else 0
            if read != drawn:
                found.append(f"page {number + 1}: {read} of {drawn} codes read at {dots} dpi")
    return found


def codes_at(pdf: bytes, page: int, dots: int) -> list[str]:
    """What zxing-cpp reads off a page of black and white dots, so many to the inch."""
    grey = papers.drawn(pdf, page, dots)
    black = grey.point(lambda value: 255 if value >= 128 else 0)
    read = zxingcpp.read_barcodes(black, formats=zxingcpp.BarcodeFormat.QRCode)
    return [code.text for code in read]


def pictures_of_codes(pdf: bytes) -> list[int]:
    """How many pictures of codes each page has, by their words in the structure."""
    tree = Structure.of(pdf)
    return [
        sum(
            1
            for element in tree.elements
            if element.kind == "Figure" and element.page == page and element.words.startswith(CODED)
        )
        for page in range(tree.pages)
    ]


@dataclass(eq=False)
class Element:
    """One element of the structure; ``marks`` are the marked contents of a page that it holds."""

    kind: str
    page: int
    words: str
    attributes: dict[str, Any]
    language: str = ""
    marks: set[tuple[int, int]] = field(default_factory=set)
    kids: list["Element"] = field(default_factory=list)

    def within(self) -> Iterator["Element"]:
        for kid in self.kids:
            yield kid
            yield from kid.within()


class Structure:
    """The tree of a tagged file, as pypdf reads it."""

    last: ClassVar[tuple[bytes, "Structure"] | None] = None

    @classmethod
    def of(cls, pdf: bytes) -> "Structure":
        if cls.last is None or cls.last[0] is not pdf:
            cls.last = (pdf, cls(pdf))
        return cls.last[1]

    def __init__(self, pdf: bytes) -> None:
        self.reader = pypdf.PdfReader(io.BytesIO(pdf))
        self.catalog = self.reader.trailer["/Root"]
        self.pages = len(self.reader.pages)
        self.places = {
            page.indirect_reference.idnum: number
            for number, page in enumerate(self.reader.pages)
            if page.indirect_reference
        }
        root = self.catalog.get("/StructTreeRoot", {})
        self.roles = {key[1:]: value[1:] for key, value in root.get("/RoleMap", {}).items()}
        self.tops = [self._element(kid, 0) for kid in listed(root.get("/K"))]
        self.elements = [item for top in self.tops for item in (top, *top.within())]

    def _element(self, reference: Any, page: int) -> Element:
        row = reference.get_object()
        if "/Pg" in row:
            page = self.places[row.raw_get("/Pg").idnum]
        kind = str(row["/S"])[1:]
        attributes: dict[str, Any] = {}
        for group in (one.get_object() for one in listed(row.get("/A"))):
            if isinstance(group, DictionaryObject):
                attributes |= dict(group)
        element = Element(
            self.roles.get(kind, kind), page, str(row.get("/Alt", "")), attributes,
            str(row.get("/Lang", "")),
        )  # fmt: skip
        for one in listed(row.get("/K")):
            if isinstance(one, int):
                element.marks.add((page, int(one)))
                continue
            kid = one.get_object()
            if kid.get("/Type") == "/MCR":
                there = self.places[kid.raw_get("/Pg").idnum] if "/Pg" in kid else page
                element.marks.add((there, int(kid["/MCID"])))
            elif kid.get("/Type") != "/OBJR":
                element.kids.append(self._element(kid, page))
        return element


def listed(row: Any) -> list[Any]:
    if row is None:
        return []
    if isinstance(row, IndirectObject):
        row = row.get_object()
    return list(row) if isinstance(row, ArrayObject) else [row]


def structure_faults(pdf: bytes, *, usual: bool = False) -> list[str]:
    """Against PDF/UA-1: the mark (5), tags for all content (7.1), language (7.2), headings in order
    (7.4), tables with headings that say what they head (7.5), pictures with words (7.3).

    Where its texts are ``usual`` ones a paper embeds the font alone that the program brings along.
    """
    tree = Structure.of(pdf)
    return [
        *mark_faults(tree),
        *heading_faults(tree),
        *table_faults(tree),
        *content_faults(pdf, tree),
        *font_faults(tree, BROUGHT_ALONG if usual else OURS),
    ]


def mark_faults(tree: Structure) -> Iterator[str]:
    catalog = tree.catalog
    metadata = catalog["/Metadata"].get_data() if "/Metadata" in catalog else b""
    asked = {
        "mark of PDF/UA-1": re.search(rb'pdfuaid:part(="1"|>1<)', metadata),
        "title in the metadata": b"dc:title" in metadata,
        "title": tree.reader.metadata and tree.reader.metadata.title,
        "language": catalog.get("/Lang"),
        "mark as tagged": catalog.get("/MarkInfo", {}).get("/Marked"),
        "wish to show the title": catalog.get("/ViewerPreferences", {}).get("/DisplayDocTitle"),
    }
    yield from (f"no {words}" for words, there in asked.items() if not there)
    unknown = {item.kind for item in tree.elements} - GROUPS - BLOCKS - INLINE
    if unknown:
        yield f"tags of no standard: {sorted(unknown)}"
    for item in tree.elements:
        if item.kind == "Figure" and not item.words.strip():
            yield f"a picture on page {item.page + 1} has no words"
        if item.kind == "P" and not (item.kids or item.marks):
            yield f"an empty paragraph on page {item.page + 1}"
        if item.kind == "LI" and any(kid.kind not in {"Lbl", "LBody", "L"} for kid in item.kids):
            yield f"a point of a list on page {item.page + 1} has no body"


def heading_faults(tree: Structure) -> Iterator[str]:
    """They begin with the first level, and none is left out on the way down."""
    levels = [int(item.kind[1]) for item in tree.elements if re.fullmatch("H[1-6]", item.kind)]
    if not levels:
        yield "no heading"
    for item in tree.elements:
        if item.kind.startswith("H") and any(kid.kind in BLOCKS for kid in item.within()):
            yield f"{item.kind} has blocks inside"
    before = 0
    for level in levels:
        if level > before + 1:
            yield f"a heading of level {level} after one of level {before}"
        before = level


def table_faults(tree: Structure) -> Iterator[str]:
    for table in (item for item in tree.elements if item.kind == "Table"):
        cells = [item for item in table.within() if item.kind in {"TH", "TD"}]
        heads = [item for item in cells if item.kind == "TH"]
        if not heads:
            yield f"a table on page {table.page + 1} has no headings"
        if any("/Scope" not in item.attributes for item in heads):
            yield f"a heading of a table on page {table.page + 1} does not say what it heads"
        rows = [item for item in table.within() if item.kind == "TR"]
        widths = {sum(width(cell) for cell in row.kids) for row in rows}
        if len(widths) > 1:
            yield f"rows of {sorted(widths)} cells in a table on page {table.page + 1}"


def width(cell: Element) -> int:
    return int(cell.attributes.get("/ColSpan", 1)) if cell.kind in {"TH", "TD"} else 0


def content_faults(pdf: bytes, tree: Structure) -> Iterator[str]:
    """Everything that is drawn is an artifact or stands in the tree."""
    known = {mark for item in tree.elements for mark in item.marks}
    for number, page in enumerate(pypdfium2.PdfDocument(pdf)):
        drawn = [raw.FPDFPage_GetObject(page, n) for n in range(raw.FPDFPage_CountObjects(page))]
        untagged = [
            KINDS.get(raw.FPDFPageObj_GetType(item), "something")
            for item in drawn
            if not any(mark is ARTIFACT or (number, mark) in known for mark in marks(item))
        ]
        if untagged:
            yield f"page {number + 1}: {len(untagged)} not tagged, {sorted(set(untagged))}"


KINDS = {raw.FPDF_PAGEOBJ_TEXT: "words", raw.FPDF_PAGEOBJ_IMAGE: "pictures",
         raw.FPDF_PAGEOBJ_PATH: "lines"}  # fmt: skip
ARTIFACT = None


def marks(item: Any) -> Iterator[int | None]:
    """The numbers of the marked contents that something drawn stands in."""
    name, size = ctypes.create_string_buffer(64), ctypes.c_ulong()
    found = ctypes.c_int()
    for place in range(raw.FPDFPageObj_CountMarks(item)):
        mark = raw.FPDFPageObj_GetMark(item, place)
        raw.FPDFPageObjMark_GetName(
            mark, ctypes.cast(name, ctypes.POINTER(raw.FPDF_WCHAR)), 64, size
        )
        if name.raw[: size.value].decode("utf-16-le").strip("\0") == "Artifact":
            yield ARTIFACT
        elif raw.FPDFPageObjMark_GetParamIntValue(mark, b"MCID", found):
            yield found.value


def font_faults(tree: Structure, allowed: re.Pattern[str] = OURS) -> Iterator[str]:
    names = {
        str(font.get_object()["/BaseFont"])
        for page in tree.reader.pages
        for font in page["/Resources"].get("/Font", {}).values()
    }
    for name in sorted(names):
        if not allowed.match(name):
            yield f"letters of {name}"
