"""Coming in, staying in, going out."""

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse

from tests.factories import PASSWORD, UserFactory

pytestmark = pytest.mark.django_db

FIELDS = {"username": "mara", "password": PASSWORD}
CHANGE = {
    "old_password": PASSWORD,
    "new_password1": "bobbin-case-7",
    "new_password2": "bobbin-case-7",
}


@pytest.fixture
def mara(studio):
    return UserFactory(username="mara")


def logged_in(client: Client) -> bool:
    return "_auth_user_id" in client.session


def test_the_right_password_leads_to_the_day_with_a_fresh_session_key(mara):
    client = Client()
    client.get(reverse("login"))
    session = client.session
    session["carried"] = "along"
    session.save()
    client.cookies[settings.SESSION_COOKIE_NAME] = session.session_key
    response = client.post(reverse("login"), FIELDS)
    assert response["Location"] == reverse("today")
    assert logged_in(client)
    assert client.session.session_key != session.session_key


def test_the_session_cookie_is_guarded_and_lasts_fourteen_days(mara):
    cookie = Client().post(reverse("login"), FIELDS).cookies[settings.SESSION_COOKIE_NAME]
    assert (cookie["httponly"], cookie["samesite"]) == (True, "Lax")
    assert cookie["max-age"] == 14 * 24 * 60 * 60


def test_one_is_led_back_to_where_one_was_going(mara):
    asked = Client().get(reverse("prices"))
    assert asked["Location"] == f"{reverse('login')}?next={reverse('prices')}"
    page = Client().get(asked["Location"])
    assert f'name="next" value="{reverse("prices")}"' in page.text
    response = Client().post(reverse("login"), FIELDS | {"next": reverse("prices")})
    assert response["Location"] == reverse("prices")


@pytest.mark.parametrize(
    "elsewhere",
    [
        "https://evil.example/",
        "//evil.example/",
        "javascript:alert(1)",
        "/\\evil.example",
        "http:///x",
    ],
)
def test_one_is_never_led_out_of_the_house(mara, elsewhere):
    response = Client().post(reverse("login"), FIELDS | {"next": elsewhere})
    assert response["Location"] == reverse("today")


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ({"password": "wrong"}, "do not belong together"),
        ({"username": "nobody"}, "do not belong together"),
        ({"username": "MARA"}, "do not belong together"),
        ({"username": "<script>alert(1)</script>"}, "do not belong together"),
        ({"username": "x" * 300}, "do not belong together"),
        ({"username": ""}, "This field is required."),
        ({"password": ""}, "This field is required."),
    ],
)
def test_what_does_not_open_the_door(mara, typed, message):
    client = Client()
    response = client.post(reverse("login"), FIELDS | typed)
    assert message in response.text
    assert "<script>alert" not in response.text
    assert not logged_in(client)


def test_a_stopped_login_ends_at_once(mara):
    client = Client()
    client.force_login(mara)
    assert client.get(reverse("password")).status_code == 200
    mara.is_active = False
    mara.save()
    assert client.get(reverse("password"))["Location"].startswith(reverse("login"))
    assert "do not belong together" in client.post(reverse("login"), FIELDS).text


def test_going_out_takes_a_press_not_a_link(mara):
    client = Client()
    client.force_login(mara)
    key = client.session.session_key
    assert client.get(reverse("logout")).status_code == 405
    assert logged_in(client)
    assert client.post(reverse("logout"))["Location"] == reverse("login")
    thief = Client()
    thief.cookies[settings.SESSION_COOKIE_NAME] = key
    assert thief.get(reverse("password"))["Location"].startswith(reverse("login"))


def test_a_new_password_keeps_this_session_and_ends_the_others(mara):
    here, tablet = Client(), Client()
    here.force_login(mara)
    tablet.force_login(mara)
    key = here.session.session_key
    assert here.post(reverse("password"), CHANGE)["Location"] == reverse("today")
    assert here.session.session_key != key
    assert here.get(reverse("password")).status_code == 200
    assert tablet.get(reverse("password"))["Location"].startswith(reverse("login"))
    assert logged_in_with("bobbin-case-7")
    assert not logged_in_with(PASSWORD)


def logged_in_with(password: str) -> bool:
    client = Client()
    client.post(reverse("login"), {"username": "mara", "password": password})
    return logged_in(client)


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ({"old_password": "wrong"}, "Your old password was entered incorrectly."),
        ({"new_password2": "other-one"}, "The two password fields"),
        ({"new_password1": "mara", "new_password2": "mara"}, "This password is too short."),
        ({"new_password1": "12345678", "new_password2": "12345678"}, "entirely numeric"),
    ],
)
def test_a_new_password_that_cannot_be(mara, typed, message):
    client = Client()
    client.force_login(mara)
    assert message in client.post(reverse("password"), CHANGE | typed).text
    assert logged_in_with(PASSWORD)


def test_a_login_page_that_lay_too_long_says_so(mara):
    strict = Client(enforce_csrf_checks=True)
    response = strict.post(reverse("login"), FIELDS)
    assert response.status_code == 403
    assert "This page was open too long" in response.text


def test_a_form_whose_token_went_stale_can_be_sent_again(mara):
    """Only if the browser says that it was the studio's own (Fetch Metadata: Sec-Fetch-Site)."""
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(mara)
    typed = {"name": "Ann <b>", "csrfmiddlewaretoken": "x" * 64}
    for site, kept in (("same-origin", True), ("cross-site", False)):
        response = strict.post(reverse("client-new"), typed, headers={"Sec-Fetch-Site": site})
        assert response.status_code == 403
        assert ("\nAnn &lt;b&gt;</textarea>" in response.text) is kept
        assert ("Save again" in response.text) is kept
