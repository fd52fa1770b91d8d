"""The pace of logins: token buckets that refill, so that nobody is ever locked out for good.

A bucket of *n* tries that gains one each *t* is kept as one moment: when it will be full again.
Each try moves that moment on by *t*; a try is refused while the moment would lie more than
*n* times *t* ahead. Four buckets are asked, and a refused try costs nothing in any of them:
account and address together (the narrow one), the address, the account, and everybody. Whoever
hammers an account from elsewhere therefore does not lock its owner out, and a browser that came in
before has a bucket to itself. What a try takes counts as unjudged until the password was looked at:
where the program was ended in between, its next start gives it back. The check comes before the
password is hashed. Keys are hashed: the table tells neither names nor addresses.

A browser from which somebody came in before keeps a signed note of it, so that people who hammer
an account from many places at once do not keep its owner out. The note opens nothing by itself.
"""

import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import IPv4Address, IPv6Network, ip_address

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.utils.crypto import get_random_string, salted_hmac

from studio.shop import clock
from studio.shop.models import LoginBucket


@dataclass(frozen=True)
class Pace:
    tries: int
    refill: timedelta

    def wait(self, rested_at: datetime, now: datetime) -> timedelta:
        """How long one more try has to wait; zero or less when it may come now."""
        return max(rested_at, now) + self.refill - now - self.tries * self.refill

    def emptied(self, now: datetime) -> datetime:
        """When it will be full again if it is empty now. Later: the clock was set back."""
        return now + self.tries * self.refill


PAIR = Pace(5, timedelta(minutes=3))
ADDRESS = Pace(20, timedelta(minutes=1))
ACCOUNT = Pace(100, timedelta(seconds=20))
EVERYBODY = Pace(300, timedelta(seconds=2))
# Three of a million codes are right at a time: so slow, one is guessed in two years of trying.
CODES = Pace(20, timedelta(minutes=3))
MILLISECOND = timedelta(milliseconds=1)
KEPT = timedelta(days=1)
NOTE_KEPT = timedelta(days=365)
# Notes that browsers hold were signed with this name.
SALT = "studio.shop.known_doors"


