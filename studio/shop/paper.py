"""Paper: a template and plain data become a PDF. Issued papers are kept in ``paper_store``.

WeasyPrint lays out one document at a time behind a lock, with one font configuration and parsed
style sheets shared by all (threads gain nothing, see its documentation on performance). Nothing is
fetched: style sheets are read from the static files here, pictures come as bytes.
"""

from collections.abc import Mapping, Sequence
from copy import copy
from dataclasses import dataclass, replace
from functools import lru_cache
from math import ceil
from pathlib import Path
from threading import Lock
from typing import Any
from zoneinfo import ZoneInfo

from django.contrib.staticfiles import finders
from django.template.loader import render_to_string
from django.utils import timezone
from weasyprint import CSS, HTML, Document
from weasyprint.text.fonts import FontConfiguration
from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse

from studio.shop.money import format_money

VARIANT = "pdf/ua-1"  # ISO 14289-1: tagged, with title and language, for those who listen to it.
MM_PER_PIXEL = 25.4 / 96  # CSS Values and Units, section 6.2: 1 in is 96 px.
USUAL_WIDTH = 12  # letters of a price that its column has room for
FONTS = FontConfiguration()
LOCK = Lock()


class PaperError(ValueError):
    """A paper asks for something that may not be fetched, or is too long for its roll."""


@dataclass(frozen=True)
class Page:
    """A size of paper in millimetres. ``side`` and ``top`` are margins that stay white.

    ``foot`` at the bottom is kept for the line that tells the pages apart, ``sheet`` is the style
    sheet of such papers.
    """

    name: str
    width: float
    height: float
    side: float
    top: float
    foot: float
    sheet: str

    @property
    def css(self) -> str:
        return (
            f"@page {{ size: {self.width}mm {self.height}mm; "
            f"margin: {self.top}mm {self.side}mm {self.top + self.foot}mm }}"
        )


# ISO 216 gives the A sizes, ANSI/ASME Y14.1 the Letter (8.5 x 11 in), whose half is 5.5 x 8.5 in.
# A4 and Letter hold the same 184 x 254 mm: what both keep inside half an inch of margin. The roll
# is 80 mm wide, of which 72 can be printed; its height is fitted to the text, from a first one
# longer than any slip.
PAGES = {
    page.name: page
    for page in (
        Page("A4", 210, 297, 13, 21.5, 6, "sheet"),
        Page("Letter", 215.9, 279.4, 15.95, 12.7, 6, "sheet"),
        Page("A5", 148, 210, 10, 10, 5, "sheet"),
        Page("half-letter", 139.7, 215.9, 10, 10, 5, "sheet"),
        Page("A6", 105, 148, 6, 5, 0, "tag"),
        Page("A7", 74, 105, 5, 4, 0, "tag"),
        Page("roll", 80, 5000, 4, 4, 0, "roll"),
    )
}


def render(
    template: str,
    context: Mapping[str, Any],
    *,
    title: str,
    language: str,
    page: str,
    pictures: Mapping[str, bytes] | None = None,
    sheet: str = "",
) -> bytes:
    """The PDF of one template. See ``lay_out`` for the arguments."""
    laid = lay_out(
        template,
        context,
        title=title,
        language=language,
        page=page,
        pictures=pictures,
        sheet=sheet,
    )
    return write([laid], title=title)


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
    facts = {**context, "title": title, "language": language, "page": page}
    with timezone.override(ZoneInfo(context["studio"].time_zone)):
        text = render_to_string(template, facts)
    html = HTML(
        string=text,
        base_url="memory:",
        url_fetcher=PictureFetcher(pictures or {}),
    )
    size = replace(PAGES[page], sheet=sheet or PAGES[page].sheet)
    laid = _lay_out(html, size)
    if page != "roll":
        return laid
    if len(laid.pages) > 1:
        raise PaperError(f"This slip is longer than {size.height / 1000:.0f} metres of roll.")
    end = laid.pages[0].anchors["end"][1] * MM_PER_PIXEL
    # Up to a whole millimetre, so that no rounding pushes the last line off the page.
    return _lay_out(html, replace(size, height=ceil(end + size.top)))


def write(documents: Sequence[Document], *, title: str) -> bytes:
    """One PDF with the pages of all ``documents`` in their order, in the language of the first."""
    pages = [page for document in documents for page in document.pages]
    whole = documents[0].copy(pages)
    whole.metadata = copy(whole.metadata)
    whole.metadata.title = title
    with LOCK:
        pdf: bytes = whole.write_pdf(pdf_variant=VARIANT)
    return pdf


def _lay_out(html: HTML, size: Page) -> Document:
    with LOCK:
        sheets = [_sheet("paper.css"), _sheet(f"paper-{size.sheet}.css"), _page_rule(size)]
        try:
            return html.render(font_config=FONTS, stylesheets=sheets, pdf_variant=VARIANT)
        except FatalURLFetchingError as refused:  # a BaseException, which no page would survive
            raise PaperError(str(refused)) from refused


@lru_cache(maxsize=64)
def _page_rule(size: Page) -> CSS:
    return CSS(string=size.css, font_config=FONTS)


@lru_cache
def _sheet(name: str) -> CSS:
    path = finders.find(f"studio/{name}")
    if path is None:
        raise PaperError(f"The style sheet {name} is missing.")
    return CSS(string=Path(path).read_text(), font_config=FONTS, url_fetcher=PictureFetcher({}))


def needs_width(largest: int, currency: str, locale: str) -> bool:
    """Whether the columns of prices up to ``largest`` (minor units) have to be wide ones."""
    return len(format_money(largest, currency, locale)) > USUAL_WIDTH


class PictureFetcher(URLFetcher):
    """Gives the pictures it was made with, by ``memory:name``; everything else is refused."""

    def __init__(self, pictures: Mapping[str, bytes]) -> None:
        super().__init__(allowed_protocols=(), fail_on_errors=True)
        self.pictures = pictures

    def fetch(self, url: str, headers: Mapping[str, str] | None = None) -> URLFetcherResponse:
        scheme, _, name = url.partition(":")
        if scheme != "memory" or name not in self.pictures:
            raise PaperError(f"A paper may not fetch {url}.")
        return URLFetcherResponse(url, self.pictures[name])
