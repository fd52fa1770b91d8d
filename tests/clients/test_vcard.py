"""Cards in: the examples of the standards, the ways of phones; out: read by vobject as well."""

import base64
import quopri
import re
from collections import Counter

import pytest
import vobject
from hypothesis import example, given
from hypothesis import strategies as st

from clients.models import Client
from clients.vcard import escape, left_out_words, properties, read_cards, unfold, write_cards
from studio.shop.files import UnreadableFileError


def read(*lines: str) -> list:
    return read_cards("\r\n".join(lines) + "\r\n", most_cards=100)


def card(*lines: str, version: str = "4.0") -> dict:
    """The facts of one card that are not empty."""
    (row,) = read("BEGIN:VCARD", f"VERSION:{version}", *lines, "END:VCARD")
    assert row.problems == []
    return {name: value for name, value in row.cells.items() if value}


# RFC 6350, section 6: the example below each property.
RFC_6350 = {
    "6.2.1": (["FN:Mr. John Q. Public\\, Esq."], {"name": "Mr. John Q. Public, Esq."}),
    "6.2.2": (["N:Public;John;Quinlan;Mr.;Esq."], {"name": "Mr. John Quinlan Public Esq."}),
    "6.2.2, lists": (
        ["N:Stevenson;John;Philip,Paul;Dr.;Jr.,M.D.,A.C.P."],
        {"name": "Dr. John Philip Paul Stevenson Jr. M.D. A.C.P."},
    ),
    "6.2.4, data": (
        [
            "FN:Jane Doe",
            "PHOTO:data:image/jpeg;base64,MIICajCCAdOgAwIBAgICBEUwDQYJKoZIhv",
            " AQEEBQAwdzELMAkGA1UEBhMCVVMxLDAqBgNVBAoTI05ldHNjYXBlIENvbW11bm",
        ],
        {"name": "Jane Doe"},
    ),
    "6.3.1": (
        [
            "FN:Mr. John Q. Public\\, Esq.",
            'ADR;GEO="geo:12.3457,78.910";LABEL="Mr. John Q. Public, Esq.\\n',
            " Mail Drop: TNE QB\\n123 Main Street\\nAny Town, CA  91921-1234\\n",
            ' U.S.A.":;;123 Main Street;Any Town;CA;91921-1234;U.S.A.',
        ],
        {
            "name": "Mr. John Q. Public, Esq.",
            "street": "123 Main Street",
            "city": "Any Town, CA",
            "postcode": "91921-1234",
            "country": "U.S.A.",
        },
    ),
    "6.4.1": (
        [
            "FN:Jane Doe",
            'TEL;VALUE=uri;PREF=1;TYPE="voice,home":tel:+1-555-555-5555;ext=5555',
            "TEL;VALUE=uri;TYPE=home:tel:+33-01-23-45-67",
        ],
        {
            "name": "Jane Doe",
            "phone": "+1-555-555-5555 ext. 5555",
            "phone_label": "Home",
            "phone 2": "+33-01-23-45-67",
            "phone 2 label": "Home",
        },
    ),
    "6.4.2": (
        [
            "FN:Jane Doe",
            "EMAIL;TYPE=work:jqpublic@xyz.example.com",
            "EMAIL;PREF=1:jane_doe@example.com",
        ],
        {
            "name": "Jane Doe",
            "email": "jane_doe@example.com",
            "e-mail 2": "jqpublic@xyz.example.com",
            "e-mail 2 label": "Work",
        },
    ),
    "6.6.4": (
        ["ORG:ABC\\, Inc.;North American Division;Marketing"],
        {"name": "ABC, Inc., North American Division, Marketing", "who": "company"},
    ),
    "6.7.2": (
        [
            "FN:Jane Doe",
            "NOTE:This fax number is operational 0800 to 1715",
            "  EST\\, Mon-Fri.",
        ],
        {
            "name": "Jane Doe",
            "notes": "This fax number is operational 0800 to 1715 EST, Mon-Fri.",
        },
    ),
}


