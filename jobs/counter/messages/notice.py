"""The notice on paper to a client who has not collected: whose, what, where, since when, to pay.

What such a notice has to hold differs by place; these are the contents that laws commonly name:
name and address, the goods, the place, the amount and the day (UK Torts (Interference with Goods)
Act 1977, Schedule 1, for one). Whether it will do is for local law to say: *Not collected*
tells the owner so, the client reads only what is asked of them.
"""

from datetime import date, timedelta

from jobs.billing.queries import balance
from jobs.counter.messages.ladder import next_rung
from jobs.tickets.models import Ticket
from studio.shop import clock, paper
from studio.shop.models import Profile
from studio.shop.paper import Document
from studio.shop.paper.printers import sheet_of
from studio.shop.words import words_for


def notice_paper(ticket: Ticket, studio: Profile, *, figures: bool) -> bytes:
    words = words_for(ticket.client.language, studio)
    return paper.write(
        [lay_out_notice(ticket, studio, figures=figures)], title=words("Not collected")
    )


def lay_out_notice(ticket: Ticket, studio: Profile, *, figures: bool, page: str = "") -> Document:
    words = words_for(ticket.client.language, studio)
    garments = [
        garment
        for garment in ticket.garments.all()
        if not (garment.removed_at or garment.handed_over_at)
    ]
    after = next_rung(ticket, studio)
    owed = max(balance(ticket), 0) if figures else 0
    return paper.lay_out_snug(
        "counter/papers/notice.html",
        {
            "studio": studio,
            "words": words,
            "ticket": ticket,
            "client": ticket.client,
            "garments": [
                (words.garment(garment.words), garment.description) for garment in garments
            ],
            "to_pay": words.money(owed, ticket.currency) if owed else "",
            "today": words.day(clock.today()),
            "by": words.day(_ready_day(ticket) + timedelta(days=after.days)) if after else "",
            "since": words.day(_ready_day(ticket)) if ticket.ready_at else "",
        },
        title=words("Not collected"),
        language=words.tag,
        page=page or sheet_of(studio),
    )


def _ready_day(ticket: Ticket) -> date:
    return clock.local(ticket.ready_at or clock.now()).date()
