"""What the history tells of a thing, as its page tells it."""

from django.db.models import Model

from jobs.tickets import actions
from jobs.tickets.models import Ticket
from studio.shop import history
from studio.shop.models import Profile, User


def sentences(*about: Model, **facts: object) -> list[str]:
    """Latest first; ``facts`` choose among the entries."""
    locale = Profile.objects.get().locale
    return [history.sentence(entry, locale) for entry in history.of(*about).filter(**facts)]


def undo_last(ticket: Ticket, by: User) -> Ticket:
    """As the button on the ticket's page does."""
    entry = history.undoable(history.of(ticket))
    assert entry is not None
    return actions.undo(ticket=ticket, entry=entry, by=by)
