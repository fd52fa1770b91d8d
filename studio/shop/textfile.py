"""Text out of a file somebody uploads, whatever program wrote it."""

import codecs
import re

from django.core.files.base import File

MOST_BYTES = 4 * 1024 * 1024
MARKS = {
    codecs.BOM_UTF8: "utf-8-sig",
    codecs.BOM_UTF16_LE: "utf-16",
    codecs.BOM_UTF16_BE: "utf-16",
}
# Control characters that no table and no address book is written with.
NOT_TEXT = re.compile(r"[\x00-\x08\x0e-\x1f\x7f]")
WORKBOOKS = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")


class UnreadableFileError(ValueError):
    """The file cannot be read; the message says why, for the one who chose it."""


def read_text(uploaded: File, *, most_bytes: int = MOST_BYTES) -> str:
    """The text of an uploaded file in UTF-8, UTF-16 or, if it is neither, Windows-1252.

    Raises UnreadableFileError for a file that is too large or no text.
    """
    if uploaded.size > most_bytes:
        raise UnreadableFileError(
            f"The file is larger than {most_bytes // (1024 * 1024)} MB. Send it in parts."
        )
    uploaded.seek(0)
    return decode(uploaded.read())


def decode(data: bytes) -> str:
    """As ``read_text``, from the bytes themselves."""
    if data.startswith(WORKBOOKS):
        raise UnreadableFileError("This is a spreadsheet, not text. Save it as CSV and send that.")
    for encoding in _encodings(data):
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if not NOT_TEXT.search(text):
            return text
    raise UnreadableFileError("This is not a text file, or it is damaged.")


def _encodings(data: bytes) -> list[str]:
    for mark, encoding in MARKS.items():
        if data.startswith(mark):
            return [encoding]
    if data[1:2] == b"\x00":
        return ["utf-16-le"]
    if data[:1] == b"\x00":
        return ["utf-16-be"]
    return ["utf-8", "cp1252"]
