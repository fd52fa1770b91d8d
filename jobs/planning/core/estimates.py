"""How long things really take: own ratios, shrunk, and what is left of a job under way.

Logarithms need floats; every answer in minutes is rounded to a whole one.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from math import erfc, exp, hypot, log, sqrt
from statistics import NormalDist, fmean

from jobs.planning.core.stages import PlanningError

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
