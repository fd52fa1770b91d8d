"""How a client is reached from a page, and which country a file means."""

import re
from dataclasses import dataclass
from functools import lru_cache

from babel import Locale
from babel.core import UnknownLocaleError, get_global

from studio.shop.territory import countries
from studio.shop.text import digits, fold

EXTENSION = re.compile(r"[^\W\d_]|[#;]")


def dial(phone: str) -> str:
    """The digits to dial, with a leading plus if there is one: ``+353 (0)1 555`` is ``+3531555``.

    A trunk zero in brackets is not dialled after the country's code (common practice). An extension
    is left out, since the exchange would take it for more of the number.
    """
    number = EXTENSION.split(phone, maxsplit=1)[0].strip()
    if not number.startswith("+"):
        return digits(number)
    return f"+{digits(number.replace('(0)', ''))}"


@dataclass(frozen=True)
class ContactLink:
    """One way to reach a client; the way they like best is marked."""

    words: str
    href: str
    liked: bool

    @property
    def way(self) -> str:
        """``call``, ``text`` or ``email``."""
        return {"tel": "call", "sms": "text"}.get(self.href.partition(":")[0], "email")

    @property
    def verb(self) -> str:
        return self.words.partition(" ")[0]


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
