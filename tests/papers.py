"""Papers read by others than the program that wrote them: pypdf, pdfplumber, pdfium, zxing-cpp."""

import io
import logging
from collections.abc import Iterator
from contextlib import contextmanager
from functools import lru_cache
from itertools import combinations, pairwise
from typing import Any

import pdfplumber
import pypdf
import pypdfium2
import zxingcpp
from PIL import Image

from studio.shop.paper import PAGES

MM_PER_POINT = 25.4 / 72  # ISO 32000-1, 8.3.2.3: one unit of user space is 1/72 inch.
DOTS_PER_MM = 10

Box = tuple[float, float, float, float]


@contextmanager
def no_complaints() -> Iterator[list[str]]:
    """Fails when the renderer warns of anything: an unknown property, a missing picture, a tag."""
    found: list[str] = []
    handler = logging.Handler(logging.WARNING)
    handler.emit = lambda record: found.append(record.getMessage())  # type: ignore[method-assign]
    logger = logging.getLogger("weasyprint")
    logger.addHandler(handler)
    try:
        yield found
    finally:
        logger.removeHandler(handler)
    assert not found, "; ".join(found)


def reader(pdf: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(pdf))


def sizes(pdf: bytes) -> list[tuple[float, float]]:
    """Width and height of each page in mm, to a tenth."""
    return [
        (
            round(float(page.mediabox.width) * MM_PER_POINT, 1),
            round(float(page.mediabox.height) * MM_PER_POINT, 1),
        )
        for page in reader(pdf).pages
    ]


@lru_cache(maxsize=4)
def texts(pdf: bytes) -> list[str]:
    """The text of each page by pdfium, lines joined, no-break spaces as spaces."""
    document = pypdfium2.PdfDocument(pdf)
    found = [page.get_textpage().get_text_bounded() for page in document]
    return [" ".join(text.replace("\N{NO-BREAK SPACE}", " ").split()) for text in found]


def text(pdf: bytes) -> str:
    return " ".join(texts(pdf))


def words(pdf: bytes) -> list[list[dict[str, Any]]]:
    """The words of each page with their boxes in mm (x0, x1, top, bottom), by pdfplumber."""
    with pdfplumber.open(io.BytesIO(pdf)) as document:
        return [
            [
                {
                    "text": word["text"],
                    **{side: word[side] * MM_PER_POINT for side in ("x0", "x1", "top", "bottom")},
                }
                for word in page.extract_words()
            ]
            for page in document.pages
        ]


def picture(pdf: bytes, page: int) -> Image.Image:
    """A page in grey, ten dots to the millimetre, drawn by pdfium."""
    document = pypdfium2.PdfDocument(pdf)
    scale = DOTS_PER_MM * MM_PER_POINT
    return document[page].render(scale=scale).to_pil().convert("L")


def codes(pdf: bytes) -> list[list[str]]:
    """What zxing-cpp reads off the picture of each page."""
    return [
        [
            code.text
            for code in zxingcpp.read_barcodes(
                picture(pdf, page), formats=zxingcpp.BarcodeFormat.QRCode
            )
        ]
        for page in range(len(reader(pdf).pages))
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
        for found in words(pdf)
        for one, other in combinations(found, 2)
        if shared(one, other) > min(area(one), area(other)) / 3
    ]
    return covered + [
        (one["text"], other["text"])
        for found in plain_letters(pdf)
        for one, other in pairwise(found)
        if abs(one["top"] - other["top"]) < 1 and shared(one, other) > area(other) / 3
    ]


def plain_letters(pdf: bytes) -> Iterator[list[dict[str, Any]]]:
    """The ASCII letters of each page, line by line from left to right. Marks of other scripts may
    stand above each other."""
    with pdfplumber.open(io.BytesIO(pdf)) as document:
        for page in document.pages:
            plain = (char for char in page.chars if char["text"].strip() and char["text"].isascii())
            yield sorted(plain, key=lambda char: (round(char["top"]), char["x0"]))


def area(word: dict[str, Any]) -> float:
    return (word["x1"] - word["x0"]) * (word["bottom"] - word["top"])


def shared(one: dict[str, Any], other: dict[str, Any]) -> float:
    """The area in square millimetres that two words share."""
    across = min(one["x1"], other["x1"]) - max(one["x0"], other["x0"])
    down = min(one["bottom"], other["bottom"]) - max(one["top"], other["top"])
    return max(across, 0) * max(down, 0)
