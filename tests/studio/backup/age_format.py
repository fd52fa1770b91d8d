"""A small text locked with a passphrase, by the words of age-encryption.org/v1 alone.

Written from the specification (C2SP, age.md), so that what the program reads is checked against
another account of the format. The stretching is the least that is allowed: tests are no secret.
"""

import hashlib
import hmac
from base64 import b64encode

from Crypto.Cipher import ChaCha20_Poly1305

LEAST_WORK = 4


def _b64(raw: bytes) -> str:
    return b64encode(raw).decode().rstrip("=")


def _hkdf(key: bytes, salt: bytes, info: bytes) -> bytes:
    """RFC 5869 with SHA-256, 32 bytes."""
    extracted = hmac.digest(salt or bytes(32), key, "sha256")
    return hmac.digest(extracted, info + b"\x01", "sha256")


def _sealed(key: bytes, nonce: bytes, text: bytes) -> bytes:
    cipher = ChaCha20_Poly1305.new(key=key, nonce=nonce)
    body, tag = cipher.encrypt_and_digest(text)
    return body + tag


def locked(text: bytes, passphrase: str) -> bytes:
    """Of less than 64 KiB, so that it is one piece, which is also the last."""
    file_key, salt, nonce = bytes(range(16)), bytes(range(16, 32)), bytes(range(32, 48))
    stretched = hashlib.scrypt(
        passphrase.encode(), salt=b"age-encryption.org/v1/scrypt" + salt,
        n=2**LEAST_WORK, r=8, p=1, dklen=32,
    )  # fmt: skip
    wrapped = _b64(_sealed(stretched, bytes(12), file_key))
    header = f"age-encryption.org/v1\n-> scrypt {_b64(salt)} {LEAST_WORK}\n{wrapped}\n---".encode()
    mac = hmac.digest(_hkdf(file_key, b"", b"header"), header, "sha256")
    payload = _sealed(_hkdf(file_key, nonce, b"payload"), bytes(11) + b"\x01", text)
    return header + b" " + _b64(mac).encode() + b"\n" + nonce + payload
