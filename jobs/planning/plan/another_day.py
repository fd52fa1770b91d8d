"""A block of work is lifted: what every day would say to it, before anything is saved."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from datetime import date

from jobs.planning import core
from jobs.planning.plan.book import Book, OwnTarget, monday_of, overtime_of
from jobs.planning.plan.rush import LateTicket, late_tickets
from jobs.planning.plan.workload import DayTrouble, Job, Load, OwnDay, load


@dataclass(frozen=True)
class DayAnswer:
    """What happens if the lifted work is sewn on ``day``.

    ``trouble`` says why it cannot be; where that is FULL, ``short`` minutes of bench time are
    missing for it alone. Else ``cost`` is how many own minutes it takes more than now, ``late``
    the tickets whose promise would break (the lifted one among them where the day comes after its
    own), ``short`` the least extra bench time with which none would, and ``holds`` the number of
    promises that hold.
    """

    day: date
    trouble: DayTrouble | None = None
    short: int = 0
    cost: int = 0
    late: tuple[LateTicket, ...] = ()
    holds: int = 0

    @property
    def may_be_chosen(self) -> bool:
        """Whether the day holds the block, if need be with promises agreed anew.

        A fitting is not moved with them.
        """
        return self.trouble is None and not any(row.fitting for row in self.late)


def each_day(book: Book, stages: Collection[str], days: Iterable[date]) -> list[DayAnswer]:
    """The answer of each of the ``days`` for work of one ticket, by the ids of its stages.

    Each day is one plan: the work is released and due there, in the book that is otherwise as it
    stands. Own minutes are counted over all weeks of the book. Exact but for *who* is late, which
    is what earliest-due-first makes of the smallest common delay, as for a rush job.
    O(D (T^2 + n log n)) for D days, and a few more plans for each on which a promise breaks.

    Raises KeyError for a stage that is not in the book.
    """
    lifted = Lifted(book, frozenset(stages))
    return [lifted.on(day) for day in days]


class Lifted:
    """The book without one ticket, and the ticket, to be put back with its work on some day."""

    def __init__(self, book: Book, stages: frozenset[str]) -> None:
        self.book, self.lifted = book, stages
        self.job = book.load.job_of[min(stages)]
        mine = {work.stage for work in self.job.works}
        if not stages <= mine:
            raise KeyError(min(stages - mine))
        self.others = [stage for stage in book.stages if stage.id not in mine]
        self.late_now = _late_tickets(book)
        self.own_now = sum(_own_plan(book, book.prepared).survives)

    def on(self, day: date) -> DayAnswer:
        book, job = self.book, self._on(day, self.job)
        mine = self._loaded(job)
        own_late: tuple[LateTicket, ...] = ()
        if self._trouble(mine) is DayTrouble.TOO_LATE:
            ends = book.bench.buckets[book.bench.last_of_day(day)].ends
            promised = book.bench.day_of(job.promise_at)
            mine = self._loaded(replace(job, promise_at=ends))
            own_late = (LateTicket(job.ticket, job.client, promised, day),)
        if trouble := self._trouble(mine):
            return DayAnswer(day, trouble)
        fixed = core.prepare([stage for stage in mine.stages if stage.id in self.lifted])
        rest = [stage for stage in mine.stages if stage.id not in self.lifted]
        capacity = core.reach_of(book.calendar, [*self.others, *mine.stages])
        if over := core.least_overtime(capacity, fixed):
            return DayAnswer(day, DayTrouble.FULL, over)
        both = core.prepare([*self.others, *mine.stages])
        short, late = 0, own_late
        if not core.fits(capacity, both):
            missing = core.least_overtime(capacity, both) - overtime_of(book.calendar, book.load)
            others = core.prepare([*self.others, *rest])
            _, stages = core.give_room(book.calendar, others, fixed)
            late, short = (*own_late, *late_tickets(book, stages)), max(0, missing)
            ends_late = {stage.stage: stage.late for stage in stages}
            both = core.prepare([replace(s, due=s.due + ends_late.get(s.id, 0)) for s in both])
        broken = self.late_now | {row.ticket for row in late}
        return DayAnswer(
            day=day,
            short=short,
            cost=max(0, self.own_now - sum(_own_plan(book, both).survives)),
            late=late,
            holds=len(book.jobs) - len(broken),
        )

    def _on(self, day: date, job: Job) -> Job:
        works = (
            replace(work, day=day) if work.stage in self.lifted else work for work in job.works
        )
        return replace(job, works=tuple(works))

    def _loaded(self, job: Job) -> Load:
        """The ticket's stages; its other blocks are where they are held now."""
        held = self.book.load.on_days
        loose = {work.stage for work in job.works} - self.lifted - held.keys()
        return load([job], self.book.bench, loose)

    def _trouble(self, mine: Load) -> DayTrouble | None:
        """Of the lifted work, or of a block of the same ticket that could no longer be held."""
        return next((risk.why for risk in mine.at_risk), None)


def _own_plan(book: Book, stages: core.PreparedStages) -> core.OwnPlan:
    last = max([len(core.reach_of(book.calendar, stages)) - 1, *(end for _, end in book.weeks)])
    capacity = book.calendar.reach(last)
    return core.own_plan(capacity, stages, book.weeks, book.own_whole, **book.own_work)


def own_each_day(
    book: Book,
    minutes: int,
    days: Iterable[date],
    *,
    make: int | None = None,
    was: date | None = None,
) -> list[DayAnswer]:
    """The same for ``minutes`` of the owner's, which lay loose or were put on day ``was``.

    Clients' promises never break for them: a day that does not hold them is FULL, ``short`` by so
    many minutes.
    """
    before = sum(_own_plan(book, book.prepared).survives)
    holds = len(book.jobs) - len(_late_tickets(book))
    answers = []
    for day in days:
        if day < book.bench.today or not book.bench.minutes_on(day):
            past = day < book.bench.today
            answers.append(DayAnswer(day, DayTrouble.PAST if past else DayTrouble.CLOSED))
            continue
        own = OwnDay(day, minutes, make)
        plan = _own_plan(with_own_day(book, own, was), book.prepared)
        held = sum(stage.processing for stage in plan.stages if stage.id == own.stage)
        if held < minutes:
            answers.append(DayAnswer(day, DayTrouble.FULL, minutes - held))
        else:
            answers.append(DayAnswer(day, cost=max(0, before - sum(plan.survives)), holds=holds))
    return answers


def _late_tickets(book: Book) -> set[str]:
    """Whose promise breaks as it is."""
    late = core.lateness(book.calendar, book.stages)
    return {book.load.job_of[stage].ticket for stage, buckets in late.items() if buckets > 0}


def with_own_day(book: Book, own: OwnDay, was: date | None = None) -> Book:
    """The book with these own minutes on their day, and no longer on the day they ``was`` on."""
    gone = {(own.make, own.day), (own.make, was)}
    taken = [row for row in book.own_days if (row.make, row.day) in gone]
    changes: dict[date, int] = {monday_of(own.day): own.minutes}
    for row in taken:
        monday = monday_of(row.day)
        changes[monday] = changes.get(monday, 0) - row.minutes
    kept = tuple(row for row in book.own_days if row not in taken)
    return replace(
        book,
        own_days=(*kept, own),
        targets=tuple(_put(target, changes.get(target.monday, 0)) for target in book.targets),
    )


def _put(target: OwnTarget, minutes: int) -> OwnTarget:
    placed, on_days = target.placed + minutes, target.on_days + minutes
    return replace(target, placed=placed, on_days=on_days)
