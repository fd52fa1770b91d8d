"""Fittings, waits and hems on the phone, while the client stands there."""

from datetime import timedelta

import pytest
from playwright.sync_api import expect

from jobs.planning.models import Fitting, ReadyToCut, Wait
from studio.shop import clock
from tests.browser.hands import (
    Hands,
    assert_accessible,
    assert_fits,
    heights,
    reach,
    signed_in,
)
from tests.drafts import hem, received, take_in, trousers
from tests.factories import FittingFactory


@pytest.fixture
def ticket(studio, owner):
    return received(studio, owner, trousers(take_in(), hem(fitting_first=True)))


@pytest.fixture
def phone(page, owner, ticket):
    signed_in(page, owner)
    page.goto(f"/t/{ticket.number}/")
    return page


def book_a_fitting(page, hands):
    hands.tap(page.locator("#fittings > summary"))
    hands.tap(page.locator("#fittings").get_by_role("link", name="Book a fitting"))


def chips(page):
    return page.locator(".times input")


def test_a_fitting_is_booked_missed_and_moved(phone, ticket, record_property):
    hands = Hands(phone)
    book_a_fitting(phone, hands)
    chips(phone).first.wait_for()
    hands.tap(chips(phone).first)
    hands.tap(phone.get_by_role("button", name="Book", exact=True))
    phone.wait_for_url(f"**/t/{ticket.number}/")
    phone.get_by_role("status").get_by_text("Booked: First fitting").wait_for()
    hands.report("A fitting booked", 4, record_property)
    booked = Fitting.objects.get()
    assert booked.starts_at > clock.now()

    # The hour has come and gone.
    Fitting.objects.update(starts_at=clock.now() - timedelta(hours=1))
    phone.reload()
    hands = Hands(phone)
    hands.tap(phone.locator(".step").get_by_role("button", name="Missed"))
    phone.locator(".state", has_text="Missed").wait_for()
    hands.report("A fitting missed", 1, record_property)
    hands = Hands(phone)
    hands.tap(phone.get_by_role("link", name="Find a new day"))
    chips(phone).first.wait_for()
    hands.tap(chips(phone).nth(1))
    hands.tap(phone.get_by_role("button", name="Move it"))
    phone.wait_for_url(f"**/t/{ticket.number}/")
    hands.report("A fitting moved", 4, record_property)
    moved = Fitting.objects.get()
    assert (moved.pk, moved.state, moved.sequence) == (booked.pk, "booked", 1)
    assert moved.starts_at > clock.now()


def test_another_time_is_typed_by_keyboard_alone(desktop, owner, ticket):
    signed_in(desktop, owner)
    desktop.goto(f"/t/{ticket.number}/fittings/new/")
    day = clock.today() + timedelta(days=14 - clock.today().weekday())
    desktop.get_by_label("Another time").focus()
    desktop.keyboard.press("Space")
    desktop.get_by_label("Another day").fill(day.isoformat())
    desktop.get_by_label("at", exact=True).fill("11:20")
    desktop.get_by_label("Minutes").focus()
    desktop.keyboard.press("Enter")
    desktop.wait_for_url(f"**/t/{ticket.number}/")
    starts = clock.local(Fitting.objects.get().starts_at)
    assert (starts.date(), f"{starts:%H:%M}") == (day, "11:20")


def test_another_length_is_offered_other_times(phone, ticket):
    """A fitting of a whole day begins when the bench opens."""
    book_a_fitting(phone, Hands(phone))
    noon = phone.locator(".times label", has_text="12:00")
    noon.first.wait_for()
    phone.get_by_label("Minutes").fill("480")
    phone.get_by_label("Minutes").blur()
    expect(noon).to_have_count(0)
    expect(phone.locator(".times label", has_text="09:00").first).to_be_visible()


def test_no_hem_is_cut_before_the_heel_is_known(phone, ticket):
    phone.get_by_text("not marked to be cut").tap()
    phone.get_by_role("button", name="Marked: ready to cut").tap()
    phone.locator(".errorlist").get_by_text("Write the heel height first").wait_for()
    assert not ReadyToCut.objects.exists()
    assert_accessible(phone)
    assert_fits(phone)
    phone.get_by_label("Heel height of the shoes").fill("7.5")
    phone.get_by_role("button", name="Ready to cut").tap()
    phone.get_by_text("Ready to cut since").wait_for()
    assert ReadyToCut.objects.get().line.garment.heel_typed == "7.5 cm"


