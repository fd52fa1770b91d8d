"""The slip after Save: what is still to be done, and what is done as a fact."""

import pytest

from jobs.billing.models import Payment
from jobs.tickets.models import AgreementSheet, Line
from studio.shop import clock
from studio.shop.locales import show_clock
from studio.shop.models import PaperPhrase, Profile
from tests import factories
from tests.conftest import as_read
from tests.drafts import hem, received, trousers
from tests.jobs.counter.html_form import HtmlForm


@pytest.fixture
def ticket(studio, owner):
    client = factories.ClientFactory(name="Mary Larkin", phone="086 555 0143")
    return received(studio, owner, trousers(hem()), client=client)


def shown(client, ticket, query=""):
    return client.get(f"/t/{ticket.number}/saved/{query}").content.decode()


def test_promise_price_and_the_next_things(owner_client, ticket):
    page = shown(owner_client, ticket)
    for words in ["Mary Larkin, ready by", "nothing paid yet", "Print: 1 tag", "Text it"]:
        assert words in page
    assert f'href="/t/{ticket.number}/papers/1.pdf"' in page
    assert page.count("btn big wide main") == 1
    assert "Book the fitting" not in page
    # A number alone might be taken off or left: what it is stands beside it.
    assert "hem take off 4.5 cm, total" in page


def test_the_message_says_what_was_brought_and_by_when(owner_client, helper_client, ticket):
    page = shown(owner_client, ticket)
    assert f"?body=Your%20ticket%20{ticket.number}%3A%201%20garment%2C%20ready%20by%20" in page
    assert "Total%20%E2%82%AC" in page
    assert "Total%20" not in shown(helper_client, ticket)


def test_a_deposit_is_taken_here_and_becomes_a_fact(owner_client, ticket):
    address = f"/t/{ticket.number}/saved/"
    key = owner_client.get(address).context["form"]["form_key"].value()
    sent = {"form_key": key, "amount": "10", "method": "cash"}
    assert owner_client.post(address, sent).url == address
    owner_client.post(address, sent)
    payment = Payment.objects.get()
    assert (payment.amount, payment.kind) == (1000, Payment.Kind.DEPOSIT)
    rest = ticket.gross - 1000
    assert f"€10.00 paid, €{rest // 100}.{rest % 100:02} to pay" in shown(owner_client, ticket)


def test_what_is_wrong_with_the_deposit_is_said_beside_it(owner_client, ticket):
    key = owner_client.get(f"/t/{ticket.number}/saved/").context["form"]["form_key"].value()
    sent = {"form_key": key, "amount": "9999", "method": "cash"}
    page = owner_client.post(f"/t/{ticket.number}/saved/", sent).content.decode()
    assert 'aria-invalid="true"' in page
    assert "<title>Error: " in page
    assert not Payment.objects.exists()


def test_cash_is_chosen_and_a_refused_deposit_lies_open_with_what_was_refused(owner_client, ticket):
    address = f"/t/{ticket.number}/saved/"
    page = shown(owner_client, ticket)
    form = HtmlForm(page, "deposit")
    assert form.fields["method"] == ["cash"]
    assert 'class="deposit stack tight"' in page
    sent = {"form_key": form.fields["form_key"], "amount": "10"}
    page = owner_client.post(address, sent).content.decode()
    assert 'class="deposit stack tight open"' in page
    assert '<a href="#id_method_0">' in page
    assert 'id="id_method_0"' in page[page.index('id="deposit"') :]
    assert not Payment.objects.exists()


def test_a_helper_neither_sees_nor_takes_money(helper_client, ticket):
    page = helper_client.post(f"/t/{ticket.number}/saved/", {"amount": "10", "method": "cash"})
    assert page.status_code == 200
    assert "€" not in page.content.decode()
    assert not Payment.objects.exists()


def test_what_is_not_measured_and_a_fitting_that_comes_first(owner_client, ticket):
    Line.objects.update(measure_later=True, amount_typed="", amount_mm=None, fitting_first=True)
    page = shown(owner_client, ticket, "?fitting=2099-13-01")
    assert "not measured yet" in page
    assert "Book the fitting<" in page
    fitting = factories.FittingFactory(ticket=ticket)
    page = shown(owner_client, ticket)
    assert "Book the fitting" not in page
    assert f'href="/fittings/{fitting.pk}/move/"' in page


def test_what_is_printed_leaves_the_next_client_to_the_filled_button(owner_client, ticket, studio):
    owner_client.get(f"/t/{ticket.number}/papers.pdf")
    assert AgreementSheet.objects.filter(paper__isnull=False).exists()
    page = shown(owner_client, ticket)
    assert "Print again" in page
    assert f"printed at {show_clock(clock.local(clock.now()), studio.locale)}" in as_read(page)
    assert page.count("btn big wide main") == 1


def test_words_that_papers_leave_as_typed_are_named_until_they_are_said(
    owner_client, studio, owner, ticket
):
    """A kind of the program's own list is said in German by itself; work and terms are not."""
    assert "as you typed it" not in shown(owner_client, ticket)
    type(ticket.client).objects.update(language="de")
    Profile.objects.update(terms="Try it on.")
    page = shown(owner_client, ticket)
    assert "Papers in German say as you typed it: Hem, " in page
    assert ", terms. <a" in page
    assert 'href="/prices/names/de/"' in page
    for word in ("Hem", "Try it on.", "Repairs"):
        PaperPhrase.objects.create(code="de", phrase=word, form="name", text=f"auf Deutsch: {word}")
    assert "as you typed it" not in shown(owner_client, ticket)


def test_three_garments_take_as_many_queries_as_one(
    owner_client, studio, owner, ticket, django_assert_num_queries
):
    many = received(studio, owner, *(trousers(hem()) for _ in range(3)), client=ticket.client)
    for each in (ticket, many):
        with django_assert_num_queries(QUERIES):
            shown(owner_client, each)


QUERIES = 10
