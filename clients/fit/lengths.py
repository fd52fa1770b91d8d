"""Lengths as people type them: centimetres, millimetres, inches with fractions, yards in eighths.

One inch is 25.4 mm exactly and a yard 36 of them (international yard and pound agreement, 1959), so
a sixteenth of an inch is 1.5875 mm and an eighth of a yard 114.3 mm: with four decimals of a
millimetre both survive. Nothing here is a float.
"""

import re
import unicodedata
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from studio.shop.money import exact, round_half_up

Unit = Literal["cm", "in", "m", "mm", "yd"]

MM = {
    "cm": Fraction(10),
    "m": Fraction(1000),
    "mm": Fraction(1),
    "in": Fraction(254, 10),
    "yd": Fraction(9144, 10),
}
LONGEST_MM = 10_000
FINEST = {"in": 16, "yd": 8}  # the smallest mark on a tape, and how cloth is sold
SPELLINGS: dict[str, Unit] = {
    "cm": "cm", "mm": "mm", "m": "m", "metre": "m", "metres": "m", "meter": "m", "meters": "m",
    "in": "in", "in.": "in", "inch": "in", "inches": "in",
    '"': "in", "''": "in", "yd": "yd", "yd.": "yd", "yds": "yd", "yard": "yd", "yards": "yd",
}  # fmt: skip
PLAIN = str.maketrans({
    "\N{DOUBLE PRIME}": '"',
    "\N{RIGHT DOUBLE QUOTATION MARK}": '"',
    "\N{PRIME}": "'",
    "\N{RIGHT SINGLE QUOTATION MARK}": "'",
    "\N{FRACTION SLASH}": "/",
    "\N{EN DASH}": "-",
    "\N{NON-BREAKING HYPHEN}": "-",
})  # fmt: skip
TYPED = re.compile(
    r"(?:(?P<whole>\d+)(?: ?- ?| ))?(?P<top>\d+) ?/ ?(?P<bottom>\d+)"
    r"|(?P<number>\d+(?:[.,]\d+)?|[.,]\d+)"
)
LONGEST_TEXT = 20  # characters; what is kept beside the millimetres
WANTED = "Write a length such as 80 cm, 80.5, 45 mm or 31 1/2 in."
ONE_UNIT = "Write one number and one unit, m, cm, mm, in or yd: 80 cm, 4 m, 31 1/2 in or 2 3/8 yd."
FRACTIONS = {
    8: "Write a yard in halves, quarters or eighths: 2 3/8 yd.",
    16: "Write a fraction in halves, quarters, eighths or sixteenths: 31 5/8.",
}


class LengthError(ValueError):
    """A length that cannot be taken. Its sentence says what would be accepted."""


@dataclass(frozen=True)
class Length:
    """``mm`` has four decimals, ``typed`` is as written, ``unit`` is what it was read in."""

    mm: Decimal
    typed: str
    unit: Unit

    @property
    def with_unit(self) -> str:
        """As it was typed, with its unit: it reads the same when the studio changes units."""
        _, own_unit = split_unit(plain(self.typed))
        return self.typed if own_unit else f"{self.typed} {self.unit}"


def parse_length(text: str, unit: Unit, *, zero: bool = False) -> Length:
    """Read ``text``; without a unit of its own it is in ``unit``.

    Understood: ``80``, ``80.5``, ``80,5 cm``, ``45 mm``, ``31 1/2``, ``31-1/2``, ``31½``, ``5/8"``,
    ``12 in``, ``2 3/8 yd``. Refused with LengthError: what is no number, less than zero, longer
    than ten metres, finer than a tenth of a millimetre in cm or mm, or, as a fraction, finer than a
    sixteenth of an inch or an eighth of a yard. Nothing is a length only where ``zero`` says that
    it can be meant, as with the heel of a bare foot; in any other place it is a slip of the hand.
    """
    typed = " ".join(text.split())
    if len(typed) > LONGEST_TEXT:
        raise LengthError(WANTED)
    number, own_unit = split_unit(plain(typed))
    unit = own_unit or unit
    amount = read_number(number, FINEST.get(unit, FINEST["in"]))
    mm = to_mm(amount, unit)
    if mm == 0 and not (zero and amount == 0):
        raise LengthError("A length is more than nothing, such as 4.5 cm or 1 3/4 in.")
    if mm > LONGEST_MM:
        raise LengthError("A length is at most 10 metres: 1000 cm, 393 in or 10 7/8 yd.")
    if unit not in FINEST and (amount * MM[unit] * 10).denominator != 1:
        raise LengthError("A tenth of a millimetre is the finest: 80.25 cm or 31 5/8 in.")
    return Length(mm, typed, unit)


