"""How a paper is laid out: the one module that knows WeasyPrint.

It lays out one document at a time behind a lock, with one font configuration and parsed style
sheets shared by all (threads gain nothing, see its documentation on performance). Nothing is
fetched: style sheets are read from the static files here, pictures come as bytes. Loading it takes
a second and tens of megabytes, so ``paper`` imports it when the first paper is asked for.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from copy import copy
from functools import lru_cache, partial
from pathlib import Path
from threading import Lock
from typing import Any
from xml.etree import ElementTree as ET

import pydyf
from django.contrib.staticfiles import finders
from weasyprint import CSS, HTML, Attachment, Document
from weasyprint.pdf.metadata import DocumentMetadata
from weasyprint.text.fonts import FontConfiguration
from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse

from studio.shop.paper import Enclosure

VARIANT_WITH_FILE = "pdf/a-3b"
VARIANT = "pdf/ua-1"  # ISO 14289-1: tagged, with title and language, for those who listen to it.
LETTERS = [f"paper-inter-{weight}.woff2" for weight in (400, 500, 600, 700)]
GROUPS = frozenset({"/THead", "/TBody", "/TFoot"})
ONCE = frozenset({"/H1", "/H2", "/H3", "/P"})
FONTS = FontConfiguration()
LOCK = Lock()


class RefusedError(ValueError):
    """A paper asks for something that may not be fetched."""


class PictureFetcher(URLFetcher):
    """Gives the pictures it was made with, by ``memory:name``; everything else is refused."""

    def __init__(self, pictures: Mapping[str, bytes]) -> None:
        super().__init__(allowed_protocols=(), fail_on_errors=True)
        self.pictures = pictures

    def fetch(self, url: str, headers: Mapping[str, str] | None = None) -> URLFetcherResponse:
        scheme, _, name = url.partition(":")
        if scheme != "memory" or name not in self.pictures:
            raise RefusedError(f"A paper may not fetch {url}.")
        return URLFetcherResponse(url, self.pictures[name])


def typeset(text: str, *, page_rule: str, sheet: str, pictures: Mapping[str, bytes]) -> Document:
    """HTML on pages of the CSS ``page_rule``, in the style of ``paper.css`` and of ``sheet``.

    Raises RefusedError when it asks for anything but its ``pictures``.
    """
    # A sign of our own is drawn: no font that the program brings along has it.
    own = {"scissors": _static("paper-scissors.svg")}
    html = HTML(string=text, base_url="memory:", url_fetcher=PictureFetcher({**own, **pictures}))
    with LOCK:
        sheets = [_sheet("paper.css"), _sheet(f"paper-{sheet}.css"), _page_rule(page_rule)]
        try:
            return html.render(font_config=FONTS, stylesheets=sheets, pdf_variant=VARIANT)
        except FatalURLFetchingError as refused:  # a BaseException, which no page would survive
            raise RefusedError(str(refused)) from refused


def bind(documents: Sequence[Any], *, title: str, enclosed: Enclosure | None = None) -> bytes:
    """One PDF with the pages of all ``documents`` in their order, in the language of the first.

    With a file ``enclosed`` it is PDF/A-3 and says so, and keeps its tags.
    """
    pages = [page for document in documents for page in document.pages]
    whole = documents[0].copy(pages)
    whole.metadata = copy(whole.metadata)
    whole.metadata.title = title
    options: dict[str, Any] = {"pdf_variant": VARIANT, "finisher": _finish}
    if enclosed:
        whole.metadata.generate_rdf_metadata = partial(_described, whole.metadata, enclosed)
        file = Attachment(
            string=enclosed.content.decode(),
            name=enclosed.name,
            description=enclosed.description,
            relationship="Alternative",
        )
        options = {
            "pdf_variant": VARIANT_WITH_FILE,
            "pdf_tags": True,
            "attachments": [file],
            "finisher": _finish,
        }
    with LOCK:
        pdf: bytes = whole.write_pdf(**options)
    return pdf


def _finish(document: Document, pdf: Any) -> None:
    """Put right in the file what PDF/UA-1 asks for and the renderer leaves open."""
    if "AF" in pdf.catalog:  # it names a file twice among those that belong to the document
        pdf.catalog["AF"] = type(pdf.catalog["AF"])(dict.fromkeys(pdf.catalog["AF"]))
    tree = TagTree(pdf)
    reached = set(tree.tidied())
    by_page = dict(zip(tree.numbers[::2], tree.numbers[1::2], strict=True))
    for number, reference in enumerate(pdf.page_references):
        elements = by_page[number]
        unlinked = {at for at, element in enumerate(elements) if element not in reached}
        if unlinked:
            page = tree.by_reference[reference]
            _make_artifacts(tree.by_reference[page["Contents"]].stream, unlinked)
            by_page[number][:] = [
                b"null" if at in unlinked else element for at, element in enumerate(elements)
            ]


class TagTree:
    """The structure of a file that is about to be written; ``numbers`` lead from marks to it."""

    def __init__(self, pdf: Any) -> None:
        self.pdf = pdf
        self.by_reference = {item.reference: item for item in pdf.objects}
        self.root = self.by_reference[pdf.catalog["StructTreeRoot"]]
        self.numbers = self.by_reference[self.root["ParentTree"]]["Nums"]

    def tidied(self) -> Iterator[bytes]:
        """The references of all elements that stand in the tree, each put right."""
        return self._walk(self.root, "")

    def kids(self, element: Any) -> list[Any]:
        """The elements below; marks and links, which stand there too, are left out."""
        found = (self.by_reference.get(kid) for kid in element["K"] if isinstance(kid, bytes))
        return [kid for kid in found if kid is not None and kid.get("Type") == "/StructElem"]

    def _walk(self, parent: Any, kind: str) -> Iterator[bytes]:
        """No heading or paragraph stands in one of its kind (7.4), none is empty, each heading of a
        table says whether it heads a row or a column (7.5), and a point of a list has a body (7.6).
        """
        empty = {kid.reference for kid in self.kids(parent) if kid["S"] == "/P" and not kid["K"]}
        parent["K"][:] = [kid for kid in parent["K"] if kid not in empty]
        for element in self.kids(parent):
            if element["S"] == kind and kind in ONCE:
                element["S"] = "/NonStruct"
            elif element["S"] == "/Table":
                self._fill_rows(element)
            elif element["S"] == "/TR":
                cells = self.kids(element)
                heads = [cell for cell in cells if cell["S"] == "/TH"]
                for cell in heads:
                    cell["A"]["Scope"] = "/Row" if len(heads) < len(cells) else "/Column"
            elif element["S"] == "/LI":
                self._give_body(element)
            yield element.reference
            yield from self._walk(element, element["S"])

    def _fill_rows(self, table: Any) -> None:
        """Where cells are set as blocks, the one cell of a row is as wide as the others' all."""
        parts = self.kids(table)
        rows = [part for part in parts if part["S"] == "/TR"]
        rows += [row for part in parts if part["S"] in GROUPS for row in self.kids(part)]
        cells = [[cell["A"] for cell in self.kids(row)] for row in rows]
        widths = [sum(cell.get("ColSpan", 1) for cell in row) for row in cells]
        for row, width in zip(cells, widths, strict=True):
            if len(row) == 1 and width < max(widths):
                row[0]["ColSpan"] = max(widths)

    def _give_body(self, point: Any) -> None:
        """What stands beside the number of a point is its body."""
        beside = [kid for kid in self.kids(point) if kid["S"] not in {"/Lbl", "/LBody"}]
        if not beside:
            return
        body = pydyf.Dictionary({
            "Type": "/StructElem", "S": "/LBody", "P": point.reference, "Pg": point["Pg"],
            "K": pydyf.Array(kid.reference for kid in beside),
        })  # fmt: skip
        self.pdf.add_object(body)
        self.by_reference[body.reference] = body
        for kid in beside:
            kid["P"] = body.reference
        moved = set(body["K"])
        point["K"][:] = [kid for kid in point["K"] if kid not in moved] + [body.reference]


