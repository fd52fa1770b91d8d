"""Where one is logged in, and the password that is asked for again."""

import re
from datetime import timedelta

import pytest
from django.conf import settings
from django.contrib.sessions.models import Session
from django.test import Client
from django.urls import reverse

from clients.models import Client as StudioClient
from studio.shop.doors.logins import plain_browser
from studio.shop.models import User
from tests.factories import PASSWORD, ClientFactory, UserFactory
from tests.rows import each_row

pytestmark = pytest.mark.django_db

# As these browsers call themselves; their makers' own documentation has the shapes.
AGENTS = [
    (
        "Mozilla/5.0 (X11; Linux x86_64; rv:140.0) Gecko/20100101 Firefox/140.0",
        "Firefox on Linux",
    ),
    (
        (
            "Mozilla/5.0 (Linux; Android 10; K) AppleWebKit/537.36 (KHTML, like Gecko)"
            " Chrome/139.0.0.0 Mobile Safari/537.36"
        ),
        "Chrome on an Android phone",
    ),
    (
        (
            "Mozilla/5.0 (iPhone; CPU iPhone OS 18_5 like Mac OS X) AppleWebKit/605.1.15"
            " (KHTML, like Gecko) Version/18.5 Mobile/15E148 Safari/604.1"
        ),
        "Safari on an iPhone",
    ),
    (
        (
            "Mozilla/5.0 (Windows NT 10.0; Win64; x64) AppleWebKit/537.36 (KHTML, like Gecko)"
            " Chrome/139.0.0.0 Safari/537.36 Edg/139.0.0.0"
        ),
        "Edge on Windows",
    ),
    ("", "A browser"),
    ("<script>", "A browser"),
]
PHONE, LAPTOP = AGENTS[1][0], AGENTS[0][0]
HTML = {"Accept": "text/html,*/*"}


@each_row(("agent", "words"), AGENTS)
def test_a_browser_is_named_in_plain_words(agent, words):
    assert plain_browser(agent) == words


@pytest.fixture
def mara(studio):
    return UserFactory(username="mara")


def log_in(user: User, agent: str = LAPTOP) -> Client:
    client = Client(headers={"User-Agent": agent})
    client.post(reverse("login"), {"username": user.username, "password": PASSWORD})
    assert "_auth_user_id" in client.session
    return client


def is_in(client: Client) -> bool:
    return client.get(reverse("password")).status_code == 200


def handles(page: str) -> list[str]:
    return re.findall(r'name="login" value="(\w+)"', page)


def test_each_login_is_listed_and_can_be_ended_from_another(mara, watch):
    """Of somebody else's logins nothing is told, and none can be ended."""
    lost = log_in(mara, PHONE)
    watch.shift(timedelta(hours=3))
    here, tablet, other = log_in(mara), log_in(mara), log_in(UserFactory(username="ida"))
    page = here.get(reverse("logins")).text
    assert page.index("this one") < page.index("Chrome on an Android phone")
    assert page.count("Firefox on Linux</b>") == 2
    assert here.session.session_key not in page
    last = handles(page)[-1]
    assert not handles(other.get(reverse("logins")).text)
    other.post(reverse("logins-out"), {"login": last})
    assert is_in(lost)
    said = here.post(reverse("logins-out"), {"login": last}, follow=True).text
    assert "Logged out in 1 place." in said
    assert [is_in(client) for client in (lost, here, tablet, other)] == [False, True, True, True]
    here.post(reverse("logins-out"))
    assert [is_in(client) for client in (here, tablet, other)] == [True, False, True]
    assert "Log out everywhere else" not in here.get(reverse("logins")).text


def test_a_new_password_leaves_one_login_in_the_list(mara):
    here, _tablet = log_in(mara), log_in(mara)
    new = {"new_password1": "bobbin-case-7", "new_password2": "bobbin-case-7"}
    here.post(reverse("password"), {"old_password": PASSWORD} | new)
    page = here.get(reverse("logins")).text
    assert "this one" in page
    assert not handles(page)


def test_that_a_login_is_in_use_is_written_once_an_hour(mara, watch):
    """And it still ends two weeks after it began."""
    client = log_in(mara)
    begun = Session.objects.get(pk=client.session.session_key)

    def data() -> str:
        client.get(reverse("logins"), headers=HTML)
        row = Session.objects.get(pk=begun.pk)
        assert row.expire_date == begun.expire_date
        return row.session_data

    first = data()
    watch.shift(timedelta(minutes=59))
    assert data() == first
    watch.shift(timedelta(minutes=2))
    later = data()
    assert later != first
    watch.shift(timedelta(minutes=59))
    assert data() == later


