"""A sum is kept with its garment, and its amount agreed on a line."""

from typing import Any

from django.db import transaction

from clients.fit.lengths import Unit
from jobs.tickets.actions import change, draft_of
from jobs.tickets.actions.locking import locked
from jobs.tickets.errors import TicketError
from jobs.tickets.fit.answers import Answer
from jobs.tickets.history import record, snapshot
from jobs.tickets.models import FitSum, Garment, Line
from studio.shop import clock
from studio.shop.models import Profile, User


@transaction.atomic
def note_cloth(*, garment: Garment, cloth: str, by: User) -> Garment:
    """What the garment is made of: one of ``Garment.Cloth`` or nothing. Again changes nothing.

    Raises TicketError when the garment is off the ticket or the ticket is closed.
    """
    ticket = locked(garment.ticket)
    garment = Garment.objects.get(pk=garment.pk)
    if garment.cloth == cloth:
        return garment
    if garment.removed_at or not ticket.is_open:
        raise TicketError("This garment is no longer in work.")
    before = snapshot(ticket)
    garment.cloth = cloth
    garment.save(update_fields=["cloth"])
    said = garment.get_cloth_display() or "not noted"
    record(ticket, by, f"Cloth of {garment.letter}: {said}.", before=before)
    return garment


@transaction.atomic
def keep(
    *,
    garment: Garment,
    kind: str,
    asked: dict[str, str],
    answer: Answer,
    unit: Unit,
    line: Line | None = None,
    by: User,
) -> FitSum:
    """Keep a sum with its garment, for ``line`` if it is to be agreed there. Kept twice it is one.

    Raises TicketError when the garment is off the ticket.
    """
    locked(garment.ticket)
    garment = Garment.objects.get(pk=garment.pk)
    if garment.removed_at:
        raise TicketError("This garment is no longer on the ticket.")
    facts: dict[str, Any] = {
        "kind": kind,
        "asked": asked,
        "answer": answer.as_data(unit),
        "edge_mm": answer.edge_mm,
        "layers": answer.layers,
    }
    latest = garment.fit_sums.filter(kind=kind).first()
    same = latest and all(getattr(latest, name) == value for name, value in facts.items())
    if latest and same and (line is None or latest.line_id in {None, line.pk}):
        return latest
    return FitSum.objects.create(garment=garment, made_at=clock.now(), made_by=by, **facts)


@transaction.atomic
def put_on_line(*, kept: FitSum, answer: Answer, line: Line, studio: Profile, by: User) -> FitSum:
    """Agree the sum's amount on a line of its garment: a new version of the agreement.

    Raises TicketError when the sum has no amount, or the line is done or no longer there.
    """
    pin = answer.pin
    if pin is None:
        raise TicketError("This sum gives no amount for a line.")
    ticket = locked(kept.garment.ticket)
    draft = draft_of(ticket)
    found = next((one for one in draft.lines if one.pk == line.pk), None)
    line = Line.objects.get(pk=line.pk)
    if found is None or line.garment_id != kept.garment_id:
        raise TicketError("This work is no longer on the garment.")
    if line.done_at:
        raise TicketError(f"{line.name} is done already.")
    found.amount_mm, found.amount_typed = pin.mm, pin.amount_typed
    found.measure, found.basis = pin.measure, pin.basis
    change(ticket=ticket, draft=draft, studio=studio, by=by, reason=answer.says[:200].rstrip("."))
    kept.line, kept.applied_at = line, clock.now()
    kept.save(update_fields=["line", "applied_at"])
    return kept
