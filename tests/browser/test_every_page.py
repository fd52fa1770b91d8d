"""The owner walks through every page of the address table, on the phone."""

import pytest
from django.urls import reverse

from tests.browser.hands import assert_accessible, assert_fits, assert_touched, signed_in
from tests.url_table import PAGE, TABLE

PAGES = sorted(
    name for name, row in TABLE.items() if (row.method, row.owner, row.shows) == ("get", 200, PAGE)
)


@pytest.mark.parametrize("name", PAGES)
def test_a_page_shuts_nobody_out(name, page, studio, owner):
    page = signed_in(page, owner)
    page.goto(reverse(name, kwargs=TABLE[name].make()))
    assert page.locator("h1").count() == 1
    assert_fits(page)
    assert_accessible(page, targets=False)
    assert_touched(page)
