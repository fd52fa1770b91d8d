"""Every row that is one client's, read in as many queries as there are kinds of rows."""

from collections import defaultdict
from typing import Any

from django.db.models import Model, Q

from clients.models import Client, ClientMerge
from jobs.counter.privacy.parts import PARTS, Part
from jobs.tickets.models import Photo, Ticket

Rows = dict[type[Model], list[Any]]


def entries(client: Client) -> list[Client]:
    """The client's own entry, and those that were merged into it."""
    return [client, *client.merged.order_by("pk")]


def belongings(client: Client) -> Rows:
    """The client's rows by model, each in the order in which they were made."""
    held: Rows = defaultdict(list)
    held[Client] = entries(client)
    for part in PARTS:
        rows = part.model._base_manager.filter(_theirs(part, held))  # noqa: SLF001 -- documented by Django
        held[part.model] = list(rows.order_by("pk"))
    return held


def _theirs(part: Part, held: Rows) -> Q:
    theirs = Q(**{f"{part.owner}__in": held[part.parent]})
    if part.model is ClientMerge:
        # A merge that was undone may tell another person's facts.
        return theirs & Q(undone_at=None)
    if part.model is Photo:
        # Taken at the drop-off, of a garment that was taken off the form again.
        keys = [ticket.form_key for ticket in held[Ticket]]
        return theirs | Q(garment=None, form_key__in=keys)
    return theirs
