"""Sketches, photographs and swatches: redrawn by their form field, then kept and shown."""

from typing import Any
from uuid import UUID, uuid4

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.http import FileResponse, Http404

from jobs.makes.models import Picture
from studio.shop.pictures import FreshPicture, PictureError, redraw
from studio.shop.stored_files import save_with_file

PNG = b"\x89PNG\r\n\x1a\n"  # how each PNG file begins (PNG specification, 5.2)
MOST_DRAWN_BYTES = 2 * 1024 * 1024


class PictureField(forms.FileField):
    """A photograph, cleaned to one that is ``FreshPicture``; an empty optional one to None.

    With ``camera`` a phone opens its camera at once, else it also offers the pictures it holds.
    """

    def __init__(self, *, camera: bool = False, **kwargs: Any) -> None:
        attrs = {"accept": "image/*"} | ({"capture": "environment"} if camera else {})
        super().__init__(widget=forms.FileInput(attrs=attrs), **kwargs)
        self.error_messages["empty"] = "This file is empty. Take the photograph again."

    def clean(self, data: Any, initial: Any = None) -> FreshPicture | None:
        upload = super().clean(data, initial)
        if not upload:
            return None
        try:
            return self.redrawn(upload)
        except PictureError as wrong:
            raise ValidationError(str(wrong), code="picture") from wrong

    def redrawn(self, upload: "UploadedFile[bytes]") -> FreshPicture:
        return redraw(upload)


class SketchField(PictureField):
    """What was drawn on the page: a PNG as the browser makes it, of a drawing's size."""

    def redrawn(self, upload: "UploadedFile[bytes]") -> FreshPicture:
        upload.seek(0)
        if (upload.size or 0) > MOST_DRAWN_BYTES or upload.read(len(PNG)) != PNG:
            raise PictureError("This drawing cannot be kept. Draw it again, or photograph it.")
        return redraw(upload)


def keep(redrawn: FreshPicture, *, drawn: bool = False, key: UUID | None = None) -> Picture:
    """Store a picture; giving it to something is the caller's. ``key`` becomes its file's name.

    To be called inside of ``atomic_with_files``.
    """
    picture = Picture(width=redrawn.width, height=redrawn.height, drawn=drawn)
    save_with_file(picture.file, f"{(key or uuid4()).hex}.jpg", redrawn.jpeg)
    return picture


def show(picture: Picture) -> FileResponse:
    """The picture itself, for whoever is logged in. Raises Http404 where its file is gone."""
    try:
        file = picture.file.open("rb")
    except FileNotFoundError:
        raise Http404 from None
    response = FileResponse(file, content_type="image/jpeg")
    response.headers["Cache-Control"] = "private, max-age=86400, immutable"
    return response
