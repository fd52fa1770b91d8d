"""Clients as a table, out and in; a file of them checked, sorted, held and taken in."""

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from clients.contact import country_code
from clients.desk.matching import Likeness, Match, match
from clients.files import by_columns, client_table, open_file, read_file
from clients.forms import ClientForm
from clients.models import FACTS, Client
from studio.shop.files import UnreadableFileError, decoded, write_csv
from studio.shop.imports import Reading
from tests.clients.desk import take
from tests.factories import ClientFactory

LETTERS = st.characters(exclude_categories=["Cs", "Cc"])
TEXT = st.text(LETTERS, max_size=60).map(str.strip)
NOTES = st.text(LETTERS | st.sampled_from("\n\t"), max_size=120).map(str.strip)


def read(text: str) -> list[dict[str, str]]:
    opened = open_file(text)
    return [by_columns(row, opened.columns).cells for row in opened.rows]


def written(*clients: Client) -> str:
    headings, rows = client_table(clients)
    return write_csv(rows, headings)


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
        language="de",
        notes="=tall",
    )
    assert written(mary) == (
        "name,phone,e-mail,street,postcode,town,country,vat number,tax number,preferred way,"
        "language of papers,notes,person or company,name on invoices,contact person,phone label,"
        "e-mail label,address label\r\n"
        "Mary Larkin,'+353 86 555 0143,mary@larkfield.example,3 Mill Lane,X00 XX00,Larkfield,"
        "Ireland,,,Text message,German,'=tall,,,,,,\r\n"
    )


