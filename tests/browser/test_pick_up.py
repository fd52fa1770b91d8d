"""Four garments go home within twenty seconds: scanned, tried on, paid and handed over."""

import time

import pytest

from jobs.billing.queries import balance
from jobs.tickets import actions
from jobs.tickets.models import State
from tests.browser.hands import Hands, assert_accessible, assert_fits, signed_in
from tests.drafts import hem, received, take_in, trousers

# The keystroke-level model of Card, Moran and Newell (1980): pointing at a target, pressing it, and
# making up one's mind before it, in seconds (values from memory).
POINT, PRESS, THINK = 1.1, 0.2, 1.35
MOST_SECONDS = 20


@pytest.fixture
def four(studio, owner):
    """Four ready garments of one client, 174.00 in all."""
    colours = ("navy", "grey", "black", "green")
    pieces = [trousers(hem(), take_in(), colour=colour) for colour in colours[:2]]
    pieces += [trousers(colour=colour, things_left="belt") for colour in colours[2:]]
    ticket = received(studio, owner, *pieces)
    actions.tick_all(ticket=ticket, by=owner)
    return actions.mark_ready(ticket=ticket, by=owner)


def scan(page, ticket):
    """A scanner types what the code says and sends Enter; the box has the focus."""
    page.goto("/pick-up/")
    page.keyboard.type(f"{page.url.removesuffix('pick-up/')}t/{ticket.number}/")
    page.keyboard.press("Enter")
    page.wait_for_url(f"**/t/{ticket.number}/pick-up/")


def test_four_garments_in_twenty_seconds(page, four, owner, record_property):
    signed_in(page, owner)
    hands, started = Hands(page), time.monotonic()
    scan(page, four)
    assert_fits(page)
    for tick in page.get_by_label("Tried on").all():
        hands.tap(tick)
    hands.tap(page.get_by_label("Card"))
    hands.tap(page.get_by_role("button", name="Hand over"))
    page.wait_for_url(f"**/t/{four.number}/")
    machine = time.monotonic() - started
    page.get_by_role("status").get_by_role("link", name="Receipt").wait_for()
    four.refresh_from_db()
    assert (four.state, balance(four)) == (State.COLLECTED, 0)
    assert four.garments.filter(tried_on=True).count() == 4
    hands.report("Four garments handed over", 6, record_property)
    person = hands.count * (POINT + PRESS + THINK)
    record_property("figure", f"Four garments: {person:.1f} s of hands, {machine:.1f} s of machine")
    assert person <= MOST_SECONDS


def test_by_keyboard_alone(desktop, four, owner):
    signed_in(desktop, owner)
    scan(desktop, four)
    desktop.get_by_label("Amount").focus()
    desktop.keyboard.press("Tab")
    desktop.keyboard.press("Space")
    desktop.keyboard.press("Tab")
    desktop.keyboard.press("Enter")
    desktop.wait_for_url(f"**/t/{four.number}/")
    four.refresh_from_db()
    assert (four.state, four.payments.get().method) == (State.COLLECTED, "cash")


def test_without_javascript(new_context, live_server, studio, owner):
    ticket = received(studio, owner)
    context = new_context(java_script_enabled=False)
    page = signed_in(context.new_page(), owner)
    scan(page, ticket)
    page.get_by_role("button", name="Hand over").click()
    page.get_by_text("Tick it, or say why it was not done.", exact=True).wait_for()
    assert page.get_by_text("Say whether it is cash, card or transfer.", exact=True).is_visible()
    page.get_by_label("Why not done: Hem").fill("no thread of this colour")
    page.get_by_label("Cash").check()
    page.get_by_role("button", name="Hand over").click()
    page.wait_for_url(f"**/t/{ticket.number}/")
    ticket.refresh_from_db()
    assert (ticket.state, balance(ticket)) == (State.COLLECTED, 0)


def test_it_can_be_read_and_touched_by_everybody(page, four, owner):
    """With and without something wrong; targets of daily use are 56 px high, the others 44."""
    signed_in(page, owner)
    page.goto("/pick-up/")
    assert_accessible(page)
    assert_fits(page)
    page.goto(f"/t/{four.number}/pick-up/")
    page.get_by_role("button", name="Hand over").tap()
    page.get_by_role("alert").wait_for()
    assert_accessible(page)
    assert_fits(page)
    daily = [*page.locator("label.tick").all(), *page.locator(".chips label").all()]
    daily.append(page.get_by_role("button", name="Hand over"))
    assert min(target.bounding_box()["height"] for target in daily) >= 56
    others = [*page.locator("summary").all(), page.get_by_role("button", name="only")]
    assert min(target.bounding_box()["height"] for target in others) >= 44
