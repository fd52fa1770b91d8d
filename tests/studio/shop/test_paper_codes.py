"""Codes on paper, read by zxing-cpp and held to ISO/IEC 18004."""

import io
import re
from pathlib import Path

import pytest
import zxingcpp
from PIL import Image

from studio.shop import paper
from studio.shop.paper import DOTS_PER_MODULE, QUIET_ZONE, code_png

STYLES = Path(paper.__file__).parents[1] / "static/studio"


def drawn(address: str) -> Image.Image:
    return Image.open(io.BytesIO(code_png(address))).convert("L")


@pytest.mark.parametrize(
    "address",
    [
        "http://127.0.0.1:8000/t/26-0143/",
        "https://studio.larkfield.example/t/26-0143/",
        "http://[fd00::20]:8000/t/26-12345/",
        "https://a-rather-long-name-for-a-very-small-studio.larkfield.example:8443/t/26-0143/",
    ],
)
def test_an_independent_reader_reads_the_address(address):
    codes = zxingcpp.read_barcodes(drawn(address))
    assert [code.text for code in codes] == [address]
    assert codes[0].ec_level in {"M", "Q", "H"}


def test_forty_two_letters_fit_version_3():
    """ISO/IEC 18004, table 7: version 3-M holds 42 bytes; version 3 has 29 modules a side."""
    address = "http://192.168.100.20:8000/t/26-0143/".ljust(42, "x")
    side = (29 + 2 * QUIET_ZONE) * DOTS_PER_MODULE
    assert drawn(address).size == (side, side)
    assert drawn(address + "x").size > (side, side)


def test_the_quiet_zone_is_four_modules_wide():
    """ISO/IEC 18004, 6.3.8: white on all four sides, four modules wide."""
    ink = drawn("http://127.0.0.1:8000/t/26-0143/").point(lambda grey: 255 - grey)
    left, top, right, bottom = ink.getbbox()
    zone = 4 * DOTS_PER_MODULE
    assert (left, top) == (zone, zone)
    assert (ink.width - right, ink.height - bottom) == (zone, zone)


def test_a_module_is_at_least_four_tenths_of_a_millimetre():
    """Common practice for codes read in the hand; 0.5 mm is four dots of a 203 dpi printer."""
    dots_per_inch = re.search(r"image-resolution: ([\d.]+)dpi", (STYLES / "paper.css").read_text())[
        1
    ]
    module_mm = DOTS_PER_MODULE / float(dots_per_inch) * 25.4
    assert module_mm >= 0.4
    assert round(203 / 25.4 * module_mm, 2) == 4