@pytest.mark.parametrize("section", RFC_6350)
def test_the_examples_of_rfc_6350(section):
    lines, facts = RFC_6350[section]
    assert card(*lines) == facts


def test_a_card_with_every_property_of_the_example_of_rfc_6350_section_8():
    """The properties and parameters of the standard's example; the person is invented."""
    assert card(
        "FN:Mary Larkin",
        "N:Larkin;Mary;;;ing. jr,M.Sc.",
        "BDAY:--0203",
        "ANNIVERSARY:20090808T1430-0500",
        "GENDER:F",
        "LANG;PREF=1:fr",
        "LANG;PREF=2:en",
        "ORG;TYPE=work:Larkfield Choir",
        "ADR;TYPE=work:;Suite D2-630;3 Mill Lane;",
        " Larkfield;QC;X00 XX00;Canada",
        'TEL;VALUE=uri;TYPE="work,voice";PREF=1:tel:+1-555-555-0143;ext=102',
        'TEL;VALUE=uri;TYPE="work,cell,voice,video,text":tel:+1-555-555-0199',
        "EMAIL;TYPE=work:mary.larkin@example.org",
        "GEO;TYPE=work:geo:46.772673,-71.282945",
        "KEY;TYPE=work;VALUE=uri:",
        " http://www.example.org/mary.larkin/mary.asc",
        "TZ:-0500",
        "URL;TYPE=home:http://example.org",
    ) == {
        "name": "Mary Larkin",
        "phone": "+1-555-555-0143 ext. 102",
        "email": "mary.larkin@example.org",
        "language": "fr",
        "street": "3 Mill Lane, Suite D2-630",
        "city": "Larkfield, QC",
        "postcode": "X00 XX00",
        "country": "Canada",
        "phone 2": "+1-555-555-0199",
        "notes": "Organisation: Larkfield Choir",
        **dict.fromkeys(["phone_label", "phone 2 label", "email_label", "address_label"], "Work"),
    }


def test_the_group_of_rfc_6350_section_6_6_5_is_no_person():
    rows = read(
        "BEGIN:VCARD",
        "VERSION:4.0",
        "KIND:group",
        "FN:The Doe family",
        "MEMBER:urn:uuid:03a0e51f-d1aa-4385-8a53-e29025acd8af",
        "MEMBER:urn:uuid:b8767877-b4a1-4c70-9acc-505d3819e519",
        "END:VCARD",
        "BEGIN:VCARD",
        "VERSION:4.0",
        "FN:John Doe",
        "UID:urn:uuid:03a0e51f-d1aa-4385-8a53-e29025acd8af",
        "END:VCARD",
        "BEGIN:VCARD",
        "VERSION:4.0",
        "FN:Jane Doe",
        "UID:urn:uuid:b8767877-b4a1-4c70-9acc-505d3819e519",
        "END:VCARD",
    )
    assert [(row.line, row.cells["name"]) for row in rows] == [
        (1, "The Doe family"),
        (8, "John Doe"),
        (13, "Jane Doe"),
    ]
    assert [bool(row.problems) for row in rows] == [True, False, False]


def test_a_card_of_version_3_with_labels_in_groups():
    """As phones write them; TYPE=pref is RFC 2426, 3.3.1."""
    assert card(
        "N:Larkin;Mary;;;",
        "FN:Mary Larkin",
        "item1.TEL;type=CELL;type=VOICE:086 555 0143",
        "item1.X-ABLabel:her daughter",
        "TEL;type=HOME;type=VOICE;type=pref:01 555 0199",
        "TEL;type=WORK;type=FAX:01 555 0198",
        "item2.ADR;type=HOME;type=pref:;;3 Mill Lane\\nTop floor;Larkfield;;X00 XX00;Ireland",
        "item2.X-PLACE:ie",
        "NOTE:tall\\; left-handed\\nlikes blue\\\\green",
        version="3.0",
    ) == {
        "name": "Mary Larkin",
        "phone": "01 555 0199",
        "street": "3 Mill Lane Top floor",
        "city": "Larkfield",
        "postcode": "X00 XX00",
        "country": "Ireland",
        "phone_label": "Home",
        "phone 2": "086 555 0143",
        "phone 2 label": "her daughter",
        "address_label": "Home",
        "notes": "tall; left-handed\nlikes blue\\green",
    }


