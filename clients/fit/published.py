"""Published figures that the sums rest on: tables in ``data/``, each row with its source.

``label`` says how far a row can be trusted: ``seen`` at the source named, ``seen (2nd)`` on a page
that is not the issuing body, ``derived`` from such a row, ``common practice`` of the trade.
"""

import csv
from decimal import Decimal
from functools import cache
from pathlib import Path

from clients.fit.lengths import parse_length

DATA = Path(__file__).parent / "data"


@cache
def table(name: str) -> tuple[dict[str, str], ...]:
    """The rows of ``data/<name>.csv`` by column, in their order. Lines with ``#`` are remarks."""
    lines = (DATA / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    return tuple(csv.DictReader(line for line in lines if not line.startswith("#")))


def length(text: str) -> Decimal | None:
    """A length of a table, which names its own unit, in mm; None where none is given."""
    return parse_length(text, "mm").mm if text else None