class TooManyTriesError(Exception):
    """The try was not looked at. ``minutes`` is the wait, rounded up."""

    def __init__(self, wait: timedelta) -> None:
        self.minutes = -(-wait // timedelta(minutes=1))
        super().__init__(f"Wait {self.minutes} min before the next try.")


def address(request: HttpRequest) -> str:
    """Where the request comes from; for IPv6 the /64 network, which one household holds whole.

    ``X-Forwarded-For`` is believed only as far as ``STUDIO_PROXIES`` says how many proxies stand
    in front: each appends the address it was called from.
    """
    origin = request.META.get("REMOTE_ADDR", "")
    if settings.PROXIES:
        hops = request.headers.get("X-Forwarded-For", "").split(",")
        if len(hops) >= settings.PROXIES:
            origin = hops[-settings.PROXIES].strip()
    try:
        ip = ip_address(origin)
    except ValueError:
        return "unknown"
    if isinstance(ip, IPv4Address):
        return str(ip)
    return str(ip.ipv4_mapped or IPv6Network((int(ip), 64), strict=False))


def same_account(typed: str) -> str:
    """One spelling for all that look alike, whatever the case and width of the letters."""
    return unicodedata.normalize("NFKC", typed).casefold()


def code_buckets(typed: str, origin: str, browser: str = "") -> dict[str, Pace]:
    """Likewise for a second factor, which only those try who have the password.

    They are apart from the password's, which each right password fills up again.
    """
    account = same_account(typed)
    named: dict[tuple[str, ...], Pace]
    if browser:
        named = {("code door", account, browser): PAIR}
    else:
        named = {("code pair", account, origin): PAIR, ("code account", account): CODES}
    return _keyed(named)


def buckets(typed: str, origin: str, browser: str = "") -> dict[str, Pace]:
    """The keys that a try from ``origin`` (see ``address``) touches, the narrow one first.

    A known ``browser`` (see ``known_browser``) has one bucket to itself and waits for nobody else.
    """
    account = same_account(typed)
    named: dict[tuple[str, ...], Pace]
    if browser:
        named = {("door", account, browser): PAIR}
    else:
        named = {
            ("pair", account, origin): PAIR,
            ("address", origin): ADDRESS,
            ("account", account): ACCOUNT,
            ("everybody",): EVERYBODY,
        }
    return _keyed(named)


def _keyed(named: dict[tuple[str, ...], Pace]) -> dict[str, Pace]:
    return {
        salted_hmac("studio.shop.doors.throttle", "\n".join(parts)).hexdigest(): pace
        for parts, pace in named.items()
    }


@contextmanager
def one_try(asked: dict[str, Pace]) -> Iterator[None]:
    """What is done inside is one try: ValidationError says that it was a wrong one.

    Raises ValidationError with the wait in words where no more may come now.
    """
    try:
        take(asked)
    except TooManyTriesError as wait:
        minutes = f"{wait.minutes} minutes" if wait.minutes > 1 else "a minute"
        words = f"Too many tries. Wait {minutes}, then try again."
        raise ValidationError(words, code="wait") from wait
    try:
        yield
    except ValidationError:
        judge(asked, given_back=False)
        raise
    except BaseException:
        # The try was cut off before anybody knew whether it was right.
        judge(asked, given_back=True)
        raise
    judge(asked, given_back=True, forgotten=True)


def take(asked: dict[str, Pace]) -> None:
    """Take one try from every bucket, or raise TooManyTriesError and take none."""
    now = clock.now()
    for row in LoginBucket.objects.filter(key__in=asked):
        if row.rested_at > asked[row.key].emptied(now):
            row.rested_at = asked[row.key].emptied(now)
            row.save(update_fields=["rested_at"])
    with transaction.atomic():
        LoginBucket.objects.filter(rested_at__lt=now - KEPT).delete()
        fresh = [LoginBucket(key=key, rested_at=now) for key in sorted(asked)]
        LoginBucket.objects.bulk_create(fresh, ignore_conflicts=True)
        rows = LoginBucket.objects.select_for_update().filter(key__in=asked).order_by("key")
        wait = timedelta(0)
        for row in rows:
            pace = asked[row.key]
            wait = max(wait, pace.wait(row.rested_at, now))
            row.rested_at = max(row.rested_at, now) + pace.refill
            row.unjudged_ms += pace.refill // MILLISECOND
        if wait > timedelta(0):
            raise TooManyTriesError(wait)
        LoginBucket.objects.bulk_update(rows, ["rested_at", "unjudged_ms"])


def judge(asked: dict[str, Pace], *, given_back: bool, forgotten: bool = False) -> None:
    """The try is over, and each bucket may get it back; the narrow one may be forgotten."""
    pair = next(iter(asked))
    with transaction.atomic():
        # All in one order before one is deleted: two windows would wait for each other for ever.
        rows = list(LoginBucket.objects.select_for_update().filter(key__in=asked).order_by("key"))
        for row in rows:
            refill = asked[row.key].refill
            row.unjudged_ms = max(row.unjudged_ms - refill // MILLISECOND, 0)
            if given_back:
                row.rested_at -= refill
        LoginBucket.objects.bulk_update(rows, ["rested_at", "unjudged_ms"])
        if forgotten:
            LoginBucket.objects.filter(key=pair).delete()


def give_back_cut_off() -> None:
    """At a start: tries that the end of the program cut off cost nothing."""
    with transaction.atomic():
        cut_off = LoginBucket.objects.select_for_update().filter(unjudged_ms__gt=0)
        for row in cut_off.order_by("key"):
            row.rested_at -= row.unjudged_ms * MILLISECOND
            row.unjudged_ms = 0
            row.save(update_fields=["rested_at", "unjudged_ms"])


def cookie_name(account: str) -> str:
    return f"door-{salted_hmac(SALT, same_account(account)).hexdigest()[:16]}"


def known_browser(request: HttpRequest, account: str) -> str:
    """What the browser's note for this account says; empty without a note of ours."""
    name = cookie_name(account)
    return request.get_signed_cookie(name, default=None, salt=SALT, max_age=NOTE_KEPT) or ""


def remember_browser(request: HttpRequest, response: HttpResponse, account: str) -> None:
    """Leave a note, or renew the one that is there."""
    response.set_signed_cookie(
        cookie_name(account),
        known_browser(request, account) or get_random_string(22),
        salt=SALT,
        max_age=NOTE_KEPT,
        httponly=True,
        secure=settings.SESSION_COOKIE_SECURE,
        samesite="Lax",
    )
