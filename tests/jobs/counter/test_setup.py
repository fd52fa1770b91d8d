"""The first run: an empty database becomes a studio, from the page as it comes."""

from concurrent.futures import ThreadPoolExecutor
from datetime import time
from decimal import Decimal
from threading import Barrier

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse

from jobs.pricing.models import GarmentKind, Operation, PriceRules
from studio.shop.models import Profile, TaxClass, User, WorkingDay
from tests.studio.shop.first_run_form import Fields

pytestmark = pytest.mark.django_db

TYPED = {
    "name": "Larkfield Sewing Room",
    "street": "3 Mill Lane",
    "city": "Larkfield",
    "username": "mara",
    "first_name": "Mara",
    "password1": "thimble-and-chalk",
    "password2": "thimble-and-chalk",
}


def page_for(country: str) -> dict[str, str]:
    """The fields of the page for a country, with all that the program fills in."""
    response = Client().get(reverse("setup"), {"country": country})
    return Fields.of(response.text)


def send(fields: dict[str, str], client: Client | None = None, **typed: str):
    return (client or Client()).post(reverse("setup"), fields | TYPED | typed)


def test_everything_leads_to_the_first_page_while_there_is_no_studio():
    response = Client().get("/")
    assert response["Location"] == reverse("setup")


def test_the_first_question_is_the_country_and_the_browser_gives_a_hint():
    response = Client().get(reverse("setup"), headers={"accept-language": "en-NZ,en;q=0.7"})
    assert '<option value="NZ" selected>New Zealand</option>' in response.text
    assert "Larkfield" not in response.text


def test_a_country_nobody_knows_is_asked_again():
    response = Client().get(reverse("setup"), {"country": "XX"})
    assert "not one of the available choices" in response.text


# The expected values stand in published tables: currencies in ISO 4217, time zones in the IANA
# zone.tab, paper and units in Unicode Technical Standard 35 (measurementData), except that the tax
# is shown within or added to a price, which is common practice.
@pytest.mark.parametrize(
    ("country", "percent", "expected"),
    [
        ("IE", "13.5", ("EUR", "cm", "A4", "Europe/Dublin", "included", "VAT", "en_IE")),
        ("US", "7,25", ("USD", "in", "Letter", "America/New_York", "added", "Sales tax", "en_US")),
        ("JP", "10", ("JPY", "cm", "A4", "Asia/Tokyo", "included", "Consumption tax", "en")),
        ("NZ", "15", ("NZD", "cm", "A4", "Pacific/Auckland", "included", "GST", "en_NZ")),
        ("GB", "20 %", ("GBP", "cm", "A4", "Europe/London", "included", "VAT", "en_GB")),
    ],
)
def test_the_page_sent_as_it_comes_makes_the_studio_of_that_country(country, percent, expected):
    client = Client()
    response = send(page_for(country), client, **{"first-percent": percent})
    assert response["Location"] == reverse("today")
    studio = Profile.load()
    assert studio is not None
    values = (studio.currency, studio.unit, studio.paper, studio.time_zone, studio.tax_mode)
    assert (*values, studio.worn_tax.name, studio.locale) == expected
    assert studio.new_tax == studio.worn_tax
    written = Decimal(percent.replace(",", ".").rstrip(" %"))
    assert [rate.percent for rate in studio.worn_tax.rates.all()] == [written]
    assert (studio.name, studio.city) == ("Larkfield Sewing Room", "Larkfield")
    week = [(day.starts, day.minutes) for day in WorkingDay.objects.all()]
    assert week == [(time(9), 480)] * 5 + [(time(9), 0)] * 2
    assert Operation.objects.count() > 60
    owner = User.objects.get()
    assert owner.is_owner
    assert owner.shown_name == "Mara"
    assert client.session["_auth_user_id"] == str(owner.pk)


def test_friday_and_saturday_rest_where_the_weekend_is_then():
    """Israel's weekend, Friday and Saturday: CLDR weekData."""
    send(page_for("IL"), **{"first-percent": "18"})
    rest = WorkingDay.objects.filter(minutes=0).values_list("weekday", flat=True)
    assert list(rest) == [4, 5]


def test_a_studio_without_tax_and_without_the_list():
    fields = page_for("GB")
    del fields["starting_list"]
    send(fields, tax_mode="none")
    studio = Profile.load()
    assert studio is not None
    assert (studio.tax_mode, studio.worn_tax, studio.new_tax) == ("none", None, None)
    assert TaxClass.objects.count() == GarmentKind.objects.count() == 0


def test_worn_and_new_garments_may_be_taxed_differently():
    fields = page_for("IE") | {
        "first-name": "Repairs", "first-percent": "13.5",
        "second-name": "Exempt", "second-exempt": "on", "second-sentence": "Exempt supply.",
        "new": "second",
    }  # fmt: skip
    send(fields)
    studio = Profile.load()
    assert studio is not None
    assert studio.worn_tax.name == "Repairs"
    assert (studio.new_tax.exempt, studio.new_tax.sentence) == (True, "Exempt supply.")
    assert studio.new_tax.rates.count() == 0


@pytest.mark.parametrize(
    ("currency", "hem", "step", "minimum"),
    [("EUR", 1200, 50, 900), ("JPY", 1200, 50, 900), ("KWD", 1200, 50, 900)],
)
def test_the_starting_list_counts_minor_units_in_every_currency(currency, hem, step, minimum):
    """20 minutes of 3600 minor units an hour: 12.00 euro, 1200 yen, 1.200 dinar."""
    send(page_for("IE"), currency=currency, **{"first-percent": "13.5"})
    rules = PriceRules.load()
    trousers = Operation.objects.get(garment_kind__name="Trousers", name="Hem")
    assert (trousers.price, rules.rounding_step, rules.minimum_charge) == (hem, step, minimum)


