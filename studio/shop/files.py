"""Files in and out: text and tables (CSV, RFC 4180), safe to open in a spreadsheet.

A spreadsheet takes text that begins like a formula for one. Such a cell is written with an
apostrophe before it, which spreadsheets read as "this is text", and loses it again when the file
comes back. The signs are those of OWASP's page "CSV Injection", with their full-width forms.
"""

import csv
import io
import re
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from contextvars import ContextVar
from dataclasses import dataclass, field, replace
from decimal import Decimal
from itertools import islice, zip_longest
from threading import Lock
from time import thread_time
from typing import Any

from django.core.files.base import File
from django.http import HttpResponse
from django.utils.http import content_disposition_header

from studio.shop.charsets import CHARSETS, Letters, letters_of
from studio.shop.text import fold

MOST_BYTES = 4 * 1024 * 1024
# Control characters that no table and no address book is written with. A few are a damaged row,
# one for every third line is no text.
NOT_TEXT = re.compile(r"[\x00-\x08\x0e-\x1f\x7f]")
NO_TEXT = "This is not a text file, or it is damaged."
WORKBOOKS = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")


class UnreadableFileError(ValueError):
    """The file cannot be read; the message says why, for the one who chose it."""


# Of the processor's time, so that a busy machine refuses nothing. 20,000 clients take five.
MOST_SECONDS = 15.0
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


def read_letters(
    uploaded: "File[bytes]", chosen: str = "", *, most_bytes: int = MOST_BYTES
) -> Letters:
    """An uploaded file's text, in the letters that were ``chosen`` or else are most likely.

    Raises UnreadableFileError for a file that is too large or no text.
    """
    if uploaded.size > most_bytes:
        raise UnreadableFileError(
            f"The file is larger than {most_bytes // (1024 * 1024)} MB. Send it in parts."
        )
    uploaded.seek(0)
    return decoded(uploaded.read(), chosen)


def decoded(data: bytes, chosen: str = "") -> Letters:
    """As ``read_letters``, from the bytes themselves."""
    if data.startswith(WORKBOOKS):
        raise UnreadableFileError("This is a spreadsheet, not text. Save it as CSV and send that.")
    try:
        letters = letters_of(data, chosen)
    except UnicodeDecodeError:
        if not chosen:
            raise UnreadableFileError(NO_TEXT) from None
        words = f"This file cannot be read as {CHARSETS[chosen]}. Choose other letters."
        raise UnreadableFileError(words) from None
    # Some systems fill up or end a file with signs that are no text.
    text = letters.text.rstrip("\x00\x1a")
    if not is_text(text):
        raise UnreadableFileError(NO_TEXT)
    return replace(letters, text=text)


def is_text(text: str) -> bool:
    """Whether signs that no text has are few."""
    most = (text.count("\n") or text.count("\r")) // 3
    return next(islice(NOT_TEXT.finditer(text), most, None), None) is None


MOST_ROWS = 10_000
MOST_HEADINGS = 200
MOST_CELLS = 500_000
MOST_SEEN = 4000  # letters of a cell that cannot be read
MOST_SWALLOWED = 2  # rows within one cell
DELIMITERS = ",;\t"
FORMULA = re.compile(r"'*\s*[=+\-@\t\r\n＝＋－＠]")  # noqa: RUF001 -- full-width signs are meant


DELIMITER_TOLD = re.compile(r"\s*\"?sep=([^\w\"\s]|\t)\"?(?:\r\n|\n|\r)", re.IGNORECASE)
BREAK = re.compile(r"\r\n|\n|\r")
NO_HEADING = re.compile(r"column \d+")
TOO_MANY_CELLS = "It has more cells than there are headings."
STRAY_QUOTE = "A quotation mark is not closed, stands in the wrong place, or the row is too long."
DAMAGED = "It holds a sign that is no letter, as damaged files do: write it anew."


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


