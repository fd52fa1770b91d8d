"""The second factor: digits of an app and codes on paper. Passkeys have their own tests."""

import re
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from threading import Barrier, BrokenBarrierError

import pyotp
import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.db import connection
from django.test import Client
from django.urls import reverse

from studio.shop import clock, doctor
from studio.shop.doors import actions, second
from studio.shop.history import of, sentence
from studio.shop.models import CodeApp, Passkey, Profile, RecoveryCode, User
from tests.factories import PASSWORD, CodeAppFactory, PasskeyFactory, UserFactory
from tests.rows import each_row

pytestmark = pytest.mark.django_db

# RFC 4226 and RFC 6238 call it "12345678901234567890"; this is its base 32.
SECRET = "GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ"
# RFC 6238, appendix B, SHA-1: seconds since 1970 and eight digits, of which apps show the last six.
RFC_6238 = [
    (59, "94287082"), (1111111109, "07081804"), (1111111111, "14050471"),
    (1234567890, "89005924"), (2000000000, "69279037"), (20000000000, "65353130"),
]  # fmt: skip
# RFC 4226, appendix D: the codes of the counts 0 to 9.
RFC_4226 = [
    "755224", "287082", "359152", "969429", "338314", "254676", "287922", "162583", "399871",
    "520489",
]  # fmt: skip


def at(seconds: int) -> datetime:
    return datetime.fromtimestamp(seconds, UTC)


@each_row(("seconds", "digits"), RFC_6238)
def test_the_codes_of_rfc_6238(seconds, digits):
    assert second.step_of(SECRET, digits[-6:], at(seconds)) == seconds // 30


def test_the_codes_of_rfc_4226():
    """One half minute of drift is taken, two are not."""
    for count, code in enumerate(RFC_4226):
        for step in range(10):
            near = abs(step - count) <= 1
            assert second.step_of(SECRET, code, at(30 * step)) == (count if near else None)


def code_now(shift: int = 0) -> str:
    """By the reference library, ``shift`` half minutes from now."""
    return pyotp.TOTP(SECRET).at(clock.now() + timedelta(seconds=30 * shift))


@pytest.fixture
def mara(studio) -> User:
    mara = UserFactory(username="mara")
    CodeAppFactory(user=mara)
    return mara


def after_password(client: Client | None = None, **fields: str) -> Client:
    client = client or Client()
    typed = {"username": "mara", "password": PASSWORD, **fields}
    response = client.post(reverse("login"), typed)
    assert response["Location"] == reverse("login-second")
    return client


def answer(client: Client, code: str):
    return client.post(reverse("login-second"), {"second-code": code})


def is_in(client: Client) -> bool:
    return "_auth_user_id" in client.session


def test_the_password_alone_opens_nothing(mara):
    client = after_password(next=reverse("prices"))
    assert not is_in(client)
    assert not [name for name in client.cookies if name.startswith("door-")]
    assert client.get(reverse("today"))["Location"].startswith(reverse("login"))
    before = client.session.session_key
    response = answer(client, code_now())
    assert response["Location"] == reverse("prices")
    assert is_in(client)
    assert client.session.session_key != before
    assert [name for name in client.cookies if name.startswith("door-")]
    assert client.get(reverse("login-second"))["Location"] == reverse("today")


@pytest.mark.postgres
def test_a_code_is_good_once_and_none_before_it(mara, watch):
    assert is_in_after(code_now())
    page = answer(after_password(), code_now()).text
    assert "That code was used already. Wait for the next one." in page
    assert "used already" in answer(after_password(), code_now(-1)).text
    watch.shift(30)
    assert is_in_after(code_now())


def is_in_after(code: str) -> bool:
    client = after_password()
    answer(client, code)
    return is_in(client)


