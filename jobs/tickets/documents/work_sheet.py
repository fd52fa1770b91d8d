"""The work sheet: everything that is to be done, to tick off at the bench. It shows no prices."""

from collections.abc import Mapping, Sequence

from jobs.tickets.cautions import GarmentCare
from jobs.tickets.documents.agreement import with_marked
from jobs.tickets.documents.facts import Facts
from jobs.tickets.documents.photographs import Shown
from studio.shop import paper
from studio.shop.paper import Document, code_png


def work_sheet(
    facts: Facts,
    *,
    page: str,
    pictures: Mapping[str, list[bytes]],
    care: Mapping[str, GarmentCare],
    shown: Sequence[Shown] = (),
) -> Document:
    """``pictures`` and ``care`` hold photographs and cautions of each garment by its letter.

    ``shown`` are the photographs that have marks.
    """
    named = {
        f"{letter}{place}": picture
        for letter, shown in pictures.items()
        for place, picture in enumerate(shown, start=1)
    }
    garments = [
        {
            **garment,
            "photos": [name for name in named if name.rstrip("0123456789") == letter],
            "care": care.get(letter),
        }
        for garment in with_marked(facts, shown)
        for letter in [garment["letter"]]
    ]
    return paper.lay_out(
        "tickets/papers/work_sheet.html",
        {**facts, "garments": garments, "figures": False},
        title=f"Work sheet {facts['number']}",
        language=facts["studio"].language,
        page=page,
        pictures={
            **named,
            **{one.name: one.jpeg for one in shown},
            "code": code_png(facts["address"]),
        },
    )
