"""What can be asked of a PDF/A-3 file (ISO 19005-3:2012) without a validator: read by pypdf.

The clauses are those of the standard, their numbers and content from memory. What needs a reading
of every glyph, profile and byte offset (6.1.4, 6.1.9, 6.2.11.5) is not asked here.
"""

import re
from collections.abc import Iterator
from io import BytesIO
from typing import Any

from lxml import etree
from pypdf import PdfReader
from pypdf.generic import (
    ArrayObject,
    DictionaryObject,
    FloatObject,
    IndirectObject,
    NameObject,
    NumberObject,
    StreamObject,
    TextStringObject,
)

ANNOTATIONS = {
    "/Text", "/Link", "/FreeText", "/Line", "/Square", "/Circle", "/Polygon", "/PolyLine",
    "/Highlight", "/Underline", "/Squiggly", "/StrikeOut", "/Stamp", "/Caret", "/Ink", "/Popup",
    "/FileAttachment", "/Widget", "/PrinterMark", "/TrapNet", "/Watermark", "/Redact",
}  # fmt: skip
ACTIONS = {"/GoTo", "/GoToR", "/GoToE", "/Thread", "/URI", "/Named", "/SubmitForm"}
RELATIONSHIPS = {"/Source", "/Data", "/Alternative", "/Supplement", "/Unspecified"}
INTENTS = {"/AbsoluteColorimetric", "/RelativeColorimetric", "/Saturation", "/Perceptual"}
BLENDS = {"/Normal", "/Compatible", "/Multiply", "/Screen", "/Overlay", "/Darken", "/Lighten",
          "/ColorDodge", "/ColorBurn", "/HardLight", "/SoftLight", "/Difference", "/Exclusion",
          "/Hue", "/Saturation", "/Color", "/Luminosity"}  # fmt: skip
PRINT, UNSEEN = 0b100, 0b100100011  # Invisible, Hidden, NoView, ToggleNoView
CMYK = re.compile(rb"(?:^|[\s])(?:[\d.]+\s+){4}[kK](?=\s)|/DeviceCMYK\s+cs\b", re.IGNORECASE)
RDF = "{http://www.w3.org/1999/02/22-rdf-syntax-ns#}"
EXTENSION = "{http://www.aiim.org/pdfa/ns/extension/}schemas"
SCHEMA = "{http://www.aiim.org/pdfa/ns/schema#}"
NAME_OF_PROPERTY = "{http://www.aiim.org/pdfa/ns/property#}name"
PDFA = "{http://www.aiim.org/pdfa/ns/id/}"
PREDEFINED = {
    "http://purl.org/dc/elements/1.1/", "http://ns.adobe.com/xap/1.0/",
    "http://ns.adobe.com/pdf/1.3/", "http://ns.adobe.com/xap/1.0/mm/",
    "http://www.aiim.org/pdfa/ns/id/", "http://www.aiim.org/pdfa/ns/extension/",
}  # fmt: skip
# ISO 14289-1 (PDF/UA) names this one, which PDF/A knows only by a description of it.
UA = "http://www.aiim.org/pdfua/ns/id/"


def archive_faults(pdf: bytes) -> list[str]:
    """What is wrong, each with its clause; nothing where all that is asked holds."""
    reader = PdfReader(BytesIO(pdf), strict=True)
    root = reader.trailer["/Root"]
    objects = list(_objects(reader.trailer))
    return [
        *_file(pdf, reader), *_limits(reader, objects), *_streams(objects), *_colour(reader, root),
        *_graphics(objects), *_fonts(objects), *_annotations(reader), *_actions(root, objects),
        *_metadata(root, reader), *_enclosed(root, objects), *_left_out(root),
    ]  # fmt: skip


def _objects(top: Any) -> Iterator[Any]:
    """Every dictionary, array, string, name and number that can be reached, once."""
    seen: set[tuple[int, int]] = set()
    waiting = [top]
    while waiting:
        item = waiting.pop()
        if isinstance(item, IndirectObject):
            key = (item.idnum, item.generation)
            if key in seen:
                continue
            seen.add(key)
            item = item.get_object()
        yield item
        if isinstance(item, DictionaryObject):
            waiting += [*item.keys(), *(item.raw_get(key) for key in item)]
        elif isinstance(item, ArrayObject):
            waiting += [list.__getitem__(item, at) for at in range(len(item))]


def _file(pdf: bytes, reader: PdfReader) -> Iterator[str]:
    first, second, *_ = pdf.split(b"\n", 2)
    if not re.fullmatch(rb"%PDF-1\.[0-7]\r?", first):
        yield f"6.1.2: the header is {first!r}"
    if not (second.startswith(b"%") and sum(byte > 127 for byte in second[1:5]) == 4):
        yield "6.1.2: no comment of four bytes above 127 follows the header"
    if "/ID" not in reader.trailer:
        yield "6.1.3: the trailer has no ID"
    if "/Encrypt" in reader.trailer:
        yield "6.1.3: the file is encrypted"
    if pdf.rstrip(b"\r\n").rpartition(b"%%EOF")[2]:
        yield "6.1.3: something follows the end of the file"


