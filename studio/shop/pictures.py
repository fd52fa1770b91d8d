"""Uploaded pictures are never kept as they came: they are checked, turned and drawn anew.

So is ink from the glass, which a browser sends as a ``data:`` address (RFC 2397) of a PNG.
"""

import io
import warnings
from base64 import b64decode
from binascii import Error
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from threading import Lock
from typing import IO, Any

from django.core.files.uploadedfile import UploadedFile
from PIL import Image, ImageFile, ImageOps, UnidentifiedImageError
from pillow_heif import register_heif_opener

# Phones write HEIC. The picture itself is read, nothing that travels inside of it.
register_heif_opener(thumbnails=False, depth_images=False, aux_images=False, decode_threads=1)

FORMATS = ("JPEG", "PNG", "WEBP", "AVIF", "HEIF")
ACCEPTED = "image/*,.heic,.heif,.avif"
"""What a file field offers: some systems do not know that HEIC and AVIF are pictures."""
MOST_BYTES = 25 * 1024 * 1024
MOST_PIXELS = 50_000_000
MOST_MEMORY = 350_000_000
# Bytes that its decoder holds for each pixel, measured; a JPEG's if it is a progressive one. What
# the file weighs says nothing: one of 2 KB can be 49 million pixels of one colour.
MEMORY_A_PIXEL = {"JPEG": 6, "PNG": 5, "HEIF": 7, "AVIF": 12, "WEBP": 16}
LONGEST_SIDE = 1600
# A panorama is kept longer than that, so that there is something to see in it.
LEAST_HEIGHT, LONGEST_PANORAMA = 600, 4800
ORIENTATION = 0x0112  # how the camera was held (EXIF 2.3, 4.6.4)
BAND = 32  # rows of a picture that are drawn anew at a time
KEPT_BYTES = 300 * 1000
SMALLEST = 100
"""Pixels below which no picture is made smaller to save bytes."""

INK_START = "data:image/png;base64,"
MOST_INK_LETTERS = 400_000  # of the address, base64; a drawing has a few thousand
WIDEST_INK, HIGHEST_INK = 1600, 800  # pixels
INK_SIZE = (600, 240)  # as it is kept
DARK = 128  # of 255: what is darker is ink
LEAST_DARK = 12  # pixels; less is a slip of the finger
UNREADABLE_INK = "This drawing cannot be read. Draw it again, or sign on paper."


_DECODING = Lock()
_PATIENCE = 20  # seconds


class PictureError(ValueError):
    """The upload is no picture we can keep; the message says what would be."""


@dataclass(frozen=True)
class FreshPicture:
    """A fresh JPEG of at most ``KEPT_BYTES``, without the camera's notes on place and time.

    ``small`` is its small copy, where whoever keeps it wants one.
    """

    jpeg: bytes
    width: int
    height: int
    small: bytes = b""


def redraw(upload: "UploadedFile[Any]") -> FreshPicture:
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
            with _one_at_a_time():
                return _shrink(_open(upload))
    except PictureError:
        raise
    except Image.DecompressionBombError:
        raise _too_many(MOST_PIXELS) from None
    except (UnidentifiedImageError, EOFError, OSError, RuntimeError, SyntaxError, ValueError):
        raise PictureError(
            "This is no picture that can be read. Send a JPEG, PNG, WebP, HEIC or AVIF."
        ) from None


