"""What follows for a ticket when one of its steps is undone."""

from functools import partial

from django.db import transaction

from jobs.tickets.actions.agree import agree_as_it_stands
from jobs.tickets.models import Garment, Line, Photo, Ticket
from studio.shop.history import Step, Undo, after_undo, sentence
from studio.shop.models import Profile

PRICED = ("rush_percent", "discount_percent", "discount_amount", "deposit", "terms")


@after_undo
def quote_again(undo: Undo, step: Step) -> None:
    """What it comes to follows from the lines as they are again.

    An undone change of the agreement makes a version of its own, since the client may hold the
    paper of the other.
    """
    agreed = undo.touches(Ticket, "version")
    if not (agreed or undo.touches(Ticket, *PRICED) or undo.of(Garment) or undo.of(Line)):
        return
    studio = Profile.objects.get()
    for ticket in Ticket.objects.filter(pk__in=undo.about(Ticket)):
        step.keep(ticket)
        words = sentence(undo.entry, studio.locale) if agreed else ""
        agree_as_it_stands(ticket, studio, undo.by, undone=words)


@after_undo
def sweep_photographs(undo: Undo, step: Step) -> None:
    """A photograph whose adding was undone leaves no file."""
    storage = Photo.file.field.storage
    for change in undo.of(Photo):
        if change.was is None and change.now:
            transaction.on_commit(partial(storage.delete, change.now["file"]), robust=True)
