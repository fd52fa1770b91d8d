"""Clients out to a file and in from one, as the pages do it."""

import csv
import io
import re
from functools import reduce

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from clients.desk import actions
from clients.models import Client, ClientFile
from tests.clients.desk import clients_hash, take
from tests.factories import ClientFactory

IMPORT = reverse("clients-import")
pytestmark = pytest.mark.django_db

TABLE = """\
Name,Natel,Town,Mail
Mary Larkin,086 555 0143,Larkfield,mary@mail.example
Tom Larkin,086 555 0143,,
Zoe,01 555 0177,,
,1234,,
"""


@pytest.fixture(autouse=True)
def _friday():
    with time_machine.travel("2026-11-27 12:00Z", tick=False):
        yield


def send(browser, data: str | bytes, name: str = "clients.csv"):
    content = data if isinstance(data, bytes) else data.encode()
    return browser.post(IMPORT, {"file": SimpleUploadedFile(name, content)})


@pytest.mark.parametrize("who", ["owner_client", "helper_client"])
def test_a_table_goes_out(who, request):
    browser = request.getfixturevalue(who)
    kept = ClientFactory(name="Órla", phone="+353 1", country="IE")
    ClientFactory(name="Gone", merged_into=kept)
    response = browser.get(reverse("clients-csv"))
    assert response["Content-Disposition"] == 'attachment; filename="clients-2026-11-27.csv"'
    rows = response.content.decode("utf-8-sig").splitlines()
    assert rows[1:] == ["Órla,'+353 1,,,,,Ireland,,,Call,,,,,,,,"]


@pytest.mark.parametrize("who", ["owner_client", "helper_client"])
def test_cards_go_out(who, request):
    browser = request.getfixturevalue(who)
    kept = ClientFactory(name="Órla", phone="+353 1")
    ClientFactory(name="Gone", merged_into=kept)
    response = browser.get(reverse("clients-vcf"))
    assert response["Content-Type"] == "text/vcard; charset=utf-8"
    assert response["Content-Disposition"] == 'attachment; filename="clients-2026-11-27.vcf"'
    assert re.findall("FN:.*", response.text) == ["FN:Órla\r"]


@pytest.mark.parametrize("name", ["clients-csv", "clients-vcf"])
@pytest.mark.parametrize("rows", [1, 3])
def test_the_queries_of_a_file(name, rows, owner_client, django_assert_num_queries):
    ClientFactory.create_batch(rows)
    with django_assert_num_queries(5):
        owner_client.get(reverse(name))


def address(response) -> str:
    assert response.status_code == 302
    return response["Location"]


@pytest.mark.parametrize("who", ["owner_client", "helper_client"])
def test_a_file_is_matched_looked_at_taken_undone_and_taken_again(who, request):
    """Twice over, as who gives back a file by mistake would; sent twice, each press is once."""
    browser = request.getfixturevalue(who)
    mary = ClientFactory(name="Mary Larkin", phone="086 555 0143", email="m@mail.example")
    before = clients_hash()
    page = address(send(browser, TABLE))
    text = browser.get(page).text
    assert [shown in text for shown in (">Natel<", "<bdi>086 555 0143</bdi>")] == [True, True]
    assert browser.get(page).context["columns"][1].chosen == ""
    columns = {"column-0": "name", "column-1": "phone", "column-2": "town", "column-3": "e-mail"}
    wrong = columns | {"intent": "columns", "column-0": ""}
    assert "Choose the column that holds the name." in browser.post(page, wrong).text
    for _ in range(2):
        browser.post(page, columns | {"intent": "columns"}, follow=True)
    look = browser.get(page + "?kind=changed")
    (row, client) = look.context["people"][0]
    assert client == mary
    assert [shown in look.text for shown in (">m@mail.example", ">mary@mail.example")] == [True] * 2
    assert [(o["key"], o["ticked"]) for o in row.offers] == [("email", False), ("city", True)]
    shown = {"shown": row.pk, "row": row.pk, "offer": [f"{row.pk}:email", f"{row.pk}:city"]}
    browser.post(page, shown | {"intent": "turn:alike:1"})
    (row, _) = browser.get(page + "?kind=alike").context["people"][0]
    assert (row.why, row.ticked) == ("The same phone number.", False)
    for _ in range(2):
        taken = browser.post(page, {"shown": row.pk, "row": row.pk, "intent": "take"}, follow=True)
    assert taken.context["counts"] == {"added": 2, "changed": 1, "left": 0, "wrong": 1}
    mary.refresh_from_db()
    assert (mary.email, mary.city) == ("mary@mail.example", "Larkfield")
    assert [contact.value for contact in mary.contacts.all()] == ["m@mail.example"]
    assert clients_hash() != before
    refused = browser.get(page + "not-taken.csv").content.decode("utf-8-sig")
    assert refused.splitlines() == [
        "Name,Natel,Town,Mail,Why not",
        ',1234,,,"Name: Write a name, or a word you will know the client by."',
    ]
    for _ in range(2):
        undone = browser.post(page, {"intent": "undo"}, follow=True)
    assert (undone.context["counts"]["added"], undone.context["file"].state) == (0, "undone")
    assert clients_hash() == before
    assert "Undone" in browser.get(IMPORT).text
    again = browser.get(address(send(browser, TABLE)))  # as it was matched last time
    assert [column.chosen for column in again.context["columns"]] == [*columns.values()]


