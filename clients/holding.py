"""What a file held, kept in the page between looking and doing; signed, so that it stays so."""

from django.core import signing

from clients.entries import Entry
from studio.shop.textfile import UnreadableFileError

SALT = "clients.holding"
KEPT_SECONDS = 24 * 3600
# Well under what one request may bring (DATA_UPLOAD_MAX_MEMORY_SIZE).
MOST_LETTERS = 4 * 1024 * 1024


class NotHeldError(Exception):
    """What came back is not what was held, or too old."""


def hold(entries: list[Entry]) -> str:
    """Raises UnreadableFileError if the page would not be able to send it back."""
    rows = [(entry.line, entry.facts) for entry in entries]
    held = signing.dumps(rows, salt=SALT, compress=True)
    if len(held) > MOST_LETTERS:
        raise UnreadableFileError("There is too much in the file. Send it in parts.")
    return held


def release(held: str) -> list[Entry]:
    try:
        rows = signing.loads(held, salt=SALT, max_age=KEPT_SECONDS)
    except signing.BadSignature as error:
        raise NotHeldError("The page was open for too long. Choose the file again.") from error
    return [Entry(line, facts) for line, facts in rows]
