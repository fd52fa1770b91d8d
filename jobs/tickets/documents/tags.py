"""The garment tag: plain card A6 or A7, one for each piece, with its number largest.

The letters of the number are at least 10 mm tall: at two metres that is 17 minutes of arc. ISO
9241-303 asks for at least 16 (from memory); a height of one two-hundredth of the distance is common
practice for notices. A tag never shows a price: it hangs where everybody reads it.
"""

from bisect import bisect_left
from collections.abc import Mapping
from dataclasses import dataclass

from django.utils.text import Truncator

from jobs.tickets.documents.facts import Facts
from studio.shop import paper
from studio.shop.paper import Document, code_png

# The letters of a tag's number are at least 10 mm tall: at two metres that is 17 minutes of arc. ISO
# 9241-303 asks for at least 16 (from memory); a height of one two-hundredth of the distance is
# common practice for notices.
SIZES = range(5)  # of the letters, see paper-tag.css
SHORT = 60  # letters that are left of a long text


@dataclass(frozen=True)
class CardText:
    """How much goes on a card.

    ``size`` is that of the letters (0 is largest), ``shown`` the number of operations, ``notes``
    whether theirs are told, ``whole`` whether the garment is described to the end.
    """

    size: int
    notes: bool
    whole: bool
    shown: int


def card_texts(lines: int) -> list[CardText]:
    """From the most readable card to the one on which anything card_texts; each says what it leaves out.

    First the letters get smaller, then notes, the ends of long descriptions and the last operations
    are left to the work sheet.
    """
    smallest = SIZES[-1]
    return [
        *(CardText(size, True, True, lines) for size in SIZES),
        CardText(smallest, False, True, lines),
        *(CardText(smallest, False, False, shown) for shown in range(lines, -1, -1)),
    ]


def tags(facts: Facts, *, page: str, pictures: Mapping[str, bytes] | None = None) -> list[Document]:
    """One plain card for each garment; it shows no price: it hangs where everybody reads it.

    ``pictures`` may hold a photograph by the garment's letter.
    """
    code = code_png(facts["address"])
    documents = []
    for place, garment in enumerate(facts["garments"], start=1):
        # The tags become one document, in which a name stands for one picture.
        photo = (pictures or {}).get(garment["letter"])
        name = f"photo-{garment['letter']}" if photo else ""
        shown = {"code": code, **({name: photo} if photo else {})}
        told = {**facts, "garment": garment, "place": place, "photo": name}
        documents.append(_tag(told, page, shown))
    return documents


def _tag(facts: Facts, page: str, pictures: Mapping[str, bytes]) -> Document:
    """The most readable way that stays on one card: one layout, or O(log n) for n operations."""
    laid: dict[CardText, Document] = {}

    def on_one_card(text: CardText) -> bool:
        laid[text] = _lay_out_tag(facts, text, page, pictures)
        return len(laid[text].pages) == 1

    best, *smaller = card_texts(len(facts["garment"]["lines"]))
    if not on_one_card(best):
        first = bisect_left(smaller, True, key=on_one_card)
        best = smaller[min(first, len(smaller) - 1)]
    return laid[best]


def _lay_out_tag(facts: Facts, text: CardText, page: str, pictures: Mapping[str, bytes]) -> Document:
    garment = facts["garment"]
    lines = garment["lines"][: text.shown]
    told = {
        key: garment[key] if text.whole else Truncator(garment[key]).chars(SHORT)
        for key in ("name", "description", "things_left")
    }
    more = len(garment["lines"]) - text.shown
    notes_left = not text.notes and any(line["note"] for line in lines)
    return paper.lay_out(
        "tickets/papers/tag.html",
        {
            **facts,
            "size": text.size,
            **told,
            "lines": lines,
            "more": more,
            "notes": text.notes,
            "left_out": more or notes_left or any(told[key] != garment[key] for key in told),
        },
        title=f"Tag {facts['number']}-{garment['letter']}",
        language=facts["studio"].language,
        page=page,
        pictures=pictures,
    )