LONG = "a note of many letters, " * 9
CARD = (
    "BEGIN:VCARD\nVERSION:3.0\nFN:{0}\nTEL:086555{1}\nTEL;TYPE=work:086666{1}\nEMAIL:{2}\n"
    "ADR:;;3 Mill Lane;Larkfield;;X10;Ireland\nNOTE:a\\, b\\nc\nEND:VCARD\n"
)
REFUSED = (
    (
        "Wer,Natel,E-mail,Vermerk\nAnn,08655501,a@mail.example,\nBea,08655502,nobody,\n"
        f'Cleo,"086 "555" 03",,"{LONG}"\nDora,08655504,,tall,slim\nEve,08655505,,\n'
    ),
    CARD.format("Fay", 7, "f@mail.example")
    + CARD.format("Gus", 8, "no one")
    + CARD.format("Hal", 9, "h@mail.example"),
)
RIGHT = {
    "nobody": "b@mail.example",
    "no one": "g@mail.example",
    '"086 "555" 03"': "08655503",
    "tall,slim": '"tall, slim"',
}
PUT_RIGHT = {
    "Bea": {"E-mail": "b@mail.example"},
    "Cleo": {"Natel": "08655503"},
    "Dora": {"Vermerk": "tall, slim", "column 5": ""},
    "Gus": {"e-mail": "g@mail.example"},
}


@pytest.mark.postgres
def test_rows_that_were_refused_are_put_right_and_come_in_once(owner_client):
    """By the table of them, as a spreadsheet saves it; sent twice, then the whole file."""
    pages: list[str] = []
    chosen = {"column-0": "name", "column-1": "phone", "column-2": "e-mail", "column-3": "notes"}

    def counts_of(data: str | bytes) -> tuple[int, ...]:
        pages.append(address(send(owner_client, data)))
        columns = owner_client.get(pages[-1]).context.get("columns", ())
        known = {f"column-{place}": column.chosen for place, column in enumerate(columns)}
        if columns:
            owner_client.post(
                pages[-1], (known if "name" in known.values() else chosen) | {"intent": "columns"}
            )
        owner_client.post(pages[-1])
        owner_client.post(pages[-1], {"intent": "take"})
        counts = actions.counts(ClientFile.objects.get(pk=pages[-1].split("/")[-2]))
        return counts["added"], counts["changed"], counts["left"], counts["wrong"]

    before, everybody = clients_hash(), 0
    for text, wrong in zip(REFUSED, (3, 1), strict=True):
        assert counts_of(text) == (2, 0, 0, wrong)
        table = owner_client.get(pages[-1] + "not-taken.csv").content.decode("utf-8-sig")
        rows = list(csv.DictReader(io.StringIO(table)))
        out = io.StringIO(newline="")
        writer = csv.DictWriter(out, rows[0], delimiter=";")
        writer.writeheader()
        writer.writerows(row | PUT_RIGHT[next(iter(row.values()))] for row in rows)
        mended = out.getvalue().encode("cp1252")
        assert counts_of(mended) == (wrong, 0, 0, 0)
        assert counts_of(mended) == (0, 0, wrong, 0)
        whole = reduce(lambda told, pair: told.replace(*pair), RIGHT.items(), text)
        assert counts_of(whole) == (0, 0, 2 + wrong, 0)
        everybody += 2 + wrong
        assert Client.objects.count() == everybody
    assert Client.objects.get(name="Cleo").notes == LONG.strip()
    for page in reversed(pages):
        owner_client.post(page, {"intent": "undo"})
    assert clients_hash() == before


