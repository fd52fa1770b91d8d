"""What the import desk does with rows: taken, refused, given back, erased."""

import pytest
import time_machine

from clients import actions as clients
from clients.desk import actions
from clients.desk.matching import Likeness, Match, Person
from clients.files import read_file
from clients.models import FACTS, Client, ClientFile
from clients.vcard import write_cards
from jobs.counter.privacy.actions import erase
from studio.shop import doctor
from tests.clients.desk import clients_hash, on, read, row, take, taken
from tests.factories import ClientFactory, TicketFactory, UserFactory
from tests.rows import each_row
from tests.thorough import rounds

pytestmark = pytest.mark.django_db
TABLE = "name,phone,e-mail,notes\n"


def undone(file: ClientFile, by) -> ClientFile:
    actions.start_undo(file=file)
    return on(file, by)


@pytest.mark.postgres
def test_many_rows_in_and_back_are_the_same_by_hash(monkeypatch):
    """A table, then the same as cards: everybody new, then nobody; some filled, some twice."""
    by, rows = UserFactory(), rounds(70, 300)
    # Taken in two parts or more, undone in three.
    monkeypatch.setattr(actions, "BATCH", rounds(45, 200))
    monkeypatch.setattr(actions, "UNDO_BATCH", rounds(30, 100))
    for number in range(0, 60, 2):
        ClientFactory(name=f"Ann {number}", phone=f"0865{number:06}", notes="tall" * (number % 4))
    before = clients_hash()
    lines = [f"Ann {n},0865{n:06},a{n}@mail.example,{'slim' * (n % 2)}\n" for n in range(rows)]
    lines[7] = "Ann 7,none,,\n"  # wrong, between two that are right
    lines.append("ANN 9,0865000009,,a second row of somebody\n")
    text = TABLE + "".join(lines)
    file = taken(text, by)
    assert actions.counts(file) == {"added": rows - 31, "changed": 30, "left": 1, "wrong": 1}
    assert Client.objects.count() == rows - 1
    assert Client.objects.get(name="Ann 9").notes == "slim"  # what differs was not ticked
    assert take(write_cards(Client.objects.prefetch_related("contacts")), by) == (0, 0, rows - 1)
    assert actions.counts(undone(file, by))["left"] == rows
    assert clients_hash() == before


def test_undo_is_refused_for_whom_something_changed_or_who_has_a_ticket():
    by = UserFactory()
    file = taken(TABLE + "".join(f"Name {n},0865550{n},,\n" for n in range(3)), by)
    changed, ticketed, free = Client.objects.order_by("name")
    clients.change_client(client=changed, facts={"notes": "tall"}, by=by)
    TicketFactory(client=ticketed)
    file = undone(file, by)
    assert set(Client.objects.all()) == {changed, ticketed}
    assert "notes of this client was changed since" in row(file, 2).why
    assert row(file, 3).why.startswith("Something else stands on this by now")
    assert row(file, 4).outcome == ""
    clients.change_client(client=changed, facts={"notes": ""}, by=by)
    undone(file, by)
    assert set(Client.objects.all()) == {ticketed}
    assert free.pk not in {ticketed.pk, changed.pk}


def test_what_changed_between_the_look_and_the_taking_is_left_and_named():
    by = UserFactory()
    mary = ClientFactory(name="Mary", phone="0865550143")
    text = TABLE + "Mary,0865550143,m@mail.example,tall\nZoe,0865550144,,\nBea,0865550145,,\n"
    file = read(text, by)
    clients.change_client(client=mary, facts={"email": "x@mail.example"}, by=by)
    ClientFactory(name="Zoe", phone="0865550144")
    actions.start_taking(file=file)
    file = on(file, by)
    assert actions.counts(file) == {"added": 1, "changed": 1, "left": 1, "wrong": 0}
    mary.refresh_from_db()
    assert (mary.email, mary.notes) == ("x@mail.example", "tall")
    assert row(file, 2).why == "Changed meanwhile: E-mail."
    assert row(file, 3).why.startswith("Zoe came onto the list meanwhile")


@each_row(
    ("here", "row", "offered"),
    [
        ("9 New Rd,,", ",,", {}),
        ("9 New Rd,,IE", ",,Ireland", {}),
        ("9 New Rd,,", ",Cork,", {"address": False}),
        ("9 New Rd,,IE", ",,GB", {"address": False}),
        (",Larkfield,", ",Cork,", {"address": False}),
        (",Larkfield,", "4 Quay,Cork,", {"address": False}),
        (",Larkfield,", "4 Quay,,", {"street": True}),
        (",,IE", "4 Quay,,GB", {"address": False}),
        (",,IE", "4 Quay,Cork,", {"street": True, "city": True}),
    ],
)
def test_a_place_is_offered_where_it_says_something_else(here, row, offered):
    """A file without addresses offered to empty everybody's; another town was passed over."""
    street, city, country = here.split(",")
    place = {"street": street, "city": city, "country": country, "postcode": ""}
    client = ClientFactory(name="Ann", phone="1234", email="", **place)
    (read,) = read_file(f"name,phone,street,town,country\nAnn,1234,{row}\n").right
    found = Match(read, Likeness.KNOWN, Person("ann", set(), set(), client))
    offers = found.offers({*FACTS} - {"way"})
    assert {offer.key: offer.ticked for offer in offers} == offered


def test_a_column_is_taken_for_what_it_was_chosen_for():
    by = UserFactory()
    text = "Wer,Natel,Büro,Vermerk,Noch\nAnn,086 555 0143,01 555,tall,slim\n"
    columns = {"wer": "name", "natel": "phone", "buro": "phone", "vermerk": "notes"}
    file = read(text, by, columns | {"noch": "notes"})
    facts = row(file, 2).facts
    assert (facts["name"], facts["phone"], facts["phone 2"]) == ("Ann", "086 555 0143", "01 555")
    assert (facts["phone 2 label"], facts["notes"]) == ("buro", "tall\nslim")


def test_a_file_goes_after_thirty_days_and_who_is_erased_goes_from_it_at_once(studio):
    by = UserFactory()
    text = TABLE + "Mary,0865550143,,\nZoe,0865550144,,\n"
    first = taken(text, by)
    waiting = read(text, by)
    erase(client=Client.objects.get(name="Mary"), studio=studio, by=by)
    left = [[found.facts["name"] for found in file.rows.all()] for file in (first, waiting)]
    assert left == [["Zoe"], ["Zoe"]]
    with time_machine.travel(first.taken_at + actions.timedelta(days=29, hours=23)):
        doctor.tidy_up()
    assert ClientFile.objects.count() == 2
    with time_machine.travel(first.taken_at + actions.timedelta(days=30, hours=1)):
        doctor.tidy_up()
    assert not ClientFile.objects.exists()
    assert Client.objects.filter(name="Zoe").exists()