@pytest.mark.django_db(transaction=True)
def test_two_windows_that_use_one_code_at_once_let_one_in(mara, monkeypatch):
    """A code of the app, and one from paper; whoever comes second is told.

    Each waits for the other once it knows the code, unless the other waits for it to be done.
    """
    codes = [code_now(), actions.make_codes(user=mara)[0]]
    together = Barrier(2)

    def meeting(reckon: Callable[..., object]) -> Callable[..., object]:
        def reckon_and_wait(*args: object, **options: object) -> object:
            with suppress(BrokenBarrierError):
                together.wait(timeout=0.3)
            return reckon(*args, **options)

        return reckon_and_wait

    for name in ("step_of", "digest_of"):
        monkeypatch.setattr(second, name, meeting(getattr(second, name)))

    def send(window: Client, code: str) -> str:
        try:
            return answer(window, code).content.decode()
        finally:
            connection.close()

    for code in codes:
        windows = [after_password(), after_password()]
        together.reset()
        with ThreadPoolExecutor(len(windows)) as hands:
            pages = list(hands.map(send, windows, [code, code]))
        assert sorted(is_in(window) for window in windows) == [False, True]
        (refused,) = filter(None, pages)  # who comes in is sent on
        assert "That code was used already" in refused


@each_row(("shift", "taken"), [(-2, False), (-1, True), (0, True), (1, True), (2, False)])
def test_clocks_may_differ_by_half_a_minute(shift, taken, mara):
    CodeApp.objects.update(last_step=0)
    assert is_in_after(code_now(shift)) == taken


def test_a_clock_that_was_ahead_locks_nobody_out(mara):
    """A code of tomorrow was taken while the computer's clock was a day ahead."""
    ahead = int(clock.now().timestamp()) // 30 + 2880
    CodeApp.objects.update(last_step=ahead)
    assert is_in_after(code_now())
    assert "used already" in answer(after_password(), code_now()).text


def test_codes_are_taken_with_gaps_and_nothing_else_is_taken(mara):
    for code in ("", "12345", "1234567", "١٢٣٤٥٦", "0" * 16):
        page = answer(after_password(), code).text
        assert "Error: Second factor" in page
    code = code_now()
    assert is_in_after(f" {code[:3]} {code[3:]} ")


def test_who_waits_for_the_second_factor_waits_ten_minutes_and_for_themself(mara, watch):
    late = after_password()
    watch.shift(timedelta(minutes=10))
    assert answer(late, code_now())["Location"] == reverse("login")
    gone = after_password()
    mara.set_password("bobbin-case-7")
    mara.save()
    assert answer(gone, code_now())["Location"] == reverse("login")
    mara.set_password(PASSWORD)
    mara.is_active = True
    mara.save()
    out = after_password()
    User.objects.filter(pk=mara.pk).update(is_active=False)
    assert answer(out, code_now())["Location"] == reverse("login")


def test_wrong_codes_wait_like_wrong_passwords_and_the_password_brings_none_back(mara, watch):
    for _ in range(5):
        assert "That code opens nothing." in answer(after_password(), "000000").text
    page = answer(after_password(), code_now()).text
    assert "Too many tries. Wait 3 minutes, then try again." in page
    watch.shift(timedelta(minutes=3))
    assert is_in_after(code_now())


def test_who_tries_from_many_places_is_slowed_down_as_well(mara):
    """Twenty tries for one login, whoever sends them; a browser that came in before is let in."""
    known = after_password()
    answer(known, code_now())
    known.post(reverse("logout"))
    CodeApp.objects.update(last_step=0)
    for number in range(20):
        client = Client(REMOTE_ADDR=f"192.0.2.{number}")
        assert "That code opens nothing." in answer(after_password(client), "000000").text
    stranger = after_password(Client(REMOTE_ADDR="198.51.100.1"))
    assert "Too many tries" in answer(stranger, code_now()).text
    answer(after_password(known), code_now())
    assert is_in(known)


def digits_on(page: str) -> list[str]:
    return re.findall(r"<li>(\d{4} \d{4} \d{4} \d{4})</li>", page)


@pytest.fixture
def ida(studio) -> Client:
    """A login without a second factor, a moment ago."""
    UserFactory(username="ida", role=User.Role.HELPER)
    client = Client()
    client.post(reverse("login"), {"username": "ida", "password": PASSWORD})
    return client


def set_up(client: Client) -> list[str]:
    page = client.get(reverse("second-app")).text
    secret = re.search(r'class="secret">([A-Z2-7 ]+)<', page).group(1).replace(" ", "")
    code = pyotp.TOTP(secret).at(clock.now())
    response = client.post(reverse("second-app"), {"code": code})
    assert response["Location"] == reverse("second-codes")
    return digits_on(client.get(reverse("second-codes")).text)


