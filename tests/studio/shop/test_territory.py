"""What a country makes likely, against the published tables."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo, available_timezones

import pytest
from babel import Locale
from babel.core import get_global

from studio.shop import territory

# Unicode Technical Standard 35 (LDML), part 6, "Measurement System Data": the element's example
# gives measurementSystem US for LR MM US and paperSize US-Letter for these; all others are
# metric and A4.
STANDARD_INCHES = {"LR", "MM", "US"}
STANDARD_LETTER = frozenset(
    ("BZ", "CA", "CL", "CO", "CR", "GT", "MX", "NI", "PA", "PH", "PR", "SV", "US", "VE")
)
# Under the American flag, though not in the standard's list (ISO 3166-1).
UNITED_STATES = {"AS", "GU", "MP", "PR", "UM", "US", "VI"}


def test_units_and_paper_follow_the_standard():
    likely = [territory.likely(country) for country in territory.countries()]
    assert {each.country for each in likely if each.unit == "in"} == STANDARD_INCHES | UNITED_STATES
    letter = {each.country for each in likely if each.paper == "Letter"}
    assert letter == STANDARD_LETTER | UNITED_STATES


def test_every_zone_offered_exists_and_belongs_to_its_country():
    """CLDR's own table of zones and territories, another source than the IANA table read here."""
    zones = territory.zones_by_country()
    assert {zone for names in zones.values() for zone in names} <= available_timezones()
    belongs = get_global("zone_territories")
    strays = {
        (country, zone)
        for country, names in zones.items()
        for zone in names
        if belongs.get(zone, country) not in {country, "001"}  # the world: no country of its own
    }
    assert strays == set()


@pytest.mark.parametrize(
    ("country", "hours"),
    # Standard time of the most populous part, hours from UTC: common knowledge.
    [("US", -5), ("CA", -5), ("AU", 10), ("BR", -3), ("RU", 3), ("NZ", 12), ("DE", 1), ("CL", -4)],
)
def test_the_first_zone_is_where_most_people_live(country, hours):
    zone = ZoneInfo(territory.likely(country).time_zone)
    offsets = {
        datetime(2026, month, 1, tzinfo=UTC).astimezone(zone).utcoffset().total_seconds()
        for month in (1, 7)
    }
    assert min(offsets) == hours * 3600


@pytest.mark.parametrize(
    ("country", "currency"),
    # ISO 4217, list one.
    [("IE", "EUR"), ("US", "USD"), ("JP", "JPY"), ("GB", "GBP"), ("CH", "CHF"), ("KW", "KWD"),
     ("HR", "EUR"), ("PR", "USD"), ("SE", "SEK")],
)  # fmt: skip
def test_the_money_of_a_country_today(country, currency):
    assert territory.likely(country).currency == currency


def test_money_that_is_gone_is_not_offered():
    offered = territory.currencies()
    assert "EUR" in offered
    assert not {"DEM", "IEP", "HRK", "XXX", "XAU"} & offered.keys()


@pytest.mark.parametrize(
    ("country", "weekend"),
    # CLDR weekData: Friday and Saturday in SA and IL, Friday alone in IR, Sunday alone in IN.
    [("IE", {5, 6}), ("SA", {4, 5}), ("IL", {4, 5}), ("IR", {4}), ("IN", {6}), ("AE", {5, 6})],
)
def test_the_days_of_rest(country, weekend):
    assert territory.weekend(country) == weekend


def test_countries_are_named_as_people_name_them_and_in_order():
    names = list(territory.countries().values())
    assert names == sorted(names)
    assert territory.countries()["IE"] == Locale("en").territories["IE"] == "Ireland"
    assert len(names) > 240


@pytest.mark.parametrize(
    ("header", "country"),
    [
        ("en-IE,en;q=0.9", "IE"), ("de-at", "AT"), ("en,fr-CA;q=0.4", "CA"),
        ("zh-Hant-TW", "TW"), ("en", ""), ("", ""), ("en-XX", ""), ("*;q=0.1", ""), (";;,-,-", ""),
    ],
)  # fmt: skip
def test_the_country_a_browser_speaks_of(header, country):
    assert territory.country_of(header) == country


def test_a_country_nobody_knows_is_no_country():
    with pytest.raises(KeyError):
        territory.likely("XX")


@pytest.mark.parametrize(("country", "month"), [("IE", 1), ("JP", 1), ("NZ", 7), ("AR", 7)])
def test_winter_begins_half_a_year_later_south_of_the_equator(country, month):
    assert territory.likely(country).winter_begins == month
