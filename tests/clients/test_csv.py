"""Clients as a table: out, in, and the way there and back."""

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from clients.contact import country_code
from clients.files import HEADINGS, client_rows, read_table
from clients.models import Client
from studio.shop.files import UnreadableFileError, write_csv

LETTERS = st.characters(exclude_categories=["Cs", "Cc"])
TEXT = st.text(LETTERS, max_size=60).map(str.strip)
NOTES = st.text(LETTERS | st.sampled_from("\n\t"), max_size=120).map(str.strip)


def read(text: str) -> list[dict[str, str]]:
    return [row.cells for row in read_table(text).rows]


def test_a_table_has_the_columns_a_person_would_name():
    mary = Client(
        name="Mary Larkin",
        phone="+353 86 555 0143",
        email="mary@larkfield.example",
        street="3 Mill Lane",
        postcode="X00 XX00",
        city="Larkfield",
        country="IE",
        way=Client.Way.TEXT,
        notes="=tall",
    )
    assert write_csv(client_rows([mary]), list(HEADINGS)) == (
        "name,phone,e-mail,street,postcode,town,country,tax number,preferred way,notes\r\n"
        "Mary Larkin,'+353 86 555 0143,mary@larkfield.example,3 Mill Lane,X00 XX00,Larkfield,"
        "Ireland,,Text message,'=tall\r\n"
    )


@given(TEXT.filter(bool), TEXT, TEXT, NOTES, st.sampled_from(Client.Way.values))
@example("=1+1", "+353 86", "-x", "@y\n\t=2", "email")
@example("'=1", "'", "\u200f-1", '",;\n"', "call")
def test_what_goes_out_comes_back(name, phone, street, notes, way):
    sent = Client(name=name, phone=phone, street=street, notes=notes, way=way)
    (facts,) = read(write_csv(client_rows([sent]), list(HEADINGS)))
    kept = {"name": name, "phone": phone, "street": street, "notes": notes, "way": way}
    assert facts == {fact: value for fact, value in kept.items() if value}


@pytest.mark.parametrize(
    ("table", "facts"),
    [
        ("Full name;Tel\nAnn;1", {"name": "Ann", "phone": "1"}),
        ("First name,Last name\nAnn,Órla", {"name": "Ann Órla"}),
        ("Surname\tCity\tZIP\nÓrla\tCork\t9", {"name": "Órla", "city": "Cork", "postcode": "9"}),
        ("NAME,E-mail address\nAnn,a@b.example", {"name": "Ann", "email": "a@b.example"}),
        (
            "name,phone,mobile\nAnn,01 555,086 555",
            {"name": "Ann", "phone": "01 555", "notes": "mobile: 086 555"},
        ),
        ("name,phone,mobile\nAnn,,086 555", {"name": "Ann", "phone": "086 555"}),
        ("name,note,remarks\nAnn,a,b", {"name": "Ann", "notes": "a\nb"}),
        ("name,preferred way\nAnn,SMS", {"name": "Ann", "way": "text"}),
    ],
)
def test_the_headings_of_other_programs_are_understood(table, facts):
    assert read(table) == [facts]


def test_a_column_that_means_nothing_here_is_named():
    assert read_table("name,birthday,shoe size\nAnn,3 May,38").unknown == [
        "birthday",
        "shoe size",
    ]


def test_a_way_that_is_none_is_said():
    (row,) = read_table("name,preferred way\nAnn,pigeon").rows
    assert row.problems == ["Preferred way: “pigeon” is none of Call, Text message, E-mail."]


def test_a_table_without_names_is_refused():
    with pytest.raises(UnreadableFileError, match="heading “name”"):
        read_table("phone,town\n1,Cork")


@pytest.mark.parametrize(
    ("text", "code"),
    [
        # ISO 3166-1: the codes of two and of three letters, and the short names.
        ("IE", "IE"),
        ("ie", "IE"),
        ("IRL", "IE"),
        ("deu", "DE"),
        ("Ireland", "IE"),
        (" united kingdom ", "GB"),
        ("U.S.A.", "US"),
        ("UK", "GB"),
        ("Éire", "IE"),
        ("Deutschland", "DE"),
        ("España", "ES"),
        ("日本", "JP"),
        ("", ""),
        ("  ", ""),
    ],
)
def test_countries_by_code_or_name(text, code):
    assert country_code(text) == code


@pytest.mark.parametrize("text", ["Larkland", "XX", "ZZZ", "<b>", "12"])
def test_a_country_that_is_none(text):
    with pytest.raises(ValueError, match=text):
        country_code(text)
