"""How long finished work really took, newest first."""

from collections import Counter

from jobs.planning.core import Timed
from jobs.planning.models import BenchTime
from jobs.tickets.models import Line
from jobs.tickets.quoting import line_minutes

ROWS = 400
"""Bench times that are looked at: what took long years ago says little about today."""


def timed_jobs() -> list[Timed]:
    """Finished operations with their minutes as agreed and as timed. One query of `ROWS` rows.

    Operations are known by their name. One whose first sittings may lie beyond the rows is left
    out, and so is work without minutes.
    """
    rows = list(
        BenchTime.objects.filter(line__done_at__isnull=False, minutes__gt=0)
        .select_related("line")
        .order_by("-started_at", "-pk")[:ROWS]
    )
    took: Counter[Line] = Counter()
    for row in rows:
        if row.line and row.minutes:
            took[row.line] += row.minutes
    if len(rows) == ROWS and rows[-1].line:
        took.pop(rows[-1].line)
    estimates = {line: line_minutes(line) for line in took}
    return [
        Timed(line.name, estimates[line], minutes)
        for line, minutes in took.items()
        if estimates[line]
    ]
