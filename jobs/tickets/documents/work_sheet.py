"""The work sheet: everything that is to be done, to tick off at the bench. It shows no prices."""

from collections.abc import Mapping

from weasyprint import Document

from jobs.tickets.cautions import GarmentCare
from jobs.tickets.documents.facts import Facts
from studio.shop import paper
from studio.shop.codes import code_png


def work_sheet(
    facts: Facts,
    *,
    page: str,
    pictures: Mapping[str, list[bytes]],
    care: Mapping[str, GarmentCare],
) -> Document:
    """``pictures`` and ``care`` hold photographs and cautions of each garment by its letter."""
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
        for garment in facts["garments"]
        for letter in [garment["letter"]]
    ]
    return paper.lay_out(
        "tickets/papers/work_sheet.html",
        {**facts, "garments": garments, "figures": False},
        title=f"Work sheet {facts['number']}",
        language=facts["studio"].language,
        page=page,
        pictures={**named, "code": code_png(facts["address"])},
    )
