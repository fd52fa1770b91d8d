"""Uploaded pictures are never kept as they came: they are checked, turned and drawn anew."""

import io
import warnings
from dataclasses import dataclass
from typing import IO

from django.core.files.uploadedfile import UploadedFile
from PIL import Image, ImageOps, UnidentifiedImageError

FORMATS = ("JPEG", "PNG", "WEBP")
MOST_BYTES = 25 * 1024 * 1024
MOST_PIXELS = 50_000_000
TOO_MANY_PIXELS = (
    f"This picture has over {MOST_PIXELS // 1_000_000} million pixels. Send a smaller one."
)
LONGEST_SIDE = 1600
KEPT_BYTES = 300 * 1000


class PictureError(ValueError):
    """The upload is no picture we can keep; the message says what would be."""


@dataclass(frozen=True)
class Picture:
    """A fresh JPEG of at most ``KEPT_BYTES``, without the camera's notes on place and time."""

    jpeg: bytes
    width: int
    height: int


def redraw(upload: UploadedFile) -> Picture:
    """Check an upload and draw it anew.

    The size in pixels is read from the header before anything is decoded. Raises PictureError.
    """
    if not upload.size:
        raise PictureError("This file is empty. Take the photograph again.")
    if upload.size > MOST_BYTES:
        raise PictureError("This picture is over 25 MB. Send a smaller one.")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            image = _open(upload)
            image = ImageOps.exif_transpose(image)
            return _shrink(on_white(image))
    except PictureError:
        raise
    except Image.DecompressionBombError:
        raise PictureError(TOO_MANY_PIXELS) from None
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError):
        raise PictureError(
            "This is no picture that can be read. Send a JPEG, PNG or WebP."
        ) from None


def shrunk(file: IO[bytes], side: int) -> bytes:
    """A kept JPEG, drawn small enough for paper: no side is over ``side`` pixels."""
    image = Image.open(file, formats=["JPEG"])
    # Decoded at a fraction of its size, which is quick.
    image.draft("RGB", (side, side))
    image.thumbnail((side, side))
    small = io.BytesIO()
    image.convert("RGB").save(small, "JPEG", quality=80)
    return small.getvalue()


def _open(upload: UploadedFile) -> Image.Image:
    upload.seek(0)
    image = Image.open(upload, formats=FORMATS)
    width, height = image.size
    if width * height > MOST_PIXELS:
        raise PictureError(TOO_MANY_PIXELS)
    # A JPEG can be decoded at a fraction of its size, which keeps a large photograph cheap.
    image.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
    image.load()
    return image


def on_white(image: Image.Image) -> Image.Image:
    """New pixels only: no profile, no notes, no transparency."""
    rgba = image.convert("RGBA")
    sheet = Image.new("RGB", rgba.size, "white")
    sheet.paste(rgba, mask=rgba.getchannel("A"))
    return sheet


def _shrink(image: Image.Image) -> Picture:
    image.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    for quality in (82, 70, 55, 40):
        jpeg = io.BytesIO()
        image.save(jpeg, "JPEG", quality=quality, optimize=True)
        if jpeg.tell() <= KEPT_BYTES:
            return Picture(jpeg.getvalue(), *image.size)
    image.thumbnail((image.width * 2 // 3, image.height * 2 // 3))
    return _shrink(image)