@given(TEXT.filter(bool), TEXT, TEXT, NOTES, st.sampled_from(Client.Way.values))
@example("=1+1", "+353 86", "-x", "@y\n\t=2", "email")
@example("'=1", "'", "\u200f-1", '",;\n"', "call")
def test_what_goes_out_comes_back(name, phone, street, notes, way):
    sent = Client(name=name, phone=phone, street=street, notes=notes, way=way)
    (facts,) = read(written(sent))
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
            {"name": "Ann", "phone": "01 555", "phone 2": "086 555", "phone 2 label": "mobile"},
        ),
        ("name,phone,mobile\nAnn,,086 555", {"name": "Ann", "phone": "086 555"}),
        ("name,note,remarks\nAnn,a,b", {"name": "Ann", "notes": "a\nb"}),
        ("name,preferred way\nAnn,SMS", {"name": "Ann", "way": "text"}),
        (
            "Vorname;Name;Straße;PLZ;Ort;Handy\nAnn;Müller;Weg 1;12345;Köln;0171 55",
            {
                "name": "Ann Müller",
                "street": "Weg 1",
                "postcode": "12345",
                "city": "Köln",
                "phone": "0171 55",
            },
        ),
        ("Prénom;Nom;Ville\nAnne;Le Gall;Brest", {"name": "Anne Le Gall", "city": "Brest"}),
        (
            "name,mobile 1,Email 2\nAnn,1,a@b.example",
            {
                "name": "Ann",
                "phone": "1",
                "e-mail 2": "a@b.example",
            },
        ),
        (
            "name,phone,phone,Address,Address\nAnn,1,2,A,B",
            {
                "name": "Ann",
                "phone": "1",
                "phone 2": "2",
                "street": "A",
                "street 2": "B",
            },
        ),
        (
            "name,Phone 1 - Value,Phone 2 - Value\nAnn,01 555 ::: 02 555,03 555",
            {
                "name": "Ann",
                "phone": "01 555",
                "phone 2": "03 555",
                "phone 3": "02 555",
                "phone 3 label": "phone",
            },
        ),
        (
            """First Name,Home City,Business Street,Mobile Phone,E-mail Address,E-mail 2 Address
Ann,Cork,Dock Rd 9,086 555,a@b.example,c@b.example""",
            {
                "name": "Ann",
                "city": "Cork",
                "street 2": "Dock Rd 9",
                "phone": "086 555",
                "email": "a@b.example",
                "e-mail 2": "c@b.example",
            },
        ),
        (
            """Vorname;Nachname;Straße privat;Ort geschäftlich;Telefon (privat);E-Mail-Adresse
Lea;Acht;Weg 3;Köln;0351 12;l@b.example""",
            {
                "name": "Lea Acht",
                "street": "Weg 3",
                "town 2": "Köln",
                "phone": "0351 12",
                "email": "l@b.example",
            },
        ),
        ("sep=;\nname;phone\nAnn, B;1", {"name": "Ann, B", "phone": "1"}),
        (
            (
                "Vor- und Nachname;Straße und Hausnummer;PLZ/Ort;Rufnummer;Bemerkung\r\n"
                'Lea Acht;Weg 3;D-01067 Dresden;0351 12;"a\r\nb"\r\n'
            ),
            {
                "name": "Lea Acht",
                "street": "Weg 3",
                "postcode": "01067",
                "city": "Dresden",
                "phone": "0351 12",
                "notes": "a\r\nb",
            },
        ),
        (
            (
                "Vorname*;Nachname*;Straße;Hausnr.;Wohnort;Tel.-Nr.;Firma;;\n"
                "Lea;Acht;Weg;3 b;Köln;;Chor;;"
            ),
            {
                "name": "Lea Acht",
                "street": "Weg 3 b",
                "city": "Köln",
                "notes": "Organisation: Chor",
            },
        ),
        (
            (
                "Société\tNom complet\tN° de rue\tVoie\tCP Ville\tTél. portable\n"
                "Chœur\t\t3\tQuai\t29200 Brest\t06"
            ),
            {
                "name": "Chœur",
                "who": "company",
                "street": "Quai 3",
                "postcode": "29200",
                "city": "Brest",
                "phone": "06",
            },
        ),
        ("Firma,Telefon\nChor,12", {"name": "Chor", "who": "company", "phone": "12"}),
        (
            (
                "Nombre,Apellidos,Dirección,Código postal,Población,Móvil,"
                "Correo electrónico,Notas,Notas\n"
                "Iñigo,Núñez,Calle 3,29001,Málaga,600,i@b.example,a,b"
            ),
            {
                "name": "Iñigo Núñez",
                "street": "Calle 3",
                "postcode": "29001",
                "city": "Málaga",
                "phone": "600",
                "email": "i@b.example",
                "notes": "a\nb",
            },
        ),
        (
            (
                "imię i nazwisko;ulica i numer;kod pocztowy, miejscowość;nr telefonu;"
                "nr telefonu;uwagi\n"
                "Ewa Wójcik;Polna 3;00-950 Łódź;22 1;22 2;x"
            ),
            {
                "name": "Ewa Wójcik",
                "street": "Polna 3",
                "postcode": "00-950",
                "city": "Łódź",
                "phone": "22 1",
                "phone 2": "22 2",
                "notes": "x",
            },
        ),
        (
            (
                "Céad ainm,Sloinne,Seoladh,Baile,Éirchód,Guthán,Ríomhphost,Tír\n"
                "Máire,Ní Bhriain,Lána 3,Corcaigh,X00 XX00,086,m@b.example,Éire"
            ),
            {
                "name": "Máire Ní Bhriain",
                "street": "Lána 3",
                "city": "Corcaigh",
                "postcode": "X00 XX00",
                "phone": "086",
                "email": "m@b.example",
                "country": "Éire",
            },
        ),
        (
            "Příjmení;Jméno;Ulice;PSČ;Město\nKučera;Řehoř;Na Hrázi 3;10000;Jiříkov",
            {
                "name": "Řehoř Kučera",
                "street": "Na Hrázi 3",
                "postcode": "10000",
                "city": "Jiříkov",
            },
        ),
        (
            "first_name,last_name,phone_number,E-mail:\nAnn,Bell,12,a@b.example",
            {"name": "Ann Bell", "phone": "12", "email": "a@b.example"},
        ),
        ("Name,Given name,Family name\nAnn Órla,Ann,Órla", {"name": "Ann Órla"}),
        (
            """Name,E-mail 1 - Value,Phone 1 - Label,Phone 1 - Value,Phone 2 - Type,\
Phone 2 - Value,Address 1 - Street,Address 1 - Postal Code,Address 2 - Street
Ann,a@b.example,home,01 555,mobile,086 555,Mill Lane 3,X10,Quay 9""",
            {
                "name": "Ann",
                "email": "a@b.example",
                "phone_label": "home",
                "phone": "01 555",
                "phone 2 label": "mobile",
                "phone 2": "086 555",
                "street": "Mill Lane 3",
                "postcode": "X10",
                "street 2": "Quay 9",
            },
        ),
    ],
)
def test_the_headings_of_other_programs_are_understood(table, facts):
    assert read(table) == [facts]


