"""Passkeys (W3C WebAuthn, level 2), checked by ``fido2``: keys that a phone or a stick keeps.

A browser makes and uses them only over HTTPS or on ``localhost``, and never under a bare number.
Each belongs to the name of the host under which it was made. What a browser is asked for waits in
its session and is answered once. Which make of key it is nobody asks (no attestation).
"""

import json
from collections.abc import Iterable
from dataclasses import dataclass
from ipaddress import ip_address
from typing import TYPE_CHECKING, Any

from django.http import HttpRequest
from django.utils.crypto import salted_hmac

from studio.shop.models import Passkey, Profile, User

if TYPE_CHECKING:
    from fido2.server import Fido2Server

ASKED = "passkey-asked"
WRONG = (ValueError, KeyError, TypeError, AttributeError, AssertionError, IndexError)
"""What the library raises over an answer that is forged, or is none."""


class PasskeyError(ValueError):
    """The browser's answer is not what was asked for."""


class CopiedError(PasskeyError):
    """The key has counted less than before, so that there may be two of it."""

    def __init__(self, passkey: Passkey) -> None:
        self.passkey = passkey
        super().__init__()


@dataclass(frozen=True)
class NewKey:
    handle: str
    credential: str
    counter: int


def host_of(request: HttpRequest) -> str:
    return request.get_host().rpartition("]")[2].partition(":")[0]


def possible(request: HttpRequest) -> bool:
    """Whether a browser would make and use passkeys here."""
    host = host_of(request)
    try:
        ip_address(host)
    except ValueError:
        return bool(host) and (request.is_secure() or host == "localhost")
    return False


def here(request: HttpRequest, passkeys: Iterable[Passkey]) -> list[Passkey]:
    """Those that work under the name by which the studio is asked now."""
    return [key for key in passkeys if possible(request) and key.host == host_of(request)]


def ask_for_new(request: HttpRequest, user: User, studio: Profile) -> str:
    """What the browser is to make, as JSON."""
    from fido2.webauthn import PublicKeyCredentialUserEntity  # noqa: PLC0415 -- see ``_server``

    known = [_credential(key) for key in here(request, Passkey.objects.filter(user=user))]
    options, state = _server(request, studio).register_begin(
        PublicKeyCredentialUserEntity(
            id=salted_hmac("studio.shop.doors.passkeys", str(user.pk)).digest(),
            name=user.get_username(),
            display_name=user.shown_name,
        ),
        known,
    )
    return _asked(request, options, state)


def read_new(request: HttpRequest, studio: Profile, answer: str) -> NewKey:
    """The key that was made. Raises PasskeyError."""
    from fido2.utils import websafe_encode  # noqa: PLC0415 -- see ``_server``

    state = request.session.pop(ASKED, None)
    try:
        made = _server(request, studio).register_complete(state, json.loads(answer))
    except WRONG as error:
        raise PasskeyError from error
    credential = made.credential_data
    if credential is None:
        raise PasskeyError
    handle = websafe_encode(credential.credential_id)
    return NewKey(handle, websafe_encode(bytes(credential)), made.counter)


def ask(request: HttpRequest, studio: Profile, passkeys: Iterable[Passkey]) -> str:
    """What the browser is to sign with one of these, as JSON; empty where none works here."""
    keys = [_credential(key) for key in here(request, passkeys)]
    if not keys:
        return ""
    return _asked(request, *_server(request, studio).authenticate_begin(keys))


def read(
    request: HttpRequest, studio: Profile, passkeys: Iterable[Passkey], answer: str
) -> tuple[Passkey, int]:
    """The key that signed, and what it has counted. Raises PasskeyError, CopiedError.

    A key that counts has to have counted on (WebAuthn 7.2, step 21); many always say 0.
    """
    from fido2.webauthn import AuthenticationResponse, AuthenticatorData  # noqa: PLC0415

    state = request.session.pop(ASKED, None)
    keys = {key.handle: key for key in here(request, passkeys)}
    try:
        facts = json.loads(answer)
        credentials = [_credential(key) for key in keys.values()]
        _server(request, studio).authenticate_complete(state, credentials, facts)
        signed = AuthenticationResponse.from_dict(facts)
        data: AuthenticatorData = signed.response.authenticator_data
        key = keys[_handle(signed.raw_id)]
    except WRONG as error:
        raise PasskeyError from error
    if (data.counter or key.counter) and data.counter <= key.counter:
        raise CopiedError(key)
    return key, data.counter


def _handle(raw: bytes) -> str:
    from fido2.utils import websafe_encode  # noqa: PLC0415

    return str(websafe_encode(raw))


def _credential(key: Passkey) -> Any:
    from fido2.utils import websafe_decode  # noqa: PLC0415
    from fido2.webauthn import AttestedCredentialData  # noqa: PLC0415

    return AttestedCredentialData(websafe_decode(key.credential))


def _server(request: HttpRequest, studio: Profile) -> "Fido2Server":
    # Few requests need it, and it loads OpenSSL and a list of all public domains.
    from fido2.server import Fido2Server  # noqa: PLC0415
    from fido2.webauthn import PublicKeyCredentialRpEntity  # noqa: PLC0415

    origin = f"{request.scheme}://{request.get_host()}"
    return Fido2Server(
        PublicKeyCredentialRpEntity(id=host_of(request), name=studio.name),
        verify_origin=lambda said: said == origin,
    )


def _asked(request: HttpRequest, options: Any, state: Any) -> str:
    request.session[ASKED] = state
    return json.dumps(dict(options))
