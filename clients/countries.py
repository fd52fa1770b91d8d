"""Which country is meant, however a file writes it."""

from functools import lru_cache

from babel import Locale
from babel.core import UnknownLocaleError, get_global

from studio.shop.territory import countries
from studio.shop.text import fold


def country_code(text: str) -> str:
    """The ISO 3166 code for a code, an English name, or the country's name for itself.

    ``ie``, ``IRL``, ``Ireland`` and ``Éire`` are ``IE``; empty is empty. Raises ValueError. Names
    and codes of three letters come from the Unicode locale data (Babel).
    """
    code = text.strip().replace(".", "").upper()
    if not code or code in countries():
        return code
    code = next(iter(get_global("territory_aliases").get(code, [])), "")
    code = code or _english().get(fold(text)) or _own_names().get(fold(text), "")
    if code not in countries():
        raise ValueError(f"No country is called “{text.strip()}”.")
    return code


@lru_cache
def _english() -> dict[str, str]:
    return {fold(name): code for code, name in countries().items()}


@lru_cache
def _own_names() -> dict[str, str]:
    """Names in each country's official languages. Reading them all takes half a second, once."""
    names: dict[str, str] = {}
    for code in countries():
        spoken = get_global("territory_languages").get(code, {})
        for language in (name for name, facts in spoken.items() if facts["official_status"]):
            try:
                own = Locale.parse(language).territories.get(code)
            except UnknownLocaleError:
                continue
            if own:
                names.setdefault(fold(own), code)
    return names
