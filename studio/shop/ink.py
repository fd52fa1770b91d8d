"""Ink from the glass: what a finger drew on a canvas, checked and drawn anew.

The browser sends a ``data:`` address (RFC 2397) of a PNG. Nothing of the file itself is kept.
"""

import io
import warnings
from base64 import b64decode
from binascii import Error

from PIL import Image, UnidentifiedImageError

from studio.shop.pictures import PictureError, on_white

START = "data:image/png;base64,"
MOST_LETTERS = 400_000  # of the address, base64; a drawing has a few thousand
WIDEST, HIGHEST = 1600, 800  # pixels
KEPT = (600, 240)
DARK = 128  # of 255: what is darker is ink
LEAST_DARK = 12  # pixels; less is a slip of the finger
UNREADABLE = "This drawing cannot be read. Draw it again, or sign on paper."


def redraw_ink(address: str) -> bytes:
    """A fresh grey PNG of the ink and its margin, within ``KEPT``.

    The size in pixels is read from the header before anything is decoded. Raises PictureError.
    """
    image = _grey(_decoded(address))
    ink = image.point(lambda grey: 255 if grey < DARK else 0)
    if ink.histogram()[255] < LEAST_DARK:
        raise PictureError("Nothing is drawn on the glass yet.")
    left, top, right, bottom = ink.getbbox() or (0, 0, *image.size)
    kept = image.crop((max(left - 8, 0), max(top - 8, 0), right + 8, bottom + 8))
    kept.thumbnail(KEPT)
    png = io.BytesIO()
    kept.save(png, "PNG", optimize=True)
    return png.getvalue()


def _decoded(address: str) -> bytes:
    if not address:
        raise PictureError("Nothing is drawn on the glass yet.")
    if not address.startswith(START) or len(address) > MOST_LETTERS:
        raise PictureError(UNREADABLE)
    try:
        return b64decode(address.removeprefix(START), validate=True)
    except (Error, ValueError):
        raise PictureError(UNREADABLE) from None


def _grey(png: bytes) -> Image.Image:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            image = Image.open(io.BytesIO(png), formats=("PNG",))
        width, height = image.size
        if width > WIDEST or height > HIGHEST:
            raise PictureError(UNREADABLE)
        image.load()
        return on_white(image).convert("L")
    except PictureError:
        raise
    except (
        UnidentifiedImageError, Image.DecompressionBombError, OSError, SyntaxError, ValueError,
    ):  # fmt: skip
        raise PictureError(UNREADABLE) from None
