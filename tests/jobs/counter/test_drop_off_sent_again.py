"""A drop-off that is sent again under its key: the same is the same ticket, other content is not.

By hand: 24.00 for the first hem; a second piece of the same hem makes 48.00.
"""

import pytest

from jobs.billing.models import Payment
from jobs.tickets.agreements import latest_agreement
from jobs.tickets.models import Ticket
from tests import factories
from tests.jobs.counter.html_form import Counter
from tests.studio.shop.test_pictures import drawn, upload

pytestmark = pytest.mark.django_db


@pytest.fixture
def work(studio):
    return factories.OperationFactory(name="Hem", price=2400)


@pytest.fixture
def form(owner_client, work):
    client = factories.ClientFactory(name="Ann")
    counter = Counter(owner_client, f"/drop-off/?client={client.pk}")
    return counter.press(f"add-garment:{work.garment_kind_id}").press(f"add-line:0:{work.pk}")


def save(form: Counter, **typed: object) -> Counter:
    """Press Save, but stay on the page, as the browser's way back does."""
    form.type(**typed)
    return form.send({**form.form.fields, "intent": ["save"]})


def adopted(form: Counter, client) -> Counter:
    """Press the one button that the page offers."""
    ticket = Ticket.objects.get()
    assert f'formaction="/t/{ticket.number}/change/"' in form.text
    sent = {**form.form.fields, "intent": ["save"]}
    form.response = client.post(f"/t/{ticket.number}/change/", sent)
    if form.response.status_code == 200:
        form.form = type(form.form)(form.text)
    return form


def test_the_same_again_is_the_same_ticket(form):
    first, second = save(form, paid="5", method="cash").response, save(form).response
    assert first.url == second.url == f"{Ticket.objects.get().get_absolute_url()}saved/"
    assert Payment.objects.get().amount == 500


def test_other_content_is_not_called_saved(form, owner_client):
    save(form, note="ring first")
    save(form, g0_l0_quantity="2", g0_colour="navy", note="ring first")

    ticket = Ticket.objects.get()
    assert form.response.status_code == 200
    assert ticket.gross == 2400
    assert f'already saved as <a href="/t/{ticket.number}/">ticket {ticket.number}</a>' in form.text
    assert "not saved: A Garment 0, colour; A Hem, how many." in form.text
    assert form.form.fields["g0-l0-quantity"] == ["2"]

    adopted(form, owner_client)
    assert form.response.url == ticket.get_absolute_url()
    ticket.refresh_from_db()
    assert (ticket.gross, ticket.version, ticket.note) == (4800, 2, "ring first")
    assert (ticket.garments.count(), ticket.garments.get().lines.count()) == (1, 1)
    assert "2" in latest_agreement(ticket).delta


def test_rows_that_came_and_went_on_the_form_do_so_on_the_ticket(form, owner_client, work):
    form.press(f"add-line:0:{work.pk}").type(g0_l1_note="second")
    save(form)
    form.press("remove-line:0:0").press(f"add-garment:{work.garment_kind_id}")
    form.press(f"add-line:1:{work.pk}").press("save")
    assert "A Hem taken off; a garment added; work added" in form.text

    adopted(form, owner_client)
    assert form.response.status_code == 302
    ticket = Ticket.objects.get()
    lines = [
        [line.note for line in garment.lines.filter(removed_at=None)]
        for garment in ticket.garments.order_by("pk")
    ]
    assert lines == [["second"], [""]]


@pytest.mark.postgres
def test_a_proposed_day_that_would_be_another_by_now_is_no_change(form):
    """The ticket itself takes hours, so the next proposal lies later: nobody has changed that."""
    save(form, g0_l0_minutes="2400")
    agreed = Ticket.objects.get().promise_at.date().isoformat()
    save(form, note="ring first")
    assert form.form.fields["promise_day"] == [agreed]
    assert "not saved: Note." in form.text


def test_where_the_ticket_was_changed_since_what_differs_is_asked(form, owner_client):
    save(form)
    ticket = Ticket.objects.get()
    Counter(owner_client, f"/t/{ticket.number}/change/").type(event="the wedding").press("save")
    save(form, event="the ball", note="ring first")
    adopted(form, owner_client)
    assert form.response.status_code == 200
    assert "changed this since you opened the page, to: the wedding." in form.text
    assert form.form.fields["event"] == ["the ball"]
    ticket.refresh_from_db()
    assert ticket.event == "the wedding"


def test_client_and_payment_are_seen_to_elsewhere(form, owner_client):
    save(form)
    save(form, paid="5", method="cash")
    assert "not saved: Paid now." in form.text
    assert "Client and payments are no part of a change" in form.text
    assert not Payment.objects.exists()


def test_another_photograph_is_other_content(form):
    first = {**form.form.fields, "intent": ["save"]}
    form.send(first, g0_camera=upload(drawn("JPEG")))
    assert form.response.status_code == 302
    form.send(first, g0_camera=upload(drawn("JPEG")))
    assert form.response.status_code == 302
    form.send(first)
    assert form.response.status_code == 200
    assert Ticket.objects.count() == 1
