"""A day is promised: the honest one by itself, an earlier one knowingly and at its price."""

import re
from datetime import date, time, timedelta

import pytest
from playwright.sync_api import Page, expect

from jobs.planning.models import HoursTaken
from jobs.planning.plan.book import monday_of
from jobs.tickets.models import Ticket
from studio.shop import clock
from tests import factories
from tests.browser.hands import assert_accessible, assert_fits, signed_in

TICKET_PAGE = re.compile(r"/t/\d\d-\d{4}/(saved/)?$")


@pytest.fixture
def work(studio):
    """This week and the next are all the owner's; from the Monday after them clients have room."""
    factories.PlanRulesFactory(lost_percent=0)
    this = monday_of(clock.today())
    for weeks in range(2):
        factories.OwnWeekFactory(monday=this + timedelta(weeks=weeks), minutes=2400)
    kind = factories.GarmentKindFactory(name="Trousers")
    return factories.OperationFactory(garment_kind=kind, name="Hem", minutes=30, price=2400)


@pytest.fixture
def free(work) -> date:
    return monday_of(clock.today()) + timedelta(weeks=2)


def take_in_a_hem(page: Page) -> None:
    page.goto(f"/drop-off/?client={factories.ClientFactory(name='Mary Larkin').pk}")
    page.get_by_role("button", name=re.compile("^Trousers")).click()
    page.get_by_role("button", name=re.compile("^Hem")).click()
    page.locator(".calendar").wait_for()


def chosen(page: Page):
    return page.locator("input[name=day]:checked")


def last_own_day(page: Page):
    """Friday of next week."""
    return page.locator(".calendar .own").last


def test_a_date_before_the_honest_one_costs_own_hours(page, owner, work, free):
    signed_in(page, owner)
    take_in_a_hem(page)
    expect(chosen(page)).to_have_value(free.isoformat())
    expect(page.get_by_label("Ready by")).to_have_value(free.isoformat())

    # Ten hours take more than a day, so the strip moves on; half an hour takes it back.
    page.locator("summary", has_text="Surcharges").click()
    minutes = page.get_by_label("Bench minutes for one")
    minutes.fill("600")
    minutes.press("Tab")
    expect(chosen(page)).to_have_value((free + timedelta(days=1)).isoformat())
    expect(page.get_by_label("Ready by")).to_have_value((free + timedelta(days=1)).isoformat())
    minutes.fill("")
    minutes.press("Tab")
    expect(chosen(page)).to_have_value(free.isoformat())
    page.locator("summary", has_text="Surcharges").click()

    day = free - timedelta(days=3)
    last_own_day(page).tap()
    costs = page.locator("#day-costs")
    expect(costs).to_contain_text("nobody would be late")
    expect(costs).to_contain_text("It takes 30 min of your own hours next week.")
    expect(costs).to_contain_text("As a rush it is €6.00 more, €30.00 in all")
    expect(page.get_by_label("Ready by")).to_have_value(day.isoformat())
    page.locator(".segments label", has_text="Rush").tap()
    expect(costs).to_contain_text("It is taken as a rush, for €6.00 more.")
    expect(page.locator("#bar")).to_contain_text("€30.00")
    assert_fits(page)
    assert_accessible(page)

    before = signed_in(page.context.new_page(), owner)
    before.goto(f"/week/{monday_of(day)}/")
    expect(before.get_by_text("No ticket took hours of this week.")).to_have_count(1)
    page.locator("#save").tap()
    page.wait_for_url(TICKET_PAGE)
    ticket = Ticket.objects.get()
    assert (ticket.promise_at, ticket.gross) == (clock.at(day, time(17)), 3000)
    row = HoursTaken.objects.get()
    assert (row.ticket, row.monday, row.minutes) == (ticket, monday_of(day), 30)
    before.reload()
    expect(before.locator("dl", has_text="No room").first).to_contain_text("30 min")
    taken = before.locator(
        "li", has=before.locator(f'a[href="{ticket.get_absolute_url()}"].figure')
    )
    expect(taken).to_contain_text("30 min")


def test_by_keyboard_the_focus_stays_on_the_strip(desktop, owner, work):
    signed_in(desktop, owner)
    take_in_a_hem(desktop)
    expect(desktop.locator("#bar")).to_contain_text("Mar")
    value = chosen(desktop).get_attribute("value")
    chosen(desktop).focus()
    desktop.keyboard.press("ArrowLeft")
    expect(desktop.locator("#day-costs")).to_be_visible()
    earlier = chosen(desktop).get_attribute("value")
    assert earlier < value
    expect(desktop.locator(f"#day-{earlier}")).to_be_focused()
    desktop.keyboard.press("ArrowRight")
    expect(desktop.locator("#day-costs")).to_have_count(0)
    expect(desktop.locator(f"#day-{value}")).to_be_focused()


def test_without_javascript(plain, owner, work):
    page = signed_in(plain, owner)
    take_in_a_hem(page)
    last_own_day(page).locator("input").check()
    page.get_by_role("button", name="Show what this day costs").click()
    expect(page.locator("#day-costs")).to_contain_text("It takes 30 min of your own hours")
    day = chosen(page).get_attribute("value")
    page.get_by_label("Rush").check()
    page.locator("#save").click()
    page.wait_for_url(TICKET_PAGE)
    ticket = Ticket.objects.get()
    assert clock.local(ticket.promise_at).date().isoformat() == day
    assert ticket.gross == 3000


def test_days_are_large_enough_for_a_thumb(page, owner, work):
    signed_in(page, owner)
    take_in_a_hem(page)
    boxes = [day.bounding_box() for day in page.locator(".calendar label").all()]
    # Five days of each of three weeks, without those of this week that are over.
    assert len(boxes) == 15 - min(clock.today().weekday(), 5)
    assert min(box["height"] for box in boxes) >= 56
    assert min(box["width"] for box in boxes) >= 44


def test_a_rush_is_asked_about_and_taken_in(page, owner, work, free):
    signed_in(page, owner).goto("/rush/")
    soon = free - timedelta(days=3)
    page.get_by_label("Wanted on").fill(soon.isoformat())
    page.locator("summary", has_text="Work from the price list").tap()
    page.get_by_label("Hem").tap()
    page.get_by_role("button", name="Show what happens").tap()
    answer = page.locator("[aria-labelledby=answer]")
    expect(answer).to_contain_text("Only from your own hours: 30 min of")
    expect(answer).to_contain_text("€30.00")
    assert_fits(page)
    assert_accessible(page)
    page.get_by_role("link", name="Accept as a rush").tap()
    expect(chosen(page)).to_have_value(soon.isoformat())
    expect(page.get_by_label("Rush")).to_be_checked()
    expect(page.locator("#bar")).to_contain_text("€30.00 · Fri 20 Mar")