def test_half_a_fact_is_a_column_of_its_own():
    """They were put together before the columns were shown, and could not be matched by eye."""
    opened = open_file("Firma;Straße;Hausnr.;PLZ Ort;Notiz;Notiz\nChor;Weg;3;01067 Dresden;a;b\n")
    assert opened.columns == {
        "firma": "company",
        "strasse": "street",
        "hausnr.": "house number",
        "plz ort": "postcode and town",
        "notiz": "notes",
        "notiz 2": "notes",
    }
    assert opened.rows[0].cells["hausnr."] == "3"


def test_a_column_that_means_nothing_here_is_named():
    assert read_file("name,birthday,shoe size\nAnn,3 May,38").unknown == [
        "birthday",
        "shoe size",
    ]


def test_a_way_that_is_none_is_said():
    (row,) = read_file("name,preferred way\nAnn,pigeon").rows
    assert row.problems == [
        "Preferred way: “pigeon” is none of Call, Text message, E-mail, Call only."
    ]


def test_a_table_without_names_is_refused():
    with pytest.raises(UnreadableFileError, match="heading “name”"):
        read_file("phone,town\n1,Cork")


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


pytestmark = pytest.mark.django_db


def reading(text: str | bytes) -> Reading:
    data = text if isinstance(text, bytes) else text.encode()
    return read_file(decoded(data).text)


def verdicts(text: str) -> list[Likeness]:
    return [matched.verdict for matched in match(reading(text).right)]


def test_cards_and_tables_are_told_apart():
    cards = "\ufeff\r\nBEGIN:VCARD\r\nVERSION:3.0\r\nFN:Ann\r\nEND:VCARD\r\n"
    assert reading(cards).rows[0].cells["name"] == "Ann"
    assert reading("name\nAnn").rows[0].cells["name"] == "Ann"
    assert reading("name;Größe\nZoë;x".encode("utf-16")).unknown == ["grosse"]


def test_what_is_missing_gets_the_usual_value():
    table = "name,phone,e-mail\nAnn,086 555,a@x.example\nBea,,b@x.example\nCara,,\n"
    facts = [row.cells for row in reading(table).right]
    assert [fact["way"] for fact in facts] == ["call", "email", "call"]
    assert set(facts[0]) == set(FACTS)


