"""Papers read by others than the program that wrote them: pypdf, pdfplumber, pdfium, zxing-cpp."""

import gc
import io
import logging
import re
from collections import OrderedDict
from collections.abc import Callable, Hashable, Iterator, Sequence
from contextlib import contextmanager
from functools import lru_cache
from itertools import pairwise
from typing import Any
from weakref import WeakKeyDictionary

import pdfplumber
import pypdf
import pypdfium2
import zxingcpp
from pdfminer.layout import LTChar, LTContainer
from pdfplumber.utils import extract_words
from PIL import Image
from pypdf.generic import StreamObject
from pypdfium2 import raw

from studio.shop.paper import PAGES, typesetting

MM_PER_POINT = 25.4 / 72  # ISO 32000-1, 8.3.2.3: one unit of user space is 1/72 inch.
DOTS_PER_MM = 10
MOST_KEPT = 200

Box = tuple[float, float, float, float]


@contextmanager
def complaints() -> Iterator[list[str]]:
    """What the renderer warns of: an unknown property, a missing picture, a tag."""
    heard: list[str] = []
    handler = logging.Handler(logging.WARNING)
    handler.emit = lambda record: heard.append(record.getMessage())  # type: ignore[method-assign]
    logger = logging.getLogger("weasyprint")
    logger.addHandler(handler)
    try:
        yield heard
    finally:
        logger.removeHandler(handler)


@contextmanager
def no_complaints() -> Iterator[list[str]]:
    """Fails when the renderer warns of anything."""
    with complaints() as heard:
        yield heard
    assert not heard, "; ".join(heard)


class Proof:
    """A paper that is not laid out: its words and pictures' names as the press would get them.

    Laying out takes by far the most time of a paper and changes no word of it.
    """

    def __init__(self, text: str) -> None:
        self.text = text
        self.anchors = {"end": (0, 0)}

    @property
    def pages(self) -> list["Proof"]:
        """All of it fits on one."""
        return [self]


class Press:
    """Lays out and binds each paper once: what is asked for again in another test is the same.

    A paper of which the renderer complains is rendered again each time, so that everybody hears it.
    For tests that read no paper it gives ``proofs`` in place of PDFs: HTML.
    """

    def __init__(self) -> None:
        self.on = True
        self.proofs = False
        self.typeset, self.bind = typesetting.typeset, typesetting.bind
        self.laid: OrderedDict[Hashable, Any] = OrderedDict()
        self.bound: OrderedDict[Hashable, bytes] = OrderedDict()
        self.keys: WeakKeyDictionary[Any, Hashable] = WeakKeyDictionary()

    def typeset_once(self, text: str, **how: Any) -> Any:
        if self.proofs:
            return Proof(text)
        pictures = frozenset(how["pictures"].items())
        key = (text, how["page_rule"], how["sheet"], pictures)
        document = self._once(self.laid, key, lambda: self.typeset(text, **how))
        self.keys[document] = key
        return document

    def bind_once(self, documents: Sequence[Any], *, title: str, enclosed: Any = None) -> bytes:
        if isinstance(documents[0], Proof):
            return "".join(document.text for document in documents).encode()
        key = (title, enclosed, *(self.keys[document] for document in documents))
        how = {"title": title, "enclosed": enclosed}
        return self._once(self.bound, key, lambda: self.bind(documents, **how))

    def clear(self) -> None:
        """Give back what the renderer's libraries hold while they are still there to take it."""
        self.laid.clear()
        self.bound.clear()
        gc.collect()

    def _once(self, kept: OrderedDict, key: Hashable, make: Callable[[], Any]) -> Any:
        if self.on and key in kept:
            kept.move_to_end(key)
            return kept[key]
        with complaints() as heard:
            made = make()
        if not heard:
            kept[key] = made
            if len(kept) > MOST_KEPT:
                kept.popitem(last=False)
        return made


def reader(pdf: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(pdf))


def all_in(pdf: bytes) -> str:
    """What can be read of a PDF: its text, and beside it title, descriptions and files enclosed."""
    held = [text(pdf)]
    read = reader(pdf)
    for number in range(1, int(read.trailer["/Size"])):
        held += _strings(read.get_object(number))
    return "\n".join(held)


