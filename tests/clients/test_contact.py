"""Dialling from a page: ``tel:`` takes a global number with a plus, else digits (RFC 3966, 3)."""

import pytest

from clients.contact import dial


@pytest.mark.parametrize(
    ("typed", "dialled"),
    [
        ("086 555 0143", "0865550143"),
        ("+353 86 555 0143", "+353865550143"),
        (" +353 (0)86 555-0143", "+353865550143"),
        ("(01) 555.0100", "015550100"),
        ("0171/555 12", "017155512"),
        ("01 555 0100 ext. 12", "015550100"),
        ("+1-555-555-5555;ext=5555", "+15555555555"),
        ("01 555 0100 #12", "015550100"),
        ("\u0660\u0668\u0666 \u0665", "0865"),
        ("", ""),
        ("ask Tom", ""),
    ],
)
def test_what_is_dialled(typed, dialled):
    assert dial(typed) == dialled
