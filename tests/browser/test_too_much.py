"""More is promised than fits: two presses from red to agreed, and each client's message."""

import re
from datetime import time, timedelta

import pytest
from playwright.sync_api import Page, expect

from jobs.planning.models import LongerDay
from jobs.tickets.models import Ticket
from studio.shop import clock
from studio.shop.models import Entry, User
from tests import factories
from tests.browser.hands import (
    Hands,
    assert_accessible,
    assert_fits,
    minutes_of,
    reach,
    signed_in,
)
from tests.drafts import hem, received, trousers
from tests.fixtures.larkfield.quick import fill_quickly


@pytest.fixture
def overfull_demo(db, monkeypatch) -> User:
    return fill_quickly(monkeypatch, past=6, overfull=True)


@pytest.fixture
def one_too_many(studio, owner) -> list[Ticket]:
    """Two tickets for Monday week that fit, and a third of 80 hours that does not."""
    factories.PlanRulesFactory(lost_percent=0)
    today = clock.today()
    day = today + timedelta(days=7 - today.weekday())
    return [
        received(
            studio, owner, trousers(hem(minutes_each=minutes)), promise_at=clock.at(day, time(17))
        )
        for minutes in (10, 20, 4800)
    ]


def key(page: Page) -> dict[str, int]:
    rows = page.locator(".key > div").all()
    return {
        row.locator("dt").inner_text(): minutes_of(row.locator("dd").inner_text()) for row in rows
    }


def test_an_overfull_week_is_mended_in_a_few_taps(page, overfull_demo, record_property):
    """From Today. Bar, list and foot give one figure; Undo takes all of it back."""
    signed_in(page, overfull_demo).goto("/")
    hands = Hands(page)
    promised = {ticket.pk: ticket.promise_at for ticket in Ticket.objects.all()}
    hands.tap(page.locator("a[href='/too-much/']").first)
    expect(page.locator("h1")).to_contain_text("Too much by")
    page.wait_for_load_state()
    figures, listed = (
        key(page),
        [
            minutes_of(row.evaluate("row => row.firstElementChild.firstChild.textContent"))
            for row in page.locator(".picks .end").all()
        ],
    )
    assert figures["Fits"] + figures["Does not fit"] == figures["Promised"] == sum(listed)
    expect(page.locator(".fact b")).to_have_text(re.compile("over$"))
    assert minutes_of(page.locator(".fact b").inner_text()) == figures["Does not fit"]
    assert page.locator("h1").bounding_box()["y"] < 120
    first = page.locator(".picks li").first.bounding_box()["y"]
    assert first < 300
    controls = page.locator(":is(a, button, input:not([type=hidden]), summary):visible").count()
    assert_fits(page)
    assert_accessible(page)

    take = page.locator("#take")
    hands.tap(take)
    # What is sewn longer today, or on a closed day, is a step of its own.
    expect(take.or_(page.get_by_role("button", name=re.compile("^Agree")))).not_to_have_text(
        re.compile("^(Take the smallest set|Move)")
    )
    if take.is_visible():
        hands.tap(take)
    expect(page.locator("h1")).to_have_text("It fits.")
    expect(page.locator(".fact b")).to_have_text("All promises hold")
    assert_accessible(page)
    hands.tap(page.get_by_role("button", name=re.compile("^Agree")))
    page.wait_for_url("**/new-days/**")
    hands.report(
        f"an overfull week is mended ({controls} controls, list at {first:.0f} px)",
        6,
        record_property,
    )
    moved = [pk for pk, at in promised.items() if Ticket.objects.get(pk=pk).promise_at != at]
    assert page.locator(".news > li").count() == len(moved) > 0
    assert_fits(page)
    assert_accessible(page)
    page.get_by_role("button", name="Undo").tap()
    expect(page.locator("h1")).to_contain_text("Too much by")
    assert {ticket.pk: ticket.promise_at for ticket in Ticket.objects.all()} == promised
    assert not LongerDay.objects.exists()


def test_a_tick_takes_its_piece_out_and_keeps_its_place(page, owner, one_too_many):
    small = one_too_many[0]
    signed_in(page, owner).goto("/too-much/")
    pieces = page.locator(".load .part.clients")
    before, over = pieces.count(), key(page)["Does not fit"]
    tick = page.locator(f"#move-{small.number}")
    tick.focus()
    page.keyboard.press("Space")
    expect(page.locator(f"#move-{small.number}")).to_be_checked()
    expect(page.locator(".key")).to_contain_text("Moved")
    assert pieces.count() == before - 1
    assert key(page)["Does not fit"] == over - 10
    expect(page.locator(f"#move-{small.number}")).to_be_focused()
    page.reload()
    expect(page.locator(f"#move-{small.number}")).to_be_checked()
    page.get_by_role("button", name=re.compile("^15 minutes more")).last.tap()
    expect(page.locator(".key")).to_contain_text("Sewn longer")
    page.set_viewport_size({"width": 320, "height": 640})
    assert_fits(page)
    assert key(page)["Does not fit"] == over - 25
    page.get_by_role("button", name=re.compile("^15 minutes less")).last.tap()
    expect(page.locator(".key")).not_to_contain_text("Sewn longer")


def test_an_overfull_week_is_mended_by_keys_alone(desktop, owner, one_too_many):
    """A tick, and back; a quarter of an hour more, and less; the smallest set, and agreed."""
    small, *_, large = one_too_many
    page = signed_in(desktop, owner)
    page.goto("/too-much/")
    tick = page.locator(f"#move-{small.number}")
    reach(page, tick)
    for moved in (1, 0):
        page.keyboard.press("Space")
        expect(page.locator(".key dt", has_text="Moved")).to_have_count(moved)
        expect(tick).to_be_focused()
    reach(page, page.get_by_role("button", name=re.compile("^15 minutes more")).first)
    page.keyboard.press("Enter")
    expect(page.locator(".key")).to_contain_text("Sewn longer")
    page.goto("/too-much/")
    reach(page, page.locator("#take"))
    page.keyboard.press("Enter")
    expect(page.locator("h1")).to_have_text("It fits.")
    reach(page, page.get_by_role("button", name="Agree 1 new day"))
    page.keyboard.press("Enter")
    expect(page.locator("h1")).to_have_text("1 new day")
    large.refresh_from_db()
    assert large.version == 2


def test_without_scripts_the_same_is_calculated_and_agreed(plain, owner, one_too_many):
    *_, large = one_too_many
    page = signed_in(plain, owner)
    page.goto("/too-much/")
    page.locator(f"#move-{large.number}").check()
    page.get_by_role("button", name="Calculate").click()
    expect(page.locator("h1")).to_have_text("It fits.")
    page.get_by_role("button", name="Agree 1 new day").click()
    expect(page.locator("h1")).to_have_text("1 new day")
    page.get_by_role("button", name=re.compile("^Mark as sent")).click()
    expect(page.locator(".fact b")).to_have_text("All are told")
    large.refresh_from_db()
    assert large.version == 2


def test_a_message_that_is_opened_is_marked_as_sent(page, owner, one_too_many):
    *_, large = one_too_many
    large.client.phone, large.client.email = "085 555 0100", ""
    large.client.save()
    signed_in(page, owner).goto("/too-much/")
    page.get_by_role("link", name="Take the smallest set").tap()
    page.get_by_role("button", name="Agree 1 new day").tap()
    page.get_by_role("link", name=re.compile("^Text")).last.tap()
    expect(page.locator(".news .mark")).to_have_text("sent")
    assert Entry.objects.filter(verb="week.told_new_day").count() == 1
