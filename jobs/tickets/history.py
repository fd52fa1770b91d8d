"""A ticket's readable history, and the way back from its last step."""

from typing import Any

from django.core import serializers

from jobs.tickets.models import Act, Garment, Line, Ticket
from studio.shop import clock
from studio.shop.models import User

# What a step may change; undo writes these back. Version and money follow from the rest.
TICKET_FIELDS = [
    "client",
    "state",
    "promise_at",
    "wanted_by",
    "event",
    "note",
    "rush_percent",
    "discount_percent",
    "discount_amount",
    "deposit",
    "started_at",
    "ready_at",
    "collected_at",
    "cancelled_at",
    "cancelled_why",
]


def snapshot(ticket: Ticket) -> dict[str, Any]:
    """The ticket, its garments and lines as plain data, before a step changes them."""
    lines = Line.objects.filter(garment__ticket=ticket).order_by("pk")
    rows = [*Garment.objects.filter(ticket=ticket).order_by("pk"), *lines]
    return {
        "version": ticket.version,
        "ticket": serializers.serialize("json", [ticket], fields=TICKET_FIELDS),
        "rows": serializers.serialize("json", rows),
    }


def record(
    ticket: Ticket,
    by: User,
    words: str,
    *,
    before: dict[str, Any] | None = None,
    money: bool = False,
) -> Act:
    """Write one act. ``before`` is the snapshot that undo returns to; without it there is none."""
    return Act.objects.create(
        ticket=ticket, at=clock.now(), by=by, words=words[:400], undo=before, money=money
    )


def readable_history(ticket: Ticket) -> list[Act]:
    """The acts, latest first, with who did them."""
    return list(ticket.history.select_related("by").order_by("-pk"))


def undoable(acts: list[Act]) -> Act | None:
    """The last step that can be taken back: the latest act not yet undone that has a way back."""
    return next((act for act in acts if act.undo and not act.undone_at), None)
