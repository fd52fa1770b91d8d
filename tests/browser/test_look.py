"""The frame and the components: accessibility, keys, zoom, what is said and refused."""

import re

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from tests.browser.hands import assert_fits, signed_in

PAGES = ["today", "week", "tickets", "drop-off", "prices", "more", "looks", "own"]


@pytest.fixture
def at(page, studio, owner):
    signed_in(page, owner)

    def go(name):
        page.goto(reverse(name))
        return page

    return go


def test_keys_find_and_begin_and_can_be_turned_off(at):
    page = at("more")
    page.keyboard.press("n")
    page.wait_for_url(f"**{reverse('drop-off')}")
    page = at("find")
    page.locator("h1").click()
    page.keyboard.press("/")
    assert page.evaluate("document.activeElement.name") == "q"
    page.set_viewport_size({"width": 1280, "height": 900})
    page = at("more")
    page.get_by_role("button", name="Keys").click()
    page.reload()
    assert page.get_by_role("button", name="Keys").get_attribute("aria-pressed") == "false"
    page.locator("h1").click()
    page.keyboard.press("n")
    assert page.url.endswith(reverse("more"))


def test_a_refused_form_is_read_first_and_leads_to_its_field(at):
    page = at("client-new")
    page.locator(".btn.main").first.click()
    expect(page).to_have_title(re.compile("^Error: "))
    page.locator("#refused:focus").wait_for()
    page.locator("#refused a").first.click()
    page.locator("#id_name:focus").wait_for()


def test_nothing_scrolls_sideways_between_phone_and_desk(at, page):
    """Other widths are those of the walk through all pages."""
    page.set_viewport_size({"width": 1024, "height": 800})
    for name in PAGES:
        assert_fits(at(name))


def test_the_shelf_of_a_phone_is_high_enough_to_touch(at):
    page = at("today")
    doors = page.locator(".shelf a").all()
    assert len(doors) == 5
    assert all(door.bounding_box()["height"] >= 44 for door in doors)
    assert page.locator(".rooms > .doors").is_hidden()


def test_more_opens_over_a_wide_page(desktop, studio, owner):
    signed_in(desktop, owner).goto(reverse("today"))
    desktop.get_by_role("button", name="More").click()
    desktop.locator("#more-doors").get_by_role("link", name="Clients").click()
    desktop.wait_for_url(f"**{reverse('clients')}")
