"""Files that belong to rows: put in the store first, named by their rows in one transaction then.

A store may be slow, and whoever writes keeps others waiting: so nothing is sent to it meanwhile. A
row never names a file that is not there. What lies there without its row in the end, because it was
refused or the store failed, is taken away at once; what a power cut leaves, the doctor sweeps.
"""

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from contextvars import ContextVar
from dataclasses import dataclass, field

from django.core.files.base import ContentFile
from django.db import transaction
from django.db.models.fields.files import FieldFile


class StoreError(OSError):
    """The store does not do what it is asked; the message is a sentence to show."""


@dataclass(frozen=True)
class FilePiece:
    """What a row's ``file`` is to hold, at a path made of ``name``; a small copy lies beside it."""

    file: FieldFile
    name: str
    content: bytes
    small: bytes = b""

    def is_for(self, file: FieldFile, content: bytes) -> bool:
        """Whether any row of that model can name it."""
        return self.file.field == file.field and self.content == content


@dataclass
class _Lying:
    """A piece that lies in the store, and whether a row names it."""

    piece: FilePiece
    path: str
    named: bool = False

    def put(self) -> None:
        self._save(self.path, self.piece.content)
        if self.piece.small:
            self._save(small_of(self.path), self.piece.small)

    def _save(self, path: str, content: bytes) -> None:
        if self.piece.file.storage.save(path, ContentFile(content)) != path:
            raise FileExistsError(f"{path} was taken by another file.")

    def take_away(self) -> None:
        for path in (self.path, small_of(self.path)) if self.piece.small else (self.path,):
            with suppress(OSError):
                self.piece.file.storage.delete(path)


@dataclass
class _Hands:
    """What lies in the store since this transaction, and the ones around it, were begun."""

    outer: "_Hands | None"
    lying: list[_Lying] = field(default_factory=list)

    def holding(self, piece: FilePiece) -> "tuple[_Hands, _Lying] | None":
        for one in self.lying:
            if not one.named and one.piece.is_for(piece.file, piece.content):
                return self, one
        return self.outer.holding(piece) if self.outer else None

    def put(self, piece: FilePiece) -> None:
        storage, kind = piece.file.storage, piece.file.field
        path = kind.generate_filename(piece.file.instance, piece.name)
        self.lying.append(_Lying(piece, storage.get_available_name(path, kind.max_length)))
        self.lying[-1].put()

    def name(self, piece: FilePiece) -> str:
        if (held := self.holding(piece)) is None:
            self.put(piece)
            return self.name(piece)
        hands, one = held
        hands.lying.remove(one)
        self.lying.append(one)
        one.named = True
        return one.path


_hands: ContextVar[_Hands | None] = ContextVar("hands", default=None)


@contextmanager
def atomic_with_files(*pieces: FilePiece) -> Iterator[None]:
    """``transaction.atomic``, inside of which ``save_with_file`` may be called.

    ``pieces`` are put in the store before it begins; one that an outer of these holds is there.
    """
    hands = _Hands(outer := _hands.get())
    token = _hands.set(hands)
    try:
        for piece in pieces:
            if not (outer and outer.holding(piece)):
                hands.put(piece)
        with transaction.atomic():
            yield
    except BaseException:
        for one in hands.lying:
            one.take_away()
        raise
    finally:
        _hands.reset(token)
    if outer:
        outer.lying += hands.lying
    else:
        for one in hands.lying:
            if not one.named:
                one.take_away()


def save_with_file(piece: FilePiece) -> None:
    """Save the row of the piece's ``file``, which names the piece that was put in the store.

    One that was not put there before is put now, while others wait: for a few small ones only.
    Raises RuntimeError outside of ``atomic_with_files``.
    """
    hands = _hands.get()
    if hands is None:
        raise RuntimeError("A file is written only inside the transaction of its row.")
    setattr(piece.file.instance, piece.file.field.name, hands.name(piece))
    piece.file.instance.save()


SMALL = ".small."


def small_of(path: str) -> str:
    """Where the small copy of the file at ``path`` lies, beside it."""
    return f"{path.rpartition('.')[0]}{SMALL}jpg"


def whole_of(path: str) -> str:
    """The file that the one at ``path`` is a small copy of; else ``path`` itself."""
    stem, small, ending = path.rpartition(SMALL)
    return f"{stem}.{ending}" if small else path
