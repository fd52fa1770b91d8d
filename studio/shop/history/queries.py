"""Reading the history of a thing."""

from collections.abc import Iterable
from functools import reduce
from operator import or_

from django.db.models import Model, Q, QuerySet

from studio.shop.history.recording import key_of
from studio.shop.history.verbs import verb_of
from studio.shop.models import Entry, EntrySubject, User


def of(*about: Model) -> QuerySet[Entry]:
    """The entries that are read on the pages of these rows, latest first, with who did them.

    One query, whatever their number.
    """
    entries = Entry.objects.select_related("by", "undoes").order_by("-pk")
    if not about:
        return entries.none()
    these = reduce(or_, (Q(label=label, row=pk) for label, pk in map(key_of, about)))
    return entries.filter(pk__in=EntrySubject.objects.filter(these).values("entry"))


def can_be_undone(entry: Entry, by: User | None = None) -> bool:
    """Whether there is a way back; undo itself may still find that something has changed since."""
    verb = verb_of(entry)
    return bool(
        verb
        and verb.undo
        and entry.changes
        and entry.undone_at is None
        and not (entry.money and by and not by.is_owner)
    )


def undoable(entries: Iterable[Entry], by: User | None = None) -> Entry | None:
    """The first of ``entries``, so the latest of those read, that ``by`` can take back."""
    return next((entry for entry in entries if can_be_undone(entry, by)), None)
