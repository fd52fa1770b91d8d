"""The same page changes a ticket: what was agreed stands until something else is agreed."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.contrib.messages import get_messages

from jobs.billing.actions import issue_invoice
from jobs.tickets import actions
from jobs.tickets.models import Ticket
from studio.shop import clock
from studio.shop.models import Profile
from tests.drafts import hem, received, trousers
from tests.jobs.counter.html_form import Counter
from tests.studio.shop.test_pictures import drawn, upload


@pytest.fixture
def ticket(studio, owner, work):
    return received(
        studio, owner, trousers(hem(operation_id=work.pk), kind_id=work.garment_kind_id)
    )


def change_page(client, ticket: Ticket) -> Counter:
    return Counter(client, f"/t/{ticket.number}/change/")


def test_saving_the_page_as_it_opens_changes_nothing(owner_client, studio, owner):
    full = trousers(
        hem(quantity=2, surcharges=[_lined()], note="by hand"),
        colour="navy", condition="hole; left cuff", washed="no", worn="new",
        things_left="belt", description="wide leg",
    )  # fmt: skip
    ticket = received(
        studio, owner, full, trousers(), rush_percent=20, discount_percent=5, deposit=700,
        event="wedding", note="ring first", wanted_by=clock.today() + timedelta(days=9),
    )  # fmt: skip

    page = change_page(owner_client, ticket)
    # The rush that was agreed keeps its percentage, whatever the list asks today.
    assert "Rush, +20 %" in page.text
    page.press("save")

    assert page.response.url == ticket.get_absolute_url()
    ticket.refresh_from_db()
    assert (ticket.version, ticket.agreements.count()) == (1, 1)


def _lined() -> dict:
    return {"name": "Lined", "percent": "25", "amount": 0, "minutes_percent": "25", "minutes": 0}


def test_one_more_garment_is_three_taps_and_a_new_version(owner_client, ticket, work):
    page = change_page(owner_client, ticket)
    page.press(f"add-garment:{work.garment_kind_id}").press(f"add-line:1:{work.pk}")
    page.type(reason="brought by her sister").press("save")

    ticket.refresh_from_db()
    # The first hem stays at the price agreed; the second has the list's price of today.
    assert (ticket.version, ticket.gross) == (2, 2400 + 3000)
    assert [garment.letter for garment in ticket.garments.all()] == ["A", "B"]
    newest = ticket.agreements.get(version=2)
    assert newest.reason == "brought by her sister"
    assert "added B: Hem" in newest.delta


def test_the_promise_can_move(owner_client, ticket):
    day = clock.today() + timedelta(days=20)
    change_page(owner_client, ticket).type(promise_day=day, promise_time="11:30").press("save")

    ticket.refresh_from_db()
    promise = clock.local(ticket.promise_at)
    assert (promise.date(), f"{promise:%H:%M}") == (day, "11:30")


def test_an_overdue_promise_need_not_move_when_something_else_changes(owner_client, ticket):
    Ticket.objects.update(promise_at=clock.now() - timedelta(days=3))
    change_page(owner_client, ticket).type(g0_colour="black").press("save")

    assert ticket.garments.get().colour == "black"


def test_what_is_taken_off_leaves_the_ticket(owner_client, ticket, work):
    page = change_page(owner_client, ticket)
    page.press(f"add-line:0:{work.pk}").press("remove-line:0:0").press("save")

    ticket.refresh_from_db()
    assert ticket.gross == 3000


def test_the_tax_stays_as_agreed_until_the_garment_is_another(owner_client, ticket):
    Profile.objects.get().worn_tax.rates.update(percent=9)
    page = change_page(owner_client, ticket).type(g0_colour="black").press("save")
    assert ticket.garments.get().lines.get().tax["percent"] == "13.5"

    page = change_page(owner_client, ticket).type(g0_worn="new").press("save")
    assert page.response.status_code == 302
    assert ticket.garments.get().lines.get().tax["percent"] == "23"


def test_a_helpers_change_leaves_the_money_agreed(helper_client, owner, studio):
    ticket = received(studio, owner, discount_percent=10, deposit=500)
    page = change_page(helper_client, ticket)
    assert "€" not in page.text
    page.type(g0_colour="black").press("save")

    ticket.refresh_from_db()
    assert ticket.garments.get().colour == "black"
    assert (ticket.gross, ticket.deposit, ticket.discount_percent) == (2160, 500, 10)


def test_under_an_invoice_the_price_stands_but_notes_may_change(
    owner_client, owner, studio, ticket
):
    invoice = issue_invoice(ticket=ticket, by=owner, studio=studio, form_key=uuid4())
    page = change_page(owner_client, ticket).type(g0_l0_price="99").press("save")

    ticket.refresh_from_db()
    assert ticket.gross == 2400
    assert f"Invoice {invoice.number} has been issued." in page.text
    assert f'href="/invoices/{invoice.number}/"' in page.text
    assert page.form.fields["g0-l0-price"] == ["99"]

    page.type(g0_l0_price="", g0_colour="black").press("save")
    assert ticket.garments.get().colour == "black"


@pytest.mark.postgres
def test_a_photograph_joins_its_garment(owner_client, ticket):
    page = change_page(owner_client, ticket).press("save", g0_camera=upload(drawn("JPEG")))

    assert page.response.status_code == 302
    assert ticket.garments.get().photos.count() == 1


def test_a_ticket_that_is_closed_is_not_changed(owner_client, ticket, owner):
    actions.cancel(ticket=ticket, why="not worth it", by=owner)

    response = owner_client.get(f"/t/{ticket.number}/change/")

    assert response.url == ticket.get_absolute_url()
    (message,) = get_messages(response.wsgi_request)
    assert str(message) == f"Ticket {ticket.number} is cancelled and cannot be changed."


def test_no_ticket_no_page(owner_client):
    assert owner_client.get("/t/26-9999/change/").status_code == 404
