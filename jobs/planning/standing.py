"""What is left to do on a ticket that is to be agreed anew."""

from collections.abc import Mapping, Set
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from jobs.planning.core import Ratio, median_remaining
from jobs.planning.jobs import TO_BOOK, TO_MOVE, job_of
from jobs.planning.models import Fitting
from jobs.planning.open_work import read_lines, ticket_row
from jobs.planning.plan.promises import AskedJob, AskedOperation, asked_for
from jobs.planning.plan.workload import FittingAt
from jobs.tickets.draft import LineDraft
from jobs.tickets.models import Ticket
from jobs.tickets.quoting import line_minutes
from studio.shop import clock


@dataclass(frozen=True)
class StandingWork:
    """A ticket as it stands; the default is one that does not stand yet.

    ``spent`` are the minutes sewn on its open lines, by line; lines that are done are not among
    them. ``after`` are the lines that come after a fitting: the one to come, or one still to be
    booked. ``fitted`` says that the fitting has been. ``waits`` are the lines that wait, each
    with the day on which it is expected to go on.
    """

    spent: Mapping[int, int] = field(default_factory=dict)
    after: Set[int] = frozenset()
    fitting: FittingAt | None = None
    fitted: bool = False
    waits: Mapping[int, date] = field(default_factory=dict)

    def asked(self, lines: list[LineDraft]) -> AskedJob:
        """What is asked of the week when the ticket is to have these lines."""
        asked = asked_for([self._piece(line) for line in lines], self.fitting)
        waiting = [day for pk, day in self.waits.items() if pk in {line.pk for line in lines}]
        return replace(asked, not_before=max(waiting)) if waiting else asked

    def _piece(self, line: LineDraft) -> AskedOperation:
        if line.pk is None:
            gated = line.fitting_first and not self.fitted
            return AskedOperation(line.name, line_minutes(line), gated)
        if line.pk not in self.spent:
            return AskedOperation(line.name, 0)
        left = median_remaining(line_minutes(line), Ratio(), self.spent[line.pk])
        return AskedOperation(line.name, left, line.pk in self.after)


def standing_work(ticket: Ticket) -> StandingWork:
    """Two queries."""
    fittings = list(ticket.fittings.exclude(state=Fitting.State.CANCELLED).order_by("starts_at"))
    rows = read_lines([ticket.pk])
    job = job_of(ticket_row(ticket), rows, fittings, clock.now())
    tomorrow = clock.today() + timedelta(days=1)
    kept = any(fitting.state == Fitting.State.KEPT for fitting in fittings)
    return StandingWork(
        spent={row.pk: row.spent or 0 for row in rows},
        after={work.line for work in job.works if work.after or work.waits in {TO_BOOK, TO_MOVE}},
        fitting=job.fittings[-1] if job.fittings else None,
        fitted=kept and not job.fittings,
        waits={row.pk: max(row.wait_until or tomorrow, tomorrow) for row in rows if row.wait},
    )
