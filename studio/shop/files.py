"""Files in and out: text and tables (CSV, RFC 4180), safe to open in a spreadsheet.

A spreadsheet takes text that begins like a formula for one. Such a cell is written with an
apostrophe before it, which spreadsheets read as "this is text", and loses it again when the file
comes back. The signs are those of OWASP's page "CSV Injection", with their full-width forms.
"""

import codecs
import csv
import io
import re
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from decimal import Decimal
from itertools import zip_longest
from threading import Lock
from time import thread_time
from typing import Any

from django.core.files.base import File
from django.http import HttpResponse
from django.utils.http import content_disposition_header

from studio.shop.text import fold

MOST_BYTES = 4 * 1024 * 1024
MARKS = {
    codecs.BOM_UTF8: "utf-8-sig",
    codecs.BOM_UTF16_LE: "utf-16",
    codecs.BOM_UTF16_BE: "utf-16",
}
# Control characters that no table and no address book is written with.
NOT_TEXT = re.compile(r"[\x00-\x08\x0e-\x1f\x7f]")
WORKBOOKS = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")


class UnreadableFileError(ValueError):
    """The file cannot be read; the message says why, for the one who chose it."""


# Of the processor's time, so that a busy machine refuses nothing. 3,000 clients take two.
MOST_SECONDS = 5.0
_PATIENCE = 5  # seconds
_READING = Lock()
_ends: ContextVar[float | None] = ContextVar("ends", default=None)


@contextmanager
def one_file() -> Iterator[None]:
    """What reads an uploaded file stands in here: one at a time, ``MOST_SECONDS`` long at most.

    Whoever goes through its lines calls ``in_time`` for each. Raises UnreadableFileError.
    """
    if not _READING.acquire(timeout=_PATIENCE):
        raise UnreadableFileError("Another file is being read. Send this one again in a minute.")
    token = _ends.set(thread_time() + MOST_SECONDS)
    try:
        yield
    finally:
        _ends.reset(token)
        _READING.release()


def in_time() -> None:
    """Raises UnreadableFileError where the file has taken too long, inside of ``one_file``."""
    ends = _ends.get()
    if ends is not None and thread_time() > ends:
        raise UnreadableFileError("This file takes too long to read. Send it in parts.")


def read_text(uploaded: "File[bytes]", *, most_bytes: int = MOST_BYTES) -> str:
    """The text of an uploaded file in UTF-8, UTF-16 or, if it is neither, Windows-1252.

    Raises UnreadableFileError for a file that is too large or no text.
    """
    if uploaded.size > most_bytes:
        raise UnreadableFileError(
            f"The file is larger than {most_bytes // (1024 * 1024)} MB. Send it in parts."
        )
    uploaded.seek(0)
    return decode(uploaded.read())


def decode(data: bytes) -> str:
    """As ``read_text``, from the bytes themselves."""
    if data.startswith(WORKBOOKS):
        raise UnreadableFileError("This is a spreadsheet, not text. Save it as CSV and send that.")
    for encoding in _encodings(data):
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if not NOT_TEXT.search(text):
            return text
    raise UnreadableFileError("This is not a text file, or it is damaged.")


def _encodings(data: bytes) -> list[str]:
    for mark, encoding in MARKS.items():
        if data.startswith(mark):
            return [encoding]
    if data[1:2] == b"\x00":
        return ["utf-16-le"]
    if data[:1] == b"\x00":
        return ["utf-16-be"]
    return ["utf-8", "cp1252"]


MOST_ROWS = 10_000
MOST_HEADINGS = 200
MOST_CELLS = 500_000
DELIMITERS = ",;\t"
FORMULA = re.compile(r"'*\s*[=+\-@\t\r\n＝＋－＠]")  # noqa: RUF001 -- full-width signs are meant


DELIMITER_TOLD = re.compile(r"\ufeff?\s*sep=(.)\r?\n", re.IGNORECASE)
TOO_MANY_CELLS = "It has more cells than there are headings."


@dataclass
class Row:
    """One row of a table, or one card: the line it begins on, its cells, what is wrong with it.

    Cells are named by their heading, folded, or by the field of the form that checks them. A row
    with ``problems`` is not taken; ``remarks`` are to be looked at, and it is taken all the same.
    """

    line: int
    cells: dict[str, str]
    problems: list[str] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)


def safe_cell(value: object) -> str:
    """What is written for a value: numbers as they are, text that looks like a formula defused."""
    if value is None:
        return ""
    if isinstance(value, Decimal):
        return f"{value:f}"
    text = str(value)
    return f"'{text}" if not isinstance(value, int) and FORMULA.match(text) else text


