"""One ticket whose client owes the tax: agreed before anything stands on it, and taken back.

Directive 2006/112/EC: Articles 44 and 196 (the taxable person abroad owes the tax), 226 (4) and
(11a) (both VAT numbers, the words). The electronic invoice of one is in ``test_electronic``.
"""

from urllib.parse import parse_qsl
from uuid import uuid4

import pytest
from django.urls import reverse
from lxml import html

from jobs.billing.models import Invoice
from jobs.pricing.models import PriceRules
from jobs.tickets.agreements import latest_agreement
from studio.shop.models import Profile, TaxClass
from tests.drafts import hem, issued, paid, received, trousers
from tests.factories import ClientFactory


@pytest.fixture
def ticket(studio, owner):
    """A hem at 24.00, of which 13.5 % are inside: 2.85."""
    client = ClientFactory(vat_number="DE123456789", street="Am Markt 1", city="Berlin")
    return received(studio, owner, client=client)


@pytest.fixture
def page(ticket):
    return reverse("reverse-charge", args=[ticket.number])


def rates(ticket):
    ticket.refresh_from_db()
    return [
        (rate["sentence"], rate["exempt"], rate["net"], rate["tax"], rate["gross"])
        for rate in latest_agreement(ticket).data["rates"]
    ]


def words_of(page):
    return " ".join(html.fromstring(page).text_content().split())


def test_the_owner_agrees_it_from_the_ticket_and_takes_it_back(owner_client, ticket, page):
    assert f'href="{page}"' in owner_client.get(ticket.get_absolute_url()).text
    offered = words_of(owner_client.get(page).text)
    assert "with €2.85 tax" in offered
    assert "Prices as agreed: €24.00" in offered
    assert "Without the tax inside: €21.15" in offered
    answer = owner_client.post(page, {"version": 1, "prices": "agreed"})
    assert answer.url == f"{ticket.get_absolute_url()}#money"
    assert "Money says" not in offered
    assert rates(ticket) == [("Reverse charge", True, 2400, 0, 2400)]
    assert TaxClass.objects.get(name="Reverse charge").exempt
    agreed = latest_agreement(ticket)
    assert (agreed.version, agreed.delta, agreed.reason) == (
        2, "the tax of the work", "Reverse charge",
    )  # fmt: skip
    # The same again is no second version.
    owner_client.post(page, {"version": 2})
    assert rates(ticket) == [("", False, 2115, 285, 2400)]
    assert latest_agreement(ticket).reason == "Tax as usual"
    assert f"Ticket {str(ticket)[:2]}" in owner_client.get(page).text


def test_what_was_agreed_is_undone_from_the_notice(owner_client, ticket, page):
    answer = owner_client.post(page, {"version": 1, "prices": "agreed"}, follow=True)
    (notice,) = answer.context["messages"]
    assert "is under reverse charge" in str(notice)
    undo, _, fields = notice.extra_tags.removeprefix("undo ").partition("?")
    undone = owner_client.post(undo, dict(parse_qsl(fields)))
    assert undone.url == f"{ticket.get_absolute_url()}#money"
    assert rates(ticket) == [("", False, 2115, 285, 2400)]


def test_another_sum_than_that_of_money_is_explained(owner_client, studio, owner):
    """23.00 with 13.5 % inside are 20.26 without; to the step of 0.50 that is 20.50."""
    PriceRules.objects.update_or_create(pk=1, defaults={"rounding_step": 50})
    client = ClientFactory(vat_number="DE123456789")
    ticket = received(studio, owner, trousers(hem(unit_price=2300)), client=client)
    shown = words_of(owner_client.get(reverse("reverse-charge", args=[ticket.number])).text)
    assert "Without the tax inside: €20.50" in shown
    assert (
        "Money says €20.26 without tax. Here each price is rounded by itself, to the price list"
        "\N{RIGHT SINGLE QUOTATION MARK}s step of €0.50." in shown
    )


ASKED = "does it owe the tax (reverse charge)? Local rules decide."