def _is_true(item: Any) -> bool:
    """Whether it is there and true: pypdf's *false* is an object like any other."""
    return bool(getattr(item, "value", item))


def _limits(reader: PdfReader, objects: list[Any]) -> Iterator[str]:
    for item in objects:
        if isinstance(item, NameObject) and len(item.encode()) > 128:
            yield f"6.1.13: the name {item[:20]} is too long"
        elif isinstance(item, TextStringObject) and len(item.encode("utf-16")) > 32767:
            yield "6.1.13: a string is too long"
        elif isinstance(item, NumberObject | FloatObject) and abs(item) >= 2**31:
            yield f"6.1.13: the number {item} is too large"
    for page in reader.pages:
        if not all(3 <= side <= 14400 for side in (page.mediabox.width, page.mediabox.height)):
            yield "6.1.13: a page is too small or too large"
        depth = most = 0
        for word in re.findall(rb"(?<![^\s])[qQ](?![^\s])", page.get_contents().get_data()):
            depth += 1 if word == b"q" else -1
            most = max(most, depth)
        if most > 28:
            yield f"6.1.13: graphics are nested {most} deep"


def _streams(objects: list[Any]) -> Iterator[str]:
    for item in objects:
        if not isinstance(item, StreamObject):
            continue
        if {"/FFilter", "/FDecodeParms"} & item.keys() or ("/F" in item and "/Type" not in item):
            yield "6.1.7.1: a stream is in another file"
        filters = item.get("/Filter", [])
        if "/LZWDecode" in ([filters] if isinstance(filters, str) else filters):
            yield "6.1.7.2: a stream is packed by LZW"


def _colour(reader: PdfReader, root: Any) -> Iterator[str]:
    intents = [each.get_object() for each in root.get("/OutputIntents", [])]
    ours = [each for each in intents if each.get("/S") == "/GTS_PDFA1"]
    if len(ours) != 1:
        yield f"6.2.3: {len(ours)} output intents of PDF/A"
        return
    profile = ours[0].get("/DestOutputProfile")
    icc = profile.get_object() if profile is not None else None
    if icc is None:
        yield "6.2.3: the output intent has no profile"
        return
    data = icc.get_data()
    spaces = {b"GRAY": 1, b"RGB ": 3, b"CMYK": 4}
    if data[36:40] != b"acsp" or data[8] > 4 or spaces.get(data[16:20]) != icc["/N"]:
        yield "6.2.3: the profile is no ICC profile of its number of colours, or too new"
    if data[12:16] not in {b"prtr", b"mntr", b"scnr", b"spac"}:
        yield "6.2.3: the profile is of another class"
    if data[16:20] != b"CMYK":
        for page in reader.pages:
            if CMYK.search(page.get_contents().get_data()):
                yield "6.2.4.3: colours of print without a profile of print"


def _graphics(objects: list[Any]) -> Iterator[str]:
    for item in objects:
        if not isinstance(item, DictionaryObject):
            continue
        sort = item.get("/Subtype")
        if item.get("/Type") == "/ExtGState":
            yield from _state(item)
        elif sort == "/Image":
            yield from _picture(item)
        elif sort == "/Form" and {"/OPI", "/PS", "/Ref"} & item.keys():
            yield "6.2.9: a form has OPI, PS or Ref"
        if "/PS" in {sort, item.get("/Subtype2")}:
            yield "6.2.9: a PostScript object"
        if {item.get("/RI", "/Perceptual"), item.get("/Intent", "/Perceptual")} - INTENTS:
            yield "6.2.6: a rendering intent that is no standard one"


def _state(item: DictionaryObject) -> Iterator[str]:
    if "/TR" in item or item.get("/TR2", "/Default") != "/Default" or "/HTP" in item:
        yield "6.2.5: a graphics state has a transfer function"
    blends = item.get("/BM", "/Normal")
    if not set([blends] if isinstance(blends, str) else blends) <= BLENDS:
        yield "6.2.10: a way of blending that is no standard one"


def _picture(item: DictionaryObject) -> Iterator[str]:
    if {"/Alternates", "/OPI"} & item.keys() or _is_true(item.get("/Interpolate")):
        yield "6.2.8: a picture has alternates or is interpolated"
    if item.get("/ColorSpace") == "/DeviceCMYK":
        yield "6.2.4.3: a picture in colours of print"


def _fonts(objects: list[Any]) -> Iterator[str]:
    for item in objects:
        if not isinstance(item, DictionaryObject) or item.get("/Type") != "/Font":
            continue
        name, sort = item.get("/BaseFont", "?"), item.get("/Subtype")
        if sort == "/Type0":
            (below,) = item["/DescendantFonts"]
            below = below.get_object()
            if below["/Subtype"] == "/CIDFontType2" and "/CIDToGIDMap" not in below:
                yield f"6.2.11.3.2: {name} has no way from characters to glyphs"
            if item["/Encoding"] not in {"/Identity-H", "/Identity-V"} and not isinstance(
                item["/Encoding"], StreamObject
            ):
                yield f"6.2.11.3.3: {name} has a map of characters that is not inside"
            if "/ToUnicode" not in item:
                yield f"6.2.11.7: nobody knows the letters of {name}"
        elif sort != "/Type3":
            facts = item.get("/FontDescriptor")
            facts = facts.get_object() if facts is not None else {}
            if not {"/FontFile", "/FontFile2", "/FontFile3"} & facts.keys():
                yield f"6.2.11.4.1: the letters of {name} are not inside"


