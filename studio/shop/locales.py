"""Locales: which of Babel's it is, and how it writes days, times, shares and minutes."""

import re
from datetime import date, datetime
from decimal import Decimal
from functools import lru_cache

from babel import Locale
from babel.core import UnknownLocaleError
from babel.dates import format_date, format_skeleton, format_time
from babel.numbers import format_decimal, format_percent, get_decimal_symbol
from django.utils import timezone


@lru_cache(maxsize=64)
def locale_name(language: str, country: str) -> str:
    """``en_IE`` where the locale data know the pair, else the language alone."""
    try:
        return str(Locale(language, country))
    except UnknownLocaleError:
        return language


@lru_cache(maxsize=64)
def month_first(locale: str) -> bool:
    """Whether the locale writes *Nov 25* (CLDR's skeleton MMMd) rather than *25 Nov*."""
    pattern: str = Locale.parse(locale).datetime_skeletons["MMMd"].pattern
    return pattern.startswith("M")


def is_english(locale: str) -> bool:
    return locale.partition("_")[0] == "en"


def show_day(day: date | datetime, locale: str, *, year: bool = True) -> str:
    """A day with its weekday, such as ``Fri 27 Nov 2026`` or ``Fri, Nov 27, 2026``, local.

    In another language than English as CLDR has it: ``Fr., 27. Nov. 2026``.
    """
    if isinstance(day, datetime):
        day = timezone.localtime(day).date()
    if not is_english(locale):
        return format_skeleton("yMMMEd" if year else "MMMEd", day, locale=locale)
    if month_first(locale):
        return format_date(day, "EEE, MMM d, y" if year else "EEE, MMM d", locale=locale)
    return format_date(day, "EEE d MMM y" if year else "EEE d MMM", locale=locale)


def show_long_day(day: date, locale: str) -> str:
    """A day of this year in full, such as ``Friday 27 November`` or ``Friday, November 27``."""
    pattern = "EEEE, MMMM d" if month_first(locale) else "EEEE d MMMM"
    return format_date(day, pattern, locale=locale)


def show_near_day(day: date, locale: str) -> str:
    """A day of the weeks around today, such as ``Fri 4``."""
    return format_date(day, "EEE d", locale=locale)


def show_clock(moment: datetime, locale: str) -> str:
    """The local time of day in the locale's short form."""
    return format_time(timezone.localtime(moment).time(), "short", locale=locale)


def show_when(moment: datetime, locale: str) -> str:
    """A moment of the next months, such as ``Fri 27 Nov 16:30``, local to the studio."""
    return f"{show_day(moment, locale, year=False)} {show_clock(moment, locale)}"


def show_minutes(minutes: int) -> str:
    """``95`` is ``1 h 35``; under an hour ``35 min``."""
    hours, rest = divmod(int(minutes), 60)
    if not hours:
        return f"{rest} min"
    return f"{hours} h {rest:02d}" if rest else f"{hours} h"


def show_share(percent: Decimal, locale: str, *, signed: bool = False) -> str:
    """A percentage: ``13.5 %`` in English, else as CLDR has it, such as ``13,5 %`` or ``13,5%``."""
    sign = "+" if signed and percent >= 0 else ""
    if is_english(locale):
        return f"{sign}{format_decimal(percent, locale=locale)} %"
    return sign + str(format_percent(percent / 100, locale=locale, decimal_quantization=False))


DECIMAL_POINT = re.compile(r"(?<=\d)\.(?=\d)")


def show_length(typed: str, locale: str) -> str:
    """A length as it was typed, with the locale's decimal sign: ``4.5 cm`` is ``4,5 cm``."""
    if is_english(locale):
        return typed
    return DECIMAL_POINT.sub(get_decimal_symbol(locale), typed)
