"""Four garments go home within twenty seconds: scanned, tried on, paid and handed over."""

import time
from datetime import timedelta

import pytest
from playwright.sync_api import expect

from jobs.billing.queries import balance
from jobs.tickets import actions
from jobs.tickets.models import SentMessage, State, Ticket
from studio.shop import clock
from tests.browser.hands import Hands, assert_accessible, assert_fits, assert_in_sight, signed_in
from tests.drafts import hem, received, take_in, trousers

# The keystroke-level model of Card, Moran and Newell (1980): pointing at a target, pressing it, and
# making up one's mind before it, in seconds (values from memory).
POINT, PRESS, THINK = 1.1, 0.2, 1.35
MOST_SECONDS = 20


@pytest.fixture
def four(studio, owner):
    """Four ready garments of one client, 156.00 in all."""
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


@pytest.fixture
def one(studio, owner):
    """One pair of trousers, ready to collect."""
    ticket = received(studio, owner)
    actions.tick_all(ticket=ticket, by=owner)
    return actions.mark_ready(ticket=ticket, by=owner)


def foot(page):
    return page.get_by_label("Next step")


def test_where_it_hangs_is_a_tap_and_is_large_at_pick_up(page, studio, owner):
    """Done: one tap says where. A tap on the place and another move it."""
    ticket = received(studio, owner)
    actions.tick_all(ticket=ticket, by=owner)
    signed_in(page, owner).goto(ticket.get_absolute_url())
    hands = Hands(page)
    hands.tap(page.get_by_role("button", name="shelf"))
    expect(page.get_by_text("A hangs: shelf.").first).to_be_visible()
    hands.tap(page.locator(".piece .hangs"))
    expect(page.get_by_role("heading", name="Where A hangs")).to_be_visible()
    hands.tap(page.get_by_role("button", name="box"))
    expect(page.get_by_text("A hangs: box.").first).to_be_visible()
    assert hands.count == 3
    page.goto(f"/t/{ticket.number}/pick-up/")
    expect(page.get_by_text("hangs: box")).to_be_visible()


def test_one_garment_paid_by_card_from_the_rail(page, one, owner, record_property):
    """At most four taps, and the page is read from above: ways to pay within 740 px of it."""
    signed_in(page, owner)
    page.goto("/pick-up/")
    hands = Hands(page)
    hands.tap(page.get_by_role("link", name=f"{one.client.name} {one}"))
    page.wait_for_url(f"**/t/{one.number}/pick-up/")
    hands.tap(page.get_by_label("Card"))
    expect(foot(page)).to_contain_text("by card")
    expect(foot(page)).to_contain_text("1 of 1 leaves")
    hands.tap(page.get_by_role("button", name="Hand over"))
    page.get_by_role("link", name="Print receipt").wait_for()
    one.refresh_from_db()
    assert (one.state, balance(one)) == (State.COLLECTED, 0)
    hands.report("One garment paid by card, from the rail", 4, record_property)


def test_four_garments_in_twenty_seconds(page, four, owner, record_property):
    signed_in(page, owner)
    hands, started = Hands(page), time.monotonic()
    scan(page, four)
    assert_fits(page)
    assert_in_sight(page.locator(".ways"), 740, "ways to pay, four pieces", record_property)
    hands.tap(page.get_by_role("button", name="All 4 leave"))
    hands.tap(page.get_by_label("Fits"))
    hands.tap(page.get_by_label("Card"))
    expect(foot(page)).to_contain_text("4 of 4 leave")
    hands.tap(page.get_by_role("button", name="Hand over"))
    page.wait_for_url(f"**/t/{four.number}/handed-over/")
    machine = time.monotonic() - started
    page.get_by_role("link", name="Print receipt").wait_for()
    four.refresh_from_db()
    assert (four.state, balance(four)) == (State.COLLECTED, 0)
    assert four.garments.filter(tried_on=True).count() == 4
    hands.report("Four garments handed over", 4, record_property)
    person = hands.count * (POINT + PRESS + THINK)
    record_property("figure", f"Four garments: {person:.1f} s of hands, {machine:.1f} s of machine")
    assert person <= MOST_SECONDS


def test_ways_to_pay_are_seen_at_once(page, studio, owner, record_property):
    """Three garments and their belt: the ways to pay end within 740 px on a phone."""
    pieces = [trousers(colour=colour, things_left="belt") for colour in ("navy", "grey", "black")]
    ticket = received(studio, owner, *pieces)
    actions.tick_all(ticket=ticket, by=owner)
    actions.mark_ready(ticket=ticket, by=owner)
    signed_in(page, owner)
    page.goto(f"/t/{ticket.number}/pick-up/")
    assert_in_sight(page.locator(".ways"), 740, "ways to pay", record_property)


