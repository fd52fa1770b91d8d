"""Spare minutes for every date, and the earliest dates that keep every other promise.

Likely dates follow: how long work really takes, and a few hundred futures, earliest due first.
Logarithms need floats; every answer in minutes is rounded to a whole one.
"""

from array import array
from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import accumulate, islice, repeat
from math import erfc, exp, hypot, log, sqrt
from operator import add, sub
from random import Random
from statistics import NormalDist, fmean
from typing import NamedTuple

from jobs.planning.core.stages import (
    FARTHEST,
    Calendar,
    NoDayError,
    PlanningError,
    PreparedStages,
    Stage,
    fits,
    free_until,
    last_bucket,
    open_at,
    prepare,
    reach_of,
    ready,
    settle,
)


@dataclass(frozen=True)
class Room:
    """A newcomer worked in ``release`` to ``due`` may take ``minutes`` without harm to anybody.

    The reason: from ``release`` to the end of ``binding_due`` there are ``capacity`` minutes, of
    which ``stages``, open or arriving and due by then, hold ``demand``. ``relaxed`` says that
    the book is overfull and late stages were taken as due when earliest-due-first finishes them.
    """

    release: int
    due: int
    minutes: int
    binding_due: int
    capacity: int
    demand: int
    stages: tuple[str, ...]
    relaxed: bool


def room(capacity: Sequence[int], stages: Iterable[Stage], due: int, release: int = 0) -> Room:
    """`spare` for one date with its reason. Ties: the earliest binding due bucket.

    O(n log n + T). Raises IndexError unless ``release`` <= ``due`` are buckets of ``capacity``;
    else as `edf` does.
    """
    if not 0 <= release <= due < len(capacity):
        raise IndexError(f"{release} to {due} is no window in {len(capacity)} buckets.")
    given = ready(capacity, stages)
    longer, book = settle(capacity, given)
    left = open_at(longer, book, release)
    free = free_until(longer, book, release)[due - release :]
    binding = due + free.index(min(free))
    held = sum(longer[release : binding + 1])
    return Room(
        release=release,
        due=due,
        minutes=min(free),
        binding_due=binding,
        capacity=held,
        demand=held - min(free),
        stages=tuple(
            stage.id
            for stage, minutes in zip(book, left, strict=True)
            if minutes and last_bucket(stage) <= binding
        ),
        relaxed=book is not given,
    )


Allowed = Callable[[int], bool] | Collection[int] | None
"""Which buckets may be chosen: a test, the buckets themselves, or None for any."""


def earliest_due(
    calendar: Calendar,
    stages: Iterable[Stage],
    processing: int,
    release: int,
    allowed: Allowed = None,
) -> int:
    """First allowed due bucket for a new job that lets every window of the book be kept.

    In an overfull book nobody is made later than earliest-due-first has them already. A job of
    no minutes gets the first allowed bucket from ``release`` on. O(n log n + T).

    Source: the table of `spare`, which needs no search.

    Raises
    ------
    NoBenchTimeError
        If the calendar never holds the work.
    NoDayError
        If no bucket after the answer is allowed.
    PlanningError
        For negative ``processing`` or ``release``; and whatever `edf` raises.
    """
    if processing < 0 or release < 0:
        raise PlanningError("A new job needs minutes and a release of 0 or more.")
    book = prepare(stages)
    free = free_until(*_settle_for(calendar, book, processing, release), release)
    # Spare minutes are the least free ones from a date on, so the last date that lacks some counts.
    lacking = (place for place in range(len(free), 0, -1) if free[place - 1] < processing)
    return next_allowed(allowed, release + next(lacking, 0))


def _settle_for(
    calendar: Calendar, book: PreparedStages, processing: int, release: int
) -> tuple[Sequence[int], PreparedStages]:
    """Capacity in which the newcomer fits for certain, if only behind everybody else."""
    last = max(release, book[-1].due) if book else release
    minutes = sum([stage.processing for stage in book]) + processing
    return settle(calendar.reach(last, minutes=minutes, after=release), book)


def next_allowed(allowed: Allowed, first: int) -> int:
    """First allowed bucket from ``first`` on. Raises NoDayError if none is found."""
    day = next(allowed_from(allowed, first), None)
    if day is None:
        raise NoDayError(first)
    return day


def allowed_from(allowed: Allowed, first: int) -> Iterator[int]:
    """The allowed buckets from ``first`` on: all of a collection, `FARTHEST` ones of a test."""
    days = range(first, first + FARTHEST)
    if allowed is None:
        return iter(days)
    if callable(allowed):
        return filter(allowed, days)
    return iter(sorted(day for day in allowed if day >= first))


