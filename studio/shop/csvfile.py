"""Tables in and out as CSV (RFC 4180), safe to open in a spreadsheet.

A spreadsheet takes text that begins like a formula for one. Such a cell is written with an
apostrophe before it, which spreadsheets read as "this is text", and loses it again when the file
comes back. The signs are those of OWASP's page "CSV Injection", with their full-width forms.
"""

import csv
import io
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import zip_longest
from typing import Any

from django.core.files.base import File
from django.http import HttpResponse
from django.utils.http import content_disposition_header

from studio.shop.text import fold
from studio.shop.textfile import UnreadableFileError, read_text

MOST_ROWS = 10_000
DELIMITERS = ",;\t"
FORMULA = re.compile(r"'*\s*[=+\-@\t\r\n＝＋－＠]")  # noqa: RUF001 -- full-width signs are meant


@dataclass(frozen=True)
class Row:
    """One row of a table that came in: its line in the file, its cells by folded heading."""

    line: int
    cells: dict[str, str]


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
    text = write_csv(rows, header)
    disposition = content_disposition_header(as_attachment=True, filename=filename)
    return HttpResponse(
        text.encode("utf-8-sig"),
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": disposition},
    )


def read_csv(uploaded: File, *, most_rows: int = MOST_ROWS) -> list[Row]:
    """The rows below the heading, blank ones left out.

    Cells are keyed by their heading, folded (``E-mail`` is ``e-mail``); a missing cell is empty.
    The delimiter is the one of comma, semicolon and tab that takes the heading apart furthest.
    Raises UnreadableFileError for what is no text or no table, with the line where it is known.
    """
    return parse_csv(read_text(uploaded), most_rows=most_rows)


def parse_csv(text: str, *, most_rows: int = MOST_ROWS) -> list[Row]:
    """As ``read_csv``, from text."""
    lines = _lines(text, max(DELIMITERS, key=lambda sign: _width(text, sign)))
    _, headings = next(lines, (0, []))
    names = [fold(plain_cell(heading)) for heading in headings]
    while names and not names[-1]:
        names.pop()
    if not names:
        raise UnreadableFileError("The file is empty.")
    for name in names:
        if not name:
            raise UnreadableFileError("A column has no heading.")
        if names.count(name) > 1:
            raise UnreadableFileError(f"Two columns have the same heading: “{name}”.")
    rows: list[Row] = []
    for line, cells in lines:
        if any(cell.strip() for cell in cells[len(names) :]):
            raise UnreadableFileError(f"Line {line} has more cells than there are headings.")
        if len(rows) == most_rows:
            raise UnreadableFileError(f"The file has more than {most_rows} rows. Send it in parts.")
        filled = zip_longest(names, map(plain_cell, cells[: len(names)]), fillvalue="")
        rows.append(Row(line, dict(filled)))
    return rows


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
