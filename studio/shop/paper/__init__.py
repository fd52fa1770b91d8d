"""Paper: a template and plain data become a PDF, and what was issued is kept as it is.

Issued papers are files that are given out byte for byte and never rendered again. How a page is
laid out stands in ``typesetting``, which is loaded when the first paper is asked for.
"""

import hashlib
import io
import logging
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import lru_cache
from math import ceil
from secrets import token_urlsafe
from typing import Any, Protocol
from zoneinfo import ZoneInfo

import segno
from django.http import HttpResponse
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.text import slugify
from segno.helpers import make_epc_qr

from studio.shop.models import StoredPaper
from studio.shop.money import format_money
from studio.shop.stored.files import FilePiece, atomic_with_files, save_with_file
from studio.shop.text import figures_whole
from studio.shop.words import Words

logger = logging.getLogger(__name__)

MM_PER_PIXEL = 25.4 / 96  # CSS Values and Units, section 6.2: 1 in is 96 px.
MOST_TIGHTENED = 3  # pages; of more, one less is nothing
PAGE_OF = "page {page} of {pages}"
USUAL_WIDTH = 12  # letters of a price that its column has room for
# One module is 8 dots, which the style sheet prints at 406.4 dots per inch: exactly 0.5 mm, four
# dots of a 203 dpi printer. 0.4 mm is the least that is read in the hand (common practice).
DOTS_PER_MODULE = 8
QUIET_ZONE = 4  # modules of white on each side, as the standard asks


class PaperError(ValueError):
    """A paper asks for something that may not be fetched, or is too long for its roll."""


class Document(Protocol):
    """A paper that is laid out: its pages can be counted, and ``write`` makes a PDF of them."""

    pages: Sequence[Any]


@dataclass(frozen=True)
class Page:
    """A size of paper in millimetres. ``side`` and ``top`` are margins that stay white.

    ``foot`` at the bottom is kept for the line that tells the pages apart, ``sheet`` is the style
    sheet of such papers. On a roll the height is fitted to the text. ``foot_words`` tell the pages
    apart in the paper's language.
    """

    name: str
    width: float
    height: float
    side: float
    top: float
    foot: float
    sheet: str
    foot_words: str = ""

    @property
    def css(self) -> str:
        return (
            f"@page {{ size: {self.width}mm {self.height}mm; "
            f"margin: {self.top}mm {self.side}mm {self.top + self.foot}mm; {self._foot_css} }}"
        )

    @property
    def _foot_css(self) -> str:
        """``Seite 1 von 2`` in the margin; English is in the style sheet."""
        if self.foot_words in {"", PAGE_OF}:
            return ""
        parts = re.split(r"\{(pages?)\}", self.foot_words)
        content = " ".join(
            f"counter({part})" if place % 2 else f'"{_in_css(part)}"'
            for place, part in enumerate(parts)
        )
        return f"@bottom-right {{ content: {content} }}"


def _in_css(text: str) -> str:
    """Inside a string of CSS (CSS Syntax, 4.3.7): all but letters, digits and spaces by number."""
    return "".join(
        letter if letter.isalnum() or letter == " " else f"\\{ord(letter):06x}" for letter in text
    )


