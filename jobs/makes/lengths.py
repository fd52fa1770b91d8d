"""Lengths of cloth as they are bought and cut: ``1.35 m``, ``135 cm``, ``2 3/8 yd``.

A yard is 36 inches of 25.4 mm exactly (international yard and pound agreement, 1959): an eighth of
it is 114.3 mm and a sixteenth of an inch 1.5875 mm, so four decimals of a millimetre keep both, and
sums of them, exactly. The form fields that read such lengths stand below.
"""

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import ceil
from typing import Any, Literal

from django import forms
from django.core.exceptions import ValidationError

from clients.fit.lengths import LONGEST_TEXT, LengthError, plain, read_number, show_length
from studio.shop.models import Profile
from studio.shop.money import exact, round_half_up

Bare = Literal["m", "cm", "yd", "in"]

INCH, YARD, METRE = Fraction(254, 10), Fraction(9144, 10), Fraction(1000)
EIGHTH = YARD / 8
MM = {"mm": Fraction(1), "cm": Fraction(10), "m": METRE, "in": INCH, "yd": YARD}
SPELLINGS = {
    "m": "m", "metre": "m", "metres": "m", "meter": "m", "meters": "m", "cm": "cm", "mm": "mm",
    "yd": "yd", "yds": "yd", "yard": "yd", "yards": "yd",
    "in": "in", "inch": "in", "inches": "in", '"': "in", "''": "in",
}  # fmt: skip
SMALLER = {"m": "cm", "yd": "in"}  # what may follow: 1 m 35, 2 yd 13 1/2 in
PART = re.compile(r"([\d.,/\s-]+)([a-z\"']*)\.?")
LONGEST_MM = 250_000
WIDEST_MM = 10_000
FINEST = {"m": Decimal(10), "yd": Decimal("6.35")}
"""Mm: nobody cuts finer than a centimetre or a quarter of an inch (common practice)."""
WANTED = "Write a length such as 1.35 m, 135 cm, 2 3/8 yd or 2 yd 13 1/2 in."


@dataclass(frozen=True)
class ClothLength:
    """``mm`` has four decimals, ``typed`` names its unit, ``unit`` is how such cloth is sold."""

    mm: Decimal
    typed: str
    unit: Literal["m", "yd"]


def parse_cloth(
    text: str, bare: Bare, *, most_mm: int = LONGEST_MM, zero: bool = False
) -> ClothLength:
    """Read ``text``; a number without a unit is in ``bare``.

    Understood: ``1.35``, ``1,35 m``, ``1 m 35``, ``135 cm``, ``2 3/8 yd``, ``2 yd 13 1/2 in``,
    ``54"``. Refused with LengthError: what is no length, below zero, nothing (unless ``zero``),
    over ``most_mm``, or finer than a tenth of a millimetre in metric units.
    """
    typed = " ".join(text.split())
    parts = _parts(plain(typed), bare)
    mm = sum((amount * MM[unit] for amount, unit in parts), Fraction(0))
    metric = parts[0][1] not in {"yd", "in"}
    if metric and (mm * 10).denominator != 1:
        raise LengthError("A tenth of a millimetre is the finest.")
    if not mm and not zero:
        raise LengthError("A length is more than nothing, such as 1.35 m or 2 3/8 yd.")
    if mm > most_mm:
        raise LengthError(f"A length is at most {most_mm // 1000} metres here.")
    if not re.search(r"[a-z\"']", plain(typed)):
        typed = f"{typed} {bare}"
    if len(typed) > LONGEST_TEXT:
        raise LengthError("Write this shorter, such as 1.35 m or 2 3/8 yd.")
    kept = Decimal(round_half_up(mm * 10_000)).scaleb(-4)
    return ClothLength(kept, typed, "m" if metric else "yd")


def show_cloth(mm: Decimal, unit: str) -> str:
    """``1.35 m``; in yards ``2 3/8 yd`` where eighths say it exactly, else ``2 yd 13 1/2 in``.

    Rounded half up to a millimetre or a sixteenth of an inch. Raises TypeError for a float.
    """
    sign, size = "-" if mm < 0 else "", abs(exact(mm))
    if unit == "m":
        metres = Decimal(round_half_up(size)).scaleb(-3).normalize()
        return f"{sign}{metres:f} m"
    if (size / EIGHTH).denominator == 1:
        shown = [str(part) for part in divmod(size / YARD, 1) if part]
        return f"{sign}{' '.join(shown) or '0'} yd"
    sixteenths = round_half_up(size / INCH * 16)
    yards, rest = divmod(sixteenths, 36 * 16)
    shown = [f"{yards} yd"] if yards else []
    if rest or not yards:
        inches = Decimal(rest) * 254 / 160
        shown.append(f"{show_length(inches, 'in')} in")
    return sign + " ".join(shown)


def as_cut(mm: Decimal | Fraction, unit: str) -> Decimal:
    """Rounded up to the finest that is cut of cloth sold in ``unit``."""
    return ceil(exact(mm) / exact(FINEST[unit])) * FINEST[unit]


def _parts(text: str, bare: Bare) -> list[tuple[Fraction, str]]:
    """The one or two numbers of a length, each with its unit."""
    parts: list[tuple[str, str]] = []
    at = 0
    while at < len(text):
        part = PART.match(text, at)
        if not part or len(parts) == 2:
            raise LengthError(WANTED)
        parts.append((part[1].strip(), part[2]))
        at = part.end()
    if not parts:
        raise LengthError(WANTED)
    first = _unit(parts[0][1]) or bare
    units = [first, *(_unit(word) or SMALLER.get(first, "") for _, word in parts[1:])]
    if len(parts) == 2 and (not parts[0][1] or units[1] != SMALLER.get(first)):
        raise LengthError(WANTED)
    try:
        return [
            (read_number(number, 16), unit) for (number, _), unit in zip(parts, units, strict=True)
        ]
    except LengthError as error:
        raise LengthError(WANTED) from error


def _unit(word: str) -> str:
    if word and word not in SPELLINGS:
        raise LengthError(WANTED)
    return SPELLINGS.get(word, "")


def length_unit(studio: Profile) -> Bare:
    """What lengths of several cloths together are shown in: ``m`` or ``yd``."""
    return "yd" if studio.unit == Profile.Unit.INCH else "m"


class ClothLengthField(forms.CharField):
    """A length of cloth, cleaned to a ``ClothLength``; an empty optional one to None.

    A number alone is metres or yards as the studio measures, or as ``bare`` was set. Belongs on a
    form with ``StudioFormMixin``. What was typed is what is shown again.
    """

    bare: Bare = "m"
    units: tuple[Bare, Bare] = ("m", "yd")
    most_mm = LONGEST_MM

    def __init__(self, *, zero: bool = False, **kwargs: Any) -> None:
        self.zero = zero
        super().__init__(max_length=40, **kwargs)
        self.widget.attrs.setdefault("autocomplete", "off")

    def for_studio(self, studio: Profile) -> None:
        self.bare = self.units[length_unit(studio) == "yd"]

    def clean(self, value: Any) -> ClothLength | None:
        typed = super().clean(value)
        if not typed:
            return None
        try:
            return parse_cloth(typed, self.bare, most_mm=self.most_mm, zero=self.zero)
        except LengthError as error:
            raise ValidationError(str(error), code="length") from error


class ClothWidthField(ClothLengthField):
    """A width of cloth or a piece: a number alone is centimetres or inches."""

    bare: Bare = "cm"
    units = ("cm", "in")
    most_mm = WIDEST_MM
