"""The claim ticket: the client's part and the studio's on a sheet, or the client's on a roll."""

from jobs.tickets.documents.facts import Facts
from studio.shop import paper
from studio.shop.paper import Document, code_png


def claim_ticket(facts: Facts, *, page: str) -> Document:
    """Both parts with a cut between them.

    Best is each on its half of one sheet, then both close together on one. What does not fit on
    one sheet gets a sheet, or several, for each part.
    """

    def placed(how: str) -> Document:
        return _lay_out_claim("tickets/papers/claim.html", {**facts, "placed": how}, page)

    document = placed("halves")
    if len(document.pages) == 2:
        document = placed("close")
    return document if len(document.pages) == 1 else placed("apart")


def slip(facts: Facts) -> Document:
    """The client's part on the 80 mm roll."""
    return _lay_out_claim("tickets/papers/slip.html", facts, "roll")


def _lay_out_claim(template: str, facts: Facts, page: str) -> Document:
    return paper.lay_out(
        template,
        facts,
        title=f"Claim ticket {facts['number']}",
        language=facts["studio"].language,
        page=page,
        pictures={"code": code_png(facts["address"])},
    )