def parse_csv(text: str, *, most_rows: int = MOST_ROWS) -> list[Row]:
    """The rows below the heading, blank ones left out.

    Cells are keyed by their heading, folded (``E-mail`` is ``e-mail``); a missing cell is empty.
    The delimiter is the one that a first line ``sep=;`` names, or else the one of comma, semicolon
    and tab that takes the heading apart furthest. Raises UnreadableFileError for what is no table,
    with the line where it is known.
    """
    headings, lines = _table(text)
    names = _names(headings)
    for place, name in enumerate(names):
        if name in names[:place]:
            raise UnreadableFileError(f"Two columns have the same heading: “{name}”.")
        if not name:
            raise UnreadableFileError(f"A column has no heading: column {place + 1}.")
    most_rows = min(most_rows, MOST_CELLS // len(names))
    rows: list[Row] = []
    for found in lines:
        if found.problem:
            raise UnreadableFileError(
                f"The row on line {found.line} cannot be read. {found.problem}"
            )
        if _is_longer(found.cells, names):
            raise UnreadableFileError(f"Line {found.line} has more cells than there are headings.")
        if len(rows) == most_rows:
            raise _too_many_rows(most_rows)
        cells = map(plain_cell, found.cells[: len(names)])
        rows.append(Row(found.line, dict(zip_longest(names, cells, fillvalue=""))))
    return rows


def forgiving_csv(text: str, *, most_rows: int = MOST_ROWS) -> tuple[dict[str, str], Iterator[Row]]:
    """The headings as written by their names, which are folded, and the rows, read one by one.

    A row has the cells that are not empty, those beyond the headings too, called by their place.
    As ``parse_csv``, but a heading that comes again is numbered (``phone 2``), one that is missing
    is called by its place (``column 3``), and a row that cannot be read is one with a problem,
    whatever is wrong with it: its neighbours stay.
    """
    headings, lines = _table(text, forgiving=True)
    names = _names(headings)
    for place, heading in enumerate(names):
        name = names[place] = heading or f"column {place + 1}"
        if before := names[:place].count(name):
            numbers = (f"{name} {number}" for number in range(before + 1, len(names) + 2))
            names[place] = next(other for other in numbers if other not in names)

    def rows() -> Iterator[Row]:
        for count, found in enumerate(lines):
            if count == most_rows:
                raise _too_many_rows(most_rows)
            beyond = range(len(names) + 1, len(found.cells) + 1)
            places = [*names, *(f"column {place}" for place in beyond)]
            cells = zip(places, map(plain_cell, found.cells), strict=False)
            row = Row(found.line, {name: cell for name, cell in cells if cell})
            row.problems += [found.problem] if found.problem else []
            row.problems += [TOO_MANY_CELLS] if _is_longer(found.cells, names) else []
            yield row

    written = (plain_cell(heading).strip() for heading in headings)
    return dict(zip(names, written, strict=True)), rows()


def _too_many_rows(most_rows: int) -> UnreadableFileError:
    return UnreadableFileError(f"The file has more than {most_rows} rows. Send it in parts.")


def _is_longer(cells: list[str], names: list[str]) -> bool:
    return any(cell.strip() for cell in cells[len(names) :])


def _table(text: str, *, forgiving: bool = False) -> "tuple[list[str], Iterator[_Line]]":
    """The cells of the heading, and the lines below it."""
    text = text.removeprefix("\ufeff")
    told = DELIMITER_TOLD.match(text)
    delimiter = told[1] if told else max(DELIMITERS, key=lambda sign: _width(text, sign))
    lines = _lines(text, delimiter, at=told.end() if told else 0, line=2 if told else 1)
    heading = next(lines, _Line(0, [], ""))
    if heading.problem and not forgiving:
        raise UnreadableFileError(
            f"The row on line {heading.line} cannot be read. {heading.problem}"
        )
    if not forgiving:
        return heading.cells, lines
    return heading.cells, _apart(text, delimiter, heading, lines)


def _names(headings: list[str]) -> list[str]:
    """The headings, folded. Raises UnreadableFileError for none and for too many."""
    while headings and not headings[-1].strip():
        headings.pop()
    if len(headings) > MOST_HEADINGS:
        raise UnreadableFileError(f"The file has more than {MOST_HEADINGS} headings.")
    names = [fold(plain_cell(heading)) for heading in headings]
    if not names:
        raise UnreadableFileError("The file is empty.")
    return names


@dataclass
class _Line:
    """A row that is not blank: the line it begins on, its cells, why it cannot be read."""

    line: int
    cells: list[str]
    problem: str
    begins: int = 0
    ends: int = 0
    lines: int = 1


class _Source:
    """The lines of a text from a place on, without a copy of it; knows how far it has come."""

    def __init__(self, text: str, at: int, line: int) -> None:
        self.text, self.at, self.line = text, at, line

    def __iter__(self) -> "_Source":
        return self

    def __next__(self) -> str:
        if self.at >= len(self.text):
            raise StopIteration
        found = BREAK.search(self.text, self.at)
        begun, self.at = self.at, found.end() if found else len(self.text)
        self.line += 1
        return self.text[begun : self.at]


def _lines(text: str, delimiter: str, *, at: int = 0, line: int = 1) -> Iterator[_Line]:
    """Rows that are not blank. One that cannot be read ends with its first line."""
    source = _Source(text, at, line)
    reader = csv.reader(source, delimiter=delimiter, strict=True)
    while True:
        at, line = source.at, source.line
        problem = ""
        try:
            cells = next(reader, None)
        except csv.Error:
            source = _Source(text, at, line)
            reader = csv.reader(source, delimiter=delimiter, strict=True)
            cells, problem = _alone(next(source), delimiter), STRAY_QUOTE
        in_time()
        if cells is None:
            return
        if NOT_TEXT.search(text, at, source.at):
            cells = [NOT_TEXT.sub("", cell) for cell in cells]
            problem = problem or DAMAGED
        if any(cell.strip() for cell in cells):
            yield _Line(line, cells, problem, at, source.at, source.line - line)


def _alone(line: str, delimiter: str) -> list[str]:
    """What can be seen of a line that is not read: as much as one needs to put it right."""
    told = line.split(delimiter, MOST_HEADINGS)
    if line.count('"') % 2 == 0:
        with suppress(csv.Error):
            told = next(csv.reader([line], delimiter=delimiter), told)[:MOST_HEADINGS]
    cells = [cell.strip(' "\r\n') for cell in told]
    return [f"{cell[:MOST_SEEN]}{'…' if len(cell) > MOST_SEEN else ''}" for cell in cells]


def _apart(text: str, delimiter: str, heading: _Line, lines: Iterator[_Line]) -> Iterator[_Line]:
    """The lines, where a quotation mark that is closed much later has swallowed no whole rows.

    Lines within a cell that each hold as many cells as there are headings are rows.
    """
    signs = text[heading.begins : heading.ends].count(delimiter)
    while found := next(lines, None):
        if signs and not found.problem and _swallows(text, found, delimiter, signs):
            first = next(_Source(text, found.begins, found.line))
            lines = _lines(text, delimiter, at=found.begins + len(first), line=found.line + 1)
            found = _Line(found.line, _alone(first, delimiter), STRAY_QUOTE)
        yield found


def _swallows(text: str, found: _Line, delimiter: str, signs: int) -> bool:
    if found.lines < MOST_SWALLOWED + 2:
        return False
    inner = BREAK.split(text[found.begins : found.ends].rstrip("\r\n"))[1:-1]
    return all(within.count(delimiter) == signs for within in inner)


def _width(text: str, delimiter: str) -> int:
    """How many headings there are if this sign stands between them; 0 if it cannot."""
    heading = next(_lines(text, delimiter), _Line(0, [], ""))
    return 0 if heading.problem == STRAY_QUOTE else len(heading.cells)
