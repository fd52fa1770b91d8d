"""The first run: an empty database becomes a studio on three screens, all at once at the end."""

from concurrent.futures import ThreadPoolExecutor
from datetime import time
from decimal import Decimal
from threading import Barrier

import pytest
from django.contrib.sessions.models import Session
from django.db import connection
from django.test import Client
from django.urls import reverse

from jobs.planning.models import PlanRules
from jobs.pricing.models import GarmentKind, Operation, PriceRules
from studio.shop import territory
from studio.shop.models import Profile, TaxClass, User, WorkingDay
from tests.studio.shop.first_run_form import Fields

pytestmark = pytest.mark.django_db

SCREENS = ("setup", "setup-tax", "setup-hours")
PASSWORD = "thimble-and-chalk"
TYPED = {"name": "Larkfield Sewing Room", "username": "mara", "password": PASSWORD}
CHARGED = {"tax_mode": "included", "percent": "13.5"}


def screen(client: Client, name: str) -> dict[str, str]:
    """The fields of a screen as it comes, with all that the program fills in."""
    return Fields.of(client.get(reverse(name)).text)


def walk(client: Client | None = None, *, country: str = "IE", until: str = "", **typed: str):
    """From screen to screen, each sent as it comes but for what is ``typed``."""
    client = client or Client()
    answers = TYPED | {"country": country} | typed
    response = None
    for name in SCREENS:
        fields = screen(client, name)
        known = {key: value for key, value in answers.items() if key in fields or name == "setup"}
        response = client.post(reverse(name), fields | known)
        if name == until or response.status_code == 200:
            break
    return response


def test_everything_leads_to_the_first_screen_while_there_is_no_studio():
    assert Client().get("/")["Location"] == reverse("setup")
    assert Client().get("/prices/")["Location"] == reverse("setup")
    for later in SCREENS[1:]:
        assert Client().get(reverse(later))["Location"] == reverse("setup")


def test_the_browser_gives_a_hint_of_the_country():
    response = Client().get(reverse("setup"), headers={"accept-language": "en-NZ,en;q=0.7"})
    assert '<option value="NZ" selected>New Zealand: NZD, cm, A4</option>' in response.text
    assert "Larkfield" not in response.text


@pytest.mark.parametrize("language", ["", "en", "en-150", "*"])
def test_without_a_hint_no_country_is_chosen_and_one_has_to_be(language):
    """A tag of BCP 47 need not name a country: ``en-150`` is English in Europe (UN M49)."""
    client = Client(headers={"accept-language": language})
    page = client.get(reverse("setup")).text
    assert '<option value="" selected>Choose your country</option>' in page
    assert page.count(" selected>") == page.count('<option value="" selected>')
    answer = client.post(reverse("setup"), TYPED | {"country": ""}).text
    assert "Choose your country: money, lengths and paper follow it." in answer
    assert Fields.of(answer)["name"] == TYPED["name"]
    assert Profile.load() is None