def test_ticks_stay_when_the_page_is_turned_and_all_or_none_are_ticked(owner_client):
    table = "name,phone\n" + "".join(
        f"{chr(65 + n % 26)}nn {n:02},08655{n:04}\n" for n in range(60)
    )
    page = address(send(owner_client, table))
    owner_client.post(page, {"intent": "columns", "column-0": "name", "column-1": "phone"})
    first = owner_client.get(page)
    assert (first.context["page"].paginator.num_pages, first.context["ticked"]) == (3, 60)
    assert first.context["letters"][:3] == [("A", 1), ("B", 1), ("C", 1)]
    shown = [row.pk for row, _ in first.context["people"]]
    second = owner_client.post(
        page, {"shown": shown, "row": shown[1:], "intent": "turn:new:", "jump": "2"}, follow=True
    )
    assert (second.context["page"].number, second.context["ticked"]) == (2, 59)
    assert not owner_client.get(page).context["people"][0][0].ticked
    shown = [row.pk for row, _ in second.context["people"]]
    sent = {"shown": shown, "row": shown}
    none = owner_client.post(page, sent | {"intent": "none:new:3"}, follow=True)
    assert (none.context["page"].number, none.context["ticked"]) == (3, 0)
    assert "Nobody is ticked." in owner_client.post(page, {"intent": "take"}, follow=True).text
    every = owner_client.post(page, {"intent": "all:new:3"}, follow=True)
    assert every.context["ticked"] == 60
    # A tick for a row of another file, a number that is none, a page that is none: nothing.
    owner_client.post(page, {"shown": ["x", "9" * 50], "offer": ["x:y", "1"], "intent": "turn:x:y"})
    assert owner_client.get(page + "?kind=x&page=y").context["ticked"] == 60


def test_other_letters_are_chosen_of_the_file_that_is_here(owner_client):
    """Own names in Windows-1250, sent as Windows-1252; then cards in which one letter is wrong."""
    table = "név;lakcím;tel\nSzőke Ágnes;Fő út 3;1234\nZsófi Fűzi;Győr;1235\nAnn Bell;;1236\n"
    upload = SimpleUploadedFile("nevek.csv", table.encode("cp1250"))
    page = address(owner_client.post(IMPORT, {"file": upload, "letters": "cp1252"}))
    look = owner_client.get(page)
    assert look.context["sample"] == ["Szõke Ágnes", "Zsófi Fûzi", "Fõ út 3"]
    others = {other.charset: other.texts for other in look.context["others"]}
    assert next(iter(others)) == "cp1250"  # the likeliest stands first
    assert others["cp1250"] == ["Szőke Ágnes", "Zsófi Fűzi", "Fő út 3"]
    chosen = {"column-0": "name", "column-1": "street", "column-2": "phone"}
    look = owner_client.post(page, chosen | {"intent": "letters:cp1250"}, follow=True)
    assert (look.context["file"].letters, look.context["file"].state) == ("Windows-1250", "columns")
    columns = look.context["columns"]
    assert [(column.heading, column.chosen) for column in columns] == [
        ("név", "name"),
        ("lakcím", "street"),
        ("tel", "phone"),
    ]
    owner_client.post(page, chosen | {"intent": "columns"})
    for letters, name in (("cp852", "Sz§ke"), ("cp1252", "Szõke"), ("cp1250", "Szőke")):
        look = owner_client.post(page, {"intent": f"letters:{letters}"}, follow=True)
        assert f"<bdi>{name} " in look.text
        assert (look.context["file"].state, look.context["ticked"]) == ("people", 3)
    older = {"shown": [row.pk for row, _ in look.context["people"]], "intent": "take"}
    owner_client.post(page, {"intent": "letters:cp852"})
    assert "in another window meanwhile" in owner_client.post(page, older, follow=True).text
    owner_client.post(page, {"intent": "letters:cp1250"})
    wrong = owner_client.post(page, {"intent": "letters:utf-8"}, follow=True)
    assert "These letters cannot be chosen." in wrong.text
    owner_client.post(page, {"intent": "take"})
    taken = owner_client.post(page, {"intent": "letters:cp1252"}, follow=True)
    assert "in another window meanwhile" in taken.text
    assert set(Client.objects.values_list("name", "street")) == {
        ("Szőke Ágnes", "Fő út 3"),
        ("Zsófi Fűzi", "Győr"),
        ("Ann Bell", ""),
    }
    cards = "".join(f"BEGIN:VCARD\nVERSION:2.1\nFN:{n}\nEND:VCARD\n" for n in ("Nađa", "Órla"))
    page = address(send(owner_client, cards.encode("cp1250"), "cards.vcf"))
    look = owner_client.post(page, {"intent": "letters:cp1250"}, follow=True)
    assert [row.facts["name"] for row, _ in look.context["people"]] == ["Nađa", "Órla"]


