"""What the walk through the lived-in studio does not see: an empty one, and the client's page."""

from axe_playwright_python.base import AXE_SCRIPT
from django.urls import reverse
from playwright.sync_api import expect

from tests.browser.hands import assert_accessible, assert_laid_out, signed_in
from tests.browser.test_lived_in import UNLINKED
from tests.thorough import THOROUGH
from tests.url_table import PAGE, TABLE


def test_no_page_of_an_empty_studio_shuts_anybody_out(page, studio, owner):
    """Pages that are about no one thing, before there is any; then those no link leads to.

    In a thorough run pages about a thing as well, in a studio that has little else.
    """
    signed_in(page, owner)
    pages = {
        name: row
        for name, row in TABLE.items()
        if (row.method, row.owner, row.shows) == ("get", 200, PAGE)
    }
    empty = [name for name, row in pages.items() if row.make is dict]
    faults = []
    about = pages if THOROUGH else sorted(UNLINKED)
    for name in [*empty, *(name for name in about if name not in empty)]:
        try:
            page.goto(reverse(name, kwargs=pages[name].make()))
            assert_laid_out(page)
            assert_accessible(page, targets=False)
        except AssertionError as fault:
            # Not the first fault alone.
            faults.append(f"{name}: {fault}")
    assert not faults, "\n".join(faults)


def test_the_page_of_a_client_shuts_nobody_out(page, studio, owner):
    """Whoever works here is sent on to the ticket, so nobody is logged in."""
    page.goto(reverse("client-page", kwargs=TABLE["client-page"].make()))
    expect(page.get_by_role("heading", name="Your garments")).to_be_visible()
    assert_laid_out(page)
    # The page lets no script in, not even this one, by an address.
    page.evaluate(AXE_SCRIPT)
    assert_accessible(page, targets=False)
