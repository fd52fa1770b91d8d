"""Tables as CSV: RFC 4180, the signs of OWASP's page "CSV Injection", and back again."""

import csv
import io
from decimal import Decimal
from time import thread_time

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from hypothesis import example, given
from hypothesis import strategies as st

from studio.shop.files import (
    NOT_TEXT,
    UnreadableFileError,
    csv_response,
    forgiving_csv,
    parse_csv,
    plain_cell,
    read_letters,
    safe_cell,
    write_csv,
)

# https://owasp.org/www-community/attacks/CSV_Injection: cells that begin with any of these.
OWASP = ["=", "+", "-", "@", "\t", "\r", "\n"]
TRICKY = [
    "=1+1",
    "+353 85 555 0143",
    "-x",
    "@y",
    "\tx",
    "\nx",
    "\r\nx",
    " =1",
    "'=1",
    "''=1",
    "'plain",
    "'",
    '=HYPERLINK("http://x.example";"y")',
    'a "b", c; d',
    "＝1",  # noqa: RUF001 -- a full-width sign is meant
]
# No NUL and the like: a row that holds them is damaged.
DAMAGED = [chr(code) for code in range(128) if NOT_TEXT.match(chr(code))]
TEXT = st.text(st.characters(exclude_categories=["Cs"], exclude_characters=DAMAGED))


def upload(data: bytes) -> SimpleUploadedFile:
    return SimpleUploadedFile("clients.csv", data)


@pytest.mark.parametrize("sign", OWASP)
def test_no_cell_begins_as_a_formula(sign):
    written = write_csv([[f"{sign}1+1"]], ["a"])
    cell = list(csv.reader(io.StringIO(written, newline="")))[1][0]
    assert cell[0] not in OWASP
    assert cell == f"'{sign}1+1"


@pytest.mark.parametrize("text", TRICKY)
def test_a_defused_cell_comes_back_unharmed(text):
    assert [row.cells["a"] for row in parse_csv(write_csv([[text]], ["a"]))] == [text]


@given(st.lists(st.tuples(TEXT, TEXT, TEXT), max_size=5))
@example([("=1+1", "'=1", "\r")])
def test_a_table_comes_back_unharmed(rows):
    kept = [row for row in rows if any(cell.strip() for cell in map(safe_cell, row))]
    back = parse_csv(write_csv(rows, ["one", "two", "three"]))
    assert [tuple(row.cells.values()) for row in back] == kept


def test_numbers_stay_numbers():
    written = write_csv([[-5, Decimal("-12.00"), Decimal("1E+2"), None]], ["a", "b", "c", "d"])
    assert written == "a,b,c,d\r\n-5,-12.00,100,\r\n"


def test_an_apostrophe_that_defuses_nothing_is_kept():
    assert plain_cell("'s Wonderful") == safe_cell("'s Wonderful") == "'s Wonderful"


def test_the_file_to_keep_is_marked_as_utf_8():
    response = csv_response([["Órla"]], ["name"], "clients.csv")
    assert response.content.startswith(b"\xef\xbb\xbfname")
    assert response["Content-Disposition"] == 'attachment; filename="clients.csv"'
    assert parse_csv(read_letters(upload(response.content)).text)[0].cells == {"name": "Órla"}


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16", "utf-16-le"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_encodings_and_delimiters_of_spreadsheets_are_read(encoding, delimiter):
    lines = [["Name", "E-Mail", "notes"], ["Zoë Müller", "z@x.example", "“10 €”"], ["Ann"]]
    data = "\r\n".join(delimiter.join(line) for line in lines).encode(encoding)
    assert [(row.line, row.cells) for row in parse_csv(read_letters(upload(data)).text)] == [
        (2, {"name": "Zoë Müller", "e-mail": "z@x.example", "notes": "“10 €”"}),
        (3, {"name": "Ann", "e-mail": "", "notes": ""}),
    ]


def test_a_comma_inside_a_heading_does_not_win():
    row = parse_csv("name;phone, mobile;notes\nAnn;1;a, b, c, d")[0]
    assert row.cells == {"name": "Ann", "phone, mobile": "1", "notes": "a, b, c, d"}


def test_a_row_names_the_line_it_begins_on():
    rows = parse_csv('\nname,notes\n\nAnn,"two\nlines"\nBea,x\n,\nCara,')
    assert [(row.line, row.cells["name"]) for row in rows] == [(4, "Ann"), (6, "Bea"), (8, "Cara")]


