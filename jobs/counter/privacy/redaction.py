"""What is left of an agreement, and of the words of a history, once the client is erased."""

import re
from typing import Any

from jobs.counter.privacy.parts import ERASED, ERASED_NAME

Facts = dict[str, Any]

AGREED = frozenset({
    "studio", "number", "version", "received_at", "promise_at", "adjustments", "rates", "net",
    "tax", "gross", "deposit", "balance", "minutes",
})  # fmt: skip
GARMENT = frozenset({"letter", "kind", "colour", "washed", "worn"})
LINE = frozenset({
    "pk", "name", "quantity", "unit_price", "fitting_first", "stitch", "tax_facts", "steps",
    "price", "net", "tax", "gross", "minutes",
})  # fmt: skip

# Steps that are told without a word that anybody typed.
NOBODYS_WORDS = re.compile(
    r"Received, \d+ pieces?\."
    r"|Work started\."
    r"|Ready to be collected\."
    r"|Handed over: [A-Z]{1,2}(, [A-Z]{1,2})*\."
    r"|Photograph of [A-Z]{1,2}\."
    r"|Invoice [A-Z]\d\d-\d{4,} issued\."
)


def redact_agreement(data: Facts) -> Facts:
    """Numbers, days, kinds of garment, operations and money stay; all else is blank.

    What a later version adds to an agreement is blanked until it is named above.
    """
    left = {key: value if key in AGREED else blank(value) for key, value in data.items()}
    left["client"] = blank(data.get("client", {})) | {"name": ERASED_NAME}
    left["garments"] = [
        {key: value if key in GARMENT else blank(value) for key, value in garment.items()}
        | {"lines": [_line(line) for line in garment["lines"]]}
        for garment in data.get("garments", [])
    ]
    return left


def redact_words(words: str) -> str:
    """The words of one step, where nobody's own words can be among them."""
    return words if NOBODYS_WORDS.fullmatch(words) else f"{ERASED}."


def blank(value: Any) -> Any:
    """Nothing, in the shape of ``value``: papers made of it print nothing in its place."""
    if isinstance(value, dict):
        return {key: blank(inner) for key, inner in value.items()}
    return None if value is None else type(value)()


def _line(line: Facts) -> Facts:
    return {key: value if key in LINE else blank(value) for key, value in line.items()}
