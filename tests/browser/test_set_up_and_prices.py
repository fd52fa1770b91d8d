"""From nothing to the first printed ticket, the price list, and the doors: counted and measured."""

import re

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from jobs.pricing.actions import load_starting_list
from jobs.pricing.models import Operation
from studio.shop.models import Profile
from tests.browser.hands import Hands, assert_accessible, assert_fits, signed_in
from tests.conftest import as_read

HIGH = "document.documentElement.scrollHeight"


def screens(page: Page) -> float:
    return page.evaluate(HIGH) / page.viewport_size["height"]


def test_from_nothing_to_the_first_printed_ticket(page, db, record_property):
    """Taps alone are counted; Tab stands for the tap into the next field."""
    page.goto("/")
    hands, words = Hands(page), list[str]()

    def write(text: str) -> None:
        hands.type(text)
        words.extend(text)

    heights = []

    def screen(name: str) -> None:
        page.wait_for_url(f"**{reverse(name)}")
        heights.append(page.evaluate(HIGH))
        assert_accessible(page)
        assert_fits(page)

    screen("setup")
    write("Larkfield")
    hands.tap(page.get_by_label("Your name, to log in"))
    write("mara")
    hands.tap(page.get_by_label("A password"))
    write("thimble-and-chalk")
    hands.tap(page.get_by_role("button", name="Next"))
    screen("setup-tax")
    write("Mill Lane 3\nLarkfield")
    hands.tap(page.get_by_label("Your phone"))
    write("085 555 0100")
    hands.tap(page.get_by_role("button", name="Next"))
    screen("setup-hours")
    hands.tap(page.get_by_role("button", name="Open the studio"))
    page.get_by_text("First steps").wait_for()
    expect(page.get_by_text("4 of 8")).to_be_visible()
    hands.tap(page.get_by_role("link", name="Take in the first garment"))
    page.locator("#id_q:focus").wait_for()
    write("Ada Moss")
    hands.tap(page.get_by_role("button", name="New client"))
    page.locator("#id_new_phone:focus").wait_for()
    hands.tap(page.get_by_role("button", name=re.compile("^Trousers")))
    hands.tap(page.get_by_role("button", name=re.compile("^Button(?!hole)")))
    hands.tap(page.get_by_role("button", name=re.compile("^Save")))
    page.wait_for_url(re.compile("/saved/"))
    papers = page.locator("a[href$='/papers/1.pdf']").first
    expect(papers).to_be_visible()
    # The press that opens the paper; what the browser's viewer asks for beside it is not ours.
    hands.done.append("(tap)")
    assert page.request.get(papers.get_attribute("href")).body().startswith(b"%PDF")

    taps = hands.count - len(words)
    told = f"set-up to the first printed ticket: {taps} taps of at most 12, {heights} px of 844"
    record_property("figure", told)
    assert taps <= 12
    assert heights[0] == heights[1] == 844
    assert heights[2] <= 903
    studio = Profile.objects.get()
    assert (studio.name, studio.tax_mode, studio.phone) == ("Larkfield", "none", "085 555 0100")
    assert studio.address_lines == ["Mill Lane 3", "Larkfield"]


FIRST = {"What is it called?": "A", "Your name": "a", "A password": "thimble-and-chalk"}


def test_plus_is_answered_by_the_picture_with_and_without_a_script(page, plain, db):
    def to_the_hours(page: Page) -> None:
        page.goto("/")
        for label, words in (
            ("What is it called?", "A"),
            ("Your name", "a"),
            ("A password", "thimble-chalk"),
        ):
            page.get_by_label(label).fill(words)
        for name in ("setup-tax", "setup-hours"):
            page.get_by_role("button", name="Next").click()
            page.wait_for_url(f"**{reverse(name)}")

    to_the_hours(page)
    to_the_hours(plain)
    for window in (page, plain):
        bar = window.locator(".bolts svg").first
        before = bar.get_attribute("aria-label")
        window.get_by_role("button", name="Monday, more").click()
        expect(window.get_by_label("Hours on Monday")).to_have_value("8:30")
        expect(bar).not_to_have_attribute("aria-label", before)
    # The press keeps the focus where it was.
    more = page.get_by_role("button", name="Monday, more")
    expect(more).to_be_focused()
    # Four quick presses are two hours, also those that come while an answer is on its way.
    more.evaluate("(button) => { for (let press = 0; press < 4; press += 1) button.click(); }")
    for _ in range(3):
        page.get_by_role("button", name="Yours, more").click()
    expect(page.get_by_label("Hours on Monday")).to_have_value("10:30")
    expect(page.get_by_label("yours, to sew")).to_have_value("6")
    # 4 days of 8 hours and one of 10 h 30.
    expect(page.locator("dl.key")).to_contain_text("42 h 30")