def test_hours_are_read_in_the_ways_people_write_them():
    hours = {"monday-hours": "7.5", "tuesday-hours": "7:30", "friday-hours": "0"}
    starts = {"monday-starts": "10:15", "saturday-hours": "3 h 20"}
    send(page_for("IE"), **{"first-percent": "9"}, **hours, **starts)
    week = {day.name: day for day in WorkingDay.objects.all()}
    values = [week[name].minutes for name in ("Monday", "Tuesday", "Friday", "Saturday")]
    assert values == [450, 450, 0, 200]
    assert week["Monday"].starts == time(10, 15)


@pytest.mark.any_database
@pytest.mark.parametrize(
    ("field", "typed", "message"),
    [
        ("name", "", "This field is required."),
        ("name", "x" * 121, "at most 120 characters"),
        ("country", "XX", "redirect"),
        ("time_zone", "Mars/Base", "not one of the available choices"),
        ("currency", "ABC", "not one of the available choices"),
        ("unit", "ell", "not one of the available choices"),
        ("email", "not an address", "Enter a valid email address."),
        ("first-percent", "-1", "greater than or equal to 0"),
        ("first-percent", "101", "less than or equal to 100"),
        ("first-percent", "a fifth", "Enter a number."),
        ("first-percent", "NaN", "Enter a number."),
        ("first-percent", "", "Write the rate, or choose"),
        ("first-valid_from", "yesterday", "Enter a valid date."),
        ("first-name", "", "Give this rate a name."),
        ("second-percent", "5", "Give this rate a name."),
        ("new", "third", "Write the rate, or choose"),
        ("worn", "fourth", "not one of the available choices"),
        ("tax_mode", "guess", "not one of the available choices"),
        ("monday-hours", "all day", "Write hours such as 7.5 or 7:30, or 0."),
        ("monday-hours", "-3", "Write hours such as 7.5 or 7:30, or 0."),
        ("monday-hours", "25", "A day has 24 hours."),
        ("monday-hours", "16", "A working day cannot run over midnight: end it by 24:00."),
        ("monday-starts", "noonish", "Enter a valid time."),
        ("username", "two words", "Enter a valid username."),
        ("username", "🧵", "Enter a valid username."),
        ("password1", "different-one", "The two password fields"),
        ("password2", "", "This field is required."),
    ],
)
def test_what_is_wrong_is_said_beside_the_field_and_nothing_typed_is_lost(field, typed, message):
    fields = page_for("IE") | {"first-percent": "13.5"}
    response = send(fields, **{field: typed})
    if message == "redirect":
        assert response["Location"] == reverse("setup")
    else:
        assert message in response.text
        kept = Fields.of(response.text)
        assert kept["street"] == "3 Mill Lane"
        if field not in {"time_zone", "currency", "unit", "worn", "tax_mode"} | {"password1"}:
            assert kept[field] == typed
    assert Profile.load() is None
    assert User.objects.count() == 0


def test_a_password_everybody_uses_is_refused():
    response = send(page_for("GB"), tax_mode="none", password1="12345678", password2="12345678")
    assert "This password is too common." in response.text
    assert Profile.load() is None


def test_two_rates_of_one_name_are_refused():
    fields = page_for("IE") | {"first-percent": "5", "second-name": "VAT", "second-percent": "6"}
    assert "Two rates need two names." in send(fields).text
    assert Profile.load() is None


def test_an_exempt_rate_has_no_percentage():
    fields = page_for("IE") | {"first-percent": "5", "first-exempt": "on"}
    assert "An exempt kind of work has no rate." in send(fields).text
    assert Profile.load() is None


def test_script_and_foreign_letters_stay_letters():
    hostile = "<script>alert(1)</script> شركة 🧵"
    response = send(page_for("IE"), name=hostile)
    assert "<script>alert" not in response.text
    client = Client()
    send(page_for("IE"), client, name=hostile, **{"first-percent": "9"})
    studio = Profile.load()
    assert studio is not None
    assert studio.name == hostile


def test_sent_twice_it_makes_one_studio_and_then_the_page_is_gone():
    fields = page_for("IE") | {"first-percent": "13.5"}
    first, second = send(fields), send(fields, username="mallory", name="Elsewhere")
    assert first["Location"] == second["Location"] == reverse("today")
    assert [user.username for user in User.objects.all()] == ["mara"]
    assert [studio.name for studio in Profile.objects.all()] == ["Larkfield Sewing Room"]
    assert Client().get(reverse("setup")).status_code == 404
    assert Client().get(reverse("setup"), {"country": "IE"}).status_code == 404


@pytest.mark.django_db(transaction=True)
def test_two_presses_at_the_same_moment_make_one_studio():
    fields = page_for("IE") | {"first-percent": "13.5"}
    together = Barrier(2)

    def press(name: str) -> str:
        together.wait(timeout=10)
        try:
            return send(fields, username=name)["Location"]
        finally:
            connection.close()

    with ThreadPoolExecutor(2) as pool:
        ways = list(pool.map(press, ["mara", "ida"]))
    assert ways == [reverse("today")] * 2
    assert Profile.objects.count() == User.objects.count() == 1
    assert TaxClass.objects.count() == 1
