"""Which of Babel's locales a studio's language and country mean."""

from functools import lru_cache

from babel import Locale
from babel.core import UnknownLocaleError


@lru_cache(maxsize=64)
def locale_name(language: str, country: str) -> str:
    """``en_IE`` where the locale data know the pair, else the language alone."""
    try:
        return str(Locale(language, country))
    except UnknownLocaleError:
        return language