@pytest.fixture
def price_list(studio, owner):
    load_starting_list(by=owner)


def test_jeans_hem_is_read_in_one_look(page, price_list, owner, record_property):
    signed_in(page, owner).goto(reverse("prices"))
    first = page.locator(".prices .cost").first.bounding_box()
    # Each garment is a drawer; the first is open, and each other one at a tap.
    high = page.evaluate(HIGH)
    told = f"price list on the phone: first price at {first['y']:.0f} px, {high} of 4000 px"
    record_property("figure", told)
    assert high < 4000
    jeans = page.get_by_role("button", name="Prices of Jeans")
    expect(jeans).to_have_attribute("aria-expanded", "false")
    jeans_hem = page.locator("tbody:has-text('Jeans') tr[id]").first
    expect(jeans_hem).to_be_hidden()
    for expanded in ("true", "false"):
        jeans.click()
        expect(jeans).to_have_attribute("aria-expanded", expanded)
        expect(jeans_hem).to_be_visible(visible=expanded == "true")
    page.get_by_label("Find a price").focus()
    assert first["y"] + first["height"] <= 844 - 64
    hands = Hands(page)
    hands.type("jeans hem")
    row = page.locator("tr[id]:visible").first
    assert as_read(row.inner_text()).split("\n")[0].split("\t") == ["Hem", "20 min", "€12.00"]
    expect(page.locator("tr[id]:visible")).to_have_count(2)
    expect(page.locator("tr.kind:visible")).to_have_text(re.compile("^Jeans"))
    hands.report("the price of a hem on jeans", 9, record_property)
    assert_accessible(page)
    assert_fits(page)


def test_a_price_is_changed_in_its_place_and_taken_back(
    desktop, price_list, owner, record_property
):
    page = signed_in(desktop, owner)
    page.goto(reverse("prices"))
    hands = Hands(page)
    hands.type("je hem")
    hands.press("Enter")
    page.locator("[name=price]:focus").wait_for()
    assert_accessible(page)
    # Escape leaves it as it was.
    page.keyboard.type("99")
    page.keyboard.press("Escape")
    expect(page.locator("tr.open")).to_have_count(0)
    page.locator("tr a:focus").press("Enter")
    page.locator("[name=price]:focus").wait_for()
    hands.type("14")
    hands.press("Enter")
    page.get_by_text("“Hem” saved.").wait_for()
    hands.report("change the price of a hem on jeans", 10, record_property)
    hem = Operation.objects.get(garment_kind__name="Jeans", name="Hem")
    assert hem.price == 1400
    # The list stands where it stood.
    expect(page.locator("tr[id]:visible")).to_have_count(2)
    page.get_by_role("button", name="Undo").click()
    page.get_by_text("Undone.").wait_for()
    hem.refresh_from_db()
    assert hem.price == 1200


def test_a_row_is_carried_to_another_place(desktop, price_list, owner):
    page = signed_in(desktop, owner)
    page.goto(reverse("prices"))
    rows = page.locator("tbody:has-text('Trousers') tr[id]")
    rows.nth(0).hover()
    grip = rows.nth(0).locator("[data-grip]").bounding_box()
    there = rows.nth(2).bounding_box()
    page.mouse.move(grip["x"] + 10, grip["y"] + 20)
    page.mouse.down()
    page.mouse.move(grip["x"], there["y"] + there["height"] / 2, steps=6)
    page.mouse.up()
    page.get_by_text("“Hem” moved.").wait_for()
    trousers = Operation.objects.filter(garment_kind__name="Trousers")
    assert [work.name for work in trousers][:3] == ["Hem with turn-up", "Take in waist", "Hem"]


def test_the_studio_and_its_week_fit(page, desktop, price_list, owner, record_property):
    for window, most in ((signed_in(page, owner), 1.8), (signed_in(desktop, owner), 1.0)):
        window.goto(reverse("studio-settings"))
        told = f"studio at {window.viewport_size['width']} px: {screens(window):.2f} screens"
        record_property("figure", told)
        assert screens(window) <= most
        window.goto(reverse("studio-week"))
        window.get_by_role("button", name="Saturday, more").click()
        window.get_by_text("40 h 30 a week").wait_for()


@pytest.mark.parametrize("address", ["/t/26-0415/", "/no/such/page/"])
def test_the_doors_at_every_width(page, studio, complaints, address):
    """The first leads to the login."""
    page.goto(address)
    assert_accessible(page)
    for width in (320, 390, 1280):
        page.set_viewport_size({"width": width, "height": 844})
        assert_fits(page)
        assert page.locator(".btn.main").count() == 1
    complaints.clear()