def to_mm(amount: Fraction, unit: Unit) -> Decimal:
    """``amount`` of ``unit`` in millimetres, rounded half up to four decimals."""
    return Decimal(round_half_up(amount * MM[unit] * 10_000)).scaleb(-4)


def show_length(mm: Decimal | int, unit: Unit) -> str:
    """Millimetres as a bare number: ``27 3/8`` in inches or yards, ``4.5`` in cm or mm.

    Rounded half up to the nearest sixteenth of an inch, eighth of a yard, tenth of cm and mm, or
    thousandth of a metre. Raises
    TypeError for a float.
    """
    if unit in FINEST:
        parts = FINEST[unit]
        return show_parts(round_half_up(exact(mm) / MM[unit] * parts), parts)
    if unit == "m":
        return f"{Decimal(round_half_up(exact(mm))).scaleb(-3).normalize():f}"
    tenths = Decimal(round_half_up(exact(mm) / MM[unit] * 10)).scaleb(-1)
    return f"{tenths:f}".removesuffix(".0")


def show_change(mm: Decimal | int, unit: Unit) -> str:
    """As ``show_length``, with its sign: ``+1/2``, ``-4.5`` (a true minus sign), ``0``."""
    shown = show_length(mm, unit)
    return shown.replace("-", "\N{MINUS SIGN}") if mm < 0 or shown == "0" else f"+{shown}"


def show_parts(count: int, parts: int) -> str:
    """``438`` of 16 parts are ``27 3/8``."""
    sign, count = "-" if count < 0 else "", abs(count)
    shown = [str(part) for part in divmod(Fraction(count, parts), 1) if part]
    return sign + (" ".join(shown) or "0")


def plain(typed: str) -> str:
    """Lower case, straight quotes and slashes; ``31½`` becomes ``31 1/2``."""
    letters = []
    for letter in typed.translate(PLAIN).casefold():
        if letter.isdecimal():
            letters.append(str(unicodedata.decimal(letter)))
        elif unicodedata.decomposition(letter).startswith("<fraction>"):
            apart = unicodedata.normalize("NFKD", letter).replace("\N{FRACTION SLASH}", "/")
            letters.append(f" {apart} ")
        else:
            letters.append(letter)
    return " ".join("".join(letters).split())


def split_unit(text: str) -> tuple[str, Unit | None]:
    """The number and the unit written after it, if one is."""
    written = re.search(r"[a-z\"'].*", text)
    if not written:
        return text, None
    if written[0] not in SPELLINGS:
        raise LengthError(ONE_UNIT)
    return text[: written.start()].strip(), SPELLINGS[written[0]]


def read_number(text: str, finest: int) -> Fraction:
    """A whole number, a decimal or a mixed fraction of parts no smaller than one ``finest``-th."""
    number = TYPED.fullmatch(text)
    if not number:
        raise LengthError(WANTED)
    if number["number"]:
        return Fraction(number["number"].replace(",", "."))
    top, bottom = int(number["top"]), int(number["bottom"])
    if bottom not in {2, 4, 8, finest} or top >= bottom:
        raise LengthError(FRACTIONS[finest])
    return int(number["whole"] or 0) + Fraction(top, bottom)


Mm = Decimal | Fraction | int
