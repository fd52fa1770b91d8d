"""A key locked with a passphrase, in the format of age: the one part that is written here.

``pyrage`` chooses by the machine's pace how much memory the stretching of a passphrase takes, which
was half a gigabyte here, and lets nobody choose otherwise. The format does: 128 MB (N = 2^17,
r = 8, p = 1) is what the OWASP Password Storage Cheat Sheet asks of scrypt. What is written here
is opened by ``pyrage`` and by any other program for the format (C2SP, age.md).
"""

import hashlib
import os
from base64 import b64encode

from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.hmac import HMAC
from cryptography.hazmat.primitives.kdf.hkdf import HKDF

WORK = 17
MOST_BYTES = 64 * 1024  # one piece, which is also the last


def lock_with_passphrase(text: bytes, passphrase: str) -> bytes:
    """The file of age that holds ``text``. Takes 128 MB while it works.

    Raises ValueError where the text is longer than one piece of the format.
    """
    if len(text) > MOST_BYTES:
        raise ValueError("A key is short.")
    file_key, salt, nonce = os.urandom(16), os.urandom(16), os.urandom(16)
    stretched = hashlib.scrypt(
        passphrase.encode(), salt=b"age-encryption.org/v1/scrypt" + salt,
        n=2**WORK, r=8, p=1, dklen=32, maxmem=2 ** (WORK + 11),
    )  # fmt: skip
    wrapped = _letters(ChaCha20Poly1305(stretched).encrypt(bytes(12), file_key, None))
    header = f"age-encryption.org/v1\n-> scrypt {_letters(salt)} {WORK}\n{wrapped}\n---".encode()
    seal = HMAC(_derived(file_key, b"", b"header"), SHA256())
    seal.update(header)
    last_piece = bytes(11) + b"\x01"
    payload = ChaCha20Poly1305(_derived(file_key, nonce, b"payload"))
    return b"".join([
        header, b" ", _letters(seal.finalize()).encode(), b"\n",
        nonce, payload.encrypt(last_piece, text, None),
    ])  # fmt: skip


def _letters(raw: bytes) -> str:
    return b64encode(raw).decode().rstrip("=")


def _derived(key: bytes, salt: bytes, what: bytes) -> bytes:
    return HKDF(SHA256(), 32, salt, what).derive(key)
