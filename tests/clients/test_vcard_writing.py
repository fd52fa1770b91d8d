"""Cards going out: read back by ourselves and by an independent reader (vobject)."""

import re

import pytest
import vobject
from hypothesis import example, given
from hypothesis import strategies as st

from clients.models import Client
from clients.vcard import properties, read_cards, unfold, write_cards

# As forms leave text: no control characters, no blanks at the ends, names in one line.
LETTERS = st.characters(exclude_categories=["Cs", "Cc"])
WORDS = st.text(LETTERS, min_size=1, max_size=200).map(lambda text: " ".join(text.split()))
NOTES = st.text(LETTERS | st.just("\n"), max_size=400).map(str.strip)
TRICKY = "Ann; “B”, C\\n D\\, é🧵 " + "عربى " * 30 + ": x;y=z"


def client(**facts) -> Client:
    return Client(**{"name": "Mary Larkin"} | facts)


def test_a_card_is_written_as_rfc_6350_asks():
    mary = client(
        phone="086 555 0143",
        email="mary@larkfield.example",
        street="3 Mill Lane, top",
        postcode="X00 XX00",
        city="Larkfield",
        country="IE",
        notes="a; b\r\nc",
    )
    assert write_cards([mary]) == (
        "BEGIN:VCARD\r\n"
        "VERSION:4.0\r\n"
        "FN:Mary Larkin\r\n"
        "N:;Mary Larkin;;;\r\n"
        "TEL;TYPE=voice:086 555 0143\r\n"
        "EMAIL:mary@larkfield.example\r\n"
        "ADR:;;3 Mill Lane\\, top;Larkfield;;X00 XX00;Ireland\r\n"
        "NOTE:a\\; b\\nc\r\n"
        "END:VCARD\r\n"
    )


def test_what_is_not_known_is_not_written():
    assert "TEL" not in write_cards([client()])
    assert "ADR" not in write_cards([client()])
    assert write_cards([]) == ""


@given(WORDS, NOTES)
@example(TRICKY.strip(), TRICKY.strip())
@example("x" * 200, "🧵" * 100)
def test_no_line_has_more_than_75_octets_and_all_end_in_crlf(name, notes):
    """RFC 6350, 3.2: the line break is not counted, and no letter is cut in two."""
    written = write_cards([client(name=name, notes=notes)])
    lines = written.encode().split(b"\r\n")
    assert lines.pop() == b""
    assert max(map(len, lines)) <= 75
    assert not re.search(rb"[\r\n]", b"".join(lines))
    assert all(line.decode() for line in lines)


@given(WORDS.filter(bool), NOTES, WORDS, WORDS)
@example(TRICKY.strip(), TRICKY.strip(), TRICKY[:40].strip(), "a;b\\,c")
def test_what_goes_out_comes_back(name, notes, street, city):
    sent = client(name=name, notes=notes, street=street, city=city, phone="+353 86 555 0143")
    (row,) = read_cards(write_cards([sent]), most_cards=1)
    facts = {"name": name, "street": street, "city": city, "phone": sent.phone, "notes": notes}
    assert {fact: row.cells.get(fact, "") for fact in facts} == facts


@pytest.mark.parametrize("name", ["Mary Larkin", "O'Hara, Ann; Co", "مريم العلي", TRICKY])
def test_an_independent_reader_reads_the_same(name):
    """The reader knows vCard 3.0, which escapes and folds alike (RFC 2426, 2.6 and 5)."""
    mary = client(
        name=name,
        phone="(01) 555-0143",
        email="mary@larkfield.example",
        street="3 Mill Lane, top; left",
        postcode="X00 XX00",
        city="Larkfield",
        country="IE",
        notes="first, line\nsecond; line \\ third",
    )
    read = vobject.readOne(write_cards([mary]))
    assert read.fn.value == name
    assert read.n.value.given == name
    assert read.tel.value == mary.phone
    assert read.email.value == mary.email
    assert read.adr.value.street == mary.street
    assert read.adr.value.code == mary.postcode
    assert read.adr.value.country == "Ireland"
    assert read.note.value == mary.notes


def test_what_an_independent_writer_writes_is_read():
    made = vobject.vCard()
    made.add("fn").value = TRICKY.strip()
    made.add("n").value = vobject.vcard.Name(family="Larkin", given="Mary")
    made.add("note").value = "a, b; c\nd"
    made.add("adr").value = vobject.vcard.Address(street="1; Mill, Lane", city="Larkfield")
    (row,) = read_cards(made.serialize(), most_cards=1)
    assert row.cells["name"] == " ".join(TRICKY.split())
    assert row.cells["notes"] == "a, b; c\nd"
    assert row.cells["street"] == "1; Mill, Lane"


@given(st.text(LETTERS | st.sampled_from('\r\n\t=;:"\\'), max_size=200))
def test_no_text_makes_the_reader_fail(text):
    assert len(list(unfold(text))) >= 1
    for prop in properties(f"A;ENCODING=QUOTED-PRINTABLE:{text}\nB:{text}\n{text}"):
        assert isinstance(prop.text, str)
        assert len(prop.fields) == prop.value.replace("\\\\", "").replace("\\;", "").count(";") + 1
