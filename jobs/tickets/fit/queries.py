"""What the pages of the fit sums read."""

from django.db.models import Prefetch
from django.shortcuts import get_object_or_404

from jobs.tickets.fit.sums import SUMS
from jobs.tickets.models import FitSum, Garment, Line, Ticket


def garment_or_404(pk: int) -> Garment:
    """The garment with its ticket, client, and the lines still on it, in two queries."""
    lines = Prefetch("lines", Line.objects.filter(removed_at=None).select_related("operation"))
    found = Garment.objects.select_related("ticket__client").prefetch_related(lines)
    return get_object_or_404(found, pk=pk, removed_at=None)


def open_lines(garment: Garment) -> list[Line]:
    """The garment's work that an amount can be agreed on: still to do, and asking how far.

    Work that is not on the price list may ask anything.
    """
    if not garment.ticket.is_open:
        return []
    return [line for line in garment.lines.all() if not line.done_at and _asks_how_far(line)]


def _asks_how_far(line: Line) -> bool:
    if line.operation is None or line.amount_mm is not None:
        return True
    return line.operation.takes_amount


def kept_sums(garment: Garment) -> list[FitSum]:
    """The garment's sums, latest first, each with its ``title``."""
    found = list(garment.fit_sums.select_related("line", "made_by"))
    for kept in found:
        kept.title = SUMS[kept.kind].title  # type: ignore[attr-defined]
    return found


def sums_on(ticket: Ticket) -> dict[int, list[FitSum]]:
    """The kept sums of each garment of a ticket by its key, latest first, in one query."""
    found: dict[int, list[FitSum]] = {}
    for kept in FitSum.objects.filter(garment__ticket=ticket):
        found.setdefault(kept.garment_id, []).append(kept)
    return found