def test_a_card_of_version_2_1_quoted_printable_with_soft_breaks():
    """Bare types, charset and quoted-printable (RFC 2045, 6.7) as older phones write them."""
    assert card(
        "N;CHARSET=UTF-8;ENCODING=QUOTED-PRINTABLE:=C3=93rla;Jos=C3=A9;;;",
        "TEL;HOME:01 555 0199",
        "TEL;CELL:086 555 0143",
        "NOTE;QUOTED-PRINTABLE;CHARSET=ISO-8859-1:Caf=E9=0D=0Asecond =",
        " line, and=",
        " more",
        "PHOTO;ENCODING=BASE64;JPEG:/9j/4AAQSkZJRgABAQAAAQABAAD=",
        "AAAA====",
        "",
        version="2.1",
    ) == {
        "name": "José Órla",
        "phone": "086 555 0143",
        "phone_label": "Mobile",
        "phone 2": "01 555 0199",
        "phone 2 label": "Home",
        "notes": "Café\r\nsecond  line, and more",
    }


# A card within a card: the client's own phone stands behind it, and was lost.
AGENTS = {
    "vCard 2.1, 2.4.3": [
        "VERSION:2.1", "N:Larkin;Mary", "AGENT:", "BEGIN:VCARD", "VERSION:2.1", "N:Friday;Fred",
        "TEL; WORK;VOICE:+1-213-555-1234", "TEL;WORK;FAX:+1-213-555-5678", "END:VCARD",
        "TEL;CELL:086 555 0143",
    ],
    "begun on its line": [
        "VERSION:2.1", "N:Larkin;Mary", "AGENT:BEGIN:VCARD", "N:Friday;Fred",
        "TEL:+1-213-555-1234", "END:VCARD", "TEL;CELL:086 555 0143",
    ],
    "RFC 2426, 3.5.4": [
        "VERSION:3.0", "FN:Mary Larkin",
        "AGENT:BEGIN:VCARD\\nFN:Fred Friday\\nTEL:+1-213-555-1234\\nEMAIL\\;INTERNET:",
        " fred@larkfield.example\\nEND:VCARD\\n",
        "TEL;TYPE=CELL:086 555 0143",
    ],
}  # fmt: skip


@pytest.mark.parametrize("source", AGENTS)
def test_an_agent_loses_nobody_a_phone(source):
    rows = read("BEGIN:VCARD", *AGENTS[source], "END:VCARD", "BEGIN:VCARD", "FN:Bea", "END:VCARD")
    assert [row.cells["name"] for row in rows] == ["Mary Larkin", "Bea"]
    assert rows[0].cells["phone"] == "086 555 0143"
    assert rows[0].cells["phone 2"] == "+1-213-555-1234"
    assert rows[0].cells["phone 2 label"] == "Fred Friday"
    assert rows[0].cells["notes"] == "Agent: Fred Friday"
    assert ("fred" in rows[0].cells["email"]) == (source == "RFC 2426, 3.5.4")