def test_work_waits_in_three_taps_and_goes_on_in_one(phone, ticket, record_property):
    hands = Hands(phone)
    hands.tap(phone.get_by_text("Wait, or not done"))
    hands.tap(phone.get_by_text("The client's answer"))
    hands.tap(phone.get_by_role("button", name="Garment A waits: take in sides"))
    phone.locator(".banner").get_by_text("Waits for the client's answer").wait_for()
    hands.report("Work put on hold", 3, record_property)
    hands = Hands(phone)
    hands.tap(phone.locator(".work").get_by_role("button", name="Resume"))
    phone.get_by_role("status").get_by_text("is resumed").wait_for()
    hands.report("Work taken up again", 1, record_property)
    phone.get_by_role("link", name="Papers, history").tap()
    history = phone.get_by_role("region", name="History")
    history.get_by_role("listitem").filter(has_text="answer is here").wait_for()
    assert Wait.objects.get().ended_at is not None


def test_without_javascript(plain, ticket, owner):
    page = signed_in(plain, owner)
    page.goto(f"/t/{ticket.number}/")
    page.locator("#fittings > summary").click()
    page.locator("#fittings").get_by_role("link", name="Book a fitting").click()
    page.get_by_label("Another time").check()
    page.get_by_label("Another day").fill("2001-01-01")
    page.get_by_label("at", exact=True).fill("10:00")
    page.get_by_role("button", name="Book", exact=True).click()
    page.locator(".errorlist").get_by_text("This time is over.").wait_for()
    expect(page.get_by_label("Another day")).to_have_value("2001-01-01")
    page.get_by_label("Another day").fill("")
    page.get_by_label("at", exact=True).fill("")
    chips(page).first.check()
    page.get_by_role("button", name="Book", exact=True).click()
    page.wait_for_url(f"**/t/{ticket.number}/")
    assert Fitting.objects.get().state == "booked"


def test_work_waits_and_goes_on_and_a_fitting_is_booked_by_keys_alone(desktop, ticket, owner):
    page = signed_in(desktop, owner)
    page.goto(ticket.get_absolute_url())
    keys = page.keyboard
    reach(page, page.locator("summary").filter(has_text="Wait, or not done"))
    keys.press("Enter")
    reach(page, page.get_by_label("The client's answer"))
    keys.press("Space")
    reach(page, page.get_by_role("button", name="Garment A waits: take in sides"))
    keys.press("Enter")
    expect(page.locator(".banner")).to_contain_text("Waits for the client's answer")
    reach(page, page.locator(".work").get_by_role("button", name="Resume"))
    keys.press("Enter")
    page.get_by_role("status").get_by_text("is resumed").wait_for()
    reach(page, page.locator("#fittings > summary"))
    keys.press("Enter")
    reach(page, page.locator("#fittings").get_by_role("link", name="Book a fitting"))
    keys.press("Enter")
    page.wait_for_url("**/fittings/new/")
    reach(page, page.locator(".times input").first)
    keys.press("Space")
    reach(page, page.get_by_role("button", name="Book", exact=True))
    keys.press("Enter")
    page.wait_for_url(f"**/t/{ticket.number}/")
    assert Fitting.objects.get().state == "booked"


def test_the_days_buttons_are_large_and_everything_can_be_read(phone, ticket):
    """56 px for what is done daily, 44 px for the rest."""
    FittingFactory(ticket=ticket, starts_at=clock.now() - timedelta(days=2))
    FittingFactory(ticket=ticket, starts_at=clock.now() - timedelta(minutes=5), state="missed")
    phone.reload()
    card = phone.locator("#fittings")
    card.get_by_text("Which work comes after a fitting").tap()
    for name in ("Kept", "Missed", "Book a fitting", "Find a new day"):
        target = card.get_by_role("button", name=name).or_(card.get_by_role("link", name=name))
        assert target.bounding_box()["height"] >= 56, name
    assert min(heights(card.locator("button, a, summary, select"))) >= 44
    assert_accessible(phone)
    assert_fits(phone)
    card.get_by_role("link", name="Book a fitting").tap()
    phone.wait_for_url("**/fittings/new/")
    assert min(heights(phone.locator(".times label"))) >= 56
