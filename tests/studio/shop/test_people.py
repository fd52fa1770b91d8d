"""Who has a login, and who no longer has."""

import pytest
from django.test import Client
from django.urls import reverse

from studio.shop import actions
from studio.shop.models import User
from tests.factories import PASSWORD, UserFactory

pytestmark = pytest.mark.django_db

NEW = {
    "first_name": "Ida", "username": "ida", "role": "helper",
    "password1": "spool-of-silk", "password2": "spool-of-silk",
}  # fmt: skip


def can_log_in(name: str, password: str) -> bool:
    client = Client()
    client.post(reverse("login"), {"username": name, "password": password})
    return "_auth_user_id" in client.session


def test_a_new_helper_logs_in_and_sees_no_money(owner_client):
    page = owner_client.post(reverse("studio-person-new"), NEW, follow=True).text
    assert "Ida can log in now." in page
    assert "sees no money" in page
    ida = User.objects.get(username="ida")
    assert not ida.is_owner
    client = Client()
    client.post(reverse("login"), {"username": "ida", "password": "spool-of-silk"})
    refused = client.get(reverse("studio-people"))
    assert refused.status_code == 403
    assert "Only the owner may open this page." in refused.text


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ({"username": "owner"}, "already exists"),
        ({"username": "OWNER"}, "already exists"),
        ({"username": "<b>"}, "Enter a valid username."),
        ({"username": "x" * 151}, "at most 150 characters"),
        ({"username": ""}, "This field is required."),
        ({"role": "queen"}, "not one of the available choices"),
        ({"password2": "other"}, "The two password fields"),
        ({"password1": "ida", "password2": "ida"}, "too short"),
    ],
)
def test_a_login_that_cannot_be(owner_client, typed, message):
    response = owner_client.post(reverse("studio-person-new"), NEW | typed)
    assert message in response.text
    assert 'value="Ida"' in response.text
    assert User.objects.count() == 1


def test_a_forgotten_password_is_set_anew_and_old_sessions_end(owner_client, helper):
    tablet = Client()
    tablet.force_login(helper)
    fields = {"new_password1": "spool-of-silk", "new_password2": "spool-of-silk"}
    owner_client.post(reverse("studio-person-password", args=[helper.pk]), fields)
    assert can_log_in("helper", "spool-of-silk")
    assert not can_log_in("helper", PASSWORD)
    assert tablet.get(reverse("password"))["Location"].startswith(reverse("login"))


def test_the_owners_own_new_password_does_not_show_her_out(owner_client, owner):
    fields = {"new_password1": "spool-of-silk", "new_password2": "spool-of-silk"}
    owner_client.post(reverse("studio-person-password", args=[owner.pk]), fields)
    assert "owner" in owner_client.get(reverse("studio-people")).text


def test_a_password_that_is_too_plain(owner_client, helper):
    fields = {"new_password1": "password", "new_password2": "password"}
    response = owner_client.post(reverse("studio-person-password", args=[helper.pk]), fields)
    assert "This password is too common." in response.text
    assert can_log_in("helper", PASSWORD)


def test_a_stopped_login_and_its_sessions_end_and_can_be_let_back(owner_client, helper):
    tablet = Client()
    tablet.force_login(helper)
    page = owner_client.post(reverse("studio-person-out", args=[helper.pk]), follow=True).text
    assert "cannot log in" in page
    assert not can_log_in("helper", PASSWORD)
    assert tablet.get(reverse("password"))["Location"].startswith(reverse("login"))
    owner_client.post(reverse("studio-person-back", args=[helper.pk]))
    assert can_log_in("helper", PASSWORD)


def test_the_last_owner_stays(owner_client, owner):
    UserFactory(username="gone", is_active=False)
    page = owner_client.post(reverse("studio-person-out", args=[owner.pk]), follow=True).text
    assert "This is the only owner who can log in." in page
    owner.refresh_from_db()
    assert owner.is_active


def test_one_of_two_owners_may_go(owner):
    second = UserFactory(username="second")
    actions.show_out(person=owner, by=owner)
    with pytest.raises(actions.LastOwnerError):
        actions.show_out(person=second, by=owner)


@pytest.mark.parametrize("rows", [1, 3])
def test_the_list_of_people_asks_the_database_four_times(
    owner_client, rows, django_assert_num_queries
):
    UserFactory.create_batch(rows)
    with django_assert_num_queries(4):
        owner_client.get(reverse("studio-people"))
