"""Which tax holds on a day. The rates are invented; no law is quoted."""

from datetime import date
from decimal import Decimal

import pytest
import time_machine
from django.urls import reverse

from studio.shop import actions
from studio.shop.models import Profile, TaxClass, TaxError, TaxRate
from tests.factories import TaxClassFactory, TaxRateFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def repairs():
    """Raised from 12 to 6.125 per cent and up again."""
    tax_class = TaxClassFactory(name="Repairs of clothes")
    for percent, day in (("12", date(2020, 1, 1)), ("6.125", date(2022, 7, 1))):
        TaxRateFactory(tax_class=tax_class, percent=Decimal(percent), valid_from=day)
    return tax_class


@pytest.mark.parametrize(
    ("day", "percent"),
    [
        (date(2019, 12, 31), None),
        (date(2020, 1, 1), "12"),
        (date(2022, 6, 30), "12"),
        (date(2022, 7, 1), "6.125"),
        (date(2030, 1, 1), "6.125"),
    ],
)
def test_the_latest_rate_that_has_begun_holds(repairs, day, percent):
    assert repairs.rate_on(day) == (Decimal(percent) if percent else None)


def test_an_exempt_kind_has_no_rate_to_look_for():
    assert TaxClassFactory(exempt=True).rate_on(date(2026, 1, 1)) == 0


def test_the_facts_are_plain_text_for_a_ticket_to_keep(studio):
    assert studio.tax_for("worn", date(2026, 11, 25)) == {
        "name": "Repairs", "percent": "13.5", "exempt": False, "sentence": "",
    }  # fmt: skip
    new = studio.tax_for("new", date(2026, 11, 25))
    assert new is not None
    assert (new["name"], new["percent"]) == ("Standard", "23")


def test_an_exempt_kind_brings_its_sentence(studio):
    studio.new_tax = TaxClassFactory(name="Small", exempt=True, sentence="No tax: small business.")
    assert studio.tax_for("new", date(2026, 11, 25)) == {
        "name": "Small", "percent": "0", "exempt": True, "sentence": "No tax: small business.",
    }  # fmt: skip


def test_a_studio_without_tax_has_none(studio):
    studio.tax_mode = Profile.TaxMode.NONE
    assert studio.tax_for("worn", date(2026, 11, 25)) is None


def test_no_class_chosen_is_said(studio):
    studio.new_tax = None
    with pytest.raises(TaxError, match="Choose the tax on new garments"):
        studio.tax_for("new", date(2026, 11, 25))


def test_no_rate_on_that_day_is_said(studio, repairs):
    studio.worn_tax = repairs
    with pytest.raises(
        TaxError, match=r"No rate of the tax “Repairs of clothes” holds on 31 Dec 2019"
    ):
        studio.tax_for("worn", date(2019, 12, 31))


@pytest.fixture
def at_noon():
    with time_machine.travel("2026-11-25 12:00:00+00:00", tick=False):
        yield date(2026, 11, 25)


def rates(tax_class: TaxClass) -> list[tuple[str, date]]:
    return [(f"{rate.percent.normalize():f}", rate.valid_from) for rate in tax_class.rates.all()]


def test_a_new_rate_takes_over_and_the_old_one_stays(at_noon, owner_client, repairs):
    page = reverse("studio-rate-new", args=[repairs.pk])
    response = owner_client.post(page, {"percent": "9,5", "valid_from": "2027-01-01"})
    assert response["Location"] == reverse("studio-tax", args=[repairs.pk])
    assert rates(repairs) == [
        ("9.5", date(2027, 1, 1)), ("6.125", date(2022, 7, 1)), ("12", date(2020, 1, 1)),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ({"valid_from": "2026-11-24"}, "A new rate begins today or later"),
        ({"valid_from": "2022-07-01"}, "A new rate begins today or later"),
        ({"valid_from": "soon"}, "Enter a valid date."),
        ({"percent": "101"}, "less than or equal to 100"),
        ({"percent": "1.2345"}, "no more than 3 decimal places"),
        ({"percent": "much"}, "Enter a number."),
        ({"percent": ""}, "This field is required."),
    ],
)
def test_a_rate_that_would_rewrite_the_past_or_makes_no_sense(
    at_noon, owner_client, repairs, typed, message
):
    page = reverse("studio-rate-new", args=[repairs.pk])
    response = owner_client.post(page, {"percent": "9", "valid_from": "2027-01-01"} | typed)
    assert message in response.text
    assert all(f'value="{text}"' in response.text for text in typed.values() if text)
    assert repairs.rates.count() == 2


def test_two_rates_cannot_begin_on_one_day(at_noon, repairs, owner):
    actions.add_rate(tax_class=repairs, percent=Decimal(9), valid_from=at_noon, by=owner)
    with pytest.raises(actions.RateError, match="begins on that day already"):
        actions.add_rate(tax_class=repairs, percent=Decimal(8), valid_from=at_noon, by=owner)