# The expected values stand in published tables: currencies in ISO 4217, time zones in the IANA
# zone.tab, paper and units in Unicode Technical Standard 35 (measurementData); what the tax is
# called is common practice.
@pytest.mark.parametrize(
    ("country", "mode", "percent", "expected"),
    [
        ("IE", "included", "13.5", ("EUR", "cm", "A4", "Europe/Dublin", "VAT", "en_IE")),
        ("US", "added", "7,25", ("USD", "in", "Letter", "America/New_York", "Sales tax", "en_US")),
        ("JP", "included", "10", ("JPY", "cm", "A4", "Asia/Tokyo", "Consumption tax", "en")),
        ("NZ", "included", "15", ("NZD", "cm", "A4", "Pacific/Auckland", "GST", "en_NZ")),
        ("GB", "added", "20 %", ("GBP", "cm", "A4", "Europe/London", "VAT", "en_GB")),
    ],
)
def test_three_screens_make_the_studio_of_that_country(country, mode, percent, expected):
    client = Client()
    response = walk(client, country=country, tax_mode=mode, percent=percent, tax_number="T 7")
    assert response["Location"] == reverse("today")
    studio = Profile.load()
    assert studio is not None
    values = (studio.currency, studio.unit, studio.paper, studio.time_zone)
    assert (*values, studio.worn_tax.name, studio.locale) == expected
    assert (studio.tax_mode, studio.tax_number) == (mode, "T 7")
    assert studio.new_tax == studio.worn_tax
    written = Decimal(percent.replace(",", ".").rstrip(" %"))
    assert [rate.percent for rate in studio.worn_tax.rates.all()] == [written]
    assert (studio.name, studio.legal_name) == ("Larkfield Sewing Room", "")
    week = [(day.starts, day.minutes) for day in WorkingDay.objects.all()]
    assert week == [(time(9), 480)] * 5 + [(time(9), 0)] * 2
    assert Operation.objects.count() > 60
    owner = User.objects.get()
    assert owner.is_owner
    assert owner.shown_name == "mara"
    assert owner.check_password(PASSWORD)
    assert client.session["_auth_user_id"] == str(owner.pk)
    assert "setup" not in client.session


@pytest.mark.postgres
def test_friday_and_saturday_rest_where_the_weekend_is_then():
    """Israel's weekend, Friday and Saturday: CLDR weekData."""
    walk(country="IL")
    rest = WorkingDay.objects.filter(minutes=0).values_list("weekday", flat=True)
    assert list(rest) == [4, 5]


def test_a_studio_without_tax_and_without_the_list():
    client = Client()
    walk(client, country="GB", until="setup-tax")
    fields = screen(client, "setup-hours")
    del fields["starting_list"]
    client.post(reverse("setup-hours"), fields)
    studio = Profile.load()
    assert studio is not None
    assert (studio.tax_mode, studio.worn_tax, studio.new_tax) == ("none", None, None)
    assert TaxClass.objects.count() == GarmentKind.objects.count() == 0


@pytest.mark.parametrize("currency", ["EUR", "JPY", "KWD"])
def test_the_starting_list_counts_minor_units_in_every_currency(currency):
    """20 minutes of 3600 minor units an hour: 12.00 euro, 1200 yen, 1.200 dinar."""
    walk(currency=currency)
    rules = PriceRules.load()
    trousers = Operation.objects.get(garment_kind__name="Trousers", name="Hem")
    assert (trousers.price, rules.rounding_step, rules.minimum_charge) == (1200, 50, 900)


def test_hours_are_read_in_the_ways_people_write_them():
    hours = {"monday-hours": "7.5", "tuesday-hours": "7:30", "friday-hours": "0"}
    walk(**hours, **{"monday-starts": "10:15", "saturday-hours": "3 h 20"}, own="4", lost="2")
    week = {day.name: day for day in WorkingDay.objects.all()}
    values = [week[name].minutes for name in ("Monday", "Tuesday", "Friday", "Saturday")]
    assert values == [450, 450, 0, 200]
    assert week["Monday"].starts == time(10, 15)
    rules = PlanRules.load()
    assert (rules.own_percent, rules.lost_percent) == (40, 20)


