"""The agreement on paper: all that was agreed, with marked photographs and the initials."""

from collections.abc import Sequence

from jobs.tickets.documents.facts import Facts
from jobs.tickets.documents.photographs import Shown
from jobs.tickets.models import Initials
from studio.shop import paper
from studio.shop.paper import Document, code_png


def agreement(
    facts: Facts,
    *,
    page: str,
    shown: Sequence[Shown] = (),
    initials: Initials | None = None,
    ink: bytes = b"",
) -> Document:
    """``ink`` is the PNG of initials given on the glass. Without any there is a line for them."""
    pictures = {one.name: one.jpeg for one in shown} | ({"ink": ink} if ink else {})
    return paper.lay_out(
        "tickets/papers/agreement.html",
        {
            **facts,
            "garments": with_marked(facts, shown),
            "marked": bool(shown),
            "initials": initials,
            "ink": bool(ink),
        },
        title=f"Agreement {facts['number']}",
        language=facts["studio"].language,
        page=page,
        pictures={**pictures, "code": code_png(facts["address"])},
    )


def with_marked(facts: Facts, shown: Sequence[Shown]) -> list[Facts]:
    """The garments, each with its photographs that have marks."""
    return [
        {**garment, "marked": [one for one in shown if one.letter == garment["letter"]]}
        for garment in facts["garments"]
    ]