@dataclass(frozen=True)
class FittingRule:
    """When fittings may be, and how the work stands around them.

    For a fitting in bucket f the work before it is due in f - ``lead_in`` and the work after it
    is released in f + ``lead_out``. The fitting takes ``minutes`` of bench time from bucket f.
    ``allowed`` says which buckets may hold a fitting, ``pickup`` which may be promised.

    A fitting in the morning of a day is (1, 0), at the end of one (0, 1). Where the day is cut
    in two buckets by an appointment, f is the bucket before it: (0, 1).
    """

    lead_in: int = 0
    lead_out: int = 1
    minutes: int = 0
    allowed: Allowed = None
    pickup: Allowed = None

    def __post_init__(self) -> None:
        if min(self.lead_in, self.lead_out, self.minutes) < 0:
            raise PlanningError("The offsets and minutes of a fitting cannot be negative.")


class Pickup(NamedTuple):
    """The bucket of each fitting, and the bucket the ticket can be promised for."""

    fittings: tuple[int, ...]
    due: int


def earliest_pickup(
    calendar: Calendar,
    stages: Iterable[Stage],
    parts: Sequence[int],
    release: int,
    fitting: FittingRule,
) -> Pickup:
    """Fittings and pick-up of a new ticket: the earliest fitting, then the next, then the date.

    ``parts`` are the minutes before the first fitting, between fittings, and after the last:
    one more than there are fittings. Taking each fitting as early as the work before it allows
    gives the earliest pick-up of all choices. The buckets are tried one after the other, since a
    fitting that takes minutes may fit on one day and not on the next. Every other promise is
    kept; an overfull book is settled first, as in `earliest_due`.

    Complexity: O(F (n log n + T)) for F fitting buckets tried.

    Raises
    ------
    NoDayError
        If no allowed bucket holds a fitting.
    PlanningError
        If ``parts`` is empty or negative; and whatever `earliest_due` raises.
    """
    if not parts or min(parts) < 0:
        raise PlanningError("A ticket needs at least one part, and no negative minutes.")
    book = settle(reach_of(calendar, prepare(stages)), stages)[1]
    fittings: list[int] = []
    for part in parts[:-1]:
        bucket = _next_fitting(calendar, book, part, release, fitting)
        book = prepare([*book, *_taken_up(len(fittings), part, release, bucket, fitting)])
        fittings.append(bucket)
        release = bucket + fitting.lead_out
    return Pickup(tuple(fittings), earliest_due(calendar, book, parts[-1], release, fitting.pickup))


def _next_fitting(
    calendar: Calendar, book: PreparedStages, part: int, release: int, fitting: FittingRule
) -> int:
    """First allowed bucket whose fitting, and the part before it, the book has room for."""
    first = release
    if part:
        first = earliest_due(calendar, book, part, release) + fitting.lead_in
    for bucket in allowed_from(fitting.allowed, first):
        if not fitting.minutes:
            return bucket
        if calendar.at(bucket) >= fitting.minutes:
            more = _taken_up(len(book), part, release, bucket, fitting)
            if fits(calendar.reach(max(bucket, book[-1].due if book else 0)), [*book, *more]):
                return bucket
    raise NoDayError(first)


def _taken_up(
    number: int, part: int, release: int, bucket: int, fitting: FittingRule
) -> list[Stage]:
    """The work before a fitting and the fitting itself, as stages of tickets of their own."""
    work, meeting = f"\0work {number}", f"\0fitting {number}"
    stages = [Stage(meeting, meeting, 0, fitting.minutes, bucket, bucket)]
    if part:
        stages.append(Stage(work, work, 0, part, release, bucket - fitting.lead_in))
    return stages


WITHIN, WITHIN_SD = 3, 0.35
"""Three pseudo-observations steady the spread within an operation."""
BETWEEN, BETWEEN_SD = 3, 0.20
"""Three pseudo-operations steady the spread between operations."""
MEAN_SD = 0.35
"""How far the common ratio may lie from 1 (as a logarithm) before anything was timed."""
NORMAL = NormalDist()


@dataclass(frozen=True)
class Timed:
    """A finished piece of work: minutes estimated and minutes it took, both above 0."""

    operation: str
    estimate: int
    actual: int


@dataclass(frozen=True)
class Ratio:
    """What is believed of actual / estimate for one operation, as a log-normal.

    ``theta`` is the logarithm of the median ratio, ``spread`` the deviation from job to job and
    ``doubt`` the deviation of theta itself, which all open jobs of the operation share. ``n`` is
    how many were timed and ``trust`` the weight they have against the common ratio, 0 to 1.

    Raises PlanningError for a spread that is not above 0 or a negative doubt.
    """

    theta: float = 0.0
    spread: float = 0.4
    doubt: float = 0.0
    n: int = 0
    trust: float = 0.0

    def __post_init__(self) -> None:
        if self.spread <= 0 or self.doubt < 0:
            raise PlanningError("A spread has to be above 0, a doubt not below it.")

    @property
    def times(self) -> float:
        """The median ratio: 1.2 means that it takes 1.2 times the estimate."""
        return exp(self.theta)

    @property
    def sd(self) -> float:
        """Deviation of the logarithm for one new job."""
        return hypot(self.spread, self.doubt)


