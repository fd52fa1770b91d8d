"""What stands there when something is not there, not allowed, broken, or has no room."""

import errno
import sqlite3

import pytest
from django.db import OperationalError
from django.template.loader import render_to_string
from django.test import Client, RequestFactory
from django.urls import reverse
from django.views.defaults import server_error

from studio.shop import actions
from tests.factories import DayOffFactory
from tests.studio.shop.first_run_form import Fields


@pytest.mark.django_db
def test_a_wrong_address(owner_client):
    response = owner_client.get("/no/such/page/")
    assert response.status_code == 404
    assert "There is no page at this address." in response.text
    assert "default-src 'self'" in response["Content-Security-Policy"]


@pytest.mark.django_db
def test_a_wrong_address_tells_a_stranger_nothing(studio):
    response = Client().get("/no/such/page/")
    assert response.status_code == 404
    assert reverse("clients") not in response.text


@pytest.mark.django_db
def test_a_page_that_is_not_for_a_helper(helper_client):
    response = helper_client.get(reverse("studio-settings"))
    assert response.status_code == 403
    assert "Only the owner may open this page." in response.text


def test_the_page_of_a_breakdown_asks_nothing_of_the_database():
    """Not marked for the database, which pytest-django therefore refuses."""
    response = server_error(RequestFactory().get("/"))
    assert response.status_code == 500
    assert "What was saved before is safe." in response.text
    assert "/static/studio/studio.css" in response.text
    assert response.text == render_to_string("500.html")


SQLITE = OperationalError("database or disk is full")
SQLITE.__cause__ = sqlite3.OperationalError("database or disk is full")


class PostgresFullError(Exception):
    """As psycopg raises it: SQLSTATE 53100 is disk_full (PostgreSQL, appendix A)."""

    sqlstate = "53100"


POSTGRES = OperationalError("could not extend file")
POSTGRES.__cause__ = PostgresFullError()


@pytest.mark.postgres
@pytest.mark.django_db
@pytest.mark.parametrize("wrong", [SQLITE, POSTGRES, OSError(errno.ENOSPC, "No space left")])
def test_a_full_disk_is_said_and_what_was_typed_can_be_sent_again(
    owner_client, studio, monkeypatch, wrong
):
    def fail(*_args, **_facts):
        raise wrong

    typed = {"first_name": "Bea </textarea>", "username": "bea", "role": "helper"}
    names = "password1", "password2", "old_password", "passphrase", "secret_key"
    secret = dict.fromkeys(names, "a long sentence of hems")
    monkeypatch.setattr(actions, "add_person", fail)
    response = owner_client.post(reverse("studio-person-new"), typed | secret)
    assert response.status_code == 507
    assert "What you typed is still on this page" in response.text
    assert "sentence of hems" not in response.text
    assert "Bea &lt;/textarea&gt;" in response.text
    kept = Fields.of(response.text)
    assert set(typed) <= set(kept)
    assert "<title>Error: " in response.text


@pytest.mark.django_db
def test_what_is_broken_otherwise_is_no_full_disk(owner_client, studio, monkeypatch):
    def fail(*_args, **_facts):
        raise wrong

    monkeypatch.setattr(actions, "remove_day_off", fail)
    address = reverse("studio-day-off-remove", args=[DayOffFactory().pk])
    wrong = OSError(errno.EACCES, "Not yours")
    assert "The drawer is locked from outside" in owner_client.post(address).text
    wrong = OperationalError("some words that nobody knows")
    with pytest.raises(OperationalError):
        owner_client.post(address)
