"""Passkeys, with a key of our own that signs as W3C WebAuthn, level 2, says (6.1, 6.5, 7.1, 7.2).

It is made of ``cryptography`` alone, beside the library that the program checks with. The browser's
own part is driven in ``tests/browser/test_second_factor.py``.
"""

import hashlib
import html
import json
import re
from base64 import urlsafe_b64decode, urlsafe_b64encode
from dataclasses import dataclass, field
from datetime import timedelta

import pytest
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.hashes import SHA256
from django.test import Client
from django.urls import reverse
from fido2 import cbor

from studio.shop.history import of, sentence
from studio.shop.models import Passkey, Profile, RecoveryCode
from tests.factories import PASSWORD, UserFactory
from tests.rows import each_row

pytestmark = pytest.mark.django_db

HOST = "localhost:8000"
PRESENT, VERIFIED, WITH_KEY = 0x01, 0x04, 0x40


def encoded(raw: bytes) -> str:
    return urlsafe_b64encode(raw).decode().rstrip("=")


@dataclass
class Stick:
    """A security key for one host; ``counter`` rises with each signature."""

    host: str = "localhost"
    origin: str = f"http://{HOST}"
    counter: int = 0
    handle: bytes = b"a key of sixteen"
    key: ec.EllipticCurvePrivateKey = field(
        default_factory=lambda: ec.generate_private_key(ec.SECP256R1())
    )

    def data(self, flags: int) -> bytes:
        host = hashlib.sha256(self.host.encode()).digest()
        return host + bytes([flags]) + self.counter.to_bytes(4, "big")

    def client_data(self, kind: str, challenge: str) -> bytes:
        facts = {"type": kind, "challenge": challenge, "origin": self.origin, "crossOrigin": False}
        return json.dumps(facts).encode()

    def answer(self, **response: bytes) -> str:
        facts = {name: encoded(raw) for name, raw in response.items()}
        handle = encoded(self.handle)
        return json.dumps(
            {"id": handle, "rawId": handle, "type": "public-key", "response": facts,
             "clientExtensionResults": {}}
        )  # fmt: skip

    def make(self, challenge: str, kind: str = "webauthn.create") -> str:
        numbers = self.key.public_key().public_numbers()
        # COSE, RFC 9053: an elliptic key on P-256 for ES256.
        public = {1: 2, 3: -7, -1: 1, -2: numbers.x.to_bytes(32), -3: numbers.y.to_bytes(32)}
        credential = bytes(16) + len(self.handle).to_bytes(2) + self.handle + cbor.encode(public)
        attested = {
            "fmt": "none", "attStmt": {},
            "authData": self.data(PRESENT | VERIFIED | WITH_KEY) + credential,
        }  # fmt: skip
        data = self.client_data(kind, challenge)
        return self.answer(clientDataJSON=data, attestationObject=cbor.encode(attested))

    def sign(self, challenge: str, kind: str = "webauthn.get", flags: int = PRESENT) -> str:
        self.counter += 1
        data, client_data = self.data(flags), self.client_data(kind, challenge)
        signed = data + hashlib.sha256(client_data).digest()
        signature = self.key.sign(signed, ec.ECDSA(SHA256()))
        return self.answer(clientDataJSON=client_data, authenticatorData=data, signature=signature)


def asked(page: str) -> dict:
    """What the script would ask the browser."""
    return json.loads(html.unescape(re.search(r'data-passkey="([^"]+)"', page).group(1)))[
        "publicKey"
    ]


@pytest.fixture
def mara(studio) -> Client:
    UserFactory(username="mara")
    client = Client(SERVER_NAME="localhost", SERVER_PORT="8000", HTTP_HOST=HOST)
    client.post(reverse("login"), {"username": "mara", "password": PASSWORD})
    return client


@pytest.fixture
def stick(mara) -> Stick:
    stick = Stick()
    options = asked(mara.get(reverse("second-passkey")).text)
    assert options["rp"]["id"] == "localhost"
    # WebAuthn, 14.6.1: the user's id tells nothing of who it is.
    assert b"mara" not in urlsafe_b64decode(options["user"]["id"] + "==")
    sent = {"name": "Grey stick", "answer": stick.make(options["challenge"])}
    assert mara.post(reverse("second-passkey"), sent)["Location"] == reverse("second-codes")
    return stick


def after_password() -> tuple[Client, str]:
    """A browser that is asked for the passkey, and the challenge."""
    client = Client(HTTP_HOST=HOST)
    client.post(reverse("login"), {"username": "mara", "password": PASSWORD})
    options = asked(client.get(reverse("login-second")).text)
    assert [key["id"] for key in options["allowCredentials"]] == [encoded(b"a key of sixteen")]
    return client, options["challenge"]


def sent(client: Client, answer: str) -> str:
    """Empty when it opened."""
    response = client.post(reverse("login-second"), {"second-passkey": answer})
    return "" if "_auth_user_id" in client.session else response.text


REFUSED = "The passkey was not taken. Try again."


@pytest.mark.postgres
def test_a_passkey_opens_after_the_password_and_makes_recovery_codes(mara, stick):
    assert RecoveryCode.objects.count() == 10
    page = mara.get(reverse("second")).text
    assert "Grey stick" in page
    for _ in range(2):
        client, challenge = after_password()
        assert sent(client, stick.sign(challenge)) == ""
    assert Passkey.objects.get().counter == stick.counter == 2
    assert "passkey for localhost, used" in mara.get(reverse("second")).text


