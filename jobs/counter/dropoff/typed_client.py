"""Name or number? What one box says about a client that is not on the list yet."""

import re
from typing import NamedTuple

from studio.shop.text import digits

PHONE = re.compile(r"\+?[\d(][\d\s()/.\-]*\d")
FEWEST_DIGITS = 3


class NameAndPhone(NamedTuple):
    name: str
    phone: str


def split_typed(text: str) -> NameAndPhone:
    """``Mary Larkin 086 555 0143`` is a name and a phone number; either may be missing.

    The longest run of digits, with the marks that phone numbers are written with, is the number.
    """
    runs = [run for run in PHONE.finditer(text) if len(digits(run[0])) >= FEWEST_DIGITS]
    if not runs:
        return NameAndPhone(_tidy(text), "")
    run = max(runs, key=lambda found: len(digits(found[0])))
    return NameAndPhone(_tidy(f"{text[: run.start()]} {text[run.end() :]}"), run[0].strip())


def _tidy(text: str) -> str:
    return " ".join(text.split()).strip(" ,;")