def test_a_business_from_abroad_without_its_vat_number_is_a_question(owner_client, studio, owner):
    """On the ticket's *Money* and before the invoice, where its sum and tax stand as well."""
    client = ClientFactory(country="DE", who="company", street="Am Markt 1", city="Berlin")
    ticket = received(studio, owner, client=client)
    issue = reverse("invoice-issue", args=[ticket.number])
    field = reverse("client-edit", args=[client.pk])
    for page in (ticket.get_absolute_url(), issue):
        shown = owner_client.get(page).text
        assert ASKED in words_of(shown)
        assert f'href="{field}?back={page}#id_vat_number"' in shown
    sums = html.fromstring(owner_client.get(issue).text).xpath("//main//dl[@class='figures']/*")
    assert "Without tax €21.15 Tax €2.85 Total €24.00" in " ".join(
        part.text_content().strip() for part in sums
    )
    for facts in ({"country": "IE"}, {"who": ""}, {"vat_number": "DE123456789"}):
        before = {name: getattr(client, name) for name in facts}
        type(client).objects.update(**facts)
        for page in (ticket.get_absolute_url(), issue):
            shown = owner_client.get(page).text
            assert ASKED not in words_of(shown)
            offered = reverse("reverse-charge", args=[ticket.number]) in shown
            assert offered is ("vat_number" in facts)
        type(client).objects.update(**before)
    # A press on *Issue invoice* asks as well: what is issued cannot be changed.
    type(client).objects.update(vat_number="DE12345678")
    shown = owner_client.post(issue, {"form_key": uuid4()}).text
    assert "DE12345678 is no usual VAT number: after DE come 9 digits." in words_of(shown)
    assert "Issue it with tax" in shown
    assert not Invoice.objects.exists()
    owner_client.post(issue, {"form_key": uuid4(), "taxed": "yes"})
    type(client).objects.update(vat_number="")
    assert ASKED not in words_of(owner_client.get(ticket.get_absolute_url()).text)
    invoice = Invoice.objects.get()
    shown = words_of(owner_client.get(invoice.get_absolute_url()).text)
    assert "Germany" in shown
    assert "Ireland" in shown


@pytest.mark.postgres
def test_work_that_is_added_to_such_a_ticket_is_under_the_same_tax(owner_client, ticket, page):
    owner_client.post(page, {"version": 1, "prices": "out"})
    assert rates(ticket) == [("Reverse charge", True, 2115, 0, 2115)]
    change = reverse("ticket-change", args=[ticket.number])
    (form,) = (
        form for form in html.fromstring(owner_client.get(change).text).forms
        if "opened" in form.fields
    )  # fmt: skip
    typed = {name: value for name, value in form.form_values() if value != "on"}
    typed |= {"g0-l1-operation": "", "g0-l1-name": "Button", "g0-l1-quantity": "1",
              "g0-l1-price": "3", "g0-l1-basis": "total", "g0-l1-measure": "take_off"}  # fmt: skip
    assert owner_client.post(change, typed | {"intent": "save"}).status_code == 302
    assert rates(ticket) == [("Reverse charge", True, 2415, 0, 2415)]


def test_its_deposit_and_receipt_tell_the_same_tax(owner_client, studio, owner, ticket, page):
    Profile.objects.update(deposit_tax=True)
    owner_client.post(page, {"version": 1, "prices": "agreed"})
    studio.refresh_from_db()
    receipt = paid(studio, owner, ticket)
    for told in (receipt.data["rates"], receipt.data["work"]["rates"]):
        assert [(rate["sentence"], rate["tax"]) for rate in told] == [("Reverse charge", 0)]
    # Now the receipt stands on it.
    assert owner_client.post(page, {"version": 2}).status_code == 200
    assert rates(ticket)[0][0] == "Reverse charge"
    assert f'href="{page}"' not in owner_client.get(ticket.get_absolute_url()).text
    assert (
        "Reverse charge"
        in Invoice.objects.get(pk=issued(studio, owner, ticket).pk).data["rates"][0]["sentence"]
    )


@pytest.mark.parametrize(("change", "words"), [
    (lambda ticket, studio, by: Profile.objects.update(vat_number="", tax_number=""),
     "The studio's VAT number is missing"),
    (lambda ticket, studio, by: type(ticket.client).objects.update(vat_number=""),
     "The client's VAT number is missing, or is not one of another country."),
    (lambda ticket, studio, by: type(ticket.client).objects.update(vat_number="IE0000000X"),
     "or is not one of another country."),
    (lambda ticket, studio, by: issued(studio, by, ticket), "Credit it first."),
    (lambda ticket, studio, by: paid(studio, by, ticket), "the receipt tells the tax"),
    (lambda ticket, studio, by: type(ticket).objects.update(version=7), "Look at the sums again."),
    (lambda ticket, studio, by: TaxClass.objects.create(name="Reverse charge"),
     "Make it exempt, with “Reverse charge” as its sentence."),
])  # fmt: skip
def test_it_is_refused_where_something_is_missing_or_stands(
    change, words, owner_client, studio, owner, ticket, page
):
    before = latest_agreement(ticket).data["rates"]
    change(ticket, studio, owner)
    answer = owner_client.post(page, {"version": 1, "prices": "agreed"})
    assert answer.status_code == 200
    assert words in words_of(answer.text)
    ticket.refresh_from_db()
    assert ticket.agreements.get(version=1).data["rates"] == before
    assert ticket.agreements.count() == 1


def test_a_client_of_the_same_country_is_not_asked_about_it(owner_client, studio, owner):
    ticket = received(studio, owner, trousers(hem()), form_key=uuid4())
    assert "reverse-charge" not in owner_client.get(ticket.get_absolute_url()).text
