"""Every address by every role, against the table; and the table against the walked URLconf."""

from collections import Counter
from collections.abc import Iterator

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import URLPattern, get_resolver, reverse

from tests.conftest import logged_in
from tests.url_table import FILE, LOGIN, PAGE, PART, PUBLIC, TABLE

ROLES = ["nobody", "helper", "owner"]
# The program itself decides who may what; what a database may answer differently the owner sees.
any_day = pytest.mark.any_day


def patterns(resolver=None) -> Iterator[URLPattern]:
    for entry in (resolver or get_resolver()).url_patterns:
        if isinstance(entry, URLPattern):
            yield entry
        else:
            yield from patterns(entry)


NAMES = [pattern.name for pattern in patterns()]


def test_every_address_has_a_name_and_no_two_share_one():
    assert [str(pattern.pattern) for pattern in patterns() if not pattern.name] == []
    assert [name for name, times in Counter(NAMES).items() if times > 1] == []


def test_the_table_holds_every_address_and_no_other():
    assert sorted(TABLE) == sorted(NAMES)


def test_all_but_the_named_addresses_are_private():
    assert {name for name, row in TABLE.items() if row.nobody != LOGIN} == PUBLIC


@pytest.fixture
def browser_of(studio, owner, helper):
    """A test client by role."""

    def make(role: str) -> Client:
        people = {"owner": owner, "helper": helper}
        return logged_in(people[role]) if role in people else Client()

    return make


def outcome(response: HttpResponse) -> int | str:
    if response.status_code == 302 and response["Location"].startswith(reverse("login")):
        return LOGIN
    return response.status_code


def shown(response: HttpResponse) -> str:
    if not response["Content-Type"].startswith("text/html"):
        return FILE
    return PAGE if "<!doctype html>" in response.text else PART


@pytest.mark.parametrize(
    "role",
    [
        pytest.param("nobody", marks=any_day),
        pytest.param("helper", marks=any_day),
        pytest.param("owner", marks=pytest.mark.postgres),
    ],
)
@pytest.mark.parametrize("name", sorted(TABLE))
def test_what_a_role_gets(name, role, browser_of):
    row = TABLE[name]
    address = reverse(name, kwargs=row.make())
    response = getattr(browser_of(role), row.method)(address, row.data)
    assert outcome(response) == getattr(row, role)
    policy = response["Content-Security-Policy"]
    assert "default-src 'self'" in policy
    assert "unsafe" not in policy
    if role == "owner" and response.status_code == 200:
        assert shown(response) == row.shows


@any_day
@pytest.mark.parametrize("name", sorted(TABLE))
def test_who_may_not_look_may_not_send(name, browser_of):
    """Where reading is refused, writing is refused in the same way."""
    row = TABLE[name]
    address = reverse(name, kwargs=row.make())
    for role in ROLES:
        expected = getattr(row, role)
        if expected in {LOGIN, 403}:
            assert outcome(browser_of(role).post(address)) == expected


@any_day
@pytest.mark.parametrize(
    "name", sorted(name for name, row in TABLE.items() if row.method == "post")
)
def test_a_verb_is_never_a_link(name, browser_of):
    """What changes something does not answer to a GET, which a browser may send unasked."""
    row = TABLE[name]
    address = reverse(name, kwargs=row.make())
    assert browser_of("owner").get(address).status_code == 405
