"""What a seal is made of, in plain Python: SHA-256 (FIPS 180-4) over a text that anybody can write.

Of each fact a digest is made of its name and value, so that a proof can say which fact is another.
A seal is made of its place in the book, the seal before it, whose it is, and those digests. The
format is for good: what was sealed has to be proved by any later version (docs/sealed_book.md).
"""

import json
from collections.abc import Mapping
from datetime import UTC, date, datetime
from hashlib import sha256
from typing import Any

FIRST = "0" * 64
"""What the first seal follows on."""


def written(value: Any) -> str:
    """A value as JSON without blanks, keys in order, letters as they are; moments in UTC."""
    if isinstance(value, datetime):
        value = value.astimezone(UTC).isoformat(timespec="microseconds")
    elif isinstance(value, date):
        value = value.isoformat()
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def digests(facts: Mapping[str, Any]) -> dict[str, str]:
    """The digest of each fact: of ``name=value``."""
    return {name: _digest(f"{name}={written(facts[name])}") for name in sorted(facts)}


def seal(place: int, before: str, kind: str, number: str, parts: Mapping[str, str]) -> str:
    """The seal of what has these digests: of one line for each of the four, and for each digest."""
    named = (f"{name} {parts[name]}" for name in sorted(parts))
    return _digest("\n".join([str(place), before, kind, number, *named]))


def _digest(text: str) -> str:
    return sha256(text.encode()).hexdigest()