def test_setting_up_an_app_ends_other_logins_and_gives_ten_codes(ida):
    other = Client()
    other.post(reverse("login"), {"username": "ida", "password": PASSWORD})
    key = ida.session.session_key
    codes = set_up(ida)
    assert len(set(codes)) == 10
    assert ida.session.session_key != key
    assert ida.get(reverse("second")).status_code == 200
    assert other.get(reverse("second"))["Location"].startswith(reverse("login"))
    # They are gone once one has been back at the page.
    assert ida.get(reverse("second-codes"))["Location"] == reverse("second")
    assert ida.get(reverse("second-paper"))["Location"] == reverse("second")
    # Nothing of them is in the database as it is typed, nor is the secret.
    app = CodeApp.objects.get()
    assert second.unlock(app.secret) not in app.secret
    assert not {code.replace(" ", "") for code in codes} & set(
        RecoveryCode.objects.values_list("digest", flat=True)
    )
    # An app that is there is not set up over.
    assert ida.get(reverse("second-app"))["Location"] == reverse("second")


def test_the_code_on_the_page_is_what_apps_read(ida):
    """The address holds secret, studio and login; the picture is read in the browser's test."""
    page = ida.get(reverse("second-app")).text
    secret = re.search(r'class="secret">([A-Z2-7 ]+)<', page).group(1).replace(" ", "")
    assert len(secret) == 32  # 160 bits
    assert 'src="data:image/svg+xml' in page
    address = second.address_for_app(secret, User.objects.get(username="ida"), "Larkfield")
    read = pyotp.parse_uri(address)
    assert (read.secret, read.issuer, read.name) == (secret, "Larkfield", "ida")
    wrong = ida.post(reverse("second-app"), {"code": "000000"}).text
    assert "not what the app should show" in wrong
    assert not CodeApp.objects.exists()


@pytest.mark.postgres
def test_a_recovery_code_opens_once_and_is_told(ida):
    first, *_others, last = set_up(ida)
    typed = {"username": "ida", "password": PASSWORD}

    def logged_in_with(code: str) -> bool:
        client = Client()
        client.post(reverse("login"), typed)
        answer(client, code)
        return is_in(client)

    assert logged_in_with(first)
    client = Client()
    client.post(reverse("login"), typed)
    assert "used already: cross it out" in answer(client, first).text
    assert logged_in_with(last.replace(" ", "-"))
    assert "8 of 10 left" in ida.get(reverse("second")).text
    told = [sentence(entry, "en_IE") for entry in of(Profile.objects.get())]
    assert "Ida used a recovery code; 8 of them left." in told
    new = digits_on(ida.post(reverse("second-codes"), follow=True).text)
    assert len(new) == 10
    assert not logged_in_with(_others[0])
    assert logged_in_with(new[0])


def test_codes_of_one_login_open_no_other(mara, ida):
    codes = set_up(ida)
    page = answer(after_password(), codes[0]).text
    assert "That code opens nothing." in page


def test_what_is_removed_asks_no_more(ida):
    set_up(ida)
    ida.post(reverse("second-app-remove"))
    assert not RecoveryCode.objects.exists()
    client = Client()
    client.post(reverse("login"), {"username": "ida", "password": PASSWORD})
    assert is_in(client)


def test_the_password_anew_asks_for_the_second_factor_as_well(mara, watch):
    client = after_password()
    answer(client, code_now())
    watch.shift(timedelta(minutes=11))
    address = reverse("clients-csv")
    page = client.get(address).text
    assert 'name="proof-code"' in page
    sent = {"proof-opens": "yes", "proof-password": PASSWORD}
    assert "Your code is missing." in client.post(address, sent).text
    assert "That code opens nothing." in client.post(address, sent | {"proof-code": "1"}).text
    # A wrong password uses no code up.
    client.post(address, {"proof-password": "wrong", "proof-code": code_now()})
    page = client.post(address, sent | {"proof-code": code_now()}).text
    assert "Your file" in page
    assert client.get(address)["Content-Type"].startswith("text/csv")