@dataclass(frozen=True)
class Ratios:
    """The ratio of each operation, and ``common`` for those never timed."""

    common: Ratio
    by_operation: Mapping[str, Ratio] = field(default_factory=dict)

    def of(self, operation: str) -> Ratio:
        return self.by_operation.get(operation, self.common)


def credibility(n: int, within: float, between: float) -> float:
    """Weight of n own observations: n / (n + within / between); variances, ``between`` > 0.

    H. Buehlmann, "Experience rating and credibility", ASTIN Bulletin 4 (1967), 199-207.
    """
    return n / (n + within / between)


def fit_ratios(history: Iterable[Timed]) -> Ratios:
    """Ratios of every operation, drawn towards the common one the less they were timed.

    ln(actual / estimate) is N(theta, within) in an operation, theta is N(mu, between). ``within``
    is the pooled variance and ``between`` its moment estimate, each steadied by a few
    pseudo-observations; mu is the precision-weighted mean, drawn towards 0. O(n log n).

    Source: Buehlmann 1967; shrinkage as in B. Efron, C. Morris, "Data analysis using Stein's
    estimator", Journal of the American Statistical Association 70 (1975), 311-319. The sizes of
    the pseudo-observations are the program's choice.

    Raises PlanningError if minutes are not above 0.
    """
    groups: dict[str, list[float]] = defaultdict(list)
    for timed in history:
        if timed.actual <= 0 or timed.estimate <= 0:
            raise PlanningError("Timed work needs an estimate and minutes above 0.")
        groups[timed.operation].append(log(timed.actual / timed.estimate))
    # Sorted, so that not even the last digit depends on the order of the history.
    means = {name: fmean(sorted(groups[name])) for name in sorted(groups)}
    counts = {name: len(groups[name]) for name in means}
    within = _within(groups, means)
    between = _between(means, counts, within)
    weights = {name: 1 / (between + within / n) for name, n in counts.items()}
    precision = sum(weights.values()) + 1 / MEAN_SD**2
    mu = sum(weights[name] * means[name] for name in means) / precision

    def ratio(n: int, mean: float) -> Ratio:
        trust = credibility(n, within, between)
        # trust * within / n, written so that it also holds for n = 0.
        doubt = within / (n + within / between) + (1 - trust) ** 2 / precision
        theta = trust * mean + (1 - trust) * mu
        return Ratio(theta, sqrt(within), sqrt(doubt), n, trust)

    return Ratios(ratio(0, 0.0), {name: ratio(counts[name], means[name]) for name in means})


def _within(groups: Mapping[str, list[float]], means: Mapping[str, float]) -> float:
    """Pooled variance within operations."""
    squares = sum((y - means[name]) ** 2 for name in means for y in sorted(groups[name]))
    freedom = sum(len(groups[name]) - 1 for name in means)
    return (squares + WITHIN * WITHIN_SD**2) / (freedom + WITHIN)


def _between(means: Mapping[str, float], counts: Mapping[str, int], within: float) -> float:
    """Variance between operations by moments."""
    freedom, total = len(means) - 1, sum(counts.values())
    if freedom < 1:
        return BETWEEN_SD**2
    grand = sum(counts[name] * means[name] for name in means) / total
    squares = sum(counts[name] * (means[name] - grand) ** 2 for name in means)
    effective = total - sum(n * n for n in counts.values()) / total
    moment = max(0.0, (squares - freedom * within) / effective)
    return (freedom * moment + BETWEEN * BETWEEN_SD**2) / (freedom + BETWEEN)


def median_remaining(estimate: int, ratio: Ratio, spent: int) -> int:
    """Minutes to plan for a job of ``estimate`` minutes after ``spent`` ones: the median of what is
    left, given that it is not finished; as likely too much as too little.

    To the nearest minute, half up, and never below 1 for a job with an estimate: a job at its
    estimate is not "0 left". O(1). Raises PlanningError for negative minutes.
    """
    if estimate < 0 or spent < 0:
        raise PlanningError("Minutes estimated and spent cannot be negative.")
    if not estimate:
        return 0
    return minutes_left(log(estimate) + ratio.theta, ratio.sd, spent, 0.5)


def minutes_left(middle: float, sd: float, spent: int, tail: float) -> int:
    """Minutes left after ``spent``, exceeded with probability ``tail`` (above 0, below 1).

    ``middle`` and ``sd`` belong to the logarithm of the whole. To the nearest minute, at least 1.
    """
    if spent:
        tail *= normal_below((middle - log(spent)) / sd)
    # Where the tail is no longer a number, the job is as good as finished.
    whole = exp(middle - sd * NORMAL.inv_cdf(tail)) if tail else spent
    return max(1, int(whole - spent + 0.5))


def normal_below(x: float) -> float:
    """The normal distribution function, exact in its lower tail too."""
    return erfc(-x / sqrt(2)) / 2


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
