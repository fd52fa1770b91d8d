"""Clients out to a file and in from one, as the pages do it."""

import re

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from clients.models import Client
from tests.factories import ClientFactory

IMPORT = reverse("clients-import")
TABLE = "name,phone,notes\nMary Larkin,086 555 0143,tall\nTom Larkin,086 555 0143,\n,1234,\n"


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


@pytest.mark.parametrize("who", ["owner_client", "helper_client"])
def test_a_file_is_looked_at_then_taken_in_then_known(who, request):
    browser = request.getfixturevalue(who)
    look = send(browser, TABLE)
    assert not Client.objects.exists()
    assert [row.line for row in look.context["reading"].wrong] == [4]
    assert "Name: Write a name, or a word you will know the client by." in look.text
    assert "has the same phone number" in look.text

    response = browser.post(IMPORT, {"held": look.context["held"], "anyway": ["3"]}, follow=True)
    assert "2 new, 0 completed, 0 left out." in response.text
    assert sorted(client.name for client in Client.objects.all()) == ["Mary Larkin", "Tom Larkin"]

    again = send(browser, TABLE)
    assert {match.verdict for match in again.context["matches"]} == {"known"}
    held = {"held": again.context["held"]}
    assert "0 new, 0 completed, 2 left out." in browser.post(IMPORT, held, follow=True).text
    assert Client.objects.count() == 2


def test_a_double_click_takes_a_file_in_once(owner_client):
    held = send(owner_client, TABLE).context["held"]
    for _ in range(2):
        owner_client.post(IMPORT, {"held": held, "anyway": ["3"]})
    assert Client.objects.count() == 2


def test_cards_come_in(owner_client):
    cards = "BEGIN:VCARD\nVERSION:3.0\nFN:José Órla\nTEL:086 555 0143\nEND:VCARD\n"
    held = send(owner_client, cards, "phone.vcf").context["held"]
    owner_client.post(IMPORT, {"held": held})
    assert [(client.name, client.phone) for client in Client.objects.all()] == [
        ("José Órla", "086 555 0143")
    ]


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
    owner_client.post(IMPORT, {"held": send(owner_client, sent).context["held"]})
    client = Client.objects.get()
    assert {fact: getattr(client, fact) for fact in facts} == facts


def test_what_is_already_known_is_said(owner_client):
    there = ClientFactory(name="Mary Larkin", phone="086 555 0143", notes="")
    text = send(owner_client, TABLE).text
    assert "gets what was missing: notes" in text
    assert f'href="/clients/{there.pk}/"' in text


def test_columns_that_mean_nothing_are_named(owner_client):
    text = send(owner_client, "name,shoe size\nAnn,38").text
    assert "nothing of a client is called so: shoe size" in text


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"", "The file is empty."),
        (b"\n\n", "The file is empty."),
        (b"phone\n1", "The table needs a column with the heading “name”."),
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


@pytest.mark.parametrize("held", ["", "x", "a:b:c"])
def test_what_was_not_held_is_not_taken(held, owner_client):
    response = owner_client.post(IMPORT, {"held": held}, follow=True)
    assert "Choose the file again." in response.text
    assert not Client.objects.exists()


@pytest.mark.parametrize("anyway", ["x", "-3", "9" * 5000, ""])
def test_a_line_that_is_no_number_is_ignored(anyway, owner_client):
    held = send(owner_client, TABLE).context["held"]
    owner_client.post(IMPORT, {"held": held, "anyway": [anyway]})
    assert Client.objects.count() == 1


def test_nothing_in_a_file_is_executed(owner_client):
    script = "<script>alert(1)</script>"
    rows = f"name,{script},country\n{script},x,\nAnn,x,{script}\n"
    assert script not in send(owner_client, rows).text


@pytest.mark.parametrize("rows", [1, 3])
def test_the_queries_of_looking_at_a_file(rows, owner_client, django_assert_num_queries):
    table = "name,phone\n" + "".join(f"Name {n},12345{n}\n" for n in range(rows))
    with django_assert_num_queries(5):
        send(owner_client, table)