@pytest.mark.parametrize(
    ("row", "problem"),
    [
        (",086 555 0143,,,", "Name: Write a name"),
        (f"{'x' * 201},,,,", "Name: Ensure this value has at most 200 characters"),
        ("\u200b,086 555,,,", "Name: Write a name that can be seen"),
        ("Ann,none,,,", "Phone: Write a phone number, with its digits"),
        ("Ann,3.53876E+11,,,", "Phone: A spreadsheet has rounded this number"),
        ("Ann,,,,,1.0067E+4", "Postcode: a spreadsheet has rounded"),
        ('Ann,"3,5e11",,,', "Phone: A spreadsheet has rounded this number"),
        ("Ann,086 555,,,,,too many", "It has more cells than there are headings"),
        (f"Ann,{'1' * 41},,,", "Phone: Ensure this value has at most 40"),
        ("Ann,,not a mail,,", "E-mail: Write an e-mail address"),
        ("Ann,,,Larkland,", "Country: No country is called “Larkland”"),
        ("Ann,,,,pigeon", "Preferred way: “pigeon” is none of"),
    ],
)
def test_a_row_that_is_wrong_is_named_with_its_line(row, problem):
    read = reading(f"name,phone,e-mail,country,preferred way,postcode\nBea,1234,,,\n{row}\n")
    (wrong,) = read.wrong
    assert wrong.line == 3
    assert len(wrong.problems) == 1
    assert wrong.problems[0].startswith(problem)
    assert [row.cells["name"] for row in read.right] == ["Bea"]


@pytest.mark.parametrize(
    ("cells", "remark"),
    [
        (",05-Mar,,", "Line 2: “05-Mar” is a street that a spreadsheet has made a day of"),
        (",Mill Lane Mar-05,,", "made a day of"),
        (",2026-03-05 00:00:00,,", "made a day of"),
        (",Rue du 8 Mai 1945,75000,FR", ""),
        (",5-8 Mill Lane,,", ""),
        ("######,,,", "A spreadsheet wrote “######” where a phone was"),
        (",#NAME?,,", "A spreadsheet wrote “#NAME?” where a street was"),
        (",,1067,DE", "Postcode “1067”: is a zero in front missing?"),
        (",,150,NO", "Postcode “150”: is a zero in front missing?"),
        (",,1067,AT", ""),
        (",,01067,DE", ""),
        ("868550143,,,", "Phone “868550143”: is a zero or a plus in front missing?"),
        ("353868550143,,,", "is a zero or a plus in front missing?"),
        ("600123456,,,ES", ""),
        ("086 855 0143,,,", ""),
        ("5550143,,,", ""),
    ],
)
def test_what_a_spreadsheet_has_spoilt_is_named(studio, cells, remark):
    """The studio is in Ireland, where numbers begin with a zero (ITU-T E.164, from memory)."""
    (row,) = reading(f"name,phone,street,postcode,country\nAnn,{cells}\n").rows
    assert row.problems == []
    assert remark.removeprefix("Line 2: ") in " ".join(row.remarks)
    assert bool(row.remarks) == bool(remark)
    assert "#" not in "".join(row.cells.values())


@pytest.mark.parametrize("text", ["name\n", "name,phone\n,\n", ""])
def test_a_file_with_nobody_in_it_is_refused(text):
    with pytest.raises(UnreadableFileError):
        reading(text)


def test_a_huge_file_is_refused():
    with pytest.raises(UnreadableFileError, match="more than 20000 rows"):
        reading("name\n" + "Ann\n" * 20_001)


@pytest.mark.parametrize(
    ("row", "verdict"),
    [
        ("Zoe,01 555 9999", Likeness.NEW),
        ("Zoe,", Likeness.NEW),
        ("mary LÁRKIN,086 555 0143", Likeness.KNOWN),
        ("Mary Larkin,+353 (0)86 555 0143", Likeness.KNOWN),
        ("Mary Larkin,", Likeness.ALIKE),
        ("Mary Larkin,01 555 9999", Likeness.ALIKE),
        ("Tom Larkin,086-5550143", Likeness.ALIKE),
        ("No Phone,", Likeness.KNOWN),
        ("No Phone,01 555 9999", Likeness.ALIKE),
    ],
)
def test_who_is_known_and_who_is_only_alike(row, verdict):
    ClientFactory(name="Mary Larkin", phone="086 555 0143")
    ClientFactory(name="No Phone", phone="")
    assert verdicts(f"name,phone\n{row}") == [verdict]