def test_an_answer_is_good_once(stick):
    client, challenge = after_password()
    answer = stick.sign(challenge)
    assert sent(client, answer) == ""
    again, _challenge = after_password()
    assert REFUSED in sent(again, answer)
    # A challenge is answered once, rightly or not.
    assert REFUSED in sent(again, stick.sign(_challenge))


def test_tampered_answers_open_nothing(stick):
    """Each with one thing that is wrong; the same without it opens."""
    other = Stick(handle=stick.handle)
    tries = {
        "challenge": lambda stick, challenge: stick.sign(encoded(b"another challenge")),
        "origin": lambda stick, challenge: _with(stick, "origin", "http://evil.example").sign(
            challenge
        ),
        "host": lambda stick, challenge: _with(stick, "host", "evil.example").sign(challenge),
        "kind": lambda stick, challenge: stick.sign(challenge, kind="webauthn.create"),
        "nobody touched it": lambda stick, challenge: stick.sign(challenge, flags=0),
        "another key": lambda stick, challenge: other.sign(challenge),
        "another handle": lambda stick, challenge: _with(stick, "handle", b"unknown handle--").sign(
            challenge
        ),
        "signature": lambda stick, challenge: stick.sign(challenge).replace(
            '"signature": "', '"signature": "A'
        ),
        "no answer": lambda stick, challenge: "{}",
        "a list": lambda stick, challenge: "[1]",
        "no JSON": lambda stick, challenge: "x",
        "null": lambda stick, challenge: "null",
    }
    for wrong, answered in tries.items():
        # From a place of its own each, so that none has to wait.
        client, challenge = after_password()
        client.defaults["REMOTE_ADDR"] = f"192.0.2.{len(wrong)}"
        assert REFUSED in sent(client, answered(stick, challenge)), wrong
    client, challenge = after_password()
    assert sent(client, stick.sign(challenge)) == ""


def _with(stick: Stick, name: str, value: object) -> Stick:
    facts = {**vars(stick), name: value}
    return Stick(**facts)


def test_a_key_that_counts_less_than_before_is_refused_and_told(mara, stick):
    """WebAuthn, 7.2, step 21: two keys may hold the same secret."""
    client, challenge = after_password()
    copy = _with(stick, "counter", 0)
    stick.sign("twice")
    assert sent(client, stick.sign(challenge)) == ""
    client, challenge = after_password()
    assert "Grey stick” was refused: there may be a copy of it." in sent(
        client, copy.sign(challenge)
    )
    told = sentence(of(Profile.objects.get())[0], "en_IE")
    assert told == "Passkey “Grey stick” of Mara: refused, there may be a copy of it."


def test_keys_that_never_count_are_taken(stick):
    Passkey.objects.update(counter=0)
    for _ in range(2):
        client, challenge = after_password()
        stick.counter = -1
        assert sent(client, stick.sign(challenge)) == ""


def test_tampered_new_keys_are_not_kept(mara):
    for wrong in (
        {"origin": "http://evil.example"}, {"host": "evil.example"}, {"kind": "webauthn.get"},
        {"challenge": "AAAA"}, {"answer": "{}"}, {"answer": ""},
    ):  # fmt: skip
        options = asked(mara.get(reverse("second-passkey")).text)
        facts = {name: wrong[name] for name in ("origin", "host") if name in wrong}
        stick = Stick(**facts)
        made = stick.make(
            wrong.get("challenge", options["challenge"]), wrong.get("kind", "webauthn.create")
        )
        data = {"name": "Stick", "answer": wrong.get("answer", made)}
        assert mara.post(reverse("second-passkey"), data).status_code == 200, wrong
    assert not Passkey.objects.exists()


def test_it_is_asked_with_the_password_anew(mara, stick, watch):
    watch.shift(timedelta(minutes=11))
    page = mara.get(reverse("clients-csv")).text
    typed = {"proof-password": PASSWORD, "proof-passkey": stick.sign(asked(page)["challenge"])}
    assert "Your file" in mara.post(reverse("clients-csv"), typed | {"proof-opens": "yes"}).text
    assert mara.get(reverse("clients-csv"))["Content-Type"].startswith("text/csv")


@each_row(
    ("host", "https", "possible"),
    [
        ("localhost:8000", False, True), ("studio.home.arpa", True, True),
        ("studio.home.arpa", False, False), ("192.168.1.20:8000", True, False),
        ("127.0.0.1:8000", False, False), ("[::1]:8000", False, False),
    ],
)  # fmt: skip
def test_the_page_says_where_browsers_make_none(host, https, possible, mara, settings):
    """Only in a secure context (WebAuthn, 5), and for a name (5.1.3, a valid domain)."""
    settings.ALLOWED_HOSTS = ["*"]
    page = mara.get(reverse("second-passkey"), HTTP_HOST=host, secure=https).text
    assert ("data-passkey=" in page) == possible
    assert ("only over HTTPS" in page) != possible


def test_under_another_name_the_paper_opens(mara, stick, settings):
    settings.ALLOWED_HOSTS = ["*"]
    client = Client(HTTP_HOST="studio.example")
    client.post(reverse("login"), {"username": "mara", "password": PASSWORD})
    page = client.get(reverse("login-second")).text
    assert "data-passkey" not in page
    assert "A code from your paper" in page


def test_with_the_last_passkey_the_codes_go(mara, stick):
    mara.post(reverse("second-passkey-remove", args=[Passkey.objects.get().pk]))
    assert not Passkey.objects.exists()
    assert not RecoveryCode.objects.exists()
