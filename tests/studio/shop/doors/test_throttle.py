"""The pace of logins, told as what happens to people at the door."""

from contextlib import suppress
from datetime import UTC, datetime, timedelta
from io import StringIO

import pytest
import time_machine
from django.core.management import call_command
from django.test import Client, RequestFactory
from django.urls import reverse

from studio.shop.doors import throttle
from studio.shop.models import LoginBucket
from tests.factories import PASSWORD, UserFactory

pytestmark = pytest.mark.django_db

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
HOME, ELSEWHERE = "192.168.1.20", "203.0.113.7"


@pytest.fixture
def clock():
    with time_machine.travel(NOON, tick=False) as travel:
        yield travel


@pytest.fixture
def mara(studio):
    return UserFactory(username="mara")


def try_to_log_in(name="mara", password="", address=HOME, **headers):
    """One try at the door; the response. A wrong password unless one is given."""
    fields = {"username": name, "password": password or "wrong"}
    return Client(REMOTE_ADDR=address).post(reverse("login"), fields, headers=headers)


def came_in(response) -> bool:
    return response.status_code == 302


def test_five_wrong_tries_then_a_wait_that_says_how_long(clock, mara):
    for _ in range(5):
        assert "do not belong together" in try_to_log_in().text
    refused = try_to_log_in(password=PASSWORD)
    assert "Too many tries. Wait 3 minutes, then try again." in refused.text
    assert 'value="mara"' in refused.text


def test_after_the_wait_the_right_password_opens_and_the_slate_is_clean(clock, mara):
    for _ in range(6):
        try_to_log_in()
    clock.shift(timedelta(minutes=2, seconds=30))
    assert "Wait a minute" in try_to_log_in(password=PASSWORD).text
    clock.shift(timedelta(seconds=30))
    assert came_in(try_to_log_in(password=PASSWORD))
    for _ in range(5):
        assert "do not belong together" in try_to_log_in().text


def test_hammering_on_does_not_lengthen_the_wait(clock, mara):
    for _ in range(6):
        try_to_log_in()
    hammer([HOME] * 44)
    clock.shift(timedelta(minutes=3))
    assert came_in(try_to_log_in(password=PASSWORD))


def test_the_wait_for_one_name_is_none_for_another(clock, mara):
    UserFactory(username="helper")
    for _ in range(6):
        try_to_log_in()
    assert came_in(try_to_log_in("helper", PASSWORD))


@pytest.mark.any_day
def test_the_owner_comes_in_while_a_stranger_hammers_her_name_from_elsewhere(clock, mara):
    """If refused tries counted, a hundred would be gone in the fifteenth minute."""
    for minute in range(18):
        hammer([ELSEWHERE] * 10)
        assert came_in(try_to_log_in(password=PASSWORD)), minute
        clock.shift(timedelta(minutes=1))


def test_one_address_cannot_try_many_names(clock, mara):
    answers = [try_to_log_in(f"guess{n}", address=ELSEWHERE).text for n in range(25)]
    assert ["Too many tries" in answer for answer in answers] == [False] * 20 + [True] * 5


def test_many_addresses_together_are_slowed_too_and_the_door_opens_again(clock, mara):
    """A hundred tries at one name from a hundred places: the next waits a third of a minute."""
    hammer_from_everywhere(times=100)
    assert "Wait a minute" in try_to_log_in(password=PASSWORD).text
    clock.shift(timedelta(seconds=20))
    assert came_in(try_to_log_in(password=PASSWORD))


def hammer_from_everywhere(times=120):
    hammer(f"198.51.100.{n}" for n in range(times))


def hammer(addresses, name="mara"):
    """What each of these tries takes from the buckets, but for the page that it would be shown."""
    for address in addresses:
        with suppress(throttle.TooManyTriesError):
            throttle.take(throttle.buckets(name, address))


def test_the_owners_own_tablet_comes_in_whoever_else_hammers(clock, mara):
    tablet = Client(REMOTE_ADDR=HOME)
    fields = {"username": "mara", "password": PASSWORD}
    assert came_in(tablet.post(reverse("login"), fields))
    tablet.post(reverse("logout"))
    hammer_from_everywhere()
    assert "Too many tries" in try_to_log_in(password=PASSWORD).text
    assert came_in(tablet.post(reverse("login"), fields))


def test_a_known_tablet_has_five_tries_like_everybody(clock, mara):
    tablet = Client(REMOTE_ADDR=HOME)
    fields = {"username": "mara", "password": PASSWORD}
    tablet.post(reverse("login"), fields)
    tablet.post(reverse("logout"))
    answers = [tablet.post(reverse("login"), fields | {"password": "x"}).text for _ in range(6)]
    assert ["Too many tries" in answer for answer in answers] == [False] * 5 + [True]


