"""Sketches, photographs and swatches: redrawn by their form field, then kept and shown."""

import io
from collections.abc import Callable
from dataclasses import replace
from functools import wraps
from typing import IO, Any, ParamSpec, TypeVar
from uuid import uuid4

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile, File
from django.core.files.uploadedfile import UploadedFile
from django.http import FileResponse, Http404

from jobs.makes.models import LONGEST_SMALL, Picture
from studio.shop.pictures import ACCEPTED, FreshPicture, PictureError, redraw, shrunk
from studio.shop.stored.files import FilePiece, atomic_with_files, save_with_file

Asked = ParamSpec("Asked")
Done = TypeVar("Done")

PNG = b"\x89PNG\r\n\x1a\n"  # how each PNG file begins (PNG specification, 5.2)
MOST_DRAWN_BYTES = 8 * 1024 * 1024
MOST_AT_ONCE = 40
MOST_SMALL_BYTES = 20_000
"""A wall of 200 ideas names 74 small pictures at once: together they stay below 1.5 MB."""


class PictureField(forms.FileField):
    """A photograph, cleaned to one that is ``FreshPicture``; an empty optional one to None.

    It is drawn anew once: a card is checked again while nobody else can write, see ``edit_card``.
    With ``camera`` a phone opens its camera at once, else it also offers the pictures it holds.
    """

    def __init__(self, *, camera: bool = False, **kwargs: Any) -> None:
        attrs = {"accept": ACCEPTED} | ({"capture": "environment"} if camera else {})
        super().__init__(widget=forms.FileInput(attrs=attrs), **kwargs)
        self.error_messages["empty"] = "This file is empty. Take the photograph again."

    def clean(self, data: Any, initial: Any = None) -> FreshPicture | None:
        upload = super().clean(data, initial)
        if not upload:
            return None
        if not hasattr(upload, "drawn_anew"):
            try:
                picture = self.redrawn(upload)
                small = _small(io.BytesIO(picture.jpeg))
                upload.drawn_anew = replace(picture, small=small)
            except PictureError as wrong:
                upload.drawn_anew = wrong
        drawn: FreshPicture | PictureError = upload.drawn_anew
        if isinstance(drawn, PictureError):
            raise ValidationError(str(drawn), code="picture") from drawn
        return drawn

    def redrawn(self, upload: "UploadedFile[bytes]") -> FreshPicture:
        return redraw(upload)

    def pieces(self, read: "FreshPicture | list[FreshPicture] | None") -> list[FilePiece]:
        return pieces_of(read)


class ManyFiles(forms.FileInput):
    allow_multiple_selected = True


class PicturesField(PictureField):
    """Several photographs at once, cleaned to a list of ``FreshPicture``."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.widget = ManyFiles(attrs={"accept": ACCEPTED, "multiple": True})

    def clean(self, data: Any, initial: Any = None) -> list[FreshPicture]:  # type: ignore[override]
        files = data if isinstance(data, (list, tuple)) else [data]
        files = [file for file in files if file]
        if len(files) > MOST_AT_ONCE:
            raise ValidationError(f"Send at most {MOST_AT_ONCE} pictures at once.")
        redrawn = (super(PicturesField, self).clean(file, initial) for file in files)
        return [picture for picture in redrawn if picture]


class SketchField(PictureField):
    """What was drawn on the page: a PNG as the browser makes it, of a drawing's size."""

    def redrawn(self, upload: "UploadedFile[bytes]") -> FreshPicture:
        upload.seek(0)
        if (upload.size or 0) > MOST_DRAWN_BYTES or upload.read(len(PNG)) != PNG:
            raise PictureError("This drawing cannot be kept. Draw it again, or photograph it.")
        return redraw(upload)


def with_pictures(act: Callable[Asked, Done]) -> Callable[Asked, Done]:
    """An action in one transaction; pictures that it is given are in the store before it begins."""

    @wraps(act)
    def acting(*args: Asked.args, **given: Asked.kwargs) -> Done:
        with atomic_with_files(*(piece for value in given.values() for piece in pieces_of(value))):
            return act(*args, **given)

    return acting


def pieces_of(value: Any) -> list[FilePiece]:
    """Of a fresh picture, or of each in a list; of anything else none."""
    fresh = value if isinstance(value, (list, tuple)) else [value]
    return [_piece(Picture(), one) for one in fresh if isinstance(one, FreshPicture)]


def _piece(picture: Picture, redrawn: FreshPicture) -> FilePiece:
    small = redrawn.small or _small(io.BytesIO(redrawn.jpeg))
    return FilePiece(picture.file, f"{uuid4().hex}.jpg", redrawn.jpeg, small)


def keep(redrawn: FreshPicture, *, drawn: bool = False, step: str = "") -> Picture:
    """Store a picture and its small copy; giving it to something is the caller's.

    ``step`` is what it shows of a make. To be called in an action that is ``with_pictures``.
    """
    picture = Picture(width=redrawn.width, height=redrawn.height, drawn=drawn, step=step)
    save_with_file(_piece(picture, redrawn))
    return picture


def show(picture: Picture) -> FileResponse:
    """The picture itself, for whoever is logged in. Raises Http404 where its file is gone."""
    return _private(_open(picture))


def show_small(picture: Picture) -> FileResponse:
    """Its small copy, made now where there is none yet. Raises Http404 where the file is gone."""
    storage = picture.file.storage
    try:
        return _private(storage.open(picture.small_file))
    except FileNotFoundError:
        with _open(picture) as file:
            small = _small(file)
    storage.save(picture.small_file, ContentFile(small))
    return _private(io.BytesIO(small))


def _small(file: IO[bytes]) -> bytes:
    return shrunk(file, LONGEST_SMALL, MOST_SMALL_BYTES)


def _open(picture: Picture) -> "File[bytes]":
    try:
        return picture.file.open("rb")
    except FileNotFoundError:
        raise Http404 from None


def _private(file: "IO[bytes] | File[bytes]") -> FileResponse:
    """A picture never changes, so a browser may keep it for a year; nobody between may."""
    response = FileResponse(file, content_type="image/jpeg")
    response.headers["Cache-Control"] = "private, max-age=31536000, immutable"
    return response
