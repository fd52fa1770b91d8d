"""What stands there when something is not there, not allowed, or broken."""

import pytest
from django.template.loader import render_to_string
from django.test import Client, RequestFactory
from django.urls import reverse
from django.views.defaults import server_error


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
