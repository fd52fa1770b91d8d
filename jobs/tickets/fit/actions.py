"""A sum is kept with its garment, and its amount agreed on a line."""

from typing import Any

from clients.fit.lengths import Unit
from jobs.tickets import verbs
from jobs.tickets.actions.agree import amount_agreed
from jobs.tickets.actions.lock import TicketError, locked
from jobs.tickets.fit.answers import SumAnswer
from jobs.tickets.models import FitSum, Garment, Line
from studio.shop import clock
from studio.shop.history import record
from studio.shop.models import Profile, User


def keep(
    *,
    garment: Garment,
    kind: str,
    asked: dict[str, str],
    answer: SumAnswer,
    unit: Unit,
    line: Line | None = None,
    by: User,
) -> FitSum:
    """Keep a sum with its garment, for ``line`` if it is to be agreed there. Kept twice it is one.

    The garment remembers where its cloth ends, as far as the sum was told.
    Raises TicketError when the garment is off the ticket.
    """
    facts: dict[str, Any] = {
        "kind": kind,
        "asked": asked,
        "answer": answer.as_data(unit),
        "edge_mm": answer.edge_mm,
        "layers": answer.layers,
    }
    with record(verbs.SUM_KEPT, about=garment.ticket, by=by, says=_short(answer)) as step:
        locked(garment.ticket)
        garment = Garment.objects.get(pk=garment.pk)
        if garment.removed_at:
            raise TicketError("This garment is no longer on the ticket.")
        ends = garment.cloth_ends | answer.cloth_ends
        if ends != garment.cloth_ends:
            step.keep(garment)
            garment.cloth_ends = ends
            garment.save(update_fields=["cloth_ends"])
        latest = garment.fit_sums.filter(kind=kind).first()
        same = latest and all(getattr(latest, name) == value for name, value in facts.items())
        if latest and same and (line is None or latest.line_id in {None, line.pk}):
            return latest
        kept = FitSum.objects.create(garment=garment, made_at=clock.now(), made_by=by, **facts)
        step.parameters["letter"] = garment.letter
        step.add(kept)
    return kept


def put_on_line(
    *, kept: FitSum, answer: SumAnswer, line: Line, studio: Profile, by: User
) -> FitSum:
    """Agree the sum's amount on a line of its garment: a new version of the agreement.

    Raises TicketError when the sum has no amount, or the line is done or no longer there.
    """
    pin = answer.pin
    if pin is None:
        raise TicketError("This sum gives no amount for a line.")
    if line.garment_id != kept.garment_id:
        raise TicketError("This work is no longer on the garment.")
    with amount_agreed(line, pin, studio, by, _short(answer)) as (held, step):
        step.keep(kept)
        kept.line, kept.applied_at = held, clock.now()
        kept.save(update_fields=["line", "applied_at"])
    return kept


def _short(answer: SumAnswer) -> str:
    return answer.says[:200].rstrip(".")