def _strings(thing: Any) -> Iterator[str]:
    if isinstance(thing, StreamObject) and thing.get("/Type") in {"/EmbeddedFile", "/Metadata"}:
        yield thing.get_data().decode("utf-8", "replace")
    if isinstance(thing, str):
        yield str(thing)
    elif isinstance(thing, dict | list):
        # Not through references: every object is asked by its number.
        for part in thing.values() if isinstance(thing, dict) else thing:
            yield from _strings(part)


@lru_cache(maxsize=8)
def sizes(pdf: bytes) -> list[tuple[float, float]]:
    """Width and height of each page in mm, to a tenth."""
    return [
        (
            round(width * MM_PER_POINT, 1),
            round(height * MM_PER_POINT, 1),
        )
        for width, height in (page.get_size() for page in pypdfium2.PdfDocument(pdf))
    ]


@lru_cache(maxsize=4)
def texts(pdf: bytes) -> list[str]:
    """The text of each page by pdfium, lines joined, no-break spaces as spaces."""
    document = pypdfium2.PdfDocument(pdf)
    found = [page.get_textpage().get_text_bounded() for page in document]
    return [" ".join(text.replace("\N{NO-BREAK SPACE}", " ").split()) for text in found]


def text(pdf: bytes) -> str:
    return " ".join(texts(pdf))


@lru_cache(maxsize=4)
def letters_and_words(pdf: bytes) -> list[tuple[list[dict[str, Any]], list[dict[str, Any]]]]:
    """The letters of each page as they were drawn, and its words by pdfplumber, in points.

    Of Latin letters pdfium says what pdfplumber says (tested), in a tenth of the time. Others it
    puts into the order in which they are read, and some pictures it passes over.
    """
    pages = pypdfium2.PdfDocument(pdf)
    letters = [letters_by_pdfium(page) for page in pages]
    if any(NOT_LATIN.match(letter["text"]) for page in letters for letter in page):
        letters = letters_by_pdfplumber(pdf)
    return [(page, extract_words(page)) for page in letters]


# Scripts from Hebrew on that join or run to the left, pictures, and half of a letter of two.
NOT_LATIN = re.compile("[\u0590-\u1fff\u2600-\U0010ffff]")
HYPHEN_AT_THE_END = "\x02"


def letters_by_pdfium(page: pypdfium2.PdfPage) -> list[dict[str, Any]]:
    """As ``letters_by_pdfplumber``. The blanks and line ends that pdfium guesses are left out."""
    text, height = page.get_textpage(), page.get_height()
    box, turned = raw.FS_RECTF(), raw.FS_MATRIX()
    letters = []
    for place in range(text.count_chars()):
        if raw.FPDFText_IsGenerated(text, place):
            continue
        raw.FPDFText_GetLooseCharBox(text, place, box)
        raw.FPDFText_GetMatrix(text, place, turned)
        letter = chr(raw.FPDFText_GetUnicode(text, place))
        size = raw.FPDFText_GetFontSize(text, place) * abs(turned.d)
        bottom = height - box.bottom
        letters.append(
            {
                "text": "-" if letter == HYPHEN_AT_THE_END else letter,
                "size": size,
                "upright": not turned.b,
                "x0": box.left,
                "x1": box.right,
                "top": bottom - size,
                "bottom": bottom,
                "doctop": bottom - size,
            }
        )
    return letters


def letters_by_pdfplumber(pdf: bytes) -> list[list[dict[str, Any]]]:
    with pdfplumber.open(io.BytesIO(pdf)) as document:
        return [letters_of(page) for page in document.pages]


def letters_of(page: pdfplumber.page.Page) -> list[dict[str, Any]]:
    """What ``page.chars`` tells of each letter, but for its font and colours: those take long."""
    height = page.height + page.mediabox[1]
    return [
        {
            "text": letter.get_text(),
            "size": letter.size,
            "upright": letter.upright,
            "x0": letter.x0 + page.mediabox[0],
            "x1": letter.x1 + page.mediabox[0],
            "top": height - letter.y1,
            "bottom": height - letter.y0,
            "doctop": page.initial_doctop + height - letter.y1,
        }
        for letter in letters_in(page.layout)
    ]


