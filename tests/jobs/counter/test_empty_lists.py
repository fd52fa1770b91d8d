"""A studio in which nothing has happened yet: each list says what it is for and has one button."""

import re

import pytest
from django.urls import reverse

from tests.jobs.planning.pages import words

ONE_BUTTON = re.compile(r'<(div|section) class="empty[^"]*".*?</\1>', re.DOTALL)


@pytest.mark.parametrize(
    "name",
    ["today", "tickets", "pick-up", "clients", "prices", "money", "owing", "invoices", "payments",
     "ready", "uncollected", "waiting", "new-days", "too-much"],
)  # fmt: skip
def test_it_says_what_it_is_for_and_has_one_button(owner_client, name):
    page = owner_client.get(reverse(name)).text
    empty = ONE_BUTTON.search(page)
    assert empty
    assert len(words(empty[0]).split()) >= 5
    buttons = re.findall(r'class="btn main', page.split("<main")[1])
    assert len(buttons) == 1
