"""What follows for a ticket when one of its steps is undone."""

from functools import partial

from django.db import transaction

from jobs.pricing.quote import QuoteError
from jobs.tickets.actions.agree import agree_as_it_stands
from jobs.tickets.models import Garment, Line, Photo, Ticket
from studio.shop.history import HistoryError, Step, Undo, after_undo, sentence
from studio.shop.models import Profile

TERMS = ("rush_percent", "discount_percent", "discount_amount", "deposit", "terms")
PRICES = (
    "unit_price", "quantity", "minutes_each", "surcharges", "tax", "work_order", "removed_at",
)  # fmt: skip


@after_undo
def quote_again(undo: Undo, step: Step) -> None:
    """What it comes to follows from the lines as they are again.

    An undone change of the agreement makes a version of its own, since the client may hold the
    paper of the other.
    """
    agreed = undo.touches(Ticket, "version")
    priced = (
        undo.touches(Ticket, *TERMS)
        or undo.touches(Line, *PRICES)
        or undo.touches(Garment, "removed_at")
    )
    if not (agreed or priced):
        return
    studio = Profile.objects.get()
    for ticket in Ticket.objects.filter(pk__in=undo.about(Ticket)):
        step.keep(ticket)
        words = sentence(undo.entry, studio.locale) if agreed else ""
        try:
            agree_as_it_stands(ticket, studio, undo.by, undone=words)
        except QuoteError as wrong:
            raise HistoryError(str(wrong)) from wrong


@after_undo
def sweep_photographs(undo: Undo, step: Step) -> None:
    """A photograph whose adding was undone leaves no file."""
    storage = Photo.file.field.storage
    for change in undo.of(Photo):
        if change.was is None and change.now:
            transaction.on_commit(partial(storage.delete, change.now["file"]), robust=True)
