"""Letters that no font here has are said: held to the fonts' own tables, read by fontTools."""

import unicodedata
from functools import cache
from pathlib import Path

import pytest
from django.urls import reverse
from fontTools.ttLib import TTCollection, TTFont

from studio.shop.paper import letters
from studio.shop.paper.letters import font_for, unprintable
from tests.drafts import received, trousers
from tests.factories import ClientFactory
from tests.papers_data import ARABIC_NAME, EMOJI_NAME, HEBREW_NAME

# Names that the suite prints, and a letter or two of scripts that few machines have.
FURTHER = "\u738b\u5c0f\u660e \u1e9e \u0416 \u0e01 \u12a0 \U00012000"
SAMPLES = f"{HEBREW_NAME} {ARABIC_NAME} {EMOJI_NAME} {FURTHER}"


@cache
def in_the_fonts() -> frozenset[int]:
    found: set[int] = set()
    for path in Path("/usr/share/fonts").rglob("*.[ot]t[fc]"):
        fonts = TTCollection(path).fonts if path.suffix == ".ttc" else [TTFont(path, lazy=True)]
        found.update(*(font.getBestCmap() for font in fonts))
    return frozenset(found)


@pytest.mark.paper
def test_a_letter_is_unprintable_when_no_font_has_it():
    """The last code point of all is no letter (Unicode, 23.7), so that something is never there."""
    asked = [letter for letter in SAMPLES if unicodedata.category(letter)[0] in "LS"]
    missing = [letter for letter in asked if unprintable(letter)]
    assert missing == [letter for letter in asked if ord(letter) not in in_the_fonts()]
    assert unprintable("Zo\u00eb \U0010ffff and \U0010ffff") == "\U0010ffff"


def test_the_font_to_install_is_named():
    assert font_for("\u738b") == "fonts-droid-fallback"
    assert font_for("\ud55c \u0e01") == "fonts-droid-fallback"
    assert font_for("\u12a0") == "fonts-noto-core"
    assert font_for("\U0001f9f5") == "fonts-noto-color-emoji"


@pytest.mark.django_db
def test_it_is_said_where_the_name_is_saved_and_printed(studio, owner, owner_client, monkeypatch):
    monkeypatch.setattr(letters, "_printable", lambda letter: letter != "\u738b")
    client = ClientFactory(name="Wang \u738b")
    ticket = received(studio, owner, trousers(), client=client)
    words = "papers leave them out: <b>\u738b</b>. Install fonts-droid-fallback"
    for page in (
        reverse("client", args=[client.pk]),
        reverse("ticket-saved", args=[ticket.number]),
        ticket.get_absolute_url(),
    ):
        assert words in owner_client.get(page).text
    client.name = "Wang"
    client.save()
    assert "leave them out" not in owner_client.get(ticket.get_absolute_url()).text
