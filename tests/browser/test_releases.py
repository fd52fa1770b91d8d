"""A release on the phone: through its stages, to a tester and back, and to its break-even."""

import re

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from jobs.makes.models import Release
from tests.browser.hands import Hands, assert_accessible, assert_fits, signed_in

SALES = "day,copies,without tax\n2026-03-01,100,900.00\n2026-03-02,40,360.00\n"


@pytest.fixture
def phone(page, studio, owner):
    signed_in(page, owner)
    page.goto(reverse("releases"))
    return page


def keep(phone, button: str = "Save") -> None:
    phone.get_by_role("button", name=button).tap()


def named(words: str, stage: str) -> re.Pattern[str]:
    """A button's or a link's name that also says of which stage it speaks."""
    return re.compile(rf"^{words}\b.*{stage}$")


def new_release(phone) -> Release:
    phone.get_by_role("link", name="A new release").tap()
    phone.get_by_label("Name").fill("Larkfield wrap skirt")
    keep(phone)
    phone.get_by_role("heading", name="Larkfield wrap skirt").wait_for()
    return Release.objects.get()


def guess(phone, stage: str, hours: str) -> None:
    phone.get_by_label(f"Guess for {stage}").fill(hours)
    keep(phone, "Save hours")
    phone.get_by_text(f"about {hours} h").wait_for()


def spend(phone, stage: str, hours: str) -> None:
    phone.get_by_role("link", name=f"Write hours on {stage}").tap()
    phone.get_by_label("Hours").fill(hours)
    keep(phone, "Save")
    phone.get_by_text(re.compile(rf"^{hours}\sh")).first.wait_for()


def test_from_the_draft_to_the_break_even(phone, record_property):
    """3 h + 20 h in and 72 h to go are 95 h; x 40.00 / 9.00 = 422.2, so the 423rd copy.

    140 copies have brought 1260.00: (3800.00 - 1260.00) / 9.00 = 282.2, so 283 to go.
    """
    release = new_release(phone)
    guess(phone, "Toile", "92")
    spend(phone, "Draft", "3")
    spend(phone, "Toile", "20")
    hands = Hands(phone)
    hands.tap(phone.get_by_role("button", name="Draft is done"))
    phone.get_by_text("1 of 7 stages done").wait_for()
    hands.report("A stage done", 1, record_property)
    assert release.stages.get(name="Draft").done_at

    phone.get_by_role("link", name="A tester").tap()
    phone.get_by_label("First name or initials").fill("A. M.")
    keep(phone)
    phone.get_by_role("link", name="A. M.").tap()
    phone.get_by_label("What was reported").fill("The waist sits low.")
    keep(phone)
    phone.get_by_text("The waist sits low.").wait_for()

    phone.get_by_role("link", name="Price, fees, my hour").tap()
    phone.get_by_label("Price of a copy").fill("9")
    phone.get_by_label("An hour of mine is worth").fill("40")
    keep(phone)
    phone.get_by_role("link", name="Copies sold").tap()
    phone.get_by_role("link", name="Out of a file").tap()
    file = {"name": "sales.csv", "mimeType": "text/csv", "buffer": SALES.encode()}
    phone.get_by_label("The CSV file").set_input_files(file)
    keep(phone, "Look at it")
    phone.get_by_role("heading", name="What this file would add").wait_for()
    assert_fits(phone)
    keep(phone, "Import")
    phone.get_by_text("Brought in: 2 rows", exact=True).wait_for()
    assert_fits(phone)
    assert_accessible(phone)
    phone.get_by_role("link", name="Back to the release").tap()
    phone.get_by_role("heading", name="What it comes to").wait_for()
    said = phone.locator("section", has_text="What it comes to").locator(".say")
    expect(said).to_have_text("423 copies break even, 283 still to sell.")
    assert_fits(phone)


def test_stages_change_places_by_keyboard_without_scripts(plain, studio, owner):
    page = signed_in(plain, owner)
    page.goto(reverse("release-new"))
    page.get_by_label("Name").fill("Shirt")
    page.keyboard.press("Enter")
    page.locator("summary", has_text="Name and order").click()
    page.get_by_role("button", name=named("Down", "Draft")).focus()
    page.keyboard.press("Enter")
    page.wait_for_url("**did=down*")
    names = ["Toile", "Draft", "Grade", "Test", "Photograph", "Write up", "Publish"]
    expect(page.locator("#order li > a")).to_have_text(names)
