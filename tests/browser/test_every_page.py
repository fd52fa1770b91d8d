"""The owner walks through every page of the address table, on the phone."""

import pytest
from axe_playwright_python.base import AXE_SCRIPT
from django.urls import reverse
from playwright.sync_api import expect

from tests.browser.hands import assert_accessible, assert_laid_out, signed_in
from tests.url_table import PAGE, ROOMS, Row


def empty_first(row: Row) -> bool:
    """Pages about a thing come after those that show how a studio looks without any."""
    return row.make is not dict


@pytest.mark.parametrize("room", ROOMS)
def test_no_page_shuts_anybody_out(room, page, studio, owner):
    signed_in(page, owner)
    faults = []
    for name, row in sorted(ROOMS[room].items(), key=lambda item: empty_first(item[1])):
        if (row.method, row.owner, row.shows) != ("get", 200, PAGE):
            continue
        try:
            page.goto(reverse(name, kwargs=row.make()))
            assert_laid_out(page)
            assert_accessible(page, targets=False)
        except AssertionError as fault:
            # Not the first fault alone.
            faults.append(f"{name}: {fault}")
    if "client-page" in ROOMS[room]:
        # It is the client's: whoever works here is sent on to the ticket.
        page.context.clear_cookies()
        page.goto(reverse("client-page", kwargs=ROOMS[room]["client-page"].make()))
        expect(page.get_by_role("heading", name="Your garments")).to_be_visible()
        assert_laid_out(page)
        # The page lets no script in, not even this one, by an address.
        page.evaluate(AXE_SCRIPT)
        assert_accessible(page, targets=False)
    assert not faults, "\n".join(faults)
