"""Ink from the glass is drawn anew, and whatever is no small drawing is refused."""

import base64
import io
import struct
import zlib

import pytest
from PIL import Image, ImageDraw, PngImagePlugin

from studio.shop.pictures import INK_SIZE, INK_START, MOST_INK_LETTERS, PictureError, redraw_ink


def address(png: bytes) -> str:
    return INK_START + base64.b64encode(png).decode()


def drawn(size=(600, 200), mode="RGBA", **saved) -> bytes:
    """A stroke on a clear field, as a canvas sends it."""
    field = Image.new(mode, size, (0, 0, 0, 0) if mode == "RGBA" else "white")
    ImageDraw.Draw(field).line([(100, 150), (300, 40), (500, 150)], fill="black", width=5)
    png = io.BytesIO()
    field.save(png, "PNG", **saved)
    return png.getvalue()


def chunk(name: bytes, body: bytes) -> bytes:
    """A PNG chunk (ISO/IEC 15948, clause 5.3): length, name, body, CRC of name and body."""
    return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))


def hollow(width: int, height: int) -> bytes:
    """A PNG of that size in its header and nothing behind it."""
    header = struct.pack(">IIBBBBB", width, height, 8, 6, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", b"") + chunk(b"IEND", b"")


def test_a_stroke_is_kept_black_on_white_and_close_cut():
    with Image.open(io.BytesIO(redraw_ink(address(drawn())))) as kept:
        assert (kept.format, kept.mode) == ("PNG", "L")
        assert kept.getextrema() == (0, 255)
        assert 410 <= kept.width <= 430
        assert 125 <= kept.height <= 140


def test_nothing_of_the_file_itself_is_kept():
    notes = PngImagePlugin.PngInfo()
    notes.add_text("Comment", "where and when")
    kept = redraw_ink(address(drawn(pnginfo=notes) + b"<script>"))
    assert b"where" not in kept
    assert b"<script>" not in kept


def test_a_large_drawing_is_kept_small():
    with Image.open(io.BytesIO(redraw_ink(address(drawn((1600, 800)))))) as kept:
        assert kept.width <= INK_SIZE[0]
        assert kept.height <= INK_SIZE[1]


def jpeg() -> bytes:
    sent = io.BytesIO()
    Image.new("RGB", (60, 20)).save(sent, "JPEG")
    return sent.getvalue()


@pytest.mark.parametrize(
    "sent",
    [
        address(hollow(1601, 10)),
        address(hollow(10, 801)),
        address(hollow(2**31 - 1, 2**31 - 1)),
        address(hollow(12_000, 9_000)),
        address(jpeg()),
        address(b""),
        address(b"GIF89a" + bytes(40)),
        INK_START + "not base64!",
        INK_START + "AAA",
        address(drawn()).replace("png", "svg+xml"),
        "https://larkfield.example/ink.png",
        address(drawn() + bytes(MOST_INK_LETTERS)),
        "\N{BLACK SCISSORS}",
    ],
)
def test_what_is_no_small_png_is_refused(sent):
    with pytest.raises(PictureError, match="cannot be read"):
        redraw_ink(sent)


@pytest.mark.parametrize("png", [hollow(600, 200), drawn()[:200]], ids=["hollow", "cut off"])
def test_half_a_file_is_no_ink(png):
    """Pillow fills in what is missing, or says that it is."""
    with pytest.raises(PictureError, match=r"Nothing is drawn|cannot be read"):
        redraw_ink(address(png))


@pytest.mark.parametrize(
    "png",
    [
        hollow(1, 1).replace(chunk(b"IDAT", b""), chunk(b"IDAT", zlib.compress(bytes(5)))),
        b"",
    ],
    ids=["one clear dot", "no file"],
)
def test_an_empty_field_is_no_ink(png):
    with pytest.raises(PictureError, match="Nothing is drawn"):
        redraw_ink(address(png) if png else "")
