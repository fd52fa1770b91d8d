"""How a phone number is dialled from a page."""

import re

from studio.shop.text import digits

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