def _annotations(reader: PdfReader) -> Iterator[str]:
    for page in reader.pages:
        for each in page.get("/Annots", []):
            item = each.get_object()
            sort, flags = item["/Subtype"], item.get("/F")
            if sort not in ANNOTATIONS:
                yield f"6.3.1: an annotation {sort}"
            if sort != "/Popup" and (flags is None or not flags & PRINT or flags & UNSEEN):
                yield f"6.3.2: an annotation {sort} that is not printed or not seen"
            if "/AP" in item and set(item["/AP"]) != {"/N"}:
                yield f"6.3.3: an annotation {sort} has other looks than its own"


def _actions(root: Any, objects: list[Any]) -> Iterator[str]:
    if "/AA" in root or any(
        "/AA" in item for item in objects
        if isinstance(item, DictionaryObject) and item.get("/Type") == "/Page"
    ):  # fmt: skip
        yield "6.5.2: something is done when a page is opened or closed"
    for item in objects:
        if not isinstance(item, DictionaryObject):
            continue
        action = item.get("/A")
        is_tag = item.get("/Type") == "/StructElem"  # whose attributes have the same name
        if isinstance(action, DictionaryObject) and not is_tag and action.get("/S") not in ACTIONS:
            yield f"6.5.1: an action {action.get('/S')}"
        if "/JS" in item or item.get("/S") == "/JavaScript":
            yield "6.5.1: a script"
    form = root.get("/AcroForm", {})
    if "/XFA" in form or _is_true(form.get("/NeedAppearances")):
        yield "6.4.1: a form that is drawn by its reader"


def _metadata(root: Any, reader: PdfReader) -> Iterator[str]:
    if "/Metadata" not in root:
        yield "6.6.2.1: no metadata"
        return
    written = root["/Metadata"].get_object().get_data()
    head = re.search(rb"<\?xpacket begin=[^>]*\?>", written)
    if head is None or re.search(rb"\b(bytes|encoding)=", head[0]):
        yield "6.6.2.1: the packet of the metadata has no beginning, or an outdated one"
    tree = etree.fromstring(written)
    said: dict[str, str] = {}
    for described in tree.iter(f"{RDF}Description"):
        if described.getparent().tag == f"{RDF}RDF":
            said |= {key: value for key, value in described.attrib.items() if key[0] == "{"}
            said |= {node.tag: "".join(node.itertext()).strip() for node in described}
    said.pop(f"{RDF}about", None)
    if said.get(f"{PDFA}part") != "3" or said.get(f"{PDFA}conformance") not in {"A", "B", "U"}:
        yield "6.6.4: the part of the standard is not named"
    known = set(PREDEFINED)
    for schema in tree.iter(EXTENSION):
        known |= {node.text for node in schema.iter(f"{SCHEMA}namespaceURI")}
        names = {node.text for node in schema.iter(NAME_OF_PROPERTY)}
        spaces = {node.text for node in schema.iter(f"{SCHEMA}namespaceURI")}
        strange = {key for key in said if key[1:].partition("}")[0] in spaces - PREDEFINED}
        if missing := {key.partition("}")[2] for key in strange} - names:
            yield f"6.6.2.3: not described: {sorted(missing)}"
    unknown = {key[1:].partition("}")[0] for key in said} - known
    if unknown:
        yield f"6.6.2.3: terms that nobody describes: {sorted(unknown)}"
    title = reader.metadata.title if reader.metadata else None
    if title and title != said.get("{http://purl.org/dc/elements/1.1/}title"):
        yield "6.6.3: the title is another in the metadata"


def _enclosed(root: Any, objects: list[Any]) -> Iterator[str]:
    belongs = {id(each.get_object()) for each in root.get("/AF", [])}
    for item in objects:
        if not isinstance(item, DictionaryObject) or "/EF" not in item:
            continue
        if not {"/F", "/UF"} <= item.keys():
            yield "6.8: a file inside has no name"
        if item.get("/AFRelationship") not in RELATIONSHIPS:
            yield "6.8: a file inside does not say what it is to the document"
        if id(item) not in belongs:
            yield "6.8: a file inside belongs to nothing"
        inside = item["/EF"]["/F"].get_object()
        if "/" not in str(inside.get("/Subtype", "/"))[1:]:
            yield "6.8: a file inside does not say of what kind it is"
        if "/ModDate" not in inside.get("/Params", {}):
            yield "6.8: a file inside does not say when it was changed"


def _left_out(root: Any) -> Iterator[str]:
    if "/OCProperties" in root:
        yield "6.9: layers, which are not looked at here"
    if "/AlternatePresentations" in root.get("/Names", {}):
        yield "6.10: other presentations"
    if "/Requirements" in root:
        yield "6.11: the document asks something of its reader"