@pytest.mark.parametrize(
    ("row", "verdict"),
    [
        ("Ann Byrne,,39 Orchard Close,,", Likeness.ALIKE),
        ("Ann Byrne,,9 New Rd,X10 AB12,", Likeness.ALIKE),  # at that address, but which postcode?
        ("Ann Byrne,,9 NEW RD,,Larkfield", Likeness.KNOWN),
        ("Ann Byrne,ann@mail.example,39 Orchard Close,X10 AB12,", Likeness.KNOWN),
        ("Ann Byrne,other@mail.example,,,", Likeness.ALIKE),
        ("Ann Byrne,,,,", Likeness.ALIKE),
        ("Ann Byrne,,,,Larkfield", Likeness.ALIKE),
        ("Anne Byrne,,9 New Rd,,Larkfield", Likeness.NEW),
    ],
)
def test_a_name_alone_gives_nobody_the_facts_of_another(row, verdict):
    """Without phones a name was enough: whoever lives in 39 Orchard Close took a stranger's
    postcode."""
    ClientFactory(
        name="Ann Byrne", phone="", email="Ann@mail.example", street="9 New Rd", city="Larkfield",
        postcode="",
    )  # fmt: skip
    assert verdicts(f"name,e-mail,street,postcode,town\n{row}") == [verdict]


def to_tick(matched: Match) -> set[str]:
    """What differs, and is taken only where somebody says so."""
    offers = matched.offers({*FACTS} - {"way"})
    return {offer.key for offer in offers if not offer.ticked}


ANOTHER_STREET = "name,e-mail,street,postcode,town,address label"


@pytest.mark.parametrize(
    ("row", "kept", "asked"),
    [
        ("39 Orchard Close,X10 AB12,Cork,mother", ("9 New Rd", "", "", ""), {"address"}),
        (",X10 AB12,Cork,", ("9 New Rd", "", "", ""), {"address"}),
        ("9 NEW RD,X10 AB12,Cork,home", ("9 New Rd", "X10 AB12", "Cork", "home"), set()),
    ],
)
def test_a_street_takes_no_postcode_of_another(row, kept, asked):
    ann = ClientFactory(
        name="Ann Byrne", phone="", email="ann@mail.example", street="9 New Rd", city="",
        postcode="", country="", address_label="",
    )  # fmt: skip
    table = f"{ANOTHER_STREET}\nAnn Byrne,ann@mail.example,{row}\n"
    (matched,) = match(reading(table).right)
    assert (matched.verdict, to_tick(matched)) == (Likeness.KNOWN, asked)
    take(table)
    ann.refresh_from_db()
    assert (ann.street, ann.postcode, ann.city, ann.address_label) == kept


def test_a_label_is_not_given_to_another_number():
    ann = ClientFactory(name="Ann", phone="01 555 1111", phone_label="", email="a@b.example")
    table = "name,e-mail,phone,phone label\nAnn,a@b.example,01 555 2222,Work\n"
    (matched,) = match(reading(table).right)
    assert to_tick(matched) == {"phone"}
    assert take(table) == (0, 0, 1)
    ann.refresh_from_db()
    assert (ann.phone, ann.phone_label) == ("01 555 1111", "")


def test_no_column_takes_the_place_of_another():
    """Two headings that mean the same street: what one of them says is not lost unnamed."""
    read = reading("name,Home Street,Street\nAnn,Mill Lane 3,Quay 9\n")
    assert read.rows[0].cells["street"] == "Quay 9"
    assert read.unknown == ["home street"]


def test_an_e_mail_of_somebody_else_is_a_question():
    ClientFactory(name="Cleo Vance", phone="", email="Cleo@mail.example")
    (matched,) = match(reading("name,e-mail\nC. Vance,cleo@mail.example\n").right)
    assert (matched.verdict, matched.shared) == (Likeness.ALIKE, "e-mail")


