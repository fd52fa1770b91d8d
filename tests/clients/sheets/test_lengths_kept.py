"""Every sixteenth of an inch through the database. An inch is 25.4 mm (NIST SP 811, B.8)."""

from fractions import Fraction

import pytest

from clients.fit.lengths import parse_length, show_length
from clients.fit.measures import MEASURES, spots
from clients.models import Measured
from tests.factories import SheetFactory


def written(sixteenths: int) -> str:
    """``438`` sixteenths are ``27 3/8``, made without the program's own writing."""
    whole, rest = divmod(Fraction(sixteenths, 16), 1)
    return f"{whole} {rest}" if whole and rest else str(whole or rest)


@pytest.mark.django_db
def test_every_sixteenth_to_a_hundred_inches_is_typed_kept_and_shown():
    typed = [written(count) for count in range(1, 1601)]
    places = spots(MEASURES)
    values = []
    for start in range(0, len(typed), len(places)):
        sheet = SheetFactory()
        for text, (key, side) in zip(typed[start : start + len(places)], places, strict=False):
            read = parse_length(text, "in")
            values.append(
                Measured(
                    sheet=sheet, key=key, side=side, mm=read.mm, typed=read.typed, unit=read.unit
                )
            )
    Measured.objects.bulk_create(values)

    kept = list(Measured.objects.order_by("pk"))
    assert [value.typed for value in kept] == typed
    assert [show_length(value.mm, "in") for value in kept] == typed
    assert [Fraction(value.mm) for value in kept] == [
        Fraction(254 * count, 160) for count in range(1, 1601)
    ]


@pytest.mark.django_db
def test_a_bare_foot_has_a_heel_of_nothing():
    """Zero is the first of the sixteenths, and only a heel can have it."""
    heel = parse_length("0", "in", zero=True)
    sheet = SheetFactory(heel_mm=heel.mm, heel_typed=heel.typed)
    sheet.refresh_from_db()
    assert (sheet.heel_mm, sheet.heel_typed, show_length(sheet.heel_mm, "in")) == (0, "0", "0")
