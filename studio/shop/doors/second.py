"""The second factor of a login: who has one, the digits of an app, and the codes on paper.

An app tells six digits that change each half minute (RFC 6238: SHA-1, 30 seconds). Those of the
half minute before and after are taken as well, for clocks that differ; none is taken twice, nor one
from before the last. The app's secret lies in the database locked (Fernet) with a key made of the
studio's own, which is in no copy: under another secret key an app has to be set up anew.

Ten recovery codes of sixteen digits are printed on paper when the first factor is turned on; each
opens once. Only digests are kept. 10**16 codes, each hashed ``ROUNDS`` times, are out of reach for
whoever has the database alone. Passkeys are in ``studio.shop.doors.passkeys``.
"""

import hashlib
import secrets
from base64 import urlsafe_b64encode
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import pyotp
from django.utils.crypto import constant_time_compare, salted_hmac

from studio.shop.models import CodeApp, Passkey, RecoveryCode, User

STEP = 30  # seconds
DRIFT = 1  # steps that the clocks of phone and computer may differ by
SEEN = 20  # steps within which a code tells by how much they do, without being taken
APP_DIGITS, PAPER_DIGITS, GROUP = 6, 16, 4
CODES = 10
ROUNDS = 20_000


class LockedError(Exception):
    """Locked under another secret key than the one the studio has now."""


def lock(text: str) -> str:
    return str(_fernet().encrypt(text.encode()).decode())


def unlock(locked: str) -> str:
    """Raises LockedError."""
    from cryptography.fernet import InvalidToken  # noqa: PLC0415 -- see ``_fernet``

    try:
        return str(_fernet().decrypt(locked.encode()).decode())
    except InvalidToken as error:
        raise LockedError from error


def _fernet() -> Any:
    # Few requests need it, and it loads OpenSSL.
    from cryptography.fernet import Fernet  # noqa: PLC0415

    key = salted_hmac("studio.shop.doors.second", "secrets of code apps", algorithm="sha256")
    return Fernet(urlsafe_b64encode(key.digest()))


@dataclass(frozen=True)
class Factors:
    """What one login has besides its password."""

    app: CodeApp | None
    passkeys: list[Passkey]
    codes_left: int

    @property
    def on(self) -> bool:
        return bool(self.app or self.passkeys)


def factors_of(user: User) -> Factors:
    """Three queries."""
    return Factors(
        app=CodeApp.objects.filter(user=user).first(),
        passkeys=list(Passkey.objects.filter(user=user)),
        codes_left=RecoveryCode.objects.filter(user=user, used_at=None).count(),
    )


def new_secret() -> str:
    """160 bits, as RFC 4226 asks (R6), in base 32 as apps take it."""
    return pyotp.random_base32(32)


def address_for_app(secret: str, user: User, studio: str) -> str:
    """What the code says that an app reads (otpauth)."""
    return pyotp.TOTP(secret).provisioning_uri(name=user.get_username(), issuer_name=studio)


def step_of(secret: str, code: str, at: datetime, *, drift: int = DRIFT) -> int | None:
    """The half minute since 1970 to which ``code`` belongs, at most ``drift`` from ``at``.

    The nearest is asked first. None where it belongs to none of them.
    """
    app, now = pyotp.TOTP(secret), int(at.timestamp()) // STEP
    for step in sorted(range(max(now - drift, 0), now + drift + 1), key=lambda it: abs(it - now)):
        if constant_time_compare(app.generate_otp(step), code):
            return step
    return None


def only_digits(typed: str) -> str:
    """A code as it is typed, with or without gaps; other letters stay, and fit nothing."""
    return "".join(typed.split()).replace("-", "")


def new_codes() -> list[str]:
    return [f"{secrets.randbelow(10**PAPER_DIGITS):0{PAPER_DIGITS}}" for _ in range(CODES)]


def in_groups(code: str) -> str:
    return " ".join(code[at : at + GROUP] for at in range(0, len(code), GROUP))


def digest_of(code: str, user: User) -> str:
    salt = f"recovery code of {user.pk}".encode()
    return hashlib.pbkdf2_hmac("sha256", code.encode(), salt, ROUNDS).hex()