def test_a_new_password_asks_for_the_second_factor_too(mara, watch):
    """It counts as the password given anew, and is no way around the code."""
    client = after_password()
    answer(client, code_now())
    watch.shift(timedelta(minutes=11))
    new = {"new_password1": "bobbin-case-7", "new_password2": "bobbin-case-7"}
    sent = {"old_password": PASSWORD, **new}
    assert 'name="code"' in client.get(reverse("password")).text
    assert "Your code is missing." in client.post(reverse("password"), sent).text
    code = code_now()
    # What else is wrong uses no code up.
    client.post(reverse("password"), sent | {"new_password2": "bobbin", "code": code})
    assert client.post(reverse("password"), sent | {"code": code}).status_code == 302
    mara.refresh_from_db()
    assert mara.check_password("bobbin-case-7")


def test_old_passwords_are_guessed_no_faster_at_the_new_one(ida):
    typed = {"new_password1": "bobbin-case-7", "new_password2": "bobbin-case-7"}
    for _ in range(5):
        page = ida.post(reverse("password"), typed | {"old_password": "wrong"}).text
        assert "entered incorrectly" in page
    page = ida.post(reverse("password"), typed | {"old_password": PASSWORD}).text
    assert "Too many tries. Wait 3 minutes" in page


def test_fresh_pages_ask_nothing_of_the_second_factor(mara):
    client = after_password()
    answer(client, code_now())
    page = client.get(reverse("clients-csv"))
    assert page["Content-Type"].startswith("text/csv")


@pytest.mark.postgres
def test_the_owner_takes_it_off_a_lost_phone_and_a_helper_takes_off_nobodys(
    mara, owner_client, helper_client
):
    address = reverse("studio-person-second", args=[mara.pk])
    PasskeyFactory(user=mara)
    assert helper_client.post(address).status_code == 403
    assert "Remove second factor" in owner_client.get(reverse("studio-people")).text
    page = owner_client.post(address, follow=True).text
    assert "Mara logs in with the password alone." in page
    assert "Remove second factor" not in page
    assert not CodeApp.objects.exists()
    assert not Passkey.objects.exists()
    told = sentence(of(Profile.objects.get())[0], "en_IE")
    assert told == "Mara no longer logs in with a second factor."


def test_an_owner_who_is_locked_out_takes_it_off_at_the_computer(mara, capsys):
    """As the page tells her, and tells no helper."""
    page = after_password().get(reverse("login-second"))
    python, manage, *typed = re.sub("<.*?>", "", page.text.split("<code>")[1]).split()
    assert (python, manage, typed[-1]) == (".venv/bin/python", "manage.py", "mara")
    CodeAppFactory(user=UserFactory(username="ida", role=User.Role.HELPER))
    other = after_password(Client(), username="ida").get(reverse("login-second")).text
    assert "Lost phone and paper?" in other
    assert "unlock" not in other
    call_command(*typed)
    assert "mara logs in with the password alone now." in capsys.readouterr().out
    assert not CodeApp.objects.filter(user=mara).exists()
    with pytest.raises(CommandError, match="Nobody logs in as mora"):
        call_command("unlock", "--second-factor", "mora")


def test_under_another_secret_key_the_paper_still_opens(mara):
    """What a studio is that was restored on another machine: the key is in no copy."""
    codes = actions.make_codes(user=mara)
    settings.SECRET_KEY, before = "another" * 8, settings.SECRET_KEY
    try:
        assert "secret key of the studio is another" in answer(after_password(), code_now()).text
        assert is_in_after(codes[3])
    finally:
        settings.SECRET_KEY = before


def test_the_doctor_says_whose_codes_come_late(mara, studio):
    def found() -> doctor.Finding:
        return next(it for it in doctor.findings(studio) if it.name == "The clock")

    assert is_in_after(code_now(1))
    assert found().good
    answer(after_password(), code_now(-6))
    assert found().words == "The code app of Mara is 3 minutes behind this computer."
    assert not found().good
    answer(after_password(), code_now(5))
    assert found().words == "The code app of Mara is 2.5 minutes ahead of this computer."
