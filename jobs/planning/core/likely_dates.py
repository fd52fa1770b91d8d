"""Dates by chance: a few hundred futures, each planned earliest due first."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import log
from random import Random

from jobs.planning.core.earliest_due_first import fill, ready
from jobs.planning.core.estimates import Ratios, median_remaining, minutes_left
from jobs.planning.core.honest_dates import Allowed, allowed_from, earliest_due
from jobs.planning.core.stages import (
    Calendar,
    NoDayError,
    PlanningError,
    PreparedStages,
    Stage,
    last_bucket,
    prepare,
)

FUTURES = 400
SEED = 1


@dataclass(frozen=True)
class GuessedStage:
    """A stage whose ``processing`` is its whole estimate, of which ``spent`` minutes are worked.

    Its length is drawn by the ratio of ``operation``. None means that ``processing`` is certain
    and is what is left, as for own time.
    """

    stage: Stage
    operation: str | None = None
    spent: int = 0


@dataclass(frozen=True)
class Promise:
    """Bucket ``due`` is kept with probability ``chance``, at least ``confidence``.

    ``earliest`` is the honest date if all work takes its median time; ``due`` is never before it.
    ``curve`` is the chance of every bucket, from which `likely_date` reads the date for any other
    confidence.
    """

    due: int
    chance: float
    confidence: float
    earliest: int
    curve: tuple[float, ...]


def promise(
    calendar: Calendar,
    work: Iterable[GuessedStage],
    new: GuessedStage,
    ratios: Ratios,
    *,
    confidence: float = 0.9,
    allowed: Allowed = None,
    futures: int = FUTURES,
    seed: int = SEED,
) -> Promise:
    """First allowed date that the medians can hold and that enough futures keep.

    The due bucket of ``new`` is not looked at; its release is. The chance alone is not monotone
    in the date (a large ticket due on the next day ranks before a later newcomer), so the dates
    are scanned from the honest one on. O(K (n log n + T)) for K futures.

    Source: setting due dates by service level, K. R. Baker, D. Trietsch, "Safe scheduling:
    setting due dates in single-machine problems", European Journal of Operational Research
    (2009).

    Raises PlanningError unless 0 < ``confidence`` < 1; else as `earliest_due` does.
    """
    if not 0 < confidence < 1:
        raise PlanningError("The confidence has to lie between 0 and 1.")
    rows = list(work)
    middle = [replace(guess.stage, processing=_median(guess, ratios)) for guess in rows]
    release = max(new.stage.release, 0)
    earliest = earliest_due(calendar, middle, _median(new, ratios), release, allowed)
    curve = chance_by_date(calendar, rows, new, ratios, futures=futures, seed=seed)
    due = likely_date(curve, earliest, confidence, allowed)
    chance = curve[due] if due < len(curve) else 1.0
    return Promise(due, chance, confidence, earliest, tuple(curve))


def likely_date(
    curve: Sequence[float], earliest: int, confidence: float, allowed: Allowed = None
) -> int:
    """First allowed bucket from ``earliest`` on whose chance is at least ``confidence``.

    Buckets after the curve are certain. Raises NoDayError if no allowed bucket is found.
    """
    for day in allowed_from(allowed, earliest):
        if day >= len(curve) or curve[day] >= confidence:
            return day
    raise NoDayError(earliest)


def chance_by_date(
    calendar: Calendar,
    work: Iterable[GuessedStage],
    new: GuessedStage | Sequence[GuessedStage],
    ratios: Ratios,
    *,
    futures: int = FUTURES,
    seed: int = SEED,
) -> list[float]:
    """Share of futures in which ``new``, if due in bucket d, is done by then; for every d.

    A newcomer of several operations is given as one guess for each, all of the same release.

    In each future all minutes are drawn and planned once, earliest due first; the newcomer ranks
    behind what is due with it. It is done by d if its minutes are at most
    N(d) = C(release, d) - (work due by d, open at its release or arriving later) + overdue(d).
    The curve ends where every future has finished everything, at 1.

    The draws hang on ``seed`` and on each stage's id and operation alone: another ticket, another
    order or another day change no draw. The doubt about an operation is drawn once per future
    for all its stages. O(K (n log n + T)) for K futures.

    Raises NoBenchTimeError if the calendar never holds the longest future; else as `prepare`.
    """
    by_id = {guess.stage.id: guess for guess in work}
    book = prepare(guess.stage for guess in by_id.values())
    draws = [draw(by_id[stage.id], ratios, futures, seed) for stage in book]
    pieces = [new] if isinstance(new, GuessedStage) else list(new)
    drawn_pieces = [draw(piece, ratios, futures, seed) for piece in pieces]
    newcomer = [sum(minutes) for minutes in zip(*drawn_pieces, strict=True)]
    release = max(0, *(piece.stage.release for piece in pieces))
    longest = max(map(sum, zip(*draws, newcomer, strict=True)))
    latest = max([release, *(stage.release for stage in book)])
    last = max([release, *(last_bucket(stage) for stage in book)])
    capacity = calendar.reach(last, minutes=longest, after=latest)
    ready(capacity, book)
    kept = [0] * len(capacity)
    for future, minutes in enumerate(newcomer):
        lengths = [drawn[future] for drawn in draws]
        for bucket, free in enumerate(_left_for(capacity, book, lengths, release), start=release):
            kept[bucket] += free >= minutes
    return [count / futures for count in kept]


def draw(guess: GuessedStage, ratios: Ratios, futures: int, seed: int) -> list[int]:
    """Minutes left of one stage in each future. Certain ones are the same in all."""
    if guess.operation is None or not guess.stage.processing:
        return [guess.stage.processing] * futures
    ratio = ratios.of(guess.operation)
    # The seeds are for reproducible futures, not for secrets.
    own = Random(f"{seed} stage {guess.stage.id}")  # noqa: S311 -- as above
    middle = log(guess.stage.processing) + ratio.theta
    return [
        minutes_left(middle + ratio.doubt * doubt, ratio.spread, guess.spent, own.random() or 0.5)
        for doubt in _doubts(guess.operation, futures, seed)
    ]


@lru_cache(maxsize=256)
def _doubts(operation: str, futures: int, seed: int) -> tuple[float, ...]:
    """What all stages of an operation share in each future, in deviations."""
    shared = Random(f"{seed} operation {operation}")  # noqa: S311 -- reproducible, not secret
    return tuple(shared.gauss() for _ in range(futures))


def _median(guess: GuessedStage, ratios: Ratios) -> int:
    if guess.operation is None:
        return guess.stage.processing
    return median_remaining(guess.stage.processing, ratios.of(guess.operation), guess.spent)


def _left_for(
    capacity: Sequence[int], book: PreparedStages, minutes: Sequence[int], release: int
) -> list[int]:
    """Minutes from ``release`` to each later bucket d that work due by d leaves. O(n + T)."""
    left = list(minutes)
    overdue = [0] * (len(capacity) + 1)
    for bucket, place, piece in fill(capacity, book, minutes)[0]:
        if bucket < release:
            left[place] -= piece
        due = last_bucket(book[place])
        if bucket > due:
            overdue[due] += piece
            overdue[bucket] -= piece
    demand = [0] * len(capacity)
    for stage, rest in zip(book, left, strict=True):
        demand[last_bucket(stage)] += rest
    open_before = sum(demand[:release])
    late = sum(overdue[:release])
    free, result = -open_before + late, []
    for bucket in range(release, len(capacity)):
        free += capacity[bucket] - demand[bucket] + overdue[bucket]
        result.append(free)
    return result