def test_part_now_is_redrawn_as_it_is_typed(page, four, owner):
    """156.00: 100 now leaves 56 for later, on the bar and at the foot; what stays asks why."""
    signed_in(page, owner)
    page.goto(f"/t/{four.number}/pick-up/")
    page.get_by_text("Part now").tap()
    page.get_by_role("button", name="€100.00").tap()
    page.locator("#settling").get_by_text("€56.00").wait_for()
    expect(foot(page)).to_contain_text("€100.00")
    page.get_by_label("Amount").fill("150")
    page.locator("#settling").get_by_text("€6.00").wait_for()
    page.get_by_role("button", name="All 4 leave").tap()
    page.get_by_label("Cash").check()
    page.get_by_role("button", name="Hand over").tap()
    page.locator("#refused").get_by_text("€6.00 is still open.").wait_for()
    page.get_by_label("Why it is paid later").fill("tomorrow")
    page.get_by_role("button", name="Hand over").tap()
    page.wait_for_url(f"**/t/{four.number}/handed-over/")
    assert balance(four) == 600


def test_by_keyboard_alone(desktop, four, owner):
    signed_in(desktop, owner)
    scan(desktop, four)
    for tick in desktop.locator(".leaving input").all():
        tick.focus()
        desktop.keyboard.press("Space")
    desktop.get_by_label("Cash").focus()
    desktop.keyboard.press("Space")
    desktop.get_by_role("button", name="Hand over").focus()
    desktop.keyboard.press("Enter")
    desktop.wait_for_url(f"**/t/{four.number}/handed-over/")
    four.refresh_from_db()
    assert (four.state, four.payments.get().method) == (State.COLLECTED, "cash")


def test_without_javascript(plain, studio, owner):
    ticket = received(studio, owner)
    page = signed_in(plain, owner)
    scan(page, ticket)
    page.get_by_role("button", name="Hand over").click()
    page.get_by_text("Tick it, or say why it was not done.", exact=True).wait_for()
    said = page.get_by_text("Say whether it is cash, card or transfer.", exact=True)
    expect(said).to_be_visible()
    page.get_by_label("Why not done: Hem").fill("no thread of this colour")
    page.get_by_label("Cash").check()
    page.get_by_role("button", name="Hand over").click()
    page.wait_for_url(f"**/t/{ticket.number}/handed-over/")
    ticket.refresh_from_db()
    assert (ticket.state, balance(ticket)) == (State.COLLECTED, 0)


def test_it_can_be_read_and_touched_by_everybody(page, four, owner):
    """With something wrong; targets of daily use are 56 px high, the others 44."""
    signed_in(page, owner).goto(f"/t/{four.number}/pick-up/")
    page.get_by_role("button", name="Hand over").tap()
    page.locator("#refused").wait_for()
    assert_accessible(page)
    assert_fits(page)
    daily = [*page.locator(".leaving label").all(), *page.locator(".ways label").all()]
    daily.append(page.get_by_role("button", name="Hand over"))
    assert min(target.bounding_box()["height"] for target in daily) >= 56
    page.get_by_text("Part now").tap()
    others = [*page.locator("main summary").all(), *page.locator(".segments label").all()]
    others = [target for target in others if target.is_visible()]
    others.append(page.get_by_role("button", name="only"))
    assert min(target.bounding_box()["height"] for target in others) >= 44
    page.set_viewport_size({"width": 320, "height": 700})
    assert_fits(page)


def test_a_notice_that_was_printed_asks_whether_it_is_sent(page, one, studio, owner):
    """Printing it is not posting it: only what is marked as sent is remembered."""
    studio.collect_steps = [{"days": 30, "how": "notice"}]
    studio.save()
    Ticket.objects.filter(pk=one.pk).update(ready_at=clock.now() - timedelta(days=31))
    page.context.route("**/not-collected.pdf", lambda route: route.fulfill(body="paper"))
    signed_in(page, owner).goto("/uncollected/")
    with page.context.expect_page() as paper:
        page.get_by_role("link", name="Print notice").click()
    paper.value.close()
    page.get_by_role("button", name="Printed: mark as sent").click()
    expect(page.get_by_text("Remembered: not collected").first).to_be_visible()
    assert SentMessage.objects.get().way == "paper"
