"""The date that is kept nine times out of ten, from how long work has really taken."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from jobs.planning import core
from jobs.planning.core.stages import agreeable, last_bucket
from jobs.planning.plan.promises import NEWCOMER, NOT_FOUND, Piece, Promises

NEEDED = 5
"""Timed jobs below which the program does not guess how long work really takes."""
CONFIDENCE = 0.9
FUTURES = 200
AHEAD = 60
"""Buckets behind the honest date in which the likely one is looked for."""


@dataclass(frozen=True)
class Likely:
    """``timed`` jobs are known; ``day`` is kept in nine futures of ten.

    ``day`` is None below `NEEDED` timed jobs, and where it lies too far away to say.
    """

    timed: int
    day: date | None = None

    @property
    def known(self) -> bool:
        return self.timed >= NEEDED


def likely(
    promises: Promises,
    history: Sequence[core.Timed],
    kept: date | None,
    fittings: Sequence[date] = (),
) -> Likely:
    """The first day from ``kept`` on that holds at the usual times and in nine futures of ten.

    The usual time of an operation is the median that the history teaches; with it every other
    promise and the own hours have to be kept, as for the honest date. ``fittings`` are the days
    proposed for those of the asked job: the chance is that of all its work, and what is left of
    the work before a fitting is done first. Work under way is drawn by what is left of it. Only
    work due until the last day looked at can matter, and only that is drawn. Same inputs, same
    answer. O(K (n log n + T)) for K futures.
    """
    if len(history) < NEEDED or kept is None or not promises.asked.minutes:
        return Likely(len(history))
    ratios = core.fit_ratios(history)
    before, after = _newcomer(promises, fittings)
    work = _book(promises)
    try:
        usual = _at_usual_times(promises, [*work, *before], after, ratios)
        first = max(0, promises.due_bucket(kept), usual)
        last = first + AHEAD
        near = [guess for guess in work if last_bucket(guess.stage) <= last]
        curve = core.chance_by_date(
            promises.book.calendar, [*near, *before], after, ratios, futures=FUTURES
        )
    except NOT_FOUND:
        return Likely(len(history))
    for bucket in filter(promises.may_promise, range(first, last + 1)):
        if bucket >= len(curve) or curve[bucket] >= CONFIDENCE:
            return Likely(len(history), promises.book.day_of(bucket))
    return Likely(len(history))


def _book(promises: Promises) -> list[core.Guess]:
    """All that is promised, drawn by its operation, and the own hours, which are certain."""
    works = promises.book.load.works
    return [
        core.Guess(stage, works[stage.id].name if stage.id in works else None)
        for stage in agreeable(promises.with_own)
    ]


def _at_usual_times(
    promises: Promises, work: list[core.Guess], after: list[core.Guess], ratios: core.Ratios
) -> int:
    """The earliest bucket if everything takes its usual time."""

    def usual(guess: core.Guess) -> int:
        if guess.operation is None:
            return guess.stage.processing
        return core.median_remaining(guess.stage.processing, ratios.of(guess.operation), 0)

    stages = [replace(guess.stage, processing=usual(guess)) for guess in work]
    return core.earliest_due(
        promises.book.calendar,
        stages,
        sum(usual(guess) for guess in after),
        max(guess.stage.release for guess in after),
        promises.may_promise,
    )


def _newcomer(
    promises: Promises, fittings: Sequence[date]
) -> tuple[list[core.Guess], list[core.Guess]]:
    """What the asked job has before its fitting, and what comes after it or has none."""
    asked = promises.asked
    pieces = asked.pieces or tuple(
        Piece("", minutes, after=bool(place)) for place, minutes in enumerate(asked.parts)
    )
    due, release = 0, promises.release
    if asked.fitting:
        due = max(0, promises.book.bench.last_before(asked.fitting.starts))
        release = max(release, promises.book.bench.first_after(asked.fitting.ends))
    elif fittings:
        due = max(0, promises.due_bucket(fittings[-1]))
        release = due + 1
    before, after = [], []
    for place, piece in enumerate(pieces):
        name = f"{NEWCOMER} {place}"
        stage = core.Stage(name, name, 0, piece.minutes, min(promises.release, due), due)
        gated = len(asked.parts) > 1
        if gated and not piece.after:
            before.append(core.Guess(stage, piece.operation))
        else:
            after.append(core.Guess(replace(stage, release=release), piece.operation))
    return before, after
