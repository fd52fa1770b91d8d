"""Cells that a spreadsheet has changed on their way: they are named, never taken in silence.

What spreadsheets do to cells that look like numbers or days is common practice: ``3.53876E+11``,
``05-Mar`` for a house number, ``###`` for a narrow column, ``#N/A``, and zeros lost in front. The
countries whose postcodes have so many digits, and those where a number at home begins with a zero
(ITU-T E.164, national prefixes), are from memory.
"""

import re

from clients.contact import country_code
from clients.forms import ROUNDED
from studio.shop.files import Row

HASHES = re.compile(r"#{2,}|#(?:N/A|NV|REF!|NAME\?|VALUE!|WERT!|BEZUG!|DIV/0!|NUM!|ZAHL!|NULL!)")
_MONTH = (
    r"(?:jan|feb|mar|mär|mrz|apr|may|mai|jun|jul|aug|sep|sept|oct|okt|nov|dec|dez|janv|févr|fevr|"
    r"mars|avr|juin|juil|août|déc|ene|abr|ago|dic|sty|lut|kwi|maj|cze|lip|sie|wrz|paź|lis|gru)\.?"
)
DAY = re.compile(
    rf"\d{{1,2}}[-. /]{{1,2}}{_MONTH}(?:[-. /]\d{{2,4}})?|{_MONTH}[- /.]\d{{2,4}}"
    r"|\d{4}-\d\d-\d\d(?: 00:00(?::00)?)?|\d{1,2}[./]\d{1,2}[./]\d{2,4}",
    re.IGNORECASE,
)
# A house number behind its street; "Rue du 8 Mai 1945" is a street.
NUMBER_OF_STREET = re.compile(
    rf".* (?:\d{{1,2}}-{_MONTH}(?:-\d{{2,4}})?|{_MONTH}-\d{{2,4}}|\d{{4}}-\d\d-\d\d.*)",
    re.IGNORECASE,
)
FIVE_DIGITS = ("DE", "FR", "ES", "IT", "US", "FI", "MX", "TR", "UA", "KR")
FOUR_DIGITS = ("NO", "AU", "DK", "ZA")
ZERO_IN_FRONT = (
    "IE", "GB", "DE", "FR", "AT", "CH", "NL", "BE", "SE", "FI", "AU", "NZ", "ZA", "RO", "BG",
    "HR", "SI", "SK", "UA", "JP", "IN", "TR",
)  # fmt: skip
BARE = re.compile(r"[1-9]\d{7,14}")
PLACES = ("street", "postcode", "city")


def name_spoilt(row: Row, home: str = "") -> None:
    """Say what of a row by facts a spreadsheet has spoilt; what is lost is emptied.

    ``home`` is the country where the row has none.
    """
    for fact, cell in row.cells.items():
        if HASHES.fullmatch(cell.strip()):
            row.cells[fact] = ""
            row.remarks.append(f"A spreadsheet wrote “{cell.strip()}” where a {_called(fact)} was.")
        elif _base(fact) in PLACES:
            _name_of_place(row, fact, cell.strip())
    country = _country(row, home)
    for fact in [name for name in row.cells if _base(name) in ("phone", "postcode")]:
        _name_zero(row, fact, country)


def _name_of_place(row: Row, fact: str, cell: str) -> None:
    if ROUNDED.fullmatch(cell):
        row.problems.append(f"{_called(fact).capitalize()}: a spreadsheet has rounded “{cell}”.")
    elif DAY.fullmatch(cell) or (_base(fact) == "street" and NUMBER_OF_STREET.fullmatch(cell)):
        words = f"“{cell}” is a {_called(fact)} that a spreadsheet has made a day of: put it right."
        row.remarks.append(words)


def _name_zero(row: Row, fact: str, country: str) -> None:
    cell = row.cells[fact].strip()
    if _base(fact) == "postcode":
        digits = 4 * (country in FIVE_DIGITS) + 3 * (country in FOUR_DIGITS)
        if cell.isdecimal() and len(cell) == digits:
            row.remarks.append(f"Postcode “{cell}”: is a zero in front missing?")
    elif "label" not in fact and country in ZERO_IN_FRONT and BARE.fullmatch(cell):
        row.remarks.append(f"Phone “{cell}”: is a zero or a plus in front missing?")


def _base(fact: str) -> str:
    return {"town": "city"}.get(word := fact.partition(" ")[0], word)


def _called(fact: str) -> str:
    return {"city": "town", "email": "e-mail"}.get(fact, fact.replace("_", " "))


def _country(row: Row, home: str) -> str:
    try:
        return country_code(row.cells.get("country", "")) or home
    except ValueError:
        return home