def letters_in(container: LTContainer) -> Iterator[LTChar]:
    for item in container:
        if isinstance(item, LTContainer):
            yield from letters_in(item)
        elif isinstance(item, LTChar):
            yield item


def words(pdf: bytes) -> list[list[dict[str, Any]]]:
    """The words of each page with their boxes in mm (x0, x1, top, bottom), by pdfplumber."""
    return [
        [
            {
                "text": word["text"],
                **{side: word[side] * MM_PER_POINT for side in ("x0", "x1", "top", "bottom")},
            }
            for word in words
        ]
        for _, words in letters_and_words(pdf)
    ]


@lru_cache(maxsize=12)
def picture(pdf: bytes, page: int) -> Image.Image:
    """A page in grey, ten dots to the millimetre, drawn by pdfium."""
    return drawn(pdf, page, DOTS_PER_MM * 25.4)


def drawn(pdf: bytes, page: int, dots: float) -> Image.Image:
    """A page in grey, so many dots to the inch."""
    document = pypdfium2.PdfDocument(pdf)
    return document[page].render(scale=dots / 72, grayscale=True).to_pil()


def codes(pdf: bytes) -> list[list[str]]:
    """What zxing-cpp reads off the picture of each page."""
    return [
        [
            code.text
            for code in zxingcpp.read_barcodes(
                picture(pdf, page), formats=zxingcpp.BarcodeFormat.QRCode
            )
        ]
        for page in range(len(sizes(pdf)))
    ]


def inked(pdf: bytes, page: int, box: Box | None = None) -> Box:
    """The box in mm (left, top, right, bottom) around all ink of a page, or of a part of it."""
    drawn = picture(pdf, page)
    left, top, right, bottom = (round(side * DOTS_PER_MM) for side in box or (0, 0, 1e4, 1e4))
    part = drawn.crop((left, top, min(right, drawn.width), min(bottom, drawn.height)))
    found = part.point(lambda grey: 255 if grey < 128 else 0).getbbox()
    assert found, "There is no ink."
    return (
        (left + found[0]) / DOTS_PER_MM,
        (top + found[1]) / DOTS_PER_MM,
        (left + found[2]) / DOTS_PER_MM,
        (top + found[3]) / DOTS_PER_MM,
    )


def margins_broken(pdf: bytes, size: str) -> list[int]:
    """The pages with ink in the margin; letters may hang over by a fifth of a millimetre."""
    page, hang = PAGES[size], 0.2
    found = []
    for number, (width, height) in enumerate(sizes(pdf)):
        left, top, right, bottom = inked(pdf, number)
        if (
            min(left, width - right) < page.side - hang
            or min(top, height - bottom) < page.top - hang
        ):
            found.append(number)
    return found


def printed_over(pdf: bytes) -> list[tuple[str, str]]:
    """Pairs of words of which one covers a third of the other, and of letters likewise.

    Two prices that run into each other are one word to the reader, so letters are looked at too.
    """
    covered = [
        (one["text"], other["text"])
        for page in words(pdf)
        for one, other in at_one_height(page)
        if shared(one, other) > min(area(one), area(other)) / 3
    ]
    return covered + [
        (one["text"], other["text"])
        for page in plain_letters(pdf)
        for one, other in pairwise(page)
        if abs(one["top"] - other["top"]) < 1 and shared(one, other) > area(other) / 3
    ]


# Where a line ends and the next begins inside a figure: in a number, before its unit, between a
# currency and its amount, in the number of a paper, and inside a day or a duration.
UNITS = "cm|mm|m|in|yd|kg|g|h|min|%|€|£|¥|[A-Z]{3}"
MONTHS = "Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sept?|Oct|Nov|Dec"
WEEKDAYS = "Mon|Tue|Wed|Thu|Fri|Sat|Sun"
# What stands below each other in a column: the numbers of rows, whole prices.
COLUMN = re.compile(r"\d{1,2}|[-+]?([€$£¥]|[A-Z]{3} )[\d.,]+")
TAX_NUMBER = re.compile(r"\b[A-Z]{2}\d{8,}$")  # whole; what stands below it is another number
BROKEN = [
    (re.compile(before), re.compile(after))
    for before, after in (
        (r"\d[.,']?$", r"(?!\d{1,2}:\d\d)[.,]?\d"),  # a day and its time may part
        (r"(^|[^A-Za-z])[A-Z]?\d{2}-$", r"\d"),
        (r"\d$", rf"(({UNITS}|{MONTHS})\b|[%€£¥½¼¾⅛⅜⅝⅞])"),
        (r"([€$£¥]|\b[A-Z]{3}|\d h|[-+])$", r"\d"),
        (rf"\b({MONTHS}|{WEEKDAYS}),?$", r"\d"),
        (rf"\b({WEEKDAYS}),?$", rf"({MONTHS})\b"),
        (rf"\b({WEEKDAYS}) \d+ [A-Z][a-z]?$", r"[a-z]{1,2}\b"),  # within the month's name
    )
]