def test_only_a_rate_that_has_held_on_no_past_day_can_be_taken_back(at_noon, owner_client, repairs):
    begun, today = repairs.rates.first(), TaxRateFactory(tax_class=repairs, valid_from=at_noon)
    refused = owner_client.post(reverse("studio-rate-remove", args=[begun.pk]), follow=True)
    assert "This rate has been in use." in refused.text
    owner_client.post(reverse("studio-rate-remove", args=[today.pk]))
    assert TaxRate.objects.filter(pk=begun.pk).exists()
    assert not TaxRate.objects.filter(pk=today.pk).exists()


def test_a_tax_that_garments_point_to_stays(owner_client, studio, repairs):
    page = reverse("studio-tax-remove", args=[studio.worn_tax.pk])
    assert "Choose another tax" in owner_client.post(page, follow=True).text
    owner_client.post(reverse("studio-tax-remove", args=[repairs.pk]))
    assert sorted(tax.name for tax in TaxClass.objects.all()) == ["Repairs", "Standard"]


def test_a_further_tax_with_its_first_rate(at_noon, owner_client):
    page = reverse("studio-tax-new")
    owner_client.post(page, {"name": "Textiles", "percent": "5", "valid_from": "2020-02-02"})
    tax = TaxClass.objects.get(name="Textiles")
    assert rates(tax) == [("5", date(2020, 2, 2))]
    # Who came from elsewhere has the way back along, whatever is added on the way.
    way_back, on_the_page = "?back=%2Ft%2F26-0001%2F", "?back=/t/26-0001/"
    taxes = owner_client.get(f"{reverse('studio-taxes')}{way_back}").text
    assert f'href="{page}{on_the_page}"' in taxes
    answer = owner_client.post(
        f"{page}{way_back}", {"name": "Leather", "percent": "5", "valid_from": "2020-02-02"}
    )
    assert answer.url == f"{reverse('studio-taxes')}{way_back}"
    rate = reverse("studio-rate-new", args=[tax.pk])
    shown = owner_client.get(f"{reverse('studio-tax', args=[tax.pk])}{way_back}").text
    assert f'action="{rate}{on_the_page}"' in shown
    answer = owner_client.post(f"{rate}{way_back}", {"percent": "6", "valid_from": "2035-02-02"})
    assert answer.url == f"{reverse('studio-tax', args=[tax.pk])}{way_back}"


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ({"name": "Repairs"}, "There is a tax of this name already."),
        ({"name": ""}, "Give this rate a name."),
        ({"percent": ""}, "Write the rate, or tick “exempt”."),
        ({"exempt": "on"}, "An exempt kind of work has no rate."),
    ],
)
def test_a_further_tax_that_cannot_be(owner_client, typed, message):
    fields = {"name": "Textiles", "percent": "5", "valid_from": "2020-02-02"} | typed
    assert message in owner_client.post(reverse("studio-tax-new"), fields).text
    assert TaxClass.objects.count() == 2


def test_the_way_of_charging_needs_taxes_that_hold(owner_client, studio):
    empty = TaxClassFactory(name="Empty")
    fields = {"tax_mode": "added", "worn_tax": empty.pk, "new_tax": ""}
    response = owner_client.post(reverse("studio-taxes"), fields)
    assert "No rate of the tax “Empty” holds" in response.text
    assert "Choose the tax on new garments" in response.text
    studio.refresh_from_db()
    assert studio.tax_mode == "included"


def test_the_way_of_charging_is_changed(owner_client, studio):
    fields = {"tax_mode": "none", "invoice_sentence": "Small business, no tax."}
    owner_client.post(reverse("studio-taxes"), fields)
    studio.refresh_from_db()
    assert (studio.tax_mode, studio.worn_tax) == ("none", None)
    assert studio.invoice_sentence == "Small business, no tax."


def test_the_page_shows_names_and_rates(owner_client, repairs):
    page = owner_client.get(reverse("studio-taxes")).text
    assert "Repairs of clothes" in page
    assert "6.125 %" in page
    assert "12 %" in page


def test_renaming_a_tax(owner_client, repairs):
    page = reverse("studio-tax", args=[repairs.pk])
    assert "already exists" in owner_client.post(page, {"name": "Standard"}).text
    owner_client.post(page, {"name": "Mending", "sentence": ""})
    repairs.refresh_from_db()
    assert repairs.name == "Mending"


@pytest.mark.parametrize("rows", [1, 3])
def test_the_list_of_taxes_asks_the_database_eight_times(
    owner_client, rows, django_assert_num_queries
):
    TaxRateFactory.create_batch(rows)
    with django_assert_num_queries(8):
        owner_client.get(reverse("studio-taxes"))