def test_a_note_for_another_name_or_a_forged_one_opens_no_door(clock, mara):
    UserFactory(username="helper")
    tablet = Client(REMOTE_ADDR=HOME)
    tablet.post(reverse("login"), {"username": "helper", "password": PASSWORD})
    tablet.post(reverse("logout"))
    tablet.cookies[throttle.cookie_name("mara")] = "forged"
    hammer_from_everywhere()
    refused = tablet.post(reverse("login"), {"username": "mara", "password": PASSWORD})
    assert "Too many tries" in refused.text


def test_a_name_nobody_has_is_answered_like_one_that_somebody_has(clock, mara):
    def answers(name):
        return [try_to_log_in(name).text.count("Too many tries") for _ in range(6)]

    assert answers("mara") == answers("nobody")


def test_the_wait_comes_before_the_password_is_hashed(clock, mara, monkeypatch):
    for _ in range(5):
        try_to_log_in()

    def hashed(*args, **kwargs):
        raise AssertionError("The password was looked at.")

    monkeypatch.setattr("django.contrib.auth.forms.authenticate", hashed)
    assert "Too many tries" in try_to_log_in().text


def test_capital_letters_and_width_share_a_bucket(clock):
    assert throttle.buckets("MARA", HOME) == throttle.buckets("mara", HOME)
    assert throttle.buckets("\uff4dara", HOME) == throttle.buckets("mara", HOME)


@pytest.mark.postgres
def test_the_table_holds_neither_names_nor_addresses(clock, mara):
    try_to_log_in()
    keys = set(LoginBucket.objects.values_list("key", flat=True))
    assert len(keys) == 4
    assert not [key for key in keys if "mara" in key or HOME in key]


def test_old_rows_are_swept_out(clock, mara):
    try_to_log_in("long-ago")
    clock.shift(timedelta(days=2))
    try_to_log_in()
    assert LoginBucket.objects.count() == 4


def test_refused_tries_leave_no_rows(clock, mara):
    for n in range(40):
        try_to_log_in(f"guess{n}", address=ELSEWHERE)
    assert LoginBucket.objects.count() == 20 * 2 + 2


def test_the_command_lets_everybody_try_again(clock, mara):
    for _ in range(6):
        try_to_log_in()
    out = StringIO()
    call_command("unlock", stdout=out)
    assert "may try to log in again" in out.getvalue()
    assert came_in(try_to_log_in(password=PASSWORD))


@pytest.mark.parametrize(
    ("proxies", "remote", "forwarded", "expected"),
    [
        (0, "10.0.0.5", "203.0.113.7", "10.0.0.5"),
        (1, "10.0.0.5", "203.0.113.7", "203.0.113.7"),
        (1, "10.0.0.5", "6.6.6.6, 203.0.113.7", "203.0.113.7"),
        (2, "10.0.0.5", "6.6.6.6, 203.0.113.7, 10.0.0.4", "203.0.113.7"),
        (2, "10.0.0.5", "203.0.113.7", "10.0.0.5"),
        (1, "10.0.0.5", "", "unknown"),
        (1, "10.0.0.5", "<script>", "unknown"),
        (0, "", "", "unknown"),
        (0, "::1", "", "::/64"),
        (0, "2001:db8:1:2:aaaa::1", "", "2001:db8:1:2::/64"),
        (0, "2001:db8:1:2:bbbb::9", "", "2001:db8:1:2::/64"),
        (0, "::ffff:203.0.113.7", "", "203.0.113.7"),
    ],
)
def test_where_a_try_comes_from(settings, proxies, remote, forwarded, expected):
    """The addresses are for documentation (RFC 5737, RFC 3849) or private (RFC 1918)."""
    settings.PROXIES = proxies
    headers = {"x-forwarded-for": forwarded} if forwarded else {}
    request = RequestFactory().get("/", REMOTE_ADDR=remote, headers=headers)
    assert throttle.address(request) == expected


def test_a_forged_header_opens_no_second_door(clock, mara):
    for n in range(5):
        try_to_log_in(**{"x-forwarded-for": f"203.0.113.{n}"})
    assert "Too many tries" in try_to_log_in(**{"x-forwarded-for": "203.0.113.99"}).text


def test_a_login_that_the_end_of_the_program_cuts_off_costs_no_try(clock, mara):
    """Nothing of the process lives on when it is killed: only what it saved before."""
    try_to_log_in()
    asked = throttle.buckets("mara", HOME)
    before = rested()
    for _ in range(2):
        throttle.take(asked)
    assert rested() != before
    throttle.give_back_cut_off()
    assert rested() == before
    # What was judged stays so: one wrong try was made, and four are left.
    answers = [try_to_log_in().text for _ in range(5)]
    assert ["Too many tries" in answer for answer in answers] == [False] * 4 + [True]
    throttle.give_back_cut_off()
    assert "Too many tries" in try_to_log_in(password=PASSWORD).text


def rested():
    return dict(LoginBucket.objects.values_list("key", "rested_at"))
