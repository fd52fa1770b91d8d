"""Several phones, e-mails and addresses of one client: found, kept, put first, merged, undone."""

import pytest

from clients import actions
from clients.desk.matching import match
from clients.files import client_table, read_file
from clients.models import FACTS, Client, Contact, ContactFacts
from clients.queries import alike, find_clients, numbers_of
from clients.vcard import write_cards
from studio.shop import history
from studio.shop.files import Row, write_csv
from tests.clients.desk import take
from tests.factories import ClientFactory

WORK = ContactFacts("phone", "work", "+353 1 555 0177")
DAUGHTER = ContactFacts("phone", "her daughter", "087 555 0166")
MAIL = ContactFacts("email", "office", "desk@harbour.example")
COTTAGE = ContactFacts("address", "summer", "", "4 Strand Road", "F12 X345", "Killala", "IE")
ALL = (WORK, DAUGHTER, MAIL, COTTAGE)


@pytest.fixture
def mary(owner):
    facts = {"name": "Mary Larkin", "phone": "086 555 0143", "phone_label": "mobile"}
    return actions.add_client(facts=facts, by=owner, contacts=ALL)


def standing(client):
    columns = ("label", "value", "street", "postcode", "city", "country")
    return sorted(client.contacts.values_list("kind", *columns))


def test_the_first_is_the_client_s_own_and_more_follow_with_their_labels(mary):
    shown = [(phone.label, phone.value) for phone in mary.phones]
    assert shown == [
        ("mobile", "086 555 0143"),
        ("work", "+353 1 555 0177"),
        ("her daughter", "087 555 0166"),
    ]
    assert [str(place) for place in mary.addresses] == ["4 Strand Road, F12 X345 Killala, Ireland"]
    assert [mail.value for mail in mary.emails] == ["desk@harbour.example"]


@pytest.mark.postgres
@pytest.mark.parametrize(
    "typed",
    [
        "0177", "01 555 0177", "+353 1 555 0177", "00353 1 555 0177", "555 0166", "larkin 0166",
        "strand road", "killala", "mary killala", "F12 X345", "desk@harbour", "mary 0177",
    ],
)  # fmt: skip
def test_a_client_is_found_by_each_of_them(mary, typed):
    ClientFactory(name="Nora Penhale", phone="085 555 0111", city="Larkfield")
    assert find_clients(typed) == [mary]


@pytest.mark.postgres
def test_an_own_address_is_found_after_a_name(mary):
    strand = ClientFactory(name="Ann Strand", phone="", street="", city="")
    lives = ClientFactory(name="Bea Tuohy", phone="", street="9 Strand Road", city="")
    assert find_clients("strand") == [strand, lives, mary]


def test_another_s_second_number_makes_two_alike(mary, owner):
    assert list(alike("Nora Penhale", "0035387 555 0166")) == [mary]
    assert list(alike("Nora Penhale", "085 555 0111", "087 555 0166")) == [mary]
    with pytest.raises(actions.AlikeError):
        actions.add_client(
            facts={"name": "Nora Penhale", "phone": "085 555 0111"}, by=owner, contacts=[DAUGHTER]
        )


def test_an_import_knows_a_client_by_each_number(mary):
    rows = [
        Row(number, {"name": name, "phone": phone})
        for number, (name, phone) in enumerate(
            [
                ("Mary Larkin", "01 555 0177"),  # without the country's code
                ("Nora Penhale", "087 555 0166"),
                ("Mary Larkin", "085 555 0999"),
                ("Nora Penhale", "085 555 0999"),
            ],
            2,
        )
    ]
    rows[0].cells["phone"] = "0035315550177"
    assert numbers_of(mary) == {"65550143", "15550177", "75550166"}
    assert [found.verdict for found in match(rows)] == ["known", "alike", "alike", "new"]


