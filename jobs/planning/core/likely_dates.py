"""Dates by chance: a few hundred futures, each planned earliest due first."""

from array import array
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate, islice, repeat
from math import log
from operator import add, sub
from random import Random

from jobs.planning.core.estimates import Ratio, Ratios, minutes_left
from jobs.planning.core.honest_dates import Allowed, allowed_from
from jobs.planning.core.stages import (
    Calendar,
    NoDayError,
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


def likely_date(
    curve: Sequence[float], earliest: int, confidence: float, allowed: Allowed = None
) -> int:
    """First allowed bucket from ``earliest`` on whose chance is at least ``confidence``.

    ``earliest`` is the honest date if all work takes its median time. The chance alone is not
    monotone in the date (a large ticket due on the next day ranks before a later newcomer), so the
    dates are scanned from there on. Buckets after the curve are certain.

    Source: setting due dates by service level, K. R. Baker, D. Trietsch, "Safe scheduling:
    setting due dates in single-machine problems", European Journal of Operational Research
    (2009).

    Raises NoDayError if no allowed bucket is found.
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
    until: int | None = None,
    futures: int = FUTURES,
    seed: int = SEED,
) -> list[float]:
    """Share of futures in which ``new``, if due in bucket d, is done by then; for every d.

    A newcomer of several operations is given as one guess for each, all of the same release.

    In each future all minutes are drawn and planned once, earliest due first; the newcomer ranks
    behind what is due with it. It is done by d if its minutes are at most
    N(d) = C(release, d) - (work due by d, open at its release or arriving later) + overdue(d).
    The curve ends where every future has finished everything, at 1, or with ``until``.

    What is told of a date hangs on how much is due when and may be begun when, not on whose it is:
    stages of one window are planned as one, and draws are kept from one question to the next.
    The draws hang on ``seed`` and on each stage's id and operation alone: another ticket, another
    order or another day change no draw. The doubt about an operation is drawn once per future
    for all its stages. O(K (n log n + T)) for K futures.

    Raises NoBenchTimeError if the calendar never holds the longest future; else as `prepare`.
    """
    by_id = {guess.stage.id: guess for guess in work}
    book = prepare(guess.stage for guess in by_id.values())
    together: dict[tuple[int, int], list[_Sort]] = {}
    for stage in book:
        window = last_bucket(stage), stage.release
        together.setdefault(window, []).append(_sort_of(by_id[stage.id], ratios))
    windows = sorted(together)
    draws = [_drawn_together(tuple(together[window]), futures, seed) for window in windows]
    pieces = [new] if isinstance(new, GuessedStage) else list(new)
    newcomer = _drawn_together(tuple(_sort_of(piece, ratios) for piece in pieces), futures, seed)
    release = max(0, *(piece.stage.release for piece in pieces))
    latest = max([release, *(first for _, first in windows)])
    last = max([release, *(due for due, _ in windows)])
    if until is None:
        longest = max(map(sum, zip(*draws, newcomer, strict=True)))
        capacity = calendar.reach(last, minutes=longest, after=latest)
    else:
        capacity = calendar.reach(max(last, until))
    root = [bucket + (not held) for bucket, held in enumerate((*capacity, 1))]
    kept = [0] * (len(capacity) - release)
    for minutes, lengths in zip(
        newcomer, zip(*draws, strict=True) if draws else repeat((), futures), strict=True
    ):
        free = _left_for(capacity, windows, lengths, release, root)
        kept = list(map(add, kept, map(minutes.__le__, free)))
    return [0.0] * release + [count / futures for count in kept]


_Sort = tuple[str, int, str | None, int, Ratio | None]
"""All that the draws of a stage hang on: id, minutes, operation, minutes spent, ratio."""


def _sort_of(guess: GuessedStage, ratios: Ratios) -> _Sort:
    stage, operation = guess.stage, guess.operation
    if operation is None or not stage.processing:
        return stage.id, stage.processing, None, 0, None
    return stage.id, stage.processing, operation, guess.spent, ratios.of(operation)


def draw(guess: GuessedStage, ratios: Ratios, futures: int, seed: int) -> list[int]:
    """Minutes left of one stage in each future. Certain ones are the same in all."""
    return list(_drawn(_sort_of(guess, ratios), futures, seed))


@lru_cache(maxsize=1024)
def _drawn_together(sorts: tuple[_Sort, ...], futures: int, seed: int) -> "array[int]":
    """What several stages take in all in each future."""
    return array("l", map(sum, zip(*(_drawn(sort, futures, seed) for sort in sorts), strict=True)))


@lru_cache(maxsize=4096)
def _drawn(sort: _Sort, futures: int, seed: int) -> "array[int]":
    """The draws of one stage. They are kept, since a book hardly changes from tap to tap."""
    name, processing, operation, spent, ratio = sort
    if operation is None or ratio is None:
        return array("l", [processing]) * futures
    # The seeds are for reproducible futures, not for secrets.
    own = Random(f"{seed} stage {name}")  # noqa: S311 -- as above
    middle = log(processing) + ratio.theta
    return array(
        "l",
        [
            minutes_left(middle + ratio.doubt * doubt, ratio.spread, spent, own.random() or 0.5)
            for doubt in _doubts(operation, futures, seed)
        ],
    )


@lru_cache(maxsize=256)
def _doubts(operation: str, futures: int, seed: int) -> tuple[float, ...]:
    """What all stages of an operation share in each future, in deviations."""
    shared = Random(f"{seed} operation {operation}")  # noqa: S311 -- reproducible, not secret
    return tuple(shared.gauss() for _ in range(futures))


def _left_for(
    capacity: Sequence[int],
    windows: Sequence[tuple[int, int]],
    minutes: Sequence[int],
    release: int,
    root: Sequence[int],
) -> Iterator[int]:
    """Minutes from ``release`` to each later bucket d that work due by d leaves. O(n + T).

    ``windows`` are (due, release) in due order; ``root`` leads from each bucket to the next that
    has minutes. This is `fill` without a record, since it is done in every future.
    """
    left, following, end = list(capacity), list(root), len(capacity)
    demand = [0] * (end + 1)
    for (due, first), whole in zip(windows, minutes, strict=True):
        demand[due] += whole
        need, bucket = whole, first
        while need:
            while (beyond := following[bucket]) != bucket:
                following[bucket] = bucket = following[beyond]
            if bucket == end:
                demand[due] -= need
                break
            piece = left[bucket]
            if piece > need:
                left[bucket] = piece - need
                piece = need
            else:
                following[bucket] = bucket + 1
            need -= piece
            if bucket < release:
                demand[due] -= piece
            if bucket > due:
                # Overdue from its due bucket until it is worked.
                demand[due] -= piece
                demand[bucket] += piece
    free = map(sub, capacity[release:], demand[release:])
    return islice(accumulate(free, initial=-sum(demand[:release])), 1, None)