def plain_cell(text: str) -> str:
    """The text that ``safe_cell`` was given."""
    return text[1:] if text.startswith("'") and FORMULA.match(text) else text


def write_csv(rows: Iterable[Sequence[Any]], header: Sequence[str]) -> str:
    """A heading and rows, separated by commas; every cell is made safe.

    Give amounts as ``Decimal`` or ``int``: a negative amount given as text would be defused.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([safe_cell(heading) for heading in header])
    writer.writerows([safe_cell(value) for value in row] for row in rows)
    return out.getvalue()


def csv_response(
    rows: Iterable[Sequence[Any]], header: Sequence[str], filename: str
) -> HttpResponse:
    """The table as a file to keep. A byte order mark tells spreadsheets that it is UTF-8."""
    data = write_csv(rows, header).encode("utf-8-sig")
    return file_response(data, "text/csv; charset=utf-8", filename)


def file_response(data: str | bytes, content_type: str, filename: str) -> HttpResponse:
    """Data as a file to keep."""
    disposition = content_disposition_header(as_attachment=True, filename=filename)
    headers = {"Content-Disposition": disposition or "attachment"}
    return HttpResponse(data, content_type=content_type, headers=headers)


def parse_csv(text: str, *, most_rows: int = MOST_ROWS, forgiving: bool = False) -> list[Row]:
    """The rows below the heading, blank ones left out.

    Cells are keyed by their heading, folded (``E-mail`` is ``e-mail``); a missing cell is empty.
    The delimiter is the one that a first line ``sep=;`` names, or else the one of comma, semicolon
    and tab that takes the heading apart furthest. Raises UnreadableFileError for what is no table,
    with the line where it is known. A ``forgiving`` one numbers headings that come again (``phone
    2``) and keeps a row with too many cells as one that is wrong.
    """
    told = DELIMITER_TOLD.match(text)
    lines = _lines(text, told[1] if told else max(DELIMITERS, key=lambda sign: _width(text, sign)))
    if told:
        next(lines)
    _, headings = next(lines, (0, []))
    names = _names(headings, forgiving=forgiving)
    most_rows = min(most_rows, MOST_CELLS // len(names))
    rows: list[Row] = []
    for line, cells in lines:
        longer = any(cell.strip() for cell in cells[len(names) :])
        if longer and not forgiving:
            raise UnreadableFileError(f"Line {line} has more cells than there are headings.")
        if len(rows) == most_rows:
            raise UnreadableFileError(f"The file has more than {most_rows} rows. Send it in parts.")
        filled = zip_longest(names, map(plain_cell, cells[: len(names)]), fillvalue="")
        rows.append(Row(line, dict(filled), [TOO_MANY_CELLS] if longer else []))
    return rows


def _names(headings: list[str], *, forgiving: bool) -> list[str]:
    """The headings, folded, each once."""
    while headings and not headings[-1].strip():
        headings.pop()
    if len(headings) > MOST_HEADINGS:
        raise UnreadableFileError(f"The file has more than {MOST_HEADINGS} headings.")
    names = [fold(plain_cell(heading)) for heading in headings]
    if not names:
        raise UnreadableFileError("The file is empty.")
    for place, name in enumerate(names):
        if not name:
            raise UnreadableFileError("A column has no heading.")
        if (before := names[:place].count(name)) and not forgiving:
            raise UnreadableFileError(f"Two columns have the same heading: “{name}”.")
        if before:
            numbers = (f"{name} {number}" for number in range(before + 1, len(names) + 2))
            names[place] = next(other for other in numbers if other not in names)
    return names


def _lines(text: str, delimiter: str) -> Iterator[tuple[int, list[str]]]:
    """Rows that are not blank, each with the line it begins on."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    while True:
        line = reader.line_num + 1
        try:
            cells = next(reader, None)
        except csv.Error as error:
            raise UnreadableFileError(
                f"The row on line {line} cannot be read: a quotation mark is not closed, stands in "
                "the wrong place, or the row is too long."
            ) from error
        in_time()
        if cells is None:
            return
        if any(cell.strip() for cell in cells):
            yield line, cells


def _width(text: str, delimiter: str) -> int:
    """How many headings there are if this sign stands between them; 0 if it cannot."""
    try:
        return len(next(_lines(text, delimiter), (0, []))[1])
    except UnreadableFileError:
        return 0