@pytest.mark.parametrize(
    ("data", "reason"),
    [
        (b"", "empty"),
        (b"\n \r\n", "empty"),
        (b"name,,notes", "no heading"),
        (b"PK\x03\x04rest", "spreadsheet"),
        (b"name\n\x00\x01\x02", "not a text file"),
        (b"\xff\xd8\xff\xe0\x00\x10JFIF", "not a text file"),
        (b"name\nAnn\nBe\x00a\nCara\n", "line 3 cannot be read. It holds a sign"),
        (b'name,notes\nAnn,"open', "line 2"),
        (b'name,notes\nAnn,x\nBea,"a"b', "line 3"),
        (b"name,Name\n", "same heading"),
        (b"name\nAnn\nBea,x", "Line 3 has more cells"),
        (b"name\n" + b"x" * 200_000, "too long"),
        (b"x" * (4 * 1024 * 1024 + 1), "larger than 4 MB"),
    ],
)
def test_what_cannot_be_read_is_refused_with_the_reason(data, reason):
    with pytest.raises(UnreadableFileError, match=reason):
        parse_csv(read_letters(upload(data)).text)


def test_rows_are_counted():
    assert len(parse_csv("a\n1\n2", most_rows=2)) == 2
    with pytest.raises(UnreadableFileError, match="more than 2 rows"):
        parse_csv("a\n1\n2\n3", most_rows=2)


def forgiven(table: str) -> list[tuple[int, str, bool]]:
    """Each row's line, its first cell, and whether something is wrong with it."""
    _, rows = forgiving_csv(read_letters(upload(table.encode())).text)
    return [(row.line, next(iter(row.cells.values())), bool(row.problems)) for row in rows]


@pytest.mark.parametrize(
    ("wrong", "also"),
    [
        ('Ann,"open,x', ""),
        ('Ann,"open,x', 'Dora,"closed",x\nEva,5",x\n'),
        ('Ann,"open,x', 'Dora,a,x\nEva,closed",x\n'),
        ('"Ann" B,y,x', ""),
        ('Ann,"a"b,x', ""),
        ("Ann,a\x00b,x", ""),
        ("Ann,a,x,too many", ""),
        (f"Ann,{'a' * 200_000},x", ""),
    ],
)
def test_one_row_that_cannot_be_read_keeps_its_neighbours(wrong, also):
    """RFC 4180, 2.5 to 2.7: what a quotation mark may stand beside. One refused the whole file, and
    one that was closed further down swallowed what stood between."""
    found = forgiven(
        f'name,size,notes\r\nZoe,1,"a\r\nb"\r\n{wrong}\r\nBea,2,y\r\nCara,3,z\r\n{also}'
    )
    more = [(6 + place, line.partition(",")[0], False) for place, line in enumerate(also.split())]
    assert found == [
        (2, "Zoe", False), (4, found[1][1], True), (5, "Bea", False), (6, "Cara", False),
        *[(line + 1, name, wrong) for line, name, wrong in more],
    ]  # fmt: skip
    assert found[1][1].startswith("Ann")


def test_a_mark_of_inches_and_lines_within_a_cell_are_no_fault():
    table = 'name,size,notes\nAnn,27",x\nBea,5\'4",\n'
    table += 'Cara,1,"one\ntwo\nthree, four\nfive"\n'
    assert [row[2] for row in forgiven(table)] == [False] * 3


def test_headings_that_are_missing_or_come_again_are_numbered():
    names, rows = forgiving_csv("\ufeffname,,phone,Phone,,,\nAnn,x,1,2,,,\n")
    assert list(names) == ["name", "column 2", "phone", "phone 2"]
    assert names["phone 2"] == "Phone"
    (row,) = rows
    assert row.cells == {"name": "Ann", "column 2": "x", "phone": "1", "phone 2": "2"}
    assert row.problems == []


def test_a_thousand_stray_marks_are_read_in_time():
    """Each was read to the end of the file, once for each row."""
    table = "name,notes\n" + 'Ann,"""open\n' * 9_000
    begun = thread_time()
    assert sum(wrong for _, _, wrong in forgiven(table)) == 9_000
    assert thread_time() - begun < 3


@pytest.mark.parametrize("told", ["sep=;\r\n", '"sep=;"\n', "SEP=;\r"])
def test_the_delimiter_that_a_file_names(told):
    assert parse_csv(f"{told}name;notes, more\nAnn;a,b,c")[0].cells["notes, more"] == "a,b,c"