def test_nobody_is_like_an_entry_that_is_gone():
    kept = ClientFactory(name="Zoe", phone="")
    ClientFactory(name="Mary Larkin", phone="086 555 0143", merged_into=kept)
    assert verdicts("name,phone\nMary Larkin,086 555 0143") == [Likeness.NEW]


def test_a_file_that_names_somebody_twice_makes_one():
    table = "name,phone\nMary,086 555 0143\nMARY,0865550143\nTom,086 555 0143\n"
    matches = match(reading(table).right)
    assert [matched.verdict for matched in matches] == [
        Likeness.NEW,
        Likeness.KNOWN,
        Likeness.ALIKE,
    ]
    assert [matched.person.line for matched in matches[1:]] == [2, 2]
    assert take(table) == (1, 0, 2)


def test_the_same_file_again_makes_nobody_twice():
    table = "name,phone,country\nMary,086 555 0143,IE\nمريم,,\n🧵,1234,\nTom,086 555 0143,\n"
    assert take(table, anyway={5}) == (4, 0, 0)
    assert take(table, anyway={5}) == (0, 0, 4)
    assert take(table) == (0, 0, 4)
    assert {client.phone_last4 for client in Client.objects.all()} == {"0143", "1234", ""}


def test_who_only_resembles_somebody_is_left_out_unless_wanted():
    mary = ClientFactory(name="Mary", phone="086 555 0143", notes="")
    table = "name,phone,notes\nTom,086 555 0143,tall\nZoe,1234,\n"
    assert take(table) == (1, 0, 1)
    assert take(table, anyway={2}) == (1, 0, 1)
    mary.refresh_from_db()
    assert (mary.name, mary.notes) == ("Mary", "")


def test_what_was_missing_is_filled_in_and_nothing_is_overwritten():
    mary = ClientFactory(name="Mary", phone="086 555 0143", city="Larkfield", way="text")
    table = "name,phone,town,e-mail,preferred way\nMARY,+353865550143,Cork,mary@x.example,Call\n"
    (matched,) = match(reading(table).right)
    assert to_tick(matched) == {"address"}
    assert take(table) == (0, 1, 0)
    mary.refresh_from_db()
    assert (mary.name, mary.phone, mary.city) == ("Mary", "086 555 0143", "Larkfield")
    assert (mary.email, mary.way) == ("mary@x.example", "text")
    assert take(table) == (0, 0, 1)


def test_the_queries_do_not_grow_with_the_file(django_assert_num_queries):
    for count in (1, 3):
        rows = reading("name\n" + "".join(f"{count} {n}\n" for n in range(count))).right
        with django_assert_num_queries(1):
            match(rows)


def test_a_language_is_read_by_name_or_code_and_what_is_none_goes_to_the_notes(
    db, django_assert_max_num_queries
):
    typed = ["Deutsch", "pl", "fr-CA", "", "Klingon", "zu", *["Irish"] * 20]
    table = "name,language\r\n" + "".join(f"Ann {n},{it}\r\n" for n, it in enumerate(typed))
    with django_assert_max_num_queries(3):
        rows = read_file(table).rows
    assert not any(row.problems for row in rows)
    assert [row.cells["language"] for row in rows][:7] == ["de", "pl", "fr", "", "", "", "ga"]
    assert [row.cells["notes"] for row in rows][4:6] == ["Language: Klingon", "Language: zu"]
    assert rows[4].remarks == ["Papers cannot be in “Klingon”: it stands in the notes."]
    assert [row.remarks for row in rows][:4] == [[]] * 4
    with django_assert_max_num_queries(1):
        form = ClientForm({"name": "Ann", "way": "call", "language": "zu"})
        assert not form.is_valid()
    kept = ClientForm(
        {"name": "Ann", "way": "call", "language": "he"}, instance=Client(language="he")
    )
    assert kept.is_valid()
