"""The work of the tickets at the bench, read as far as a page can show it."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, time

from jobs.planning.jobs import job_of
from jobs.planning.models import Fitting
from jobs.planning.nearby import is_enough, lumps, part
from jobs.planning.open_work import ASKED, LineRow, OpenTicket, read_lines
from jobs.planning.plan.book import Book
from jobs.planning.plan.workload import Job
from studio.shop import clock


@dataclass(frozen=True)
class BenchWork:
    """Tickets at the bench in due order, those that are ready, and the fittings of all of them."""

    at_work: list[OpenTicket]
    ready: list[OpenTicket]
    fittings: list[Fitting]

    def whole(self, book: Book) -> "FilledBook":
        """The book with every operation, in one query."""
        return self._filled(book, self.at_work)

    def until(self, book: Book, day: date, *, waiting: bool) -> "FilledBook":
        """The book in which what the plan cannot reach by ``day`` is lumped together.

        One query; another where lumps could change an answer. ``waiting`` asks for the operations
        of lumped tickets that wait.
        """
        near, far = part(self.at_work, {one.ticket_id for one in self.fittings}, book.bench, day)
        filled = self._filled(book, near, far, waiting=waiting)
        if far and not is_enough(filled.book, day):
            return self.whole(book)
        return filled

    def _filled(
        self,
        book: Book,
        near: list[OpenTicket],
        far: Sequence[OpenTicket] = (),
        *,
        waiting: bool = False,
    ) -> "FilledBook":
        rows = read_lines(
            [one.pk for one in (*near, *self.ready)],
            held_of=[one.pk for one in far if one.held == ASKED] if waiting else [],
            done_since=clock.at(book.bench.today, time.min),
        )
        standing = [one for one in self.fittings if one.state != Fitting.State.CANCELLED]
        jobs = _Jobs(rows, standing, book)
        lumped = {one.pk for one in far}
        return FilledBook(
            book=replace(book, jobs=tuple(jobs.of(near)), lumps=lumps(far, book.bench)),
            held=[row for row in rows if row.ticket in lumped],
            finished=[row for row in rows if row.done_at],
        )


@dataclass(frozen=True)
class FilledBook:
    """The book with work in it, what waits on lumped tickets, and the operations done today."""

    book: Book
    held: list[LineRow]
    finished: list[LineRow]


class _Jobs:
    """Open operations and fittings, by their ticket."""

    def __init__(self, rows: Iterable[LineRow], fittings: Iterable[Fitting], book: Book) -> None:
        self.now = book.bench.now
        self.lines: dict[int, list[LineRow]] = defaultdict(list)
        self.fittings: dict[int, list[Fitting]] = defaultdict(list)
        for row in rows:
            if not row.done_at:
                self.lines[row.ticket].append(row)
        for fitting in fittings:
            self.fittings[fitting.ticket_id].append(fitting)

    def of(self, tickets: Iterable[OpenTicket]) -> list[Job]:
        """The tickets with an open operation."""
        return [
            job_of(one, self.lines[one.pk], self.fittings.get(one.pk, []), self.now)
            for one in tickets
            if one.pk in self.lines
        ]