# ISO 216 gives the A sizes, ANSI/ASME Y14.1 the Letter (8.5 x 11 in), whose half is 5.5 x 8.5 in.
# A4 and Letter hold the same 184 x 254 mm: what both keep inside half an inch of margin. Cards are
# also 3 x 5 and 4 x 6 in. A roll is 80 mm wide, of which 72 can be printed, or 58 mm, of which 48
# can (common practice); its height is fitted to the text, from a first one longer than any slip. A
# tag on a roll of labels of 62 mm is 100 mm long. ``quarter`` is what one of four tags on a sheet
# has: half of what A4 and Letter both hold above their foot.
PAGES = {
    page.name: page
    for page in (
        Page("A4", 210, 297, 13, 21.5, 6, "sheet"),
        Page("Letter", 215.9, 279.4, 15.95, 12.7, 6, "sheet"),
        Page("A5", 148, 210, 10, 10, 5, "sheet"),
        Page("half-letter", 139.7, 215.9, 10, 10, 5, "sheet"),
        Page("A4-folded", 297, 210, 10, 10, 0, "list"),
        Page("Letter-folded", 279.4, 215.9, 10, 10, 0, "list"),
        Page("A5-across", 210, 148, 8, 8, 0, "list"),
        Page("half-letter-across", 215.9, 139.7, 8, 8, 0, "list"),
        Page("A6", 105, 148, 6, 5, 0, "tag"),
        Page("A7", 74, 105, 5, 4, 0, "tag"),
        Page("3x5", 76.2, 127, 5, 4, 0, "tag"),
        Page("4x6", 101.6, 152.4, 5, 5, 0, "tag"),
        Page("label-62", 62, 100, 2, 3, 0, "tag"),
        Page("quarter", 92, 124, 4, 4, 0, "tag"),
        Page("roll", 80, 5000, 4, 4, 0, "roll"),
        Page("roll-58", 58, 5000, 5, 4, 0, "roll"),
    )
}


@dataclass(frozen=True)
class Enclosure:
    """A file inside a PDF, which then is PDF/A-3 (ISO 19005-3) as well as tagged.

    ``metadata`` is RDF about it, in XML, with the descriptions of its own terms.
    """

    name: str
    content: bytes
    description: str
    metadata: bytes


def render(
    template: str,
    context: Mapping[str, Any],
    *,
    title: str,
    language: str,
    page: str,
    pictures: Mapping[str, bytes] | None = None,
    sheet: str = "",
    enclosed: Enclosure | None = None,
) -> bytes:
    """The PDF of one template, with a file inside. See ``lay_out`` for the other arguments."""
    laid = lay_out_snug(
        template,
        context,
        title=title,
        language=language,
        page=page,
        pictures=pictures,
        sheet=sheet,
    )
    return write([laid], title=title, enclosed=enclosed)


def lay_out(
    template: str,
    context: Mapping[str, Any],
    *,
    title: str,
    language: str,
    page: str,
    pictures: Mapping[str, bytes] | None = None,
    sheet: str = "",
) -> Document:
    """Lay out a template on ``page``, a name in ``PAGES``; its pages can be counted and written.

    The template extends ``shop/papers/base.html``; ``language`` is a BCP 47 tag. The context's
    ``studio`` is the profile or the frozen facts of it; times are told in its zone. Each picture is
    shown as ``memory:name``. ``sheet`` names a style sheet in place of the one that such pages
    usually have. On the roll the template ends with an element of the id ``end``, to which the
    height of the one page is fitted. Raises PaperError when it asks for anything else.
    """
    facts = {**context, "on_paper": True, "title": title, "language": language, "page": page}
    with timezone.override(ZoneInfo(context["studio"].time_zone)):
        text = figures_whole(
            render_to_string(template, facts), context["studio"].locale, paper=True
        )
    size = replace(PAGES[page], sheet=sheet or PAGES[page].sheet)
    words = context.get("words")
    if size.sheet == "sheet" and isinstance(words, Words):
        size = replace(size, foot_words=words.text(PAGE_OF))
    laid = _typeset(text, size, pictures or {})
    if PAGES[page].sheet != "roll":
        return laid
    if len(laid.pages) > 1:
        raise PaperError(f"This slip is longer than {size.height / 1000:.0f} metres of roll.")
    end = laid.pages[0].anchors["end"][1] * MM_PER_PIXEL
    # Up to a whole millimetre, so that no rounding pushes the last line off the page.
    return _typeset(text, replace(size, height=ceil(end + size.top)), pictures or {})


def lay_out_snug(template: str, context: Mapping[str, Any], **how: Any) -> Document:
    """As ``lay_out``; set tighter (the class ``snug``) where that saves the last of a few pages."""
    laid = lay_out(template, context, **how)
    if 1 < len(laid.pages) <= MOST_TIGHTENED:
        snug = lay_out(template, {**context, "snug": True}, **how)
        if len(snug.pages) < len(laid.pages):
            return snug
    return laid


