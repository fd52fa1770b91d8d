"""The owner walks through every page of the address table, on the phone."""

import pytest
from django.urls import reverse

from tests.browser.hands import assert_accessible, assert_laid_out, signed_in
from tests.url_table import PAGE, TABLE

PAGES = sorted(
    name for name, row in TABLE.items() if (row.method, row.owner, row.shows) == ("get", 200, PAGE)
)
EMPTY = [name for name in PAGES if TABLE[name].make is dict]
OF_THINGS = [name for name in PAGES if TABLE[name].make is not dict]


@pytest.mark.parametrize("names", [EMPTY, OF_THINGS], ids=["of an empty studio", "about a thing"])
def test_no_page_shuts_anybody_out(names, page, studio, owner):
    signed_in(page, owner)
    faults = []
    for name in names:
        try:
            page.goto(reverse(name, kwargs=TABLE[name].make()))
            assert_laid_out(page)
            assert_accessible(page, targets=False)
        except AssertionError as fault:
            # Not the first fault alone: all pages take a while.
            faults.append(f"{name}: {fault}")
    assert not faults, "\n".join(faults)