@pytest.mark.parametrize(
    ("field", "typed", "message"),
    [
        ("name", "", "This field is required."),
        ("name", "x" * 121, "at most 120 characters"),
        ("country", "XX", "not one of the available choices"),
        ("time_zone", "Mars/Base", "not one of the available choices"),
        ("currency", "ABC", "not one of the available choices"),
        ("unit", "ell", "not one of the available choices"),
        ("username", "two words", "Enter a valid username."),
        ("username", "🧵", "Enter a valid username."),
        ("password", "", "Choose a password."),
        ("password", "12345678", "This password is too common."),
        ("tax_mode", "guess", "not one of the available choices"),
        ("percent", "-1", "greater than or equal to 0"),
        ("percent", "101", "less than or equal to 100"),
        ("percent", "a fifth", "Enter a number."),
        ("percent", "NaN", "Enter a number."),
        ("percent", "", "Write the rate, or choose No."),
        ("tax_name", "", "Give this rate a name."),
        ("monday-hours", "all day", "Write hours such as 7.5 or 7:30, or 0."),
        ("monday-hours", "-3", "Write hours such as 7.5 or 7:30, or 0."),
        ("monday-hours", "25", "A day has 24 hours."),
        ("monday-hours", "16", "A working day cannot run over midnight: end it by 24:00."),
        ("monday-starts", "noonish", "Enter a valid time."),
        ("own", "11", "less than or equal to 10"),
        ("lost", "some", "Enter a whole number."),
    ],
)
def test_what_is_wrong_is_said_beside_the_field_and_nothing_typed_is_lost(field, typed, message):
    response = walk(**{"tax_name": "VAT"} | CHARGED | {field: typed})
    assert message in response.text
    assert "<title>Error: " in response.text
    kept = Fields.of(response.text)
    if field not in {"country", "time_zone", "currency", "unit", "tax_mode", "password"}:
        assert kept[field] == typed
    assert Profile.load() is None
    assert User.objects.count() == 0


def test_the_password_is_kept_for_the_next_try_and_stands_on_no_page():
    client = Client()
    page = client.post(reverse("setup"), TYPED | {"country": "IE", "name": ""}).text
    assert PASSWORD not in page
    assert "Yours is kept; leave this empty." in page
    response = walk(client, password="")
    assert response["Location"] == reverse("today")
    assert User.objects.get().check_password(PASSWORD)


def test_the_password_waits_only_as_its_digest():
    client = Client()
    walk(client, until="setup-tax")
    waiting = Session.objects.get().get_decoded()
    assert PASSWORD not in str(waiting)
    assert waiting["setup"]["studio"]["username"] == "mara"


def test_back_finds_what_was_said():
    client = Client()
    walk(client, until="setup-tax", address="Mill Lane 3\nLarkfield", **CHARGED)
    assert screen(client, "setup")["name"] == "Larkfield Sewing Room"
    assert screen(client, "setup")["country"] == "IE"
    said = screen(client, "setup-tax")
    assert "Mill Lane 3\nLarkfield</textarea>" in client.get(reverse("setup-tax")).text
    assert (said["tax_mode"], said["percent"], said["tax_name"]) == ("included", "13.5", "VAT")


@pytest.mark.parametrize(
    ("address", "lines"),
    [
        ("", []),
        ("Mill Lane 3", ["Mill Lane 3"]),
        ("Old Mill,\r\nMill Lane\r\n\r\n12 Town", ["Old Mill, Mill Lane", "12 Town"]),
    ],
)
def test_address_and_phone_stand_on_the_first_papers(address, lines):
    walk(address=address, phone="085 555 0100")
    studio = Profile.objects.get()
    assert (studio.address_lines, studio.phone) == (lines, "085 555 0100")


def test_a_town_of_more_than_its_line_is_refused():
    client = Client()
    walk(client, until="setup")
    response = walk(client, until="setup-tax", address="Mill Lane 3\n" + "x" * 101)
    assert "Write it in more lines." in response.text


