"""Browsers from which somebody came in before keep a signed note of it.

Such a browser has tries of its own (see ``studio.shop.throttle``), so that people who hammer an
account from many places at once do not keep its owner out. The note opens nothing by itself.
"""

from datetime import timedelta

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.utils.crypto import get_random_string, salted_hmac

from studio.shop.throttle import same_account

KEPT = timedelta(days=365)
SALT = "studio.shop.known_doors"


def cookie_name(account: str) -> str:
    return f"door-{salted_hmac(SALT, same_account(account)).hexdigest()[:16]}"


def known_door(request: HttpRequest, account: str) -> str:
    """What the browser's note for this account says; empty without a note of ours."""
    name = cookie_name(account)
    return request.get_signed_cookie(name, default=None, salt=SALT, max_age=KEPT) or ""


def remember(request: HttpRequest, response: HttpResponse, account: str) -> None:
    """Leave a note, or renew the one that is there."""
    response.set_signed_cookie(
        cookie_name(account),
        known_door(request, account) or get_random_string(22),
        salt=SALT,
        max_age=KEPT,
        httponly=True,
        secure=settings.SESSION_COOKIE_SECURE,
        samesite="Lax",
    )