def _typeset(text: str, size: Page, pictures: Mapping[str, bytes]) -> Document:
    from studio.shop.paper import typesetting  # noqa: PLC0415 -- it takes a second to load

    try:
        laid: Document = typesetting.typeset(
            text, page_rule=size.css, sheet=size.sheet, pictures=pictures
        )
    except typesetting.RefusedError as refused:
        raise PaperError(str(refused)) from refused
    return laid


def write(documents: Sequence[Document], *, title: str, enclosed: Enclosure | None = None) -> bytes:
    """One PDF with the pages of all ``documents`` in their order, in the language of the first."""
    from studio.shop.paper.typesetting import bind  # noqa: PLC0415 -- it takes a second to load

    return bind(documents, title=title, enclosed=enclosed)


def needs_width(largest: int, currency: str, locale: str) -> bool:
    """Whether the columns of prices up to ``largest`` (minor units) have to be wide ones."""
    return len(format_money(largest, currency, locale)) > USUAL_WIDTH


@lru_cache(maxsize=32)
def code_png(address: str) -> bytes:
    """A PNG of ``address``, quiet zone included, at error correction level M or better."""
    return _drawn(segno.make_qr(address, error="m"))


def transfer_png(*, holder: str, iban: str, bic: str, amount: Decimal, reference: str) -> bytes:
    """A PNG of the code that fills in a transfer in euro: EPC069-12, version 2, in UTF-8."""
    code = make_epc_qr(
        holder[:70], iban, amount, text=reference[:140], bic=bic or None, encoding="utf-8"
    )  # fmt: skip
    return _drawn(code)


def _drawn(code: segno.QRCode) -> bytes:
    picture = io.BytesIO()
    code.save(picture, kind="png", scale=DOTS_PER_MODULE, border=QUIET_ZONE)
    return picture.getvalue()


def store_paper(name: str, pdf: bytes) -> StoredPaper:
    """Keep a PDF under ``name`` without its ending. Nobody can guess the file's own name."""
    paper = StoredPaper(name=name, sha256=hashlib.sha256(pdf).hexdigest())
    save_with_file(_piece(paper, name, pdf))
    return paper


def _piece(paper: StoredPaper, name: str, pdf: bytes) -> FilePiece:
    return FilePiece(paper.file, f"{slugify(name)}-{token_urlsafe(12)}.pdf", pdf)


def issued_paper(row: Any, field: str, name: str, make: Callable[[], bytes]) -> StoredPaper:
    """The paper in ``field`` of the model's ``row``; made and stored when there is none yet.

    Two who ask at once both render, and both get the one that was stored first.
    """
    paper: StoredPaper | None = getattr(row, field)
    if paper:
        return paper
    pdf = make()
    with atomic_with_files(_piece(StoredPaper(), name, pdf)):
        fresh = type(row).objects.select_for_update().get(pk=row.pk)
        paper = getattr(fresh, field)
        if paper is None:
            paper = store_paper(name, pdf)
            setattr(fresh, field, paper)
            fresh.save(update_fields=[field])
    setattr(row, field, paper)
    return paper


def serve_paper(paper: StoredPaper) -> HttpResponse:
    """The stored file, byte for byte; an answer that says so when it is not what was issued."""
    try:
        with paper.file.open("rb") as file:
            pdf = file.read()
    except OSError:
        pdf = b""
    if hashlib.sha256(pdf).hexdigest() != paper.sha256:
        logger.error("Stored paper %s: %s is missing or damaged.", paper.pk, paper.file.name)
        words = f"The file of “{paper.name}” is missing or damaged. Restore it from a backup."
        return HttpResponse(words, status=500, content_type="text/plain; charset=utf-8")
    return show_pdf(paper.name, pdf)


def show_pdf(name: str, pdf: bytes) -> HttpResponse:
    """A PDF that the browser opens at once."""
    response = HttpResponse(pdf, content_type="application/pdf")
    response.headers["Content-Disposition"] = f'inline; filename="{slugify(name)}.pdf"'
    response.headers["X-Content-Type-Options"] = "nosniff"
    return response
