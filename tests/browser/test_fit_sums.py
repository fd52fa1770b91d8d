"""Fit sums on the phone: a let-out refused, one that is agreed, and a circle's hem."""

import pytest
from playwright.sync_api import expect

from jobs.tickets.models import FitSum
from tests.browser.hands import Hands, assert_accessible, assert_fits, assert_in_sight, signed_in
from tests.drafts import hem, received, take_in, trousers


@pytest.fixture
def ticket(studio, owner):
    return received(studio, owner, trousers(take_in(), hem()))


@pytest.fixture
def phone(page, owner, ticket):
    signed_in(page, owner)
    page.goto(f"/t/{ticket.number}/")
    return page


def test_a_let_out_is_refused_and_a_smaller_one_agreed(phone, ticket, record_property):
    """5/8 in on a pair of side seams, 3/8 in kept: (15.875 - 9.525) x 4 = 25.4 mm, so 2.5 cm."""
    hands = Hands(phone)
    hands.tap(phone.get_by_role("link", name="Fit", exact=True))
    hands.tap(phone.get_by_role("link", name="Fit of A"))
    hands.tap(phone.get_by_role("link", name="Take in or let out"))
    for label, text in (("By how much", "4"), ("Seam or dart", "Sides"),
                        ("Allowance now", "5/8 in"), ("How many alike", "2")):  # fmt: skip
        if label == "How many alike":
            hands.tap(phone.get_by_text("Pair, kept, let out before").first)
        hands.tap(phone.get_by_label(label).first)
        hands.type(text)
    expect(phone.locator("#answer")).to_have_text(
        "No: 4 cm is wanted, at most 2.5 cm can be let out."
    )
    expect(phone.get_by_text("Every seam gives all it has beyond what is kept.")).to_be_visible()
    expect(phone.get_by_role("button", name="Save as the amount of")).to_have_count(0)
    assert_accessible(phone)
    assert_fits(phone)
    hands.tap(phone.get_by_role("link", name="Let out 2.5 cm instead"))
    expect(phone.locator("#answer")).to_have_text("2.5 cm can be let out.")
    hands.tap(phone.get_by_role("button", name="Save as the amount of: Take in sides"))
    phone.get_by_role("status").get_by_text("Agreed on Take in sides").wait_for()
    hands.report("A let-out refused, then agreed", 30, record_property)
    line = ticket.garments.get().lines.get(name="Take in sides")
    assert line.pinned == "let out 2.5 cm, total"
    ticket.refresh_from_db()
    assert ticket.version == 2
    phone.goto(f"/t/{ticket.number}/")
    phone.get_by_role("link", name="Fit", exact=True).tap()
    expect(phone.get_by_text("2.5 cm can be let out.").first).to_be_visible()
    assert_fits(phone)


def test_a_circles_hem_by_keyboard_without_javascript(plain, ticket, owner):
    """A waist of 72 cm, 60 cm long: 72 + 2 pi 60 = 449.0 cm; 2 cm deep has 12.6 cm too much."""
    page = signed_in(plain, owner)
    page.goto(f"/garments/{ticket.garments.get().pk}/fit/circle/")
    page.get_by_label("Seam at the waist").focus()
    page.keyboard.type("72")
    page.keyboard.press("Tab")
    page.keyboard.type("60 feet")
    page.get_by_label("Depth of the hem").fill("2")
    page.keyboard.press("Enter")
    length = page.get_by_label("Length now")
    expect(length).to_have_attribute("aria-invalid", "true")
    expect(length).to_have_value("60 feet")
    expect(page.get_by_label("Seam at the waist")).to_have_value("72")
    length.fill("60")
    page.keyboard.press("Enter")
    expect(page.locator("#answer")).to_have_text(
        "The hem is 449 cm round; 12.6 cm has to be eased in."
    )
    expect(page.get_by_role("img", name="Full circle")).to_be_visible()
    page.get_by_role("button", name="Save with the garment").focus()
    page.keyboard.press("Enter")
    page.get_by_role("link", name="Open again").wait_for()
    kept = FitSum.objects.get()
    assert (kept.kind, round(kept.edge_mm), kept.layers) == ("circle", 4490, 1)


def test_answer_and_drawing_are_seen_at_once_and_follow_the_numbers(phone, ticket, record_property):
    """They end within 600 px of a phone; 104 + 6 - 1.5 = 108.5, with 8 cm heels 110.5."""
    asked = "garment=dress&floor=104&heel=6&above=1.5&now=113&turned_up=4&depth=4&layers=1"
    phone.goto(f"/garments/{ticket.garments.get().pk}/fit/hem/?{asked}")
    expect(phone.locator("#answer")).to_have_text("Finish at 108.5 cm, cut at 112.5 cm.")
    assert_in_sight(phone.locator("#result figure"), 600, "fit: drawing", record_property)
    phone.get_by_label("Heel height").fill("8")
    expect(phone.locator("#answer")).to_have_text("Finish at 110.5 cm, cut at 114.5 cm.")
    expect(phone.locator("#result figure").get_by_text("finished 110.5 cm")).to_be_visible()
    expect(phone.get_by_label("Next step")).to_contain_text("2.5 cm")
    phone.set_viewport_size({"width": 320, "height": 700})
    assert_fits(phone)


def test_a_rail_and_a_drop_are_one_tap_from_the_ticket_and_stand_whole(page, studio, owner):
    """On a phone: "180 cm" and a length in another unit are seen to their end."""
    ticket = received(studio, owner, trousers(hem(), kind_name="Curtains"))
    hands = Hands(signed_in(page, owner))
    page.goto(f"/t/{ticket.number}/#fit")
    hands.tap(page.get_by_role("link", name="Rail and drop"))
    page.get_by_label("Width of the rail, now").fill("180 cm")
    page.get_by_label("Drop, now").fill("180")
    page.get_by_label("Drop, wanted").fill("70 3/8 in")
    hands.tap(page.get_by_role("button", name="Save", exact=True))
    # 180 cm less 70 3/8 in (178.7525 cm), rounded to a millimetre.
    expect(page.get_by_text("take off 1.2 cm, total")).to_be_visible()
    for label in ("Width of the rail, now", "Drop, now", "Drop, wanted"):
        cell = page.get_by_label(label)
        assert cell.evaluate("cell => cell.scrollWidth <= cell.clientWidth"), label
    expect(page.get_by_label("One that fits")).to_have_count(0)
    assert_accessible(page)
    assert_fits(page)
