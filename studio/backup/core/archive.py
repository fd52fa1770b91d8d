"""One sealed file: a ZIP archive whose comment is the SHA-256 of every byte before it.

A ZIP archive, because every computer opens one without this program, and because one paper can be
taken out of it without reading the rest. Its own checksums do not cover what it says of its
entries (names, moments, places); the seal covers all, so that one flipped bit anywhere is found.

Locked with a passphrase it is a sealed archive of three entries: a text that says what this is, the
studio's key locked with the passphrase, and the archive locked with that key, both in the format of
age (age-encryption.org/v1), which any program for it opens. Keys are made once, and the passphrase
is kept nowhere.
"""

import hashlib
import os
import shutil
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path, PurePosixPath
from typing import IO, BinaryIO, Protocol, cast

import pyrage

from studio.backup.core.manifest import BackupError, Manifest

MANIFEST = "manifest.json"
KEY, LOCKED, WORDS = "key.age", "studio.zip.age", "README.txt"
SEAL = b"sha256:"
PIECE = 1024 * 1024
DIGITS = 64
NO_DAY = (1980, 1, 1, 0, 0, 0)
HOW_TO_OPEN = """This is a locked copy of a sewing studio. The program opens it by

    manage.py restore THIS-FILE

and asks for the passphrase. Any program for the age format (age-encryption.org/v1) opens it too:

    age -d key.age > key.txt            (asks for the passphrase)
    age -d -i key.txt studio.zip.age > studio.zip
"""


class Readable(Protocol):
    def read(self, size: int, /) -> bytes: ...


def new_file(path: Path) -> BinaryIO:
    """A new file that only its owner may read. Raises FileExistsError."""
    return os.fdopen(os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600), "w+b")


@contextmanager
def sealed_zip(path: Path) -> Iterator[zipfile.ZipFile]:
    """A new ZIP archive at ``path``, sealed and on the disk when the block ends."""
    with new_file(path) as file:
        with zipfile.ZipFile(file, "w") as archive:
            yield archive
            archive.comment = SEAL + b"0" * DIGITS
        file.seek(0, os.SEEK_END)
        end = file.tell() - DIGITS
        file.seek(0)
        seal = digest(file, end).encode()
        file.seek(end)
        file.write(seal)
        file.flush()
        os.fsync(file.fileno())


def digest(file: Readable, size: int | None = None) -> str:
    """The SHA-256 of what comes next, of ``size`` bytes or up to the end."""
    total, left = hashlib.sha256(), size
    while piece := file.read(PIECE if left is None else min(PIECE, left)):
        total.update(piece)
        if left is not None:
            left -= len(piece)
    return total.hexdigest()


def digest_of(path: Path) -> str:
    with path.open("rb") as file:
        return digest(file)


def add(archive: zipfile.ZipFile, name: str, source: IO[bytes], *, packed: bool = False) -> str:
    """Write ``source`` into the archive, a piece at a time; gives its SHA-256."""
    entry = zipfile.ZipInfo(name, NO_DAY)
    entry.external_attr = 0o600 << 16
    entry.compress_type = zipfile.ZIP_STORED if packed else zipfile.ZIP_DEFLATED
    total = hashlib.sha256()
    with archive.open(entry, "w", force_zip64=True) as target:
        while piece := source.read(PIECE):
            total.update(piece)
            target.write(piece)
    return total.hexdigest()


def add_text(archive: zipfile.ZipFile, name: str, text: str) -> None:
    entry = zipfile.ZipInfo(name, NO_DAY)
    entry.external_attr = 0o600 << 16
    archive.writestr(entry, text.encode(), zipfile.ZIP_DEFLATED)


def check_seal(path: Path) -> None:
    """Raises BackupError where any bit of the file is another than when it was sealed."""
    size = path.stat().st_size
    with path.open("rb") as file:
        end = size - DIGITS
        seal = b""
        if end > len(SEAL):
            file.seek(end - len(SEAL))
            seal = file.read()
            file.seek(0)
        if not seal.startswith(SEAL):
            raise BackupError("The file is not a whole copy: its end is missing.")
        if digest(file, end).encode() != seal[len(SEAL) :]:
            raise BackupError("The file is damaged: it is not as it was when it was sealed.")