def shrunk(file: IO[bytes], side: int, most: int = 0) -> bytes:
    """A kept JPEG, drawn small enough for paper: no side is over ``side`` pixels.

    With ``most`` it has at most so many bytes, coarser where it has to be, then smaller.
    """
    image = Image.open(file, formats=["JPEG"])
    # Decoded at a fraction of its size, which is quick.
    image.draft("RGB", (side, side))
    image.thumbnail((side, side))
    while True:
        for quality in (80, 65, 50, 35):
            small = io.BytesIO()
            image.convert("RGB").save(small, "JPEG", quality=quality)
            if not most or small.tell() <= most or max(image.size) < SMALLEST:
                return small.getvalue()
        image.thumbnail((image.width * 3 // 4, image.height * 3 // 4))


@contextmanager
def _one_at_a_time() -> Iterator[None]:
    """A picture of 50 million pixels takes 200 MB while it is read, however small its file is."""
    if not _DECODING.acquire(timeout=_PATIENCE):
        raise PictureError("Other pictures are being read. Send this one again in a minute.")
    try:
        # The library that lays out papers lets half a picture pass as a whole one, in all of the
        # program, from the moment it is loaded.
        ImageFile.LOAD_TRUNCATED_IMAGES = False
        yield
    finally:
        _DECODING.release()


def _open(upload: "UploadedFile[Any]") -> Image.Image:
    """The picture upright on white, hardly larger than it is kept; never held whole twice."""
    upload.seek(0)
    image = Image.open(upload, formats=FORMATS)
    width, height = image.size
    most = min(MOST_PIXELS, MOST_MEMORY // MEMORY_A_PIXEL[image.format or "WEBP"])
    if width * height > most:
        raise _too_many(most)
    # A JPEG can be decoded at a fraction of its size, which keeps a large photograph cheap.
    size = kept_size(width, height)
    image.draft("RGB", size)
    image.load()
    factor = max(1, image.width // (2 * size[0]))
    sheet = Image.new("RGB", (-(-image.width // factor), -(-image.height // factor)))
    for top in range(0, image.height, BAND * factor):
        band = image.crop((0, top, image.width, min(top + BAND * factor, image.height)))
        if band.mode != "RGB" or "transparency" in image.info:
            band = on_white(band)
        sheet.paste(band.reduce(factor), (0, top // factor))
    sheet.getexif()[ORIENTATION] = image.getexif().get(ORIENTATION, 1)
    sheet.thumbnail(size)
    ImageOps.exif_transpose(sheet, in_place=True)
    return sheet


def _too_many(most: int) -> PictureError:
    words = f"This picture has over {most // 1_000_000} million pixels. Send a smaller one."
    return PictureError(words)


def kept_size(width: int, height: int) -> tuple[int, int]:
    """The largest size, of the same shape, at which a picture of this size is kept."""
    long, short = max(width, height), max(min(width, height), 1)
    most = min(max(LONGEST_SIDE, LEAST_HEIGHT * long / short), LONGEST_PANORAMA)
    share = min(most / long, 1) if long else 1
    return max(round(width * share), 1), max(round(height * share), 1)


def on_white(image: Image.Image) -> Image.Image:
    """New pixels only: no profile, no notes, no transparency."""
    rgba = image.convert("RGBA")
    sheet = Image.new("RGB", rgba.size, "white")
    sheet.paste(rgba, mask=rgba.getchannel("A"))
    return sheet


def _shrink(image: Image.Image) -> FreshPicture:
    image.thumbnail(kept_size(*image.size))
    for quality in (82, 70, 55, 40):
        jpeg = io.BytesIO()
        image.save(jpeg, "JPEG", quality=quality, optimize=True)
        if jpeg.tell() <= KEPT_BYTES:
            return FreshPicture(jpeg.getvalue(), *image.size)
    image.thumbnail((image.width * 2 // 3, image.height * 2 // 3))
    return _shrink(image)


def redraw_ink(address: str) -> bytes:
    """A fresh grey PNG of the ink and its margin, within ``INK_SIZE``.

    The size in pixels is read from the header before anything is decoded. Raises PictureError.
    """
    image = _grey(_decoded(address))
    ink = image.point(lambda grey: 255 if grey < DARK else 0)
    if ink.histogram()[255] < LEAST_DARK:
        raise PictureError("Nothing is drawn on the screen yet.")
    left, top, right, bottom = ink.getbbox() or (0, 0, *image.size)
    kept = image.crop((max(left - 8, 0), max(top - 8, 0), right + 8, bottom + 8))
    kept.thumbnail(INK_SIZE)
    png = io.BytesIO()
    kept.save(png, "PNG", optimize=True)
    return png.getvalue()


def _decoded(address: str) -> bytes:
    if not address:
        raise PictureError("Nothing is drawn on the screen yet.")
    if not address.startswith(INK_START) or len(address) > MOST_INK_LETTERS:
        raise PictureError(UNREADABLE_INK)
    try:
        return b64decode(address.removeprefix(INK_START), validate=True)
    except (Error, ValueError):
        raise PictureError(UNREADABLE_INK) from None


def _grey(png: bytes) -> Image.Image:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            image = Image.open(io.BytesIO(png), formats=("PNG",))
        width, height = image.size
        if width > WIDEST_INK or height > HIGHEST_INK:
            raise PictureError(UNREADABLE_INK)
        image.load()
        return on_white(image).convert("L")
    except PictureError:
        raise
    except (
        UnidentifiedImageError, Image.DecompressionBombError, OSError, SyntaxError, ValueError,
    ):  # fmt: skip
        raise PictureError(UNREADABLE_INK) from None
