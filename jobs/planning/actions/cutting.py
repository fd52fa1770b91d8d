"""A hem is marked and may be cut, in the shoes it will be worn with."""

from django.db import transaction

from jobs.planning.errors import PlanError
from jobs.planning.jobs import marked, needs_cut_mark
from jobs.planning.models import ReadyToCut
from jobs.tickets.actions.locking import locked
from jobs.tickets.heels import other_shoes
from jobs.tickets.history import record
from jobs.tickets.models import Line
from studio.shop import clock
from studio.shop.models import User


@transaction.atomic
def ready_to_cut(*, line: Line, by: User, marked_at: str = "") -> ReadyToCut:
    """The hem is marked and may be cut. ``marked_at`` is the heel height it was marked at.

    Raises PlanError for a hem after a fitting as long as the heel height is not known, and where
    another was known before until ``marked_at`` is the new one: a hem marked in the wrong shoes is
    the costliest mistake of the trade.
    """
    ticket = locked(line.garment.ticket)
    line = Line.objects.select_related("garment").get(pk=line.pk)
    mark = ReadyToCut.objects.filter(line=line).first()
    if mark and marked(mark, line.garment):
        return mark
    _check(line, marked_at)
    facts = {"at": clock.now(), "by": by}
    mark, _ = ReadyToCut.objects.update_or_create(line=line, defaults=facts)
    record(ticket, by, f"Ready to cut: {line.garment.letter} {line.name}.")
    return mark


def _check(line: Line, marked_at: str) -> None:
    garment = line.garment
    if not needs_cut_mark(line):
        return
    if garment.heel_mm is None and not garment.heel_typed:
        raise PlanError(
            f"Write the heel height of garment {garment.letter} first: "
            "this hem is worn with the event shoes."
        )
    if (words := other_shoes(garment)) and marked_at != garment.heel_typed:
        raise PlanError(words)
