"""How long finished work really took, newest first."""

from jobs.planning.core import Timed
from jobs.planning.models import BenchTime
from jobs.tickets.quoting import minutes_of

ROWS = 400
"""Bench times that are looked at: what took long years ago says little about today."""


def timed_jobs() -> list[Timed]:
    """Finished operations with their minutes as agreed and as timed. One query of `ROWS` rows.

    Operations are known by their name. One whose first sittings may lie beyond the rows is left
    out, and so is work without minutes.
    """
    found = (
        BenchTime.objects.filter(line__done_at__isnull=False, minutes__gt=0)
        .select_related("line")
        .order_by("-started_at", "-pk")[:ROWS]
    )
    rows = [(row.line, row.minutes) for row in found if row.line and row.minutes]
    took: dict[int, int] = {}
    for line, minutes in rows:
        took[line.pk] = took.get(line.pk, 0) + minutes
    if len(rows) == ROWS:
        del took[rows[-1][0].pk]
    lines = {line.pk: line for line, _ in rows}
    estimates = dict(zip(took, minutes_of(lines[pk] for pk in took), strict=True))
    return [
        Timed(lines[pk].name, estimates[pk], minutes)
        for pk, minutes in took.items()
        if estimates[pk]
    ]
