"""What is done to a login's second factor: one function, one transaction each.

As of passwords, only the step is written down, what a row holds is nobody's to read, and what is
to be hashed is hashed before the writing.
"""

from django.db import transaction

from studio.shop import clock, verbs
from studio.shop.actions import the_studio
from studio.shop.doors import second
from studio.shop.doors.passkeys import CopiedError, NewKey
from studio.shop.history import Verb, note
from studio.shop.models import CodeApp, Passkey, RecoveryCode, User

APP = "a code app"


class CodeError(ValueError):
    """The code opens nothing; the message says why."""


def add_app(*, user: User, secret: str, step: int) -> list[str]:
    """An app that has told the code of ``step``. The new recovery codes, where it is the first."""
    fresh = _FreshCodes(user)
    with transaction.atomic():
        first = not second.factors_of(user).on
        CodeApp.objects.create(
            user=user, secret=second.lock(secret), last_step=step, added_at=clock.now()
        )
        _told(verbs.FACTOR_ADDED, user, by=user, what=APP)
        return fresh.write() if first else []


def add_passkey(*, user: User, name: str, host: str, key: NewKey) -> list[str]:
    """Likewise. Sent twice it is one."""
    fresh = _FreshCodes(user)
    with transaction.atomic():
        first = not second.factors_of(user).on
        facts = {"user": user, "name": name, "host": host, "credential": key.credential}
        _row, made = Passkey.objects.get_or_create(
            handle=key.handle,
            defaults={**facts, "counter": key.counter, "added_at": clock.now()},
        )
        if made:
            _told(verbs.FACTOR_ADDED, user, by=user, what=f"the passkey “{name}”")
        return fresh.write() if made and first else []


def make_codes(*, user: User) -> list[str]:
    """New recovery codes; those of before open nothing any more."""
    fresh = _FreshCodes(user)
    with transaction.atomic():
        _told(verbs.CODES_MADE, user, by=user)
        return fresh.write()


class _FreshCodes:
    """New recovery codes, hashed and not written yet."""

    def __init__(self, user: User) -> None:
        self._user, self._codes = user, second.new_codes()
        self._rows = [
            RecoveryCode(user=user, digest=second.digest_of(code, user)) for code in self._codes
        ]

    def write(self) -> list[str]:
        RecoveryCode.objects.filter(user=self._user).delete()
        RecoveryCode.objects.bulk_create(self._rows)
        return self._codes


def remove_app(*, user: User) -> None:
    with transaction.atomic():
        if CodeApp.objects.filter(user=user).delete()[0]:
            _told(verbs.FACTOR_REMOVED, user, by=user, what=APP)
        _sweep_codes(user)


def remove_passkey(*, passkey: Passkey) -> None:
    user = passkey.user
    with transaction.atomic():
        if Passkey.objects.filter(pk=passkey.pk).delete()[0]:
            _told(verbs.FACTOR_REMOVED, user, by=user, what=f"the passkey “{passkey.name}”")
        _sweep_codes(user)


def remove_second_factor(*, person: User, by: User | None) -> bool:
    """All of it, so that the password alone opens; whether there was any."""
    with transaction.atomic():
        gone = CodeApp.objects.filter(user=person).delete()[0]
        gone += Passkey.objects.filter(user=person).delete()[0]
        if gone:
            _told(verbs.FACTOR_REMOVED, person, by=by, what="a second factor")
        _sweep_codes(person)
    return bool(gone)


def _sweep_codes(user: User) -> None:
    """Codes are the way back to a factor, and never the only one."""
    if not second.factors_of(user).on:
        RecoveryCode.objects.filter(user=user).delete()


def use_code(*, user: User, code: str) -> None:
    """Take the code of the app, or one from paper. Raises CodeError; each opens once."""
    digits = second.only_digits(code)
    if len(digits) == second.PAPER_DIGITS:
        _use_paper_code(user, digits)
    else:
        _use_app_code(user, digits)


def _use_paper_code(user: User, code: str) -> None:
    codes = RecoveryCode.objects.filter(user=user)
    digest = second.digest_of(code, user)
    with transaction.atomic():
        mine = codes.filter(digest=digest)
        if mine.filter(used_at=None).update(used_at=clock.now()):
            left = codes.filter(used_at=None).count()
            _told(verbs.CODE_USED, user, by=user, left=left)
            return
        used = mine.exists()
    raise CodeError("That code was used already: cross it out." if used else WRONG)


WRONG = "That code opens nothing. Is it the newest of your app?"
USED = "That code was used already. Wait for the next one."
LOCKED = "The secret key of the studio is another now, so codes of your app cannot be checked. "
LOCKED += "Take a code from your paper, then set up the app anew."


def _use_app_code(user: User, code: str) -> None:
    with transaction.atomic():
        app = CodeApp.objects.select_for_update().filter(user=user).first()
        refusal = _refusal(app, code) if app else WRONG
    if refusal:
        raise CodeError(refusal)


def _refusal(app: CodeApp, code: str) -> str:
    """Why the code is not taken; empty when it is. What clocks differ by is kept for the doctor."""
    now = clock.now()
    try:
        step = second.step_of(second.unlock(app.secret), code, now, drift=second.SEEN)
    except second.LockedError:
        return LOCKED
    if step is None:
        return WRONG
    here = int(now.timestamp()) // second.STEP
    app.off_by = step - here
    # A last step that lies ahead of all that is taken now was told before a clock was set back.
    if abs(app.off_by) > second.DRIFT:
        refusal = WRONG
    elif step <= app.last_step <= here + second.DRIFT:
        return USED
    else:
        app.last_step, refusal = step, ""
    app.save(update_fields=["off_by", "last_step"])
    return refusal


def use_passkey(*, passkey: Passkey, counter: int) -> None:
    """The key has signed. Raises CopiedError where another has with the same count meanwhile."""
    counted = Passkey.objects.filter(pk=passkey.pk, counter=passkey.counter)
    if not counted.update(counter=counter, used_at=clock.now()):
        raise CopiedError(passkey)


def doubt_passkey(*, passkey: Passkey) -> None:
    """A key that counted less than before is refused, and the owner reads of it."""
    _told(verbs.PASSKEY_DOUBTED, passkey.user, by=None, key=passkey.name)


def _told(verb: Verb, person: User, *, by: User | None, **facts: object) -> None:
    note(verb, about=the_studio(), by=by, name=person.shown_name, **facts)
