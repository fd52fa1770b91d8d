"""A file of clients: checked, sorted, held, and taken in."""

import pytest
import time_machine

from clients import actions
from clients.files import Verdict, match, read_file
from clients.models import FACTS, Client
from studio.shop.files import Row, UnreadableFileError, decode
from studio.shop.imports import ImportRefusedError, Reading, hold, release
from tests.factories import ClientFactory, UserFactory

pytestmark = pytest.mark.django_db


def reading(text: str | bytes) -> Reading:
    data = text if isinstance(text, bytes) else text.encode()
    return read_file(decode(data))


def take(text: str, **kwargs) -> tuple[int, int, int]:
    rows = reading(text).right
    added, completed = actions.import_clients(rows=rows, by=UserFactory(), **kwargs)
    return added, completed, len(rows) - added - completed


def verdicts(text: str) -> list[Verdict]:
    return [found.verdict for found in match(reading(text).right)]


def test_cards_and_tables_are_told_apart():
    cards = "\ufeff\r\nBEGIN:VCARD\r\nVERSION:3.0\r\nFN:Ann\r\nEND:VCARD\r\n"
    assert reading(cards).rows[0].cells["name"] == "Ann"
    assert reading("name\nAnn").rows[0].cells["name"] == "Ann"
    assert reading("name;Straße\nZoë;x".encode("utf-16")).unknown == ["strasse"]


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
        (f"Ann,{'1' * 41},,,", "Phone: Ensure this value has at most 40"),
        ("Ann,,not a mail,,", "E-mail: Write an e-mail address"),
        ("Ann,,,Larkland,", "Country: No country is called “Larkland”"),
        ("Ann,,,,pigeon", "Preferred way: “pigeon” is none of"),
    ],
)
def test_a_row_that_is_wrong_is_named_with_its_line(row, problem):
    read = reading(f"name,phone,e-mail,country,preferred way\nBea,1234,,,\n{row}\n")
    (wrong,) = read.wrong
    assert wrong.line == 3
    assert len(wrong.problems) == 1
    assert wrong.problems[0].startswith(problem)
    assert [row.cells["name"] for row in read.right] == ["Bea"]


@pytest.mark.parametrize("text", ["name\n", "name,phone\n,\n", ""])
def test_a_file_with_nobody_in_it_is_refused(text):
    with pytest.raises(UnreadableFileError):
        reading(text)


def test_a_huge_file_is_refused():
    with pytest.raises(UnreadableFileError, match="more than 3000 rows"):
        reading("name\n" + "Ann\n" * 3001)


@pytest.mark.parametrize(
    ("row", "verdict"),
    [
        ("Zoe,01 555 9999", Verdict.NEW),
        ("Zoe,", Verdict.NEW),
        ("mary LÁRKIN,086 555 0143", Verdict.KNOWN),
        ("Mary Larkin,+353 (0)86 555 0143", Verdict.KNOWN),
        ("Mary Larkin,", Verdict.ALIKE),
        ("Mary Larkin,01 555 9999", Verdict.ALIKE),
        ("Tom Larkin,086-5550143", Verdict.ALIKE),
        ("No Phone,", Verdict.KNOWN),
        ("No Phone,01 555 9999", Verdict.ALIKE),
    ],
)
def test_who_is_known_and_who_is_only_alike(row, verdict):
    ClientFactory(name="Mary Larkin", phone="086 555 0143")
    ClientFactory(name="No Phone", phone="")
    assert verdicts(f"name,phone\n{row}") == [verdict]


def test_nobody_is_like_an_entry_that_is_gone():
    kept = ClientFactory(name="Zoe", phone="")
    ClientFactory(name="Mary Larkin", phone="086 555 0143", merged_into=kept)
    assert verdicts("name,phone\nMary Larkin,086 555 0143") == [Verdict.NEW]


def test_a_file_that_names_somebody_twice_makes_one():
    table = "name,phone\nMary,086 555 0143\nMARY,0865550143\nTom,086 555 0143\n"
    matches = match(reading(table).right)
    assert [found.verdict for found in matches] == [Verdict.NEW, Verdict.KNOWN, Verdict.ALIKE]
    assert [found.person.line for found in matches[1:]] == [2, 2]
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
    (found,) = match(reading(table).right)
    assert found.gap_words == "e-mail"
    assert take(table) == (0, 1, 0)
    mary.refresh_from_db()
    assert (mary.name, mary.phone, mary.city) == ("Mary", "086 555 0143", "Larkfield")
    assert (mary.email, mary.way) == ("mary@x.example", "text")
    assert take(table) == (0, 0, 1)


def test_all_of_a_file_or_nothing():
    """A fault in the last row takes the first one with it."""
    facts = dict.fromkeys(FACTS, "") | {"way": "call"}
    rows = [Row(2, facts | {"name": "Ann"}), Row(3, facts | {"name": None})]
    ClientFactory(name="Zoe", phone="1234", city="")
    rows.insert(0, Row(1, facts | {"name": "Zoe", "phone": "1234", "city": "Cork"}))
    with pytest.raises(AttributeError):
        actions.import_clients(rows=rows, by=UserFactory())
    assert [(client.name, client.city) for client in Client.objects.all()] == [("Zoe", "")]


def test_three_thousand_rows_are_taken_in():
    table = "name,phone\n" + "".join(f"Name {n},08{n:07d}\n" for n in range(3000))
    assert take(table) == (3000, 0, 0)
    assert Client.objects.filter(name_key="name 77", phone_last4="0077").count() == 1


def test_the_queries_do_not_grow_with_the_file(django_assert_num_queries):
    for count in (1, 3):
        rows = reading("name\n" + "".join(f"{count} {n}\n" for n in range(count))).right
        with django_assert_num_queries(1):
            match(rows)


def test_what_is_held_comes_back_as_it_was():
    rows = reading('name,notes\nÓrla,"a\nb"\n').right
    assert release(hold(rows, "clients"), "clients") == rows


@pytest.mark.parametrize("harm", [lambda held: held[:-1], lambda held: "x" + held, lambda held: ""])
def test_what_was_tampered_with_is_not_taken(harm):
    with pytest.raises(ImportRefusedError):
        release(harm(hold([], "clients")), "clients")


def test_what_was_held_for_days_is_not_taken():
    with time_machine.travel("2026-11-27 12:00Z", tick=False) as moment:
        held = hold([], "clients")
        moment.shift(25 * 3600)
        with pytest.raises(ImportRefusedError):
            release(held, "clients")


def test_more_than_a_page_can_hold_is_refused(monkeypatch):
    monkeypatch.setattr("studio.shop.imports.MOST_LETTERS", 10)
    with pytest.raises(UnreadableFileError, match="in parts"):
        hold(reading("name\nAnn").right, "clients")
