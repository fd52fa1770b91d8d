"""A ticket's page and the list: what is seen first, how much there is to touch, one next step."""

from datetime import timedelta

import pytest
from playwright.sync_api import Page, expect

from jobs.tickets import actions
from jobs.tickets.models import State
from studio.shop import clock
from tests.browser.hands import (
    Hands,
    assert_accessible,
    assert_fits,
    assert_readable_large,
    controls_of,
    heights,
    signed_in,
)
from tests.drafts import hem, received, take_in, trousers
from tests.factories import ClientFactory, WaitFactory
from tests.thorough import left_out

FILLED = """() => [...document.querySelectorAll('.btn.main')]
    .filter(one => one.checkVisibility()).length"""
LATER = {"amount_mm": None, "amount_typed": "", "measure_later": True}
PHONE_HEIGHT = 844


@pytest.fixture
def ticket(studio, owner):
    """A dress and a top with three operations, one of them not measured yet."""
    client = ClientFactory(name="Bettina Dunnock", phone="085 555 1222")
    dress = trousers(take_in(name="Take in side seams"), kind_name="Dress", colour="moss")
    top = trousers(
        hem(name="Shorten sleeves from the cuff", work_order=20),
        hem(name="Shorten straps", **LATER),
        kind_name="Top", colour="moss", things_left="belt",
    )  # fmt: skip
    return received(studio, owner, dress, top, client=client)


def bottom(target) -> float:
    box = target.bounding_box()
    return box["y"] + box["height"]


def test_the_first_screen_has_promise_price_and_garments(page, owner, ticket, record_property):
    signed_in(page, owner).goto(ticket.get_absolute_url())
    seen = {
        "garments": page.locator(".ticket-picture").last,
        "promise": page.locator(".ticket-promise"),
        "price": page.locator(".ticket-facts").get_by_text("€78.00 to pay"),
        "next step": page.locator(".step .btn.main"),
    }
    ends = {name: bottom(target) for name, target in seen.items()}
    height = page.evaluate("document.documentElement.scrollHeight")
    record_property("figure", f"The ticket's first screen at 390 x 844: {ends}, {height} px in all")
    assert max(ends.values()) <= PHONE_HEIGHT
    assert height <= 1400


def test_there_is_little_to_touch_and_one_filled_button(
    page, desktop, studio, owner, ticket, record_property
):
    """With the frame at most 25, as for Today and the week, also where there is a lot to sew."""
    long = received(studio, owner, *[trousers(hem(), take_in()) for _ in range(4)])
    for window, name in ((page, "phone"), (desktop, "desktop")):
        signed_in(window, owner)
        for shown, most in ((ticket, 3), (long, 4)):
            window.goto(shown.get_absolute_url())
            controls = len(controls_of(window))
            record_property(
                "figure", f"Controls of a ticket with the frame, {name}: {controls} of at most 25"
            )
            assert controls <= 25
            assert window.evaluate(FILLED) == 1
            expect(window.locator(".work .box:visible")).to_have_count(most)
    # What a long ticket folds away is one press from there.
    desktop.get_by_text("2 more garments").click()
    expect(desktop.locator(".work .box:visible")).to_have_count(8)
    desktop.get_by_text("Another first, wait, or not done").click()
    desktop.get_by_role("button", name="Start D: take in").click()
    expect(desktop.locator(".step")).to_contain_text("D Take in")


def step(page: Page, hands: Hands, name: str) -> None:
    hands.tap(page.locator(".step").get_by_role("button", name=name))


@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "no scripts"])
def test_the_bar_leads_from_the_bench_to_the_client(scripts, lend, studio, owner, record_property):
    """Start, Done, Ready to collect, Hand over: nothing but the button of the foot."""
    ticket = received(studio, owner, trousers())
    page = signed_in(lend("phone" if scripts else "plain"), owner)
    page.request.get(f"{ticket.get_absolute_url()}papers.pdf")
    page.goto(ticket.get_absolute_url())
    hands = Hands(page)
    step(page, hands, "Start")
    expect(page.locator(".step").get_by_text("of 30 min")).to_be_visible()
    expect(page.get_by_role("button", name="Pause")).to_be_visible()
    step(page, hands, "Done")
    step(page, hands, "Ready to collect")
    hands.tap(page.locator(".step").get_by_role("link", name="Hand over"))
    page.wait_for_url(f"**/t/{ticket.number}/pick-up/")
    ticket.refresh_from_db()
    assert ticket.state == State.READY
    hands.report("From received to the pick-up", 4, record_property)


def test_a_tick_is_taken_back_from_the_foot(page, owner, ticket, record_property):
    signed_in(page, owner).goto(ticket.get_absolute_url())
    hands = Hands(page)
    hands.tap(page.locator(".work .box").first)
    expect(page.get_by_text("In work, 1 of 3 done")).to_be_visible()
    hands.tap(page.locator(".said").get_by_role("button", name="Undo"))
    expect(page.get_by_text("In work, 1 of 3 done")).to_have_count(0)
    hands.report("A tick, and back", 2, record_property)


def test_what_is_not_measured_is_measured_in_two_taps(page, owner, ticket, record_property):
    signed_in(page, owner).goto(ticket.get_absolute_url())
    hands = Hands(page)
    hands.tap(page.locator(".work").get_by_role("link", name="Measure"))
    page.get_by_label("How far").focus()
    hands.type("2")
    hands.tap(page.get_by_role("button", name="Save"))
    expect(page.locator("#sew")).not_to_contain_text("not measured")
    hands.report("Measured", 3, record_property)


