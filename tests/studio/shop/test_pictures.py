"""Uploads that are pictures, and those that only say so."""

import io
import struct
import zlib

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from studio.shop.pictures import KEPT_BYTES, PictureError, redraw


def upload(data: bytes, name: str = "trousers.jpg") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, data, content_type="image/jpeg")


def drawn(kind: str, size=(640, 480), mode="RGB", **options) -> bytes:
    file = io.BytesIO()
    Image.new(mode, size, 200 if mode in {"L", "P"} else "teal").save(file, kind, **options)
    return file.getvalue()


def png_header(width: int, height: int) -> bytes:
    """A PNG that claims a size and holds next to nothing (PNG specification, 11.2.1 and 11.2.3)."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return (
            struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        )

    size = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    parts = [chunk(b"IHDR", size), chunk(b"IDAT", zlib.compress(b"\0")), chunk(b"IEND", b"")]
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts)


def claiming(kind: str, width: int, height: int) -> bytes:
    """A picture whose header gives another size (the box ispe: ISO/IEC 23008-12, 6.5.3)."""
    data = drawn(kind)
    at = data.index(b"ispe") + 8
    return data[:at] + struct.pack(">II", width, height) + data[at + 8 :]


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF", "AVIF"])
def test_a_picture_becomes_a_jpeg_of_its_own_size(kind):
    picture = redraw(upload(drawn(kind)))
    again = Image.open(io.BytesIO(picture.jpeg))
    assert (again.format, again.size) == ("JPEG", (640, 480))
    assert (picture.width, picture.height) == (640, 480)


def test_a_large_photograph_is_made_small():
    noise = Image.effect_noise((4000, 3000), 90).convert("RGB")
    file = io.BytesIO()
    noise.save(file, "JPEG", quality=95)
    picture = redraw(upload(file.getvalue()))
    assert len(picture.jpeg) <= KEPT_BYTES
    assert max(picture.width, picture.height) <= 1600


@pytest.mark.parametrize("kind", ["JPEG", "HEIF", "AVIF"])
def test_a_photograph_held_sideways_is_turned_upright(kind):
    exif = Image.Exif()
    exif[0x0112] = 6  # Orientation 6: rotate 90 degrees clockwise to view (EXIF 2.3, 4.6.4).
    picture = redraw(upload(drawn(kind, (640, 480), exif=exif.tobytes())))
    assert (picture.width, picture.height) == (480, 640)


def test_the_cameras_notes_are_left_behind():
    exif = Image.Exif()
    exif[0x010F] = "Maker of the camera"
    exif.get_ifd(0x8825)[1] = "N"  # GPS latitude reference.
    data = drawn("JPEG", exif=exif)
    assert b"Maker of the camera" in data
    picture = redraw(upload(data))
    assert b"Maker of the camera" not in picture.jpeg
    assert not Image.open(io.BytesIO(picture.jpeg)).getexif()


def test_see_through_parts_become_white():
    file = io.BytesIO()
    Image.new("RGBA", (20, 20), (0, 0, 0, 0)).save(file, "PNG")
    picture = redraw(upload(file.getvalue()))
    assert Image.open(io.BytesIO(picture.jpeg)).getpixel((10, 10)) == (255, 255, 255)


def test_what_hides_behind_the_picture_is_not_kept():
    picture = redraw(upload(drawn("PNG") + b"<script>alert(1)</script>", "a.png"))
    assert b"script" not in picture.jpeg


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"", "empty"),
        (b"just a shopping list, named .jpg", "no picture that can be read"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "no picture that can be read"),
        (drawn("JPEG")[:300], "no picture that can be read"),
        (drawn("GIF", mode="P"), "no picture that can be read"),
        (drawn("BMP"), "no picture that can be read"),
        (drawn("HEIF")[:300], "no picture that can be read"),
        (drawn("AVIF")[:300], "no picture that can be read"),
        (claiming("HEIF", 10_000, 6_000), "over 50 million pixels|no picture that can be read"),
        (claiming("AVIF", 10_000, 6_000), "over 29 million pixels|no picture that can be read"),
        (png_header(10_000, 6_000), "over 50 million pixels"),
        (png_header(60_000, 60_000), "over 50 million pixels"),
        (png_header(0, 0), "no picture that can be read"),
        (b"x" * (25 * 1024 * 1024 + 1), "over 25 MB"),
    ],
    ids=[
        "empty",
        "text",
        "svg",
        "cut off",
        "gif",
        "bmp",
        "heic cut off",
        "avif cut off",
        "heic of 60 megapixels",
        "avif of 60 megapixels",
        "60 megapixels",
        "bomb",
        "nothing",
        "25 MB",
    ],
)
def test_anything_else_is_refused_with_a_reason(data, sentence):
    with pytest.raises(PictureError, match=sentence):
        redraw(upload(data))
