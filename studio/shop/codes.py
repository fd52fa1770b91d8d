"""Codes on paper: an address that a phone's camera reads (ISO/IEC 18004)."""

import io
from functools import lru_cache

import segno

# One module is 8 dots, which the style sheet prints at 406.4 dots per inch: exactly 0.5 mm, four
# dots of a 203 dpi printer. 0.4 mm is the least that is read in the hand (common practice).
DOTS_PER_MODULE = 8
MODULE_MM = 0.5
QUIET_ZONE = 4  # modules of white on each side, as the standard asks


@lru_cache(maxsize=32)
def code_png(address: str) -> bytes:
    """A PNG of ``address``, quiet zone included, at error correction level M or better."""
    picture = io.BytesIO()
    segno.make_qr(address, error="m").save(
        picture, kind="png", scale=DOTS_PER_MODULE, border=QUIET_ZONE
    )
    return picture.getvalue()