def test_the_same_number_twice_is_one(mary, owner):
    again = ContactFacts("phone", "", "0860000000")
    rows = actions.more_contacts(mary, [WORK, again, again, ContactFacts("phone", "x")])
    assert [row.value for row in rows] == ["0860000000"]


def test_another_is_put_first_and_back(mary, owner):
    before = standing(mary)
    work = mary.contacts.get(value=WORK.value)
    actions.prefer(contact=work, by=owner)
    mary.refresh_from_db()
    assert (mary.phone, mary.phone_label, mary.phone_last4) == (WORK.value, "work", "0177")
    assert ("phone", "mobile", "086 555 0143", "", "", "", "") in standing(mary)
    cottage = mary.contacts.get(kind="address")
    actions.prefer(contact=cottage, by=owner)
    mary.refresh_from_db()
    assert mary.address_lines == ["4 Strand Road", "F12 X345 Killala"]
    assert not mary.contacts.filter(kind="address").exists()  # there was no first before
    for entry in list(history.of(mary))[:2]:
        history.undo(entry=entry, by=owner)
    mary.refresh_from_db()
    assert (mary.phone, mary.address_lines, standing(mary)) == ("086 555 0143", [], before)
    assert find_clients("killala") == [mary]


def test_they_are_changed_together_and_come_back_by_undo(mary, owner):
    before = standing(mary)
    keys = set(mary.contacts.exclude(kind="address").values_list("pk", flat=True))
    new = ContactFacts("phone", "husband", "087 555 0222")
    contacts = [WORK, ContactFacts("phone", "Ida", "087 555 0166"), MAIL, new]
    actions.change_client(client=mary, facts={"notes": "x"}, by=owner, contacts=contacts)
    assert keys < set(mary.contacts.values_list("pk", flat=True))  # corrected, not made anew
    assert not mary.contacts.filter(kind="address").exists()
    assert find_clients("0222") == [mary]
    entry = history.of(mary)[0]
    assert history.sentence(entry, "en") == "Changed: notes, phone, address."
    history.undo(entry=entry, by=owner)
    assert standing(mary) == before


def test_merging_loses_no_number_and_its_undo_parts_them_exactly(mary, owner):
    other = actions.add_client(
        facts={"name": "M. Larkin", "phone": "085 555 0100", "phone_label": "shop",
               "street": "2 Mill Lane", "city": "Larkfield", "email": "m@larkfield.example"},
        by=owner, contacts=[ContactFacts("phone", "", "087 555 0166")], seen=[mary.pk],
    )  # fmt: skip
    before = standing(mary), standing(other)
    facts = {"email": other.email}
    entry = actions.merge(keep=mary, other=other, by=owner, facts=facts)
    mary.refresh_from_db()
    numbers = {phone.value for phone in mary.phones}
    assert numbers == {"086 555 0143", "085 555 0100", WORK.value, DAUGHTER.value}
    assert {place.street for place in mary.addresses} == {"4 Strand Road", "2 Mill Lane"}
    assert {mail.value for mail in mary.emails} == {"m@larkfield.example", MAIL.value}
    actions.unmerge(entry=entry, by=owner)
    assert (standing(mary), standing(other)) == before


def test_a_household_is_joined_led_and_left(owner):
    mother, child, aunt, friend = (ClientFactory(name=name) for name in "MCAF")
    actions.join_household(client=child, other=mother, by=owner)
    actions.join_household(client=aunt, other=child, by=owner)
    assert heads() == {"M": None, "C": "M", "A": "M", "F": None}
    actions.answer_for_household(client=aunt, by=owner)
    assert heads() == {"M": "A", "C": "A", "A": None, "F": None}
    actions.join_household(client=aunt, other=friend, by=owner)
    assert heads() == {"M": "F", "C": "F", "A": "F", "F": None}
    actions.leave_household(client=friend, by=owner)
    assert heads() == {"M": None, "C": "M", "A": "M", "F": None}
    history.undo(entry=history.of(friend)[0], by=owner)
    assert heads() == {"M": "F", "C": "F", "A": "F", "F": None}
    with pytest.raises(actions.HouseholdError):
        actions.join_household(client=friend, other=mother, by=owner)


