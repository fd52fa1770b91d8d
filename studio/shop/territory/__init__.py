"""What a country makes likely: its money, units, paper, clock, weekend and kind of tax.

Everything here is only a first suggestion that the owner changes. Currencies, weekends and names
come from the Unicode locale data (Babel), time zones from the IANA database (tzdata); the short
tables repeat what Babel leaves out. No tax rate is ever filled in: ``usual_rates.csv`` has a
country's usual ones as examples to check, with where each was read, and the owner writes their own.
"""

import csv
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files

from babel import Locale
from babel.core import get_global
from babel.numbers import get_territory_currencies, list_currencies

from studio.shop.locales import locale_name
from studio.shop.models import Profile
from studio.shop.money import MoneyError, decimals

# Unicode Technical Standard 35, measurementData; with the United States go their territories.
US_TERRITORIES = frozenset(["US", "AS", "GU", "MP", "PR", "UM", "VI"])
INCHES = US_TERRITORIES | {"LR", "MM"}
LETTER = US_TERRITORIES | frozenset(
    ["BZ", "CA", "CL", "CO", "CR", "GT", "MX", "NI", "PA", "PH", "SV", "VE"]
)
# The IANA table puts the most populous zone first "where that does not contradict geography";
# in these countries it does.
MAIN_ZONES = {
    "AU": "Australia/Sydney",
    "BR": "America/Sao_Paulo",
    "CA": "America/Toronto",
    "RU": "Europe/Moscow",
}
# Where shop prices are usually shown without the tax (common practice).
TAX_ADDED = US_TERRITORIES | {"CA"}
TAX_NAMES = {
    "Sales tax": US_TERRITORIES,
    "GST": frozenset(["AU", "CA", "IN", "NZ", "SG"]),
    "Consumption tax": frozenset(["JP"]),
}

SOUTHERN = frozenset({"AR", "AU", "BO", "BR", "BW", "CL", "FJ", "LS", "MG", "MU", "MZ", "NA", "NZ",
    "PE", "PY", "RE", "SZ", "UY", "VU", "WS", "ZA", "ZM", "ZW"})  # fmt: skip
"""Countries that lie wholly or mostly south of the equator (common knowledge)."""


@dataclass(frozen=True)
class Likely:
    """A country's suggestions, named as the profile names them."""

    country: str
    currency: str
    unit: str
    paper: str
    time_zone: str
    tax_mode: str
    tax_name: str
    weekend: frozenset[int]
    winter_begins: int


@lru_cache
def countries() -> dict[str, str]:
    """ISO 3166 code to English name, by name: the places the time zone table knows."""
    names = Locale("en").territories
    known = {code: names[code] for code in zones_by_country() if code in names}
    return dict(sorted(known.items(), key=lambda item: item[1]))


@lru_cache
def zones_by_country() -> dict[str, list[str]]:
    """The IANA zones of each country, the likeliest first."""
    zones: dict[str, list[str]] = {}
    table = files("tzdata").joinpath("zoneinfo", "zone.tab").read_text("utf-8")
    for line in table.splitlines():
        if not line.startswith("#"):
            country, _, zone = line.split("\t")[:3]
            zones.setdefault(country, []).append(zone)
    for country, zone in MAIN_ZONES.items():
        zones[country].sort(key=lambda name, main=zone: name != main)  # type: ignore[misc]
    return zones


@lru_cache
def currencies() -> dict[str, str]:
    """ISO 4217 code to English name of the money in use somewhere today, by code."""
    current = {code for place in get_global("territory_currencies") for code in in_use(place)}
    names = Locale("en").currencies
    return {code: names.get(code, code) for code in sorted(current & list_currencies())}


def in_use(country: str) -> list[str]:
    """The country's currencies today that ISO 4217 gives decimals, the main one first."""
    return [code for code in get_territory_currencies(country) if _known(code)]


def _known(currency: str) -> bool:
    try:
        return decimals(currency) >= 0
    except MoneyError:
        return False


@cache
def weekend(country: str) -> frozenset[int]:
    """The weekdays of rest, Monday 0; Saturday and Sunday in most places."""
    spoken = get_global("territory_languages").get(country, {})
    names = (locale_name(language, country) for language in ["en", *spoken])
    locale = Locale.parse(next((name for name in names if name.endswith(f"_{country}")), "en_001"))
    first, last = locale.weekend_start, locale.weekend_end
    return frozenset((first + step) % 7 for step in range((last - first) % 7 + 1))


def likely(country: str) -> Likely:
    """Suggestions for a code of ``countries``. Raises KeyError for any other."""
    letter = country in LETTER
    names = (name for name, places in TAX_NAMES.items() if country in places)
    return Likely(
        country=country,
        currency=next(iter(in_use(country)), "USD"),
        unit=Profile.Unit.INCH if country in INCHES else Profile.Unit.CM,
        paper=Profile.Paper.LETTER if letter else Profile.Paper.A4,
        time_zone=zones_by_country()[country][0],
        tax_mode=Profile.TaxMode.ADDED if country in TAX_ADDED else Profile.TaxMode.INCLUDED,
        tax_name=next(names, "VAT"),
        weekend=weekend(country),
        winter_begins=7 if country in SOUTHERN else 1,
    )


@lru_cache
def usual_rates(country: str) -> tuple[str, ...]:
    """The country's usual rates of tax in percent, as examples to check; () where none is known."""
    table = files(__name__).joinpath("usual_rates.csv").read_text("utf-8")
    rows = csv.DictReader(table.splitlines())
    return next((tuple(row["rates"].split()) for row in rows if row["country"] == country), ())


def country_of(accept_language: str) -> str:
    """The country a browser's ``Accept-Language`` names first, such as ``en-IE``; else empty."""
    for choice in accept_language.split(","):
        parts = choice.split(";")[0].strip().split("-")
        if len(parts) > 1 and parts[-1].upper() in countries():
            return parts[-1].upper()
    return ""