def lock(plain: Path, locked: Path, *, key: str, recipient: str) -> None:
    """Write the archive ``plain`` locked; ``key`` is the locked key that goes with it."""
    with sealed_zip(locked) as archive, plain.open("rb") as source:
        add_text(archive, WORDS, HOW_TO_OPEN)
        archive.writestr(zipfile.ZipInfo(KEY, NO_DAY), bytes.fromhex(key))
        with archive.open(zipfile.ZipInfo(LOCKED, NO_DAY), "w", force_zip64=True) as target:
            to = pyrage.x25519.Recipient.from_str(recipient)
            pyrage.encrypt_io(source, target, [to])


def is_locked(path: Path) -> bool:
    with open_zip(path) as archive:
        return LOCKED in archive.namelist()


def unlock(locked: Path, plain: Path, *, identity: str = "", passphrase: str = "") -> None:
    """Write the open archive at ``plain``. Raises BackupError where neither key opens it."""
    with open_zip(locked) as archive:
        if passphrase:
            identity = open_key(archive.read(KEY), passphrase)
        if not identity:
            raise BackupError("This copy is locked: it needs its passphrase.")
        with archive.open(LOCKED) as source, new_file(plain) as target:
            try:
                own = pyrage.x25519.Identity.from_str(identity)
                pyrage.decrypt_io(source, target, [own])
            except (pyrage.DecryptError, OSError) as error:
                if getattr(error, "errno", None) is not None:
                    raise  # the disk's own trouble, such as no room
                raise BackupError("This copy is locked with another passphrase.") from error


def new_key(passphrase: str) -> tuple[str, str, str]:
    """A new identity, its recipient, and the identity locked with the passphrase, as hex digits.

    The passphrase is stretched by scrypt: half a second, and 128 MB.
    """
    # It brings a library along that only whoever sets a passphrase needs.
    from studio.backup.core.age_key import lock_with_passphrase  # noqa: PLC0415

    identity = pyrage.x25519.Identity.generate()
    locked = lock_with_passphrase(str(identity).encode(), passphrase)
    return str(identity), str(identity.to_public()), locked.hex()


def open_key(locked: bytes, passphrase: str) -> str:
    try:
        return cast("bytes", pyrage.passphrase.decrypt(locked, passphrase)).decode().strip()
    except pyrage.DecryptError as error:
        raise BackupError("The passphrase is wrong.") from error


@contextmanager
def open_zip(path: Path) -> Iterator[zipfile.ZipFile]:
    try:
        with zipfile.ZipFile(path) as archive:
            yield archive
    except (zipfile.BadZipFile, KeyError, NotImplementedError, EOFError) as error:
        raise BackupError("The file is damaged: it is no copy that can be read.") from error


def manifest_of(archive: zipfile.ZipFile) -> Manifest:
    return Manifest.from_json(archive.read(MANIFEST))


def unpack(archive: zipfile.ZipFile, folder: Path, wanted: tuple[str, ...] = ("",)) -> Manifest:
    """Read every entry and compare it with what the manifest says; gives the manifest.

    Entries that begin with one of ``wanted`` are written into ``folder``. Raises BackupError.
    """
    manifest = manifest_of(archive)
    names = set(archive.namelist()) - {MANIFEST}
    if names != manifest.files.keys():
        odd = sorted(names ^ manifest.files.keys())
        raise BackupError(f"The copy does not hold what it says: {', '.join(odd[:3])}.")
    for name, kept in manifest.files.items():
        parts = PurePosixPath(name)
        if parts.is_absolute() or ".." in parts.parts:
            raise BackupError(f"The copy names a file outside of the studio: {name}.")
        with archive.open(name) as source:
            if name.startswith(wanted):
                target = folder / name
                target.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
                with new_file(target) as file:
                    shutil.copyfileobj(source, file, PIECE)
                    file.seek(0)
                    found = digest(file)
            else:
                found = digest(source)
        if found != kept:
            raise BackupError(f"{name} in the copy is another than it was.")
    return manifest