def test_a_press_of_plus_is_answered_by_the_picture_and_opens_nothing():
    client = Client()
    walk(client, until="setup-tax")
    fields = screen(client, "setup-hours")
    page = client.post(reverse("setup-hours"), fields | {"step": "monday-hours 30"})
    fields = Fields.of(page.text)
    assert fields["monday-hours"] == "8:30"
    # 40.5 hours: a tenth of each day lost, three tenths of all the owner's (common practice of
    # the plan: rounded down to minutes).
    whole = page.context["screen"].whole
    assert (whole.minutes, whole.own, whole.lost) == (2430, 729, 243)
    for step, field, shown in (
        ("monday-hours -30", "monday-hours", "7:30"),
        ("sunday-hours -30", "sunday-hours", "0"),
        ("own 1", "own", "4"),
        ("lost -1", "lost", "0"),
        ("lost 99", "lost", "1"),
        ("password 1", "own", "3"),
    ):
        sent = screen(client, "setup-hours") | {"step": step}
        assert Fields.of(client.post(reverse("setup-hours"), sent).text)[field] == shown, step
    for name, most in (("own", "10"), ("lost", "9")):
        sent = screen(client, "setup-hours") | {name: most, "step": f"{name} 1"}
        assert Fields.of(client.post(reverse("setup-hours"), sent).text)[name] == most
    assert Profile.load() is None


def test_a_countrys_usual_rates_are_examples_and_nothing_is_filled_in():
    """Ireland: 23 and 13.5; the Commission's list of VAT rates in the Member States."""
    client = Client()
    walk(client, until="setup")
    page = client.get(reverse("setup-tax")).text
    assert "Check this" in page
    assert 'data-rate="13.5"' in page
    assert Fields.of(page)["percent"] == ""
    other = Client()
    walk(other, country="US", until="setup")
    assert "data-rate" not in other.get(reverse("setup-tax")).text


def test_every_usual_rate_is_a_countrys_and_a_percentage():
    known = [country for country in territory.countries() if territory.usual_rates(country)]
    assert len(known) == 36
    for country in known:
        rates = [Decimal(rate) for rate in territory.usual_rates(country)]
        # No general rate of tax on sales lies outside (OECD, Consumption Tax Trends).
        assert all(Decimal(5) <= rate <= Decimal(27) for rate in rates), country
        assert rates == sorted(rates, reverse=True)


def test_a_legal_name_said_at_the_start_stands_on_invoices():
    client = Client()
    walk(client, legal_name="Mara Alderbrook", tax_number="IE1234567T", **CHARGED)
    assert Profile.objects.get().legal_name == "Mara Alderbrook"
    assert "Invoices need" not in client.get("/").text
    assert "What invoices need" in client.get("/").text


def test_script_and_foreign_letters_stay_letters():
    hostile = "<script>alert(1)</script> شركة 🧵"
    response = walk(name=hostile, username="")
    assert "<script>alert" not in response.text
    walk(name=hostile)
    studio = Profile.load()
    assert studio is not None
    assert studio.name == hostile


def test_sent_twice_it_makes_one_studio_and_then_the_screens_are_gone():
    first, second = Client(), Client()
    for client, name in ((first, "mara"), (second, "mallory")):
        walk(client, until="setup-tax", username=name)
    sent = screen(first, "setup-hours")
    for client in (first, second, first):
        assert client.post(reverse("setup-hours"), sent)["Location"] == reverse("today")
    assert [user.username for user in User.objects.all()] == ["mara"]
    assert Profile.objects.count() == 1
    for name in SCREENS:
        assert Client().get(reverse(name)).status_code == 404


@pytest.mark.django_db(transaction=True)
def test_two_presses_at_the_same_moment_make_one_studio():
    clients = {name: Client() for name in ("mara", "ida")}
    for name, client in clients.items():
        walk(client, until="setup-tax", username=name, **CHARGED)
    sent = screen(clients["ida"], "setup-hours")
    together = Barrier(2)

    def press(name: str) -> str:
        together.wait(timeout=10)
        try:
            return clients[name].post(reverse("setup-hours"), sent)["Location"]
        finally:
            connection.close()

    with ThreadPoolExecutor(2) as pool:
        ways = list(pool.map(press, clients))
    assert ways == [reverse("today")] * 2
    assert Profile.objects.count() == User.objects.count() == 1
    assert TaxClass.objects.count() == 1
