"""Own ratios and what is left, against simulation and numerical integration."""

from math import exp, log, sqrt
from random import Random
from statistics import fmean

import pytest
from scipy.stats import lognorm, norm

from jobs.planning.core import (
    PlanningError,
    Ratio,
    Timed,
    fit_ratios,
    median_remaining,
)
from tests.jobs.planning.core.books import dice

SPREAD, BETWEEN, OPERATIONS = 0.4, 0.25, 12


def test_a_job_at_its_estimate_is_not_finished():
    assert [median_remaining(60, Ratio(0, 0.4), spent) for spent in (0, 30)] == [60, 31]
    assert all(median_remaining(60, Ratio(0, 0.4), spent) > 10 for spent in (60, 90, 240))
    assert median_remaining(60, Ratio(0, 0.4), 10**12) == 1


@pytest.mark.parametrize("spent", [0, 1, 30, 60, 90, 240])
@pytest.mark.parametrize("ratio", [Ratio(0, 0.4), Ratio(0.3, 0.25, 0.2), Ratio(-0.2, 0.6)])
def test_remaining_is_the_median_of_what_is_left(spent, ratio):
    whole = lognorm(s=sqrt(ratio.spread**2 + ratio.doubt**2), scale=60 * exp(ratio.theta))
    median = whole.isf(whole.sf(spent) / 2) - spent
    assert abs(median_remaining(60, ratio, spent) - median) <= 0.51


def test_remaining_of_nothing():
    assert median_remaining(0, Ratio(), 0) == median_remaining(0, Ratio(), 10) == 0
    for estimate, spent in ((60, -1), (-1, 0)):
        with pytest.raises(PlanningError, match="negative"):
            median_remaining(estimate, Ratio(), spent)


def studio(rng: Random, jobs: int) -> tuple[list[float], list[Timed]]:
    """True log ratios of the operations, and jobs of which a few operations are most."""
    truth = [rng.gauss(0.1, BETWEEN) for _ in range(OPERATIONS)]
    weights = [1 / (1 + i) for i in range(OPERATIONS)]
    history = []
    for operation in rng.choices(range(OPERATIONS), weights, k=jobs):
        took = 1000 * exp(truth[operation] + rng.gauss(0, SPREAD))
        history.append(Timed(str(operation), 1000, max(1, round(took))))
    return truth, history


@pytest.mark.parametrize("jobs", [10, 30, 100, 300])
def test_shrunk_ratios_are_nearer_the_truth_and_honest_about_it(jobs):
    rng = dice(jobs)
    shrunk, raw, inside = [], [], []
    for _ in range(60):
        truth, history = studio(rng, jobs)
        ratios = fit_ratios(history)
        for operation, theta in enumerate(truth):
            ratio = ratios.of(str(operation))
            own = [log(t.actual / t.estimate) for t in history if t.operation == str(operation)]
            shrunk.append((ratio.theta - theta) ** 2)
            raw.append(((fmean(own) if own else 0) - theta) ** 2)
            limit = ratio.theta + norm.ppf(0.9) * ratio.sd
            inside.append(norm.cdf((limit - theta) / SPREAD))
    assert fmean(shrunk) < fmean(raw)
    # Nine in ten jobs have to stay within what is called the 90 % time.
    assert 0.86 < fmean(inside) < 0.93


def test_nothing_timed_is_the_estimate_with_doubt():
    ratio = fit_ratios([]).of("hem")
    assert (ratio.n, ratio.trust, ratio.times) == (0, 0, 1)
    assert ratio.sd == pytest.approx(sqrt(0.35**2 + 0.20**2 + 0.35**2))


def test_trust_grows_with_what_was_timed():
    zips = [Timed("zip", 50, 60)]
    trusts = [fit_ratios(zips * n + [Timed("hem", 30, 30)]).of("zip").trust for n in (1, 7, 40)]
    assert trusts == sorted(trusts)
    ratio = fit_ratios(zips * 40).of("zip")
    assert ratio.n == 40
    assert 1.15 < ratio.times < 1.2


def test_the_order_of_the_history_does_not_matter():
    _, history = studio(dice(7), 50)
    mixed = history.copy()
    dice(8).shuffle(mixed)
    assert fit_ratios(history) == fit_ratios(mixed)


def test_nonsense_is_refused():
    with pytest.raises(PlanningError, match="above 0"):
        fit_ratios([Timed("hem", 30, 0)])
    with pytest.raises(PlanningError, match="spread"):
        Ratio(0, 0)
