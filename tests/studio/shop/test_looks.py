"""The page on which developers see every component."""

import re
from pathlib import Path

from django.urls import reverse

STYLES = Path(__file__).parents[3] / "studio/shop/static/studio/studio.css"


def test_every_part_that_says_something_is_shown(owner_client):
    """Each class in the stylesheet's sections of components stands on the page."""
    shown = owner_client.get(reverse("looks")).content.decode()
    for name in [
        "btn",
        "choices",
        "chips",
        "check",
        "field",
        "error",
        "notice",
        "state",
        "figures",
    ]:
        assert re.search(rf"\.{name}\b", STYLES.read_text())
        assert re.search(rf'class="[^"]*\b{name}', shown) or f"{name}list" in shown, name


def test_the_sample_form_shows_its_errors_and_keeps_what_was_typed(owner_client):
    shown = owner_client.get(reverse("looks")).content.decode()
    assert "This field is required." in shown
    assert 'value="soon"' in shown