def test_two_of_a_household_become_one_and_nobody_is_their_own(owner):
    mother, child, aunt = (ClientFactory(name=name) for name in "MCA")
    actions.join_household(client=child, other=mother, by=owner)
    actions.join_household(client=aunt, other=mother, by=owner)
    entry = actions.merge(keep=child, other=mother, by=owner, facts={})
    assert heads() == {"M": None, "C": None, "A": "C"}
    actions.unmerge(entry=entry, by=owner)
    assert heads() == {"M": None, "C": "M", "A": "M"}
    alone = ClientFactory(name="X")
    actions.merge(keep=alone, other=child, by=owner, facts={})
    assert heads()["X"] == "M"


def heads():
    return dict(Client.objects.values_list("name", "household__name"))


def test_keys_of_a_contact_are_filled_when_rows_are_made_at_once(mary):
    row = Contact(client=mary, kind="phone", value="+353 (0)1 555 0188")
    row.fill_keys()
    assert (row.digits, row.last4, row.dialled) == ("353015550188", "0188", "+35315550188")


def test_the_table_and_the_cards_bring_all_of_it_back(mary, owner):
    """Written out, read in an empty book by the program's own reading, and the same again."""
    company = {"name": "Harbour Hotel", "who": "company", "legal_name": "Harbour Hotel Ltd",
               "contact_person": "Ida Quill", "email": "desk@harbour.example",
               "email_label": "desk", "street": "1 Quay", "city": "Killala", "country": "IE",
               "address_label": "Work"}  # fmt: skip
    actions.add_client(facts=company | {"way": "email"}, by=owner)
    firsts = {"email": "mary@larkfield.example", "street": "3 Mill Lane", "email_label": "Home"}
    actions.change_client(client=mary, facts=firsts, by=owner)
    clients = list(Client.objects.present().prefetch_related("contacts"))
    headings, rows = client_table(clients)
    assert headings[-11:] == [
        "phone 2", "phone 2 label", "phone 3", "phone 3 label", "e-mail 2", "e-mail 2 label",
        "street 2", "postcode 2", "town 2", "country 2", "address 2 label",
    ]  # fmt: skip
    before = book()
    table, cards = write_csv(rows, headings), write_cards(clients)
    for text in (table, cards):
        Client.objects.all().delete()
        reading = read_file(text)
        assert [row.problems for row in reading.rows] == [[], []]
        assert reading.unknown == []
        assert take(text, owner) == (2, 0, 0)
        assert take(text, owner) == (0, 0, 2)
        # A card has no field for who is to be asked for, nor for a company's other name.
        lost = {"contact_person", "legal_name"} if text == cards else set()
        assert book(lost) == [
            ({name: value for name, value in facts.items() if name not in lost}, more)
            for facts, more in before
        ]


def book(lost=()):
    return [
        (
            {name: getattr(client, name) for name in FACTS if name not in lost},
            standing(client),
        )
        for client in Client.objects.order_by("name")
    ]  # fmt: skip


def test_who_is_here_already_gets_the_numbers_that_were_missing(mary, owner):
    text = "name,phone,phone 2,phone 2 label\nMary Larkin,01 555 0177,087 555 0333,son\nBea,1,x,\n"
    reading = read_file(text)
    (found,) = match(reading.rows[:1])
    (offer,) = found.offers({"name", "phone"})  # the first number is here, with its country's code
    assert (found.verdict, offer.there, offer.ticked) == ("known", "087 555 0333 (son)", True)
    assert reading.wrong[0].problems == [
        "Phone: Write a phone number, with its digits.",
        "Phone 2: Write a phone number, with its digits.",
    ]
    assert take(text, owner) == (0, 1, 0)
    assert mary.contacts.get(label="son").value == "087 555 0333"
    assert take(text, owner) == (0, 0, 1)