# What writers do: the lines of a card, and what is read of it.
WAYS = {
    "2.1.3 of vCard 2.1: the blank of a fold is the text's": (
        ["VERSION:2.1", "N:Larkin;Mary", "NOTE:likes blue", "\tvery much"],
        {"name": "Mary Larkin", "notes": "likes blue very much"},
    ),
    "RFC 6350, 3.2: a fold's tab is not": (
        ["VERSION:4.0", "FN:Mary Lar", "\tkin"], {"name": "Mary Larkin"},
    ),
    "RFC 2045, 6.7: a soft break within a letter, blanks behind it": (
        ["VERSION:2.1", "FN;CHARSET=UTF-8;ENCODING=QUOTED-PRINTABLE:Zo=C3=  ", "=AB Larkin"],
        {"name": "Zoë Larkin"},
    ),
    "a soft break at the end of a card": (
        ["VERSION:2.1", "TEL:086 555", "FN;ENCODING=QUOTED-PRINTABLE:Zo="],
        {"name": "Zo", "phone": "086 555"},
    ),
    "types in one list, in several, bare": (
        [
            "FN:Ann", 'TEL;TYPE="voice,cell";TYPE=pref:1111', "TEL;HOME;VOICE:2222",
            "item1.TEL;type=VOICE:3333", "item1.X-ABLabel:_$!<Mother>!$_",
        ],
        {
            "name": "Ann", "phone": "1111", "phone_label": "Mobile", "phone 2": "2222",
            "phone 2 label": "Home", "phone 3": "3333", "phone 3 label": "Mother",
        },
    ),
    "an organisation": (["ORG:Mill Choir;"], {"name": "Mill Choir", "who": "company"}),
    "an organisation that is its name": (
        ["FN:Mill Choir", "ORG:Mill Choir"], {"name": "Mill Choir", "who": "company"},
    ),
    "an address as it is printed": (
        ["FN:Ann", "LABEL;TYPE=home:3 Mill Lane\\nLarkfield"],
        {"name": "Ann", "notes": "3 Mill Lane\nLarkfield"},
    ),
}  # fmt: skip


@pytest.mark.parametrize("way", WAYS)
def test_cards_as_they_are_written(way):
    lines, facts = WAYS[way]
    assert card(*lines) == facts


def test_what_a_card_holds_besides_is_counted_and_what_is_none_is_named():
    """A photograph in each way of the three versions (RFC 2426, 3.1.4; RFC 6350, 6.2.4)."""
    data = base64.b64encode(bytes(range(256))).decode()
    left_out: Counter[str] = Counter()
    rows = read_cards(
        "BEGIN:VCARD\nVERSION:2.1\nN:;Ann\n"
        f"PHOTO;ENCODING=BASE64;JPEG:\n {data[:70]}\n {data[70:]}\n\n"
        f"LOGO;BASE64:{data[:70]}\n{data[70:]}\nTEL:1111\nEND:VCARD\n"
        f"BEGIN:VCARD\nVERSION:3.0\nFN:Bea\nPHOTO;ENCODING=b;TYPE=JPEG:{data}\n"
        "BDAY:1990-05-03\nTEL;TYPE=FAX:4444\nTEL:2222\nEND:VCARD\n"
        f"BEGIN:VCARD\nVERSION:9.1\nFN:Cara\nPHOTO:data:image/jpeg;base64,{data}\n"
        'BDAY:--0503\nX-PET:dog\nTEL;TYPE="home:3333\nno more\nTEL:5555\nEND:VCARD\n',
        most_cards=3,
        left_out=left_out,
    )
    assert [row.cells["phone"] for row in rows] == ["1111", "2222", "5555"]
    assert left_out_words(left_out) == "3 photographs, 2 birthdays, 1 logo, 1 fax number, 1 X-PET"
    assert [row.remarks for row in rows] == [
        [],
        [],
        [
            "vCard 9.1 is not known; read as 4.0.",
            'Line 26 says nothing that is known: “TEL;TYPE="home:3333”.',
            "Line 27 says nothing that is known: “no more”.",
        ],
    ]
    assert not any(row.problems for row in rows)


@pytest.mark.parametrize("charset", ["UTF-8", "NO-SUCH-CHARSET"])
def test_a_wrong_charset_loses_nobody(charset):
    line = f"FN;ENCODING=QUOTED-PRINTABLE;CHARSET={charset}:Zo=EB"
    assert card(line, version="2.1") == {"name": "Zoë"}