@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "no scripts"])
def test_one_part_is_shown_at_a_time(scripts, lend, owner, ticket):
    page = signed_in(lend("phone" if scripts else "plain"), owner)
    page.goto(ticket.get_absolute_url())
    for name in ("Money", "Fit", "Papers, history", "Sew"):
        page.locator(".tabs").get_by_role("link", name=name).click()
        expect(page.get_by_role("region", name=name, exact=True)).to_be_visible()
        expect(page.locator(".part:visible")).to_have_count(1)
        if scripts:
            expect(page.locator(".tabs [aria-current]")).to_have_text(name)
    page.goto(f"{ticket.get_absolute_url()}#B")
    expect(page.locator("#B")).to_be_visible()


def test_waiting_says_for_what_and_asks_again(page, owner, studio):
    client = ClientFactory(phone="085 555 1222", way="text")
    ticket = received(studio, owner, trousers(), client=client)
    actions.start(ticket=ticket, by=owner)
    line = ticket.garments.get().lines.get()
    since = clock.now() - timedelta(days=5)
    WaitFactory(line=line, question="Keep the original hem?", since=since)
    signed_in(page, owner).goto(ticket.get_absolute_url())
    expect(page.locator(".banner")).to_contain_text("Waits for the client's answer, 5 days")
    expect(page.locator(".banner")).to_contain_text("Keep the original hem?")
    asks = page.locator(".step").get_by_role("link", name="Ask again")
    assert asks.get_attribute("href").startswith("sms:0855551222?body=")
    assert page.evaluate(FILLED) == 1


def test_what_is_owed_takes_the_place_of_the_promise(page, owner, studio, record_property):
    ticket = received(studio, owner, trousers())
    actions.tick_all(ticket=ticket, by=owner)
    actions.hand_over(ticket=ticket, garments=ticket.garments.all(), tried_on=[], by=owner)
    signed_in(page, owner).goto(ticket.get_absolute_url())
    expect(page.locator(".ticket-promise")).to_contain_text("€24.00 to pay")
    hands = Hands(page)
    hands.tap(page.get_by_label("Card"))
    step(page, hands, "Take payment")
    expect(page.get_by_role("status")).to_contain_text("Receipt")
    expect(page.locator(".ticket-promise")).not_to_contain_text("to pay")
    hands.report("What is owed is paid", 2, record_property)


def test_a_helper_has_the_work_and_no_money(page, helper, ticket):
    signed_in(page, helper).goto(ticket.get_absolute_url())
    expect(page.locator(".tabs")).not_to_contain_text("Money")
    expect(page.locator(".work")).to_have_count(2)
    assert "€" not in page.content()


def test_all_parts_and_drawers_fit_and_shut_nobody_out(page, owner, ticket):
    # As wide as the name of a month gets.
    ticket.promise_at = ticket.promise_at.replace(month=9, day=23)
    ticket.save(update_fields=["promise_at"])
    signed_in(page, owner).goto(ticket.get_absolute_url())
    assert_readable_large(page, page.context.new_cdp_session(page))
    widths = (320, 390, 800)
    assert_accessible(page)
    for width in widths:
        page.set_viewport_size({"width": width, "height": PHONE_HEIGHT})
        targets = page.locator("main :is(.btn, .box, .tabs a, summary):visible, .step .btn")
        assert min(heights(targets)) >= 44
    for part in ("", "#fit", "#money", "#papers", "#history"):
        page.goto(ticket.get_absolute_url() + part)
        page.locator("details").evaluate_all("all => all.forEach(one => one.open = true)")
        for width in widths:
            page.set_viewport_size({"width": width, "height": PHONE_HEIGHT})
            assert_fits(page)


@pytest.mark.parametrize("many", [18, left_out(40)])
def test_the_list_begins_at_once_and_is_not_long(
    page, desktop, owner, studio, many, record_property
):
    """Two, three tickets a day; every third with two garments."""
    for index in range(many):
        promise = clock.now() + timedelta(days=index // 3 + 1)
        colours = ("moss", "navy")[: 1 + (index % 3 == 0)]
        pieces = [trousers(colour=colour) for colour in colours]
        received(studio, owner, *pieces, promise_at=promise)
    signed_in(page, owner).goto("/tickets/")
    first = bottom(page.locator(".tickets .strip").first)
    screens = page.evaluate("document.documentElement.scrollHeight") / PHONE_HEIGHT
    signed_in(desktop, owner).goto("/tickets/")
    wide = desktop.evaluate("document.documentElement.scrollHeight") / 900
    record_property(
        "figure",
        f"{many} tickets: the first ends at {first:.0f} px; {screens:.2f} screens of a phone, "
        f"{wide:.2f} of a desktop",
    )
    assert first <= 440
    assert screens <= {18: 2.4, 40: 4.4}[many]
    if many == 18:
        assert wide <= 1.5
        page.keyboard.press("/")
        expect(page.get_by_label("Number or name")).to_be_focused()
        page.keyboard.type("99999")
        page.keyboard.press("Enter")
        expect(page.get_by_role("heading", name="No ticket has 99999")).to_be_visible()
        page.set_viewport_size({"width": 320, "height": PHONE_HEIGHT})
        for address in ("/tickets/?state=all", "/find/?q=client"):
            page.goto(address)
            assert_fits(page)
