"""The week as a picture: what is seen first, and a block moved by finger, keys, mouse and form."""

import re
from datetime import timedelta

import pytest
import time_machine
from django.urls import reverse
from playwright.sync_api import expect

from jobs.planning import actions
from jobs.planning.models import OwnSewingDay, SewingDay
from studio.shop import clock
from tests import factories as f
from tests.browser.hands import (
    Hands,
    assert_accessible,
    assert_fits,
    controls_of,
    minutes_of,
    signed_in,
)
from tests.drafts import hem, received, take_in, trousers

MOST_CONTROLS = 25


@pytest.fixture(autouse=True)
def _monday(live_server, studio):
    """Monday 2 March, nine in the morning; the bench is open until five and no time is lost."""
    f.PlanRulesFactory(lost_percent=0, own_percent=25)
    with time_machine.travel("2026-03-02 09:00Z"):
        yield


@pytest.fixture
def week(studio, owner):
    """Three tickets a day until Thursday, one of two garments, and two fittings."""
    names = ["Rosalind Ivybridge", "Hanneke Fennimore", "Dervla Elderflower", "Søren Kestrelmoor"]
    for place in range(9):
        garments = [trousers(take_in(minutes_each=70), hem()), trousers(hem(), kind_name="Skirt")]
        ticket = received(
            studio,
            owner,
            *garments[: 1 + (place == 4)],
            client=f.ClientFactory(name=names[place % 4]),
            promise_at=clock.now() + timedelta(days=1 + place // 3, hours=7),
        )
        if place in {5, 8}:
            actions.book_fitting(
                ticket=ticket, starts_at=ticket.promise_at - timedelta(hours=4), minutes=30,
                kind="first", studio=studio, by=owner,
            )  # fmt: skip
    return "2026-03-03"


def block(page, words: str = "Rosalind Ivybridge"):
    """The first block with these words; one tap on it takes it up."""
    return page.locator(".block[hx-get]", has_text=words).first


def unrolled(page, owner):
    """The week with today unrolled: each of its blocks is a link."""
    signed_in(page, owner).goto(f"{reverse('week')}?open=2026-03-02")
    return page.get_by_role("link", name=re.compile("Rosalind Ivybridge")).first


def opened(page, owner):
    signed_in(page, owner).goto(reverse("week"))
    return page


def saved() -> list[str]:
    return sorted({str(day) for day in SewingDay.objects.values_list("day", flat=True)})


def test_what_is_seen_first(page, desktop, week, owner, record_property):
    opened(page, owner)
    today = page.locator(".week-day.today").bounding_box()
    top, foot = today["y"], today["y"] + today["height"]
    shelf = page.locator(".shelf").bounding_box()["y"]
    tall = page.evaluate("document.documentElement.scrollHeight") / 844
    controls = len(controls_of(page)), len(controls_of(opened(desktop, owner)))
    wide = desktop.evaluate("document.documentElement.scrollHeight") / 900
    record_property(
        "figure",
        f"the week on a phone: today from {top:.0f} to {foot:.0f} px, {tall:.2f} screens, "
        f"{controls[0]} controls with the frame; on a desktop {wide:.2f} and {controls[1]}",
    )
    assert foot <= shelf
    assert tall <= 2.5
    assert wide <= 1.3
    assert max(controls) <= MOST_CONTROLS
    names = desktop.locator(".week-day:not(.past) .block:not(.many) b").evaluate_all(
        "names => names.filter(name => name.scrollWidth > name.clientWidth)"
        ".map(name => name.textContent)"
    )
    assert names == []


def test_days_are_drawn_to_scale(desktop, week, owner):
    """A block of 100 minutes is twice as high as one of 50, whatever is written in it."""
    opened(desktop, owner)
    rows = desktop.locator(".block:not(.pinned, .thin)").evaluate_all(
        "blocks => blocks.map(block => [block.getBoundingClientRect().height,"
        " block.querySelector('.num').textContent])"
    )
    assert len(rows) >= 5
    scales = [high / minutes_of(words) for high, words in rows]
    assert max(scales) / min(scales) < 1.02


def test_by_finger_in_three_taps(page, week, owner, record_property):
    opened(page, owner)
    hands = Hands(page)
    hands.tap(block(page))
    # On Friday it would be late: that is said first, and nothing is saved.
    page.locator('[data-day="2026-03-06"] label.slot').tap()
    expect(page.locator("#week-says")).to_contain_text("To Fri 6 Mar: Rosalind Ivybridge")
    expect(page.locator("#week-says")).to_contain_text(
        re.compile(r"Rosalind Ivybridge late 3 days, Fri\s6\sMar.*8 promises hold", re.DOTALL)
    )
    expect(page.get_by_role("button", name="Put it there and move")).to_be_visible()
    hands.tap(page.locator(f'[data-day="{week}"] label.slot'))
    expect(page.locator("#week-says")).to_contain_text("To Tue 3 Mar: Rosalind Ivybridge")
    expect(page.locator("#week-says")).to_contain_text("promises hold")
    assert saved() == []
    hands.tap(page.get_by_role("button", name="Put it there"))
    page.get_by_text("Put on Tue 3 Mar.").first.wait_for()
    assert saved() == [week]
    hands.report("A block moved to another day", 3, record_property)
    page.get_by_role("button", name="Undo").tap()
    page.get_by_text("Undone.").wait_for()
    assert saved() == []


def test_by_keys(desktop, week, owner, record_property):
    opened(desktop, owner)
    desktop.get_by_role("link", name="Today, Mon 2 Mar").focus()
    hands = Hands(desktop)
    hands.press("Enter")
    # The first block of the day follows its name.
    expect(desktop.locator(".unroll[aria-expanded=true]")).to_be_focused()
    hands.press("Tab")
    expect(desktop.locator("a.lift").first).to_be_focused()
    hands.press("Space")
    expect(desktop.locator('[name="day"]:focus')).to_have_count(1)
    hands.press("ArrowRight")
    expect(desktop.locator("#put")).to_have_count(1)
    expect(desktop.locator('[name="day"]:focus')).to_have_count(1)
    hands.press("Enter")
    desktop.get_by_text(re.compile(r"Put on .*\sMar")).first.wait_for()
    assert len(saved()) == 1
    hands.report("A block moved by keys", 5, record_property)


def test_escape_puts_it_back(desktop, week, owner):
    unrolled(desktop, owner).focus()
    desktop.keyboard.press("Space")
    desktop.get_by_role("heading", name="Which day?").wait_for()
    desktop.keyboard.press("Escape")
    desktop.get_by_role("heading", name="This week").wait_for()
    assert saved() == []


def test_by_mouse(desktop, week, owner):
    opened(desktop, owner)
    grip = block(desktop).bounding_box()
    day = desktop.locator(f'[data-day="{week}"]').bounding_box()
    desktop.mouse.move(grip["x"] + 10, grip["y"] + 10)
    desktop.mouse.down()
    desktop.mouse.move(day["x"] + 40, day["y"] + 150, steps=8)
    expect(desktop.locator(".ghost")).to_be_visible()
    desktop.get_by_role("heading", name="Which day?").wait_for()
    desktop.mouse.up()
    desktop.get_by_role("button", name="Put it there").click()
    desktop.get_by_text("Put on Tue 3 Mar.").first.wait_for()
    assert saved() == [week]


def test_own_hours_are_moved_like_a_block(page, week, owner):
    opened(page, owner)
    block(page, "Own sewing").tap()
    page.locator('[data-day="2026-03-06"] label.slot').tap()
    page.get_by_role("button", name="Put it there").tap()
    page.get_by_text("Put on Fri 6 Mar.").first.wait_for()
    assert str(OwnSewingDay.objects.get().day) == "2026-03-06"


def test_without_javascript(plain, week, owner):
    page = opened(plain, owner)
    page.get_by_role("link", name="Today, Mon 2 Mar").click()
    page.get_by_role("link", name=re.compile("Rosalind Ivybridge")).first.click()
    page.locator(f'[data-day="{week}"] input').check()
    page.get_by_role("button", name="Look").click()
    assert saved() == []
    page.get_by_role("button", name="Put it there").click()
    page.get_by_text("Put on Tue 3 Mar.").first.wait_for()
    assert saved() == [week]


def test_nobody_is_shut_out_of_it(page, desktop, week, owner):
    for screen in (page, desktop):
        there = unrolled(screen, owner).get_attribute("href")
        for at in (screen.url, f"{reverse('week')}{there}&day={week}"):
            screen.goto(at)
            assert_fits(screen)
            assert_accessible(screen)
    page.set_viewport_size({"width": 320, "height": 640})
    for at in (reverse("week"), f"{reverse('week')}{there}&day={week}"):
        page.goto(at)
        assert_fits(page)
    page.goto(f"{reverse('week')}?open=2026-03-02")
    links = page.locator(".unroll:visible, a.work:visible").all()
    assert (
        min(min(link.bounding_box()[side] for side in ("width", "height")) for link in links) >= 44
    )
