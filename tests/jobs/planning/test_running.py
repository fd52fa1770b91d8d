"""The clock that runs is on every page, and asks the database nothing where none runs."""

import re

import pytest
from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, authenticate
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from jobs.planning import actions
from studio.shop.models import User
from tests import factories as f
from tests.drafts import hem, received, trousers
from tests.jobs.planning.pages import words

PAGES = ["week", "tickets", "prices", "own", "find", "clients"]
STRIP = re.compile(r'<section class="running".*?</section>', re.DOTALL)


@pytest.fixture
def ticket(studio, owner):
    client = f.ClientFactory(name="Ada Moss")
    return received(studio, owner, trousers(hem()), client=client)


def strip(page) -> str:
    shown = STRIP.search(page.text)
    return words(shown[0]) if shown else ""


@pytest.mark.parametrize("page", PAGES)
def test_what_the_clock_runs_for_stands_on_every_page(page, owner_client, owner, ticket, watch):
    line = ticket.garments.get().lines.get()
    assert strip(owner_client.get(reverse(page))) == ""
    actions.start_clock(line=line, purpose="client", by=owner)
    watch.shift(25 * 60)
    shown = owner_client.get(reverse(page))
    assert strip(shown) == "25 min Hem, Ada Moss Pause the clock Done : Hem"
    assert f'href="/t/{ticket.number}/#line-{line.pk}"' in shown.text


def test_each_sees_their_own_clock(owner_client, helper_client, owner, ticket):
    actions.start_clock(line=None, purpose="own", by=owner)
    assert "Own sewing" in strip(owner_client.get(reverse("week")))
    assert strip(helper_client.get(reverse("week"))) == ""


def test_paused_from_any_page_one_stays_there(owner_client, owner, ticket):
    line = ticket.garments.get().lines.get()
    actions.start_clock(line=line, purpose="client", by=owner)
    page = owner_client.get(reverse("tickets") + "?q=moss")
    back = re.search(r'name="back" value="([^"]*)"', STRIP.search(page.text)[0])[1]
    answer = owner_client.post(reverse("clock-stop"), {"back": back})
    assert answer.url == reverse("tickets") + "?q=moss"


@pytest.mark.postgres
def test_a_forgotten_clock_asks_how_long_it_took(owner_client, owner, watch):
    actions.start_clock(line=None, purpose="own", by=owner)
    watch.shift(5 * 3600)
    assert strip(owner_client.get(reverse("week"))).endswith("How long did it take?")


def queries(client, page: str) -> int:
    with CaptureQueriesContext(connection) as asked:
        client.get(reverse(page))
    return len(asked)


def test_it_costs_one_query_while_it_runs_and_none_else(owner_client, owner, ticket):
    # The session, the user, the profile; and the page itself asks for the three second factors.
    assert queries(owner_client, "password") == 6
    line = ticket.garments.get().lines.get()
    actions.start_clock(line=line, purpose="client", by=owner)
    assert queries(owner_client, "password") == 7


def test_whoever_logged_in_with_an_earlier_version_stays_logged_in(client, owner, studio):
    client.force_login(owner, backend="django.contrib.auth.backends.ModelBackend")
    actions.start_clock(line=None, purpose="own", by=owner)
    page = client.get(reverse("week"))
    assert page.status_code == 200
    assert "Own sewing" in strip(page)


def test_a_new_login_is_by_the_first_backend(client, owner, studio):
    client.force_login(owner)
    assert client.session[BACKEND_SESSION_KEY] == settings.AUTHENTICATION_BACKENDS[0]


def test_a_wrong_password_is_hashed_once(owner, monkeypatch):
    hashed = []
    monkeypatch.setattr(User, "check_password", lambda user, raw: hashed.append(raw) or False)
    assert authenticate(None, username=owner.username, password="wrong") is None
    assert hashed == ["wrong"]