def test_the_same_number_twice_is_one_and_a_second_address_has_its_number():
    assert card(
        "FN:Ann",
        "TEL;TYPE=cell:086 555 0143",
        "TEL;TYPE=home:086 555 0143",
        "ADR:;;1 Mill Lane;Larkfield;;;",
        "ADR;PREF=1:;;2 Mill Lane;Larkfield;;;",
        "ADR:;;;;;;",
    ) == {
        "name": "Ann",
        "phone": "086 555 0143",
        "street": "2 Mill Lane",
        "city": "Larkfield",
        "phone_label": "Mobile",
        "street 2": "1 Mill Lane",
        "town 2": "Larkfield",
    }


def test_only_a_fax_is_no_number_to_call():
    assert card("FN:Ann", "TEL;TYPE=fax:01 555 0100") == {"name": "Ann"}


@pytest.mark.parametrize("end", ["\r\n", "\n", "\r"])
def test_all_line_ends_and_forgotten_ends(end):
    lines = ["", "begin:vcard", "fn:Ann", "BEGIN:VCARD", "FN:Bea", "END:VCARD", "FN:nobody"]
    rows = read_cards(end.join(lines), most_cards=9)
    assert [(row.line, row.cells["name"]) for row in rows] == [(2, "Ann"), (4, "Bea")]


def test_a_damaged_card_keeps_its_neighbours():
    card = "BEGIN:VCARD\nFN:{}\nTEL:1111\nEND:VCARD\n"
    rows = read_cards("".join(map(card.format, ["Ann", "B\0ea", "Cara"])), most_cards=3)
    assert [bool(row.problems) for row in rows] == [False, True, False]


def test_a_card_without_a_name_has_an_empty_one():
    assert card("TEL:086 555 0143", "N:;;;;", "ORG:;") == {"phone": "086 555 0143"}


@pytest.mark.parametrize("text", ["", "name,phone\nAnn,1", "END:VCARD", "FN:Ann"])
def test_a_file_without_cards_is_refused(text):
    with pytest.raises(UnreadableFileError, match="no vCard"):
        read_cards(text, most_cards=9)


def test_cards_are_counted():
    with pytest.raises(UnreadableFileError, match="more than 2 cards"):
        read_cards("BEGIN:VCARD\nFN:A\nEND:VCARD\n" * 3, most_cards=2)


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
        language="ga",
        notes="first, line\nsecond; line \\ third",
    )
    read = vobject.readOne(write_cards([mary]))
    assert read.fn.value == name
    assert read.n.value.given == name
    assert read.tel.value == mary.phone
    assert read.email.value == mary.email
    assert read.lang.value == "ga"
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


@given(st.text(LETTERS | st.sampled_from("éß“漢🧵=;,"), min_size=30, max_size=120))
@example("é" * 60)
def test_quoted_printable_of_an_independent_writer(name):
    """Python's ``quopri`` breaks lines of 76 letters, also within a letter of UTF-8."""
    quoted = quopri.encodestring(escape(name).encode(), quotetabs=False).decode()
    lines = quoted.replace("=\n", "=\r\n")
    (row,) = read("BEGIN:VCARD", "VERSION:2.1", "TEL:1", f"FN;ENCODING=QUOTED-PRINTABLE:{lines}",
                  "END:VCARD")  # fmt: skip
    assert (row.cells["name"], row.cells["phone"]) == (" ".join(name.split()), "1")


@given(st.text(LETTERS | st.sampled_from('\r\n\t=;:"\\'), max_size=200))
def test_no_text_makes_the_reader_fail(text):
    assert len(list(unfold(text))) >= 1
    for prop in properties(f"A;ENCODING=QUOTED-PRINTABLE:{text}\nB:{text}\n{text}"):
        assert isinstance(prop.text, str)
        assert len(prop.fields) == prop.value.replace("\\\\", "").replace("\\;", "").count(";") + 1
