"""The page of all cautions, and its two questions to the published rules."""

import pytest
from django.urls import reverse

from clients.cautions.garments import SAFETY

INFANT = {"ask": "infant", "length": "64.8 cm", "months": "9"}
CORD = {"ask": "cord", "place": "waist", "end": "3 in", "size": "10"}


def ask(client, **query) -> str:
    return " ".join(client.get(reverse("cautions"), query).text.split())


def test_every_caution_stands_there_with_its_source(helper_client, studio):
    shown = ask(helper_client)
    for key, caution in SAFETY.items():
        assert f'id="{key}"' in shown
        assert f"Source: {caution.source} ({caution.label})." in shown


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        # 16 CFR 1120: three inches at the waist of a size 10 may hang out, a quarter more may not.
        ({}, "16 CFR 1120:</strong> nothing found against it."),
        ({"end": "3 1/4 in"}, "At most 3 in (7.6 cm) may hang out at each end."),
        ({"place": "neck", "size": "2T", "end": "0"}, "No cord at the hood or neck in sizes 2T"),
        ({"loose_end": "on"}, "No toggle or knot at a free end."),
        ({"untacked": "on"}, "A cord in one piece is bar-tacked"),
        ({"years": "6", "end": "14.1 cm", "size": ""}, "At most 14 cm may hang out at each end."),
        ({"years": "6", "place": "neck", "size": ""}, "No cord at the hood or neck for a child"),
        ({"size": ""}, "Write a size, an age or both."),
        ({"size": "M"}, "Write a size in numbers"),
        ({"end": ""}, "This field is required."),
    ],
)
def test_is_this_cord_allowed(owner_client, asked, words):
    assert words in ask(owner_client, **CORD | asked)


@pytest.mark.parametrize(
    ("asked", "exempt"),
    [
        ({}, True),  # 64.8 cm in one piece, 16 CFR 1615.1(c)
        ({"length": "66 cm"}, False),
        ({"length": "25 3/4 in"}, False),  # 65.4 cm: the stricter of the two printed limits
        ({"length": "40 cm", "two_piece": "on"}, True),
        ({"length": "41 cm", "two_piece": "on"}, False),
        ({"months": "12"}, False),
    ],
)
def test_is_this_infants_garment_exempt(owner_client, asked, exempt):
    shown = ask(owner_client, **INFANT | asked)
    assert ("Short enough for the exemption" in shown) is exempt
    assert ("Not exempt as an infant garment" in shown) is not exempt


def test_nothing_asked_is_nothing_answered(owner_client):
    shown = ask(owner_client)
    assert "nothing found" not in shown
    assert "exempt as an infant" not in shown
    assert "This field is required." not in shown
