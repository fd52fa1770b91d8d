"""A phrase of a client's paper is found by typing and changed where it stands."""

from django.urls import reverse
from playwright.sync_api import expect

from studio.shop.models import PaperPhrase
from tests.browser.hands import Hands, assert_accessible, assert_fits, signed_in


def test_a_phrase_is_found_changed_and_taken_back(page, studio, owner):
    signed_in(page, owner)
    page.goto(reverse("studio-words-in", args=["de"]))
    hands = Hands(page)
    hands.tap(page.get_by_label("A phrase, in either language"))
    hands.type("zu zahlen")
    row = page.get_by_role("link", name="To pay Zu zahlen")
    expect(row).to_be_visible()
    hands.tap(row)
    field = page.get_by_role("textbox", name="German")
    expect(field).to_be_focused()
    assert_accessible(page)
    assert_fits(page)
    field.fill("Noch zu bezahlen")
    hands.tap(page.get_by_role("button", name="Save"))
    expect(page.get_by_text("“To pay” changed.")).to_be_visible()
    sample = page.get_by_role("region", name="Claim ticket in German")
    expect(sample.get_by_text("Noch zu bezahlen")).to_be_visible()
    assert PaperPhrase.objects.get().text == "Noch zu bezahlen"
    hands.tap(page.get_by_role("button", name="Undo"))
    expect(sample.get_by_text("Zu zahlen")).to_be_visible()
    assert not PaperPhrase.objects.exists()