def _make_artifacts(stream: list[Any], marks: Collection[int]) -> None:
    """What stands in a margin, as *page 1 of 2*, is no part of the text (7.8); in PDF 1.7 it has no
    place in the tree, but has to say so itself."""
    for place, item in enumerate(stream):
        if isinstance(item, dict) and item.get("MCID") in marks:
            stream[place - 1] = "/Artifact"
            item.clear()
            item["Type"] = "/Pagination"


def _described(
    metadata: DocumentMetadata, enclosed: Enclosure, variant: str, version: int, conformance: str
) -> bytes:
    """The document's metadata and those of the file inside, in the one RDF that XMP allows."""
    rdf = ET.fromstring(  # noqa: S314 -- made here, not read from anybody
        DocumentMetadata.generate_rdf_metadata(metadata, variant, version, conformance)
    )
    rdf.extend(ET.fromstring(enclosed.metadata))  # noqa: S314 -- a file of the program
    described: bytes = ET.tostring(rdf, encoding="utf-8")
    return described


@lru_cache(maxsize=64)
def _page_rule(css: str) -> CSS:
    return CSS(string=css, font_config=FONTS)


@lru_cache
def _sheet(name: str) -> CSS:
    letters = PictureFetcher({name: _static(f"fonts/{name}") for name in LETTERS})
    return CSS(string=_static(name).decode(), font_config=FONTS, url_fetcher=letters)


def _static(name: str) -> bytes:
    path = finders.find(f"studio/{name}")
    if path is None:
        raise RefusedError(f"The file {name} is missing.")
    return Path(path).read_bytes()