def broken_figures(pdf: bytes) -> list[tuple[str, str]]:
    """Ends and beginnings of lines between which a figure, a day or a duration is broken.

    Numbers of rows and whole prices below each other, such as 9 and 10, are none.
    """
    return [
        (one, other)
        for one, other in wrapped_lines(pdf)
        if not (COLUMN.fullmatch(one) and COLUMN.fullmatch(other))
        and not TAX_NUMBER.search(one)
        and any(before.search(one) and after.match(other) for before, after in BROKEN)
    ]


def wrapped_lines(pdf: bytes) -> Iterator[tuple[str, str]]:
    """Pairs of lines of one paragraph, in the order in which the renderer drew them.

    The second stands below the first at the distance of lines, in letters of the same size, and
    begins, ends or is centred where the first one does.
    """
    for letters, _ in letters_and_words(pdf):
        for one, other in pairwise(runs(letters)):
            size = one[-1]["size"]
            down = other[0]["top"] - one[-1]["top"]
            if abs(other[0]["size"] - size) < 0.1 and 0.8 * size < down < 1.8 * size:
                sides = [edges(run) for run in (one, other)]
                if any(abs(a - b) < 1 for a, b in zip(*sides, strict=True)):
                    yield plain(one), plain(other)


def runs(letters: Sequence[dict[str, Any]]) -> list[list[dict[str, Any]]]:
    """Letters drawn one after the other on one line, without a gap as between columns."""
    found: list[list[dict[str, Any]]] = []
    for letter in letters:
        last = found[-1][-1] if found else None
        if (
            last
            and abs(letter["bottom"] - last["bottom"]) < 3
            and (-1 < letter["x0"] - last["x1"] < 1.5 * last["size"])
        ):
            found[-1].append(letter)
        else:
            found.append([letter])
    return found


def edges(run: Sequence[dict[str, Any]]) -> tuple[float, float, float]:
    left, right = run[0]["x0"], run[-1]["x1"]
    return left, right, (left + right) / 2


def plain(run: Sequence[dict[str, Any]]) -> str:
    return " ".join("".join(letter["text"] for letter in run).split())


def at_one_height(page: list[dict[str, Any]]) -> Iterator[tuple[dict[str, Any], dict[str, Any]]]:
    """The pairs of words of which one begins before the other ends, from the top downwards."""
    downwards = sorted(page, key=lambda word: word["top"])
    for place, one in enumerate(downwards):
        for other in downwards[place + 1 :]:
            if other["top"] >= one["bottom"]:
                break
            yield one, other


def plain_letters(pdf: bytes) -> Iterator[list[dict[str, Any]]]:
    """The ASCII letters of each page, line by line from left to right. Marks of other scripts may
    stand above each other."""
    for letters, _ in letters_and_words(pdf):
        plain = (char for char in letters if char["text"].strip() and char["text"].isascii())
        yield sorted(plain, key=lambda char: (round(char["top"]), char["x0"]))


def area(word: dict[str, Any]) -> float:
    return (word["x1"] - word["x0"]) * (word["bottom"] - word["top"])


def shared(one: dict[str, Any], other: dict[str, Any]) -> float:
    """The area in square millimetres that two words share."""
    across = min(one["x1"], other["x1"]) - max(one["x0"], other["x0"])
    down = min(one["bottom"], other["bottom"]) - max(one["top"], other["top"])
    return max(across, 0) * max(down, 0)