def test_a_login_from_before_the_list_is_in_it(studio, owner_client):
    page = owner_client.get(reverse("logins")).text
    assert "A browser" in page
    assert "since earlier" in page
    owner_client.get(reverse("logins"), headers=HTML | {"User-Agent": PHONE})
    assert "Chrome on an Android phone" in owner_client.get(reverse("logins")).text


GUARDED = [
    "everything", "backup-passphrase", "backup-place", "clients-csv", "clients-vcf",
    "prices-csv", "surcharges-csv", "ledger-csv", "studio-person-new",
]  # fmt: skip
"""Besides those of one client and one person, which are below."""


def test_the_password_is_asked_again_after_ten_minutes(mara, watch):
    client, person = log_in(mara), ClientFactory()
    addresses = [reverse(name) for name in GUARDED]
    addresses += [
        reverse("client-export", args=[person.pk]),
        reverse("client-erase", args=[person.pk]),
        reverse("sheets-csv", args=[person.pk]),
        reverse("studio-person-password", args=[mara.pk]),
        reverse("backup-file", args=["studio-x.zip"]),
    ]

    def asked() -> list[bool]:
        answers = [client.get(address) for address in addresses]
        return ["Your password again" in it.text if not it.streaming else False for it in answers]

    watch.shift(timedelta(minutes=9, seconds=59))
    assert not any(asked())
    watch.shift(1)
    assert all(asked())
    # A clock that was set back proves nothing.
    watch.shift(timedelta(hours=-1))
    assert all(asked())


def test_the_right_password_leads_to_where_one_was_going(mara, watch):
    client = log_in(mara)
    watch.shift(timedelta(hours=1))
    came = reverse("clients")
    page = client.get(reverse("clients-csv"), headers={"Referer": f"http://testserver{came}"}).text
    assert f'href="{came}"' in page
    sent = {"proof-opens": "yes", "proof-back": came, "proof-password": "wrong"}
    page = client.post(reverse("clients-csv"), sent).text
    assert "That is not your password." in page
    assert 'name="proof-opens"' in page
    page = client.post(reverse("clients-csv"), sent | {"proof-password": PASSWORD}).text
    assert f'href="{reverse("clients-csv")}"' in page
    assert f'href="{came}"' in page
    assert client.get(reverse("clients-csv"))["Content-Type"].startswith("text/csv")
    watch.shift(timedelta(hours=1))
    opened = reverse("backup-passphrase")
    answer = client.post(opened, {"proof-opens": "yes", "proof-password": PASSWORD})
    assert answer["Location"] == opened


def test_what_was_typed_is_sent_on_with_the_password(mara, watch):
    client, person = log_in(mara), ClientFactory(name="Ann & <b>")
    address = reverse("client-erase", args=[person.pk])
    watch.shift(timedelta(hours=1))
    page = client.post(address, {"name": person.name}).text
    assert "\nAnn &amp; &lt;b&gt;</textarea>" in page
    assert not StudioClient.objects.get(pk=person.pk).erased_at
    page = client.post(address, {"name": person.name, "proof-password": "no"}).text
    assert "\nAnn &amp; &lt;b&gt;</textarea>" in page
    client.post(address, {"name": person.name, "proof-password": PASSWORD})
    assert StudioClient.objects.get(pk=person.pk).erased_at


def test_wrong_passwords_count_among_the_tries_to_log_in(mara, watch):
    """Nobody else's name can be given, and elsewhere is no way back."""
    client = log_in(mara)
    UserFactory(username="ida", password="spool-of-silk")
    watch.shift(timedelta(hours=1))
    address = reverse("everything")
    elsewhere = {"proof-username": "ida", "proof-back": "//evil.example", "proof-opens": "yes"}
    for _ in range(5):
        page = client.post(address, elsewhere | {"proof-password": "spool-of-silk"}).text
        assert "That is not your password." in page
        assert "evil.example" not in page
    refused = client.post(address, {"proof-password": PASSWORD, "proof-opens": "yes"}).text
    assert "Too many tries. Wait 3 minutes" in refused
    name = settings.SESSION_COOKIE_NAME
    again = Client(headers={"User-Agent": LAPTOP})
    again.cookies.load({key: it.value for key, it in client.cookies.items() if key != name})
    typed = {"username": "mara", "password": PASSWORD}
    assert "Too many tries" in again.post(reverse("login"), typed).text