def test_what_is_under_way_goes_on_by_itself_and_by_hand(owner_client, monkeypatch):
    page = address(send(owner_client, "name\nAnn\nBea\nCleo\n"))
    monkeypatch.setattr(actions, "BATCH", 2)
    monkeypatch.setattr(actions, "monotonic", lambda: next(moments))
    moments = iter([0, 5])  # the page that chooses the columns does nothing itself
    owner_client.post(page, {"intent": "columns", "column-0": "name"})
    assert 'hx-trigger="load' in owner_client.get(page).text
    moments = iter([0, 1, 5])
    part = owner_client.post(page, headers={"HX-Request": "true"})
    assert "Reading the rows: 2 of 3" in part.text
    moments = iter([0, 1, 5])
    assert address(owner_client.post(page)) == page
    assert owner_client.get(page).context["ticked"] == 3
    moments = iter([0, 1, 5])
    owner_client.post(page, {"intent": "take"})
    assert "Taking them in: 2 of 3" in owner_client.get(page).text
    moments = iter([0, 1, 5])
    part = owner_client.post(page, headers={"HX-Request": "true"})
    assert part["HX-Redirect"] == page
    assert owner_client.get(page).context["counts"]["added"] == 3


@pytest.mark.parametrize("name", ["clients-csv", "clients-vcf"])
def test_what_went_out_can_come_in(name, owner_client):
    facts = {
        "name": "=Mary, “M” Larkin",
        "phone": "+353 86 555 0143",
        "email": "mary@larkfield.example",
        "street": "3 Mill Lane; top",
        "postcode": "X00 XX00",
        "city": "Larkfield",
        "country": "IE",
        "notes": "-tall\n@blue\\n",
    }
    ClientFactory(**facts)
    sent = owner_client.get(reverse(name)).content
    Client.objects.all().delete()
    assert take(sent) == (1, 0, 0)
    client = Client.objects.get()
    assert {fact: getattr(client, fact) for fact in facts} == facts


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"", "The file is empty."),
        (b"\n\n", "The file is empty."),
        (b"name\n", "There is nobody in the file but the headings."),
        (b"PK\x03\x04xlsx", "This is a spreadsheet, not text. Save it as CSV and send that."),
        (b"\xff\xd8\xff\xe0\x00\x10JFIF", "This is not a text file, or it is damaged."),
        (b"x" * (25 * 1024 * 1024 + 1), "The file is larger than 25 MB. Send it in parts."),
    ],
)
def test_a_file_that_cannot_be_read_is_refused_with_the_reason(data, message, owner_client):
    (error,) = send(owner_client, data).context["form"].errors["file"]
    assert message in error


def test_no_file_at_all(owner_client):
    response = owner_client.post(IMPORT, {})
    assert response.context["form"].errors == {"file": ["Choose a file."]}


def test_nothing_in_a_file_is_executed(owner_client):
    script = "<script>alert(1)</script>"
    rows = f"name,{script},country\n{script},{script},\nAnn,x,{script}\n"
    page = address(send(owner_client, rows))
    assert script not in owner_client.get(page).text
    sent = {"intent": "columns", "column-0": "name", "column-1": "notes", "column-2": "country"}
    owner_client.post(page, sent)
    assert all(script not in owner_client.get(f"{page}?kind={k}").text for k in ("new", "wrong"))


def test_queries(owner_client, django_assert_num_queries):
    """Of each page of the desk, at one row and at three."""
    asked = {"": 4, "columns": 5, "changed": 9, "taken": 7, "csv": 5}
    for count in (1, 3):
        for number in range(count):
            ClientFactory(name=f"{count} {number}", phone=f"08655{count}{number}44", city="")
        lines = [f"{count} {number},08655{count}{number}44,Cork\n" for number in range(count)]
        page = address(send(owner_client, "name,phone,town\n" + "".join(lines)))
        with django_assert_num_queries(asked["columns"]):
            owner_client.get(page)
        chosen = {"column-0": "name", "column-1": "phone", "column-2": "town"}
        owner_client.post(page, chosen | {"intent": "columns"})
        with django_assert_num_queries(asked["changed"]):
            assert len(owner_client.get(page).context["people"]) == count
        owner_client.post(page, {"intent": "take"})
        with django_assert_num_queries(asked["taken"]):
            owner_client.get(page)
        with django_assert_num_queries(asked["csv"]):
            owner_client.get(page + "not-taken.csv")
    with django_assert_num_queries(asked[""]):
        owner_client.get(IMPORT)
