"""Swatch cards: what a cloth is, on plain card, with a frame in which a piece of it is stapled.

A photograph shows neither the hand of a cloth nor whether light comes through, so the frame stays
empty. What is left is not on the card: that changes with every cut.
"""

from collections.abc import Sequence

from jobs.makes.models import Cloth
from studio.shop import paper
from studio.shop.models import Profile

CARDS = {"A6": 1, "A5": 1, "A4": 4, "Letter": 4}
"""Cards on one page of each paper."""


def title(cloths: Sequence[Cloth]) -> str:
    return f"Swatch card, {cloths[0].name}" if len(cloths) == 1 else "Swatch cards"


def swatch_cards(cloths: Sequence[Cloth], studio: Profile, *, page: str) -> bytes:
    """One card for each of ``cloths``, of which there is at least one; ``page`` is in ``CARDS``."""
    each = CARDS[page]
    pages = [cloths[first : first + each] for first in range(0, len(cloths), each)]
    return paper.render(
        "makes/papers/swatch.html",
        {"studio": studio, "pages": pages},
        title=title(cloths),
        language=studio.language_tag,
        page=page,
        sheet="swatch",
    )
