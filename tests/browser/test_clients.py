"""Clients in a browser: longest names on a phone, a file and a merge without JavaScript."""

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from clients.models import Client
from tests.browser.hands import assert_accessible, assert_fits, signed_in
from tests.factories import ClientFactory, TicketFactory

LONGEST = {
    "name": "W" * 200,
    "phone": "+353 (0)86 555 0143 / 01 555 0199 evening",
    "email": f"{'m' * 60}@{'larkfield' * 6}.example",
    "street": "3 Mill Lane " * 16,
    "city": "Larkfield" * 11,
    "notes": "مريم 🧵 " + "w" * 300,
}
TABLE = (
    "name,phone,birthday\nMary Larkin,086 555 0143,\nTom Larkin,086 555 0143,\n"
    f"{'W' * 200},1234,\n,5678,\nAda Ashe,,\n"
)


def upload(page, text: str) -> None:
    page.goto(reverse("clients-import"))
    page.set_input_files(
        "input[type=file]",
        {"name": "clients.csv", "mimeType": "text/csv", "buffer": text.encode()},
    )
    page.get_by_role("button", name="Look at it").click()


@pytest.mark.parametrize("name", ["client", "client-edit", "client-merge", "clients"])
def test_the_longest_facts_fit_on_a_phone(name, page, studio, owner):
    client = ClientFactory(**LONGEST | {"phone": LONGEST["phone"][:40]})
    ClientFactory(name=client.name)
    args = [] if name == "clients" else [client.pk]
    signed_in(page, owner).goto(reverse(name, args=args))
    assert_fits(page)
    assert_accessible(page)


def test_the_pages_between_fit_and_shut_nobody_out(page, studio, owner):
    client = ClientFactory(**LONGEST | {"phone": LONGEST["phone"][:40]})
    other = ClientFactory(name="Mary Larkin", phone="086 555 0143")
    signed_in(page, owner).goto(f"{reverse('client-merge', args=[client.pk])}?other={other.pk}")
    assert_fits(page)
    assert_accessible(page)
    upload(page, TABLE)
    expect(page.get_by_role("heading", name="Looks like somebody who is here (2)")).to_be_visible()
    assert_fits(page)
    assert_accessible(page)


def test_a_file_comes_in_without_javascript(new_context, live_server, studio, owner):
    page = signed_in(new_context(java_script_enabled=False).new_page(), owner)
    upload(page, TABLE)
    page.get_by_label("Somebody else: add Tom Larkin").check()
    page.get_by_role("button", name="Take them in").click()
    expect(page.get_by_text("4 new, 0 completed, 0 left out.")).to_be_visible()
    assert Client.objects.count() == 4


def test_two_entries_become_one_and_two_again_without_javascript(
    new_context, live_server, studio, owner
):
    keep = ClientFactory(name="Mary Larkin", phone="086 555 0143")
    other = ClientFactory(name="M. Larkin", phone="086 555 0143", notes="left-handed")
    ticket = TicketFactory(client=other)
    page = signed_in(new_context(java_script_enabled=False).new_page(), owner)
    page.goto(reverse("client", args=[keep.pk]))
    page.get_by_role("link", name="Merge").click()
    page.get_by_role("link", name="M. Larkin").click()
    page.get_by_role("button", name="Make one entry").click()
    expect(page.get_by_text("left-handed")).to_be_visible()
    expect(page.get_by_role("link", name=ticket.number)).to_be_visible()
    page.get_by_role("button", name="Undo: two entries again").click()
    expect(page.get_by_text("M. Larkin is an entry of its own again.")).to_be_visible()
    ticket.refresh_from_db()
    assert ticket.client == other


def test_somebody_alike_is_shown_on_a_phone(page, studio, owner):
    ClientFactory(**LONGEST | {"phone": LONGEST["phone"][:40]})
    signed_in(page, owner).goto(reverse("client-new"))
    page.get_by_label("Name").fill(LONGEST["name"])
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("alert")).to_contain_text("Is it one of these?")
    assert_fits(page)
    assert_accessible(page)
    page.get_by_role("button", name="None of these").click()
    expect(page.get_by_text("is on the list.")).to_be_visible()
    assert Client.objects.count() == 2
