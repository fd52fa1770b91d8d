"""What a client sees behind the code, and what nobody sees."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse

from jobs.counter.messages import client_page
from jobs.counter.privacy.actions import erase
from jobs.tickets import actions
from jobs.tickets.models import ClientPage
from studio.shop import clock
from studio.shop.history import of, undo, undoable
from studio.shop.models import Entry
from tests.drafts import received
from tests.factories import ClientFactory


@pytest.fixture
def open_studio(studio):
    studio.page_address = "https://studio.example"
    studio.save()
    return studio


@pytest.fixture
def ticket(open_studio, owner):
    german = ClientFactory(name="Greta Falk", phone="0123", language="de", email="g@example.org")
    return received(open_studio, owner, client=german)


def path(ticket):
    return f"/c/{ClientPage.objects.get(ticket=ticket).key}/"


def test_state_and_day_in_the_client_s_language_and_nothing_else(client, ticket, owner):
    key = ClientPage.objects.get(ticket=ticket).key
    # 43 letters of base64 are the 256 bits of 32 bytes (RFC 4648).
    assert re.fullmatch(r"[\w-]{43}", key)
    response = client.get(path(ticket))
    page = response.text
    assert 'lang="de"' in page
    assert "Fertig bis" in page
    assert "Angenommen" in page
    for secret in ("Greta", "0123", "24", ticket.number, "g@example", "Trousers", "Hem"):
        assert secret not in re.sub(r"<svg.*?</svg>|<link.*?>|\d{1,2}\. \w+ \d{4}", "", page)
    assert 'href="tel:015550100"' in page  # the studio's own
    assert "<script" not in page
    assert not response.cookies
    headers = {name: response[name] for name in client_page.HEADERS}
    assert headers["Cache-Control"] == "no-store, private"
    assert headers["Referrer-Policy"] == "no-referrer"
    assert "noindex" in headers["X-Robots-Tag"]
    assert "default-src 'none'" in headers["Content-Security-Policy"]
    assert "script-src" not in headers["Content-Security-Policy"]
    for step in ("post", "put", "delete"):
        assert getattr(client, step)(path(ticket)).status_code == 405
    actions.tick_all(ticket=ticket, by=owner)
    actions.mark_ready(ticket=ticket, by=owner)
    assert "Abholbereit" in client.get(path(ticket)).text


@pytest.mark.postgres
def test_wrong_revoked_and_ended_are_one_answer(client, open_studio, ticket, owner, watch):
    first = path(ticket)
    wrong = client.get("/c/" + "x" * 43 + "/")
    assert wrong.status_code == 404
    assert "Nothing is shown at this address" in wrong.text

    def is_gone(address):
        response = client.get(address)
        same = {name: response[name] for name in client_page.HEADERS}
        assert (response.status_code, response.text) == (404, wrong.text)
        assert same == {name: wrong[name] for name in client_page.HEADERS}

    actions.renew_client_page(ticket=ticket, by=owner)
    is_gone(first)
    second = path(ticket)
    assert client.get(second).status_code == 200
    actions.close_client_page(ticket=ticket, by=owner)
    is_gone(second)
    undo(entry=undoable(of(ticket), owner), by=owner)
    assert client.get(second).status_code == 200
    actions.close_client_page(ticket=ticket, by=owner)
    is_gone(second)
    is_gone("/c/None/")
    actions.open_client_page(ticket=ticket, by=owner)
    third = path(ticket)
    is_gone(second)
    with clock.pretend(clock.now() - timedelta(days=open_studio.page_days)):
        actions.cancel(ticket=ticket, why="moved away", by=owner)
    assert client.get(third).status_code == 200  # its last day
    open_studio.page_days -= 1
    open_studio.save()
    is_gone(third)
    open_studio.page_days, open_studio.page_address = 365, ""
    open_studio.save()
    is_gone(third)
    # The history tells that it was opened, and never the key.
    assert not [entry for entry in Entry.objects.all() if third[3:-1] in str(entry.__dict__)]


def test_erasing_the_client_ends_it(client, open_studio, ticket, owner):
    address = path(ticket)
    actions.cancel(ticket=ticket, why="moved away", by=owner)
    actions.hand_back(ticket=ticket, by=owner)
    assert client.get(address).status_code == 200
    erase(client=ticket.client, studio=open_studio, by=owner)
    assert client.get(address).status_code == 404
    assert not ClientPage.objects.exists()


def test_one_address_looks_only_so_often(client, ticket):
    address = path(ticket)
    answers = [client.get(address).status_code for _ in range(client_page.PACE.tries + 1)]
    assert answers == [200] * client_page.PACE.tries + [429]
    assert client.get(address, REMOTE_ADDR="192.0.2.7").status_code == 200
    assert client.get("/c/wrong/").status_code == 429


def test_off_until_there_is_a_public_address(client, studio, owner, owner_client):
    ticket = received(studio, owner)
    assert not ClientPage.objects.exists()
    owner_client.post(f"/t/{ticket}/client-page/open/")
    assert not ClientPage.objects.exists()
    for wrong in ("http://studio.example", "https://studio.example/shop", "https://a@b.example"):
        page = owner_client.post("/studio/messages/", {"page_address": wrong, "page_days": 14})
        why = "begin with https" if wrong.startswith("http:") else "Write it as https://studio"
        assert why in page.text
    for tried in ("http://127.0.0.1:8170", "http://localhost:8170"):
        owner_client.post("/studio/messages/", {"page_address": tried, "page_days": 14})
        studio.refresh_from_db()
        assert studio.page_address == tried
    owner_client.post(
        "/studio/messages/", {"page_address": "https://studio.example/", "page_days": 14}
    )
    said = owner_client.post(f"/t/{ticket}/client-page/open/", {"back": "/more/"}, follow=True)
    assert f'<a href="{reverse("ticket-claim", args=[ticket])}" target="_blank">' in said.text
    assert client.get(path(ticket)).status_code == 200


def test_whoever_works_here_is_led_to_the_ticket_and_the_scan_finds_it(
    owner_client, helper_client, ticket
):
    address = path(ticket)
    for browser in (owner_client, helper_client):
        assert browser.get(address).url == ticket.get_absolute_url()
        assert browser.get(f"{address}?look").status_code == 200
    found = owner_client.get("/pick-up/", {"q": f"https://studio.example{address}"})
    assert found.url == f"/t/{ticket}/pick-up/"


@pytest.mark.paper
def test_the_code_on_the_client_s_part_leads_there(owner_client, open_studio, ticket):
    from tests import papers

    pdf = b"".join(owner_client.get(f"/t/{ticket}/claim.pdf"))
    address = f"https://studio.example{path(ticket)}"
    assert "Der Code zeigt, wie weit es ist." in " ".join(papers.text(pdf).split())
    codes = {code for page in papers.codes(pdf) for code in page}
    assert codes == {address, f"http://testserver{ticket.get_absolute_url()}"}
