"""The planner against general solvers, side by side on the same books, with answers compared.

``make bench`` and ``python -m tests.bench.bench_planner`` print the table. It fails if an answer
differs, if HiGHS is not slower by the factor below, or if the cost grows faster than it may. The
solvers' times include building their model, the planner's include sorting its book.
"""

import time
from collections.abc import Callable
from math import log2
from statistics import median
from typing import Any

from jobs.planning.core import (
    Calendar,
    Stage,
    earliest_due,
    fits,
    must_do,
    own_minutes,
    plan_weeks,
    rush_impact,
)
from tests.bench.planner_books import (
    WEEK,
    Highs,
    Measured,
    book_of,
    first_date,
    flow_keeps,
    network_keeps,
)

SIZES = [(30, 60), (100, 120), (300, 365), (1000, 365)]
AT_LEAST = {"feasible": 30, "must-do": 20, "promise date": 500}
GROWTH = 2
"""How much dearer a unit of n log n + T may be at any size than at the smallest.

From the smallest size to the largest there are fifty times as many units; the factor leaves room
for the caches of the machine and for its other work.
"""
OWN = 600
BOOKS, RUNS = 3, 9

Ask = Callable[[], Any]
Asks = tuple[Ask, dict[str, Ask]]
"""How the planner is asked, and how each solver is."""


def feasible(book: Measured) -> Asks:
    capacity, stages = book.capacity, book.stages
    return lambda: fits(capacity, stages), {
        "HiGHS": lambda: Highs(capacity, stages).feasible(),
        "scipy flow": lambda: flow_keeps(capacity, stages),
        "networkx flow": lambda: network_keeps(capacity, stages),
    }


def promise_date(book: Measured) -> Asks:
    calendar = Calendar(book.capacity, WEEK)
    return lambda: earliest_due(calendar, book.stages, book.processing, book.release), {
        "HiGHS": lambda: first_date(book, lambda rows: Highs(book.capacity, rows).feasible()),
        "scipy flow": lambda: first_date(book, lambda rows: flow_keeps(book.capacity, rows)),
    }


def must_do_this_week(book: Measured) -> Asks:
    return lambda: must_do(book.capacity, book.stages, 6).minutes, {
        "HiGHS": lambda: Highs(book.capacity, book.stages).must_do(6)
    }


def weeks_of(book: Measured) -> list[tuple[int, int]]:
    return [(first, first + 6) for first in range(0, len(book.capacity) - 6, 7)]


def own(book: Measured) -> Asks:
    return lambda: own_minutes(book.capacity, book.stages, weeks_of(book), OWN), {}


def week(book: Measured) -> Asks:
    calendar = Calendar(book.capacity, WEEK)
    return lambda: plan_weeks(calendar, book.stages, weeks_of(book), OWN), {}


def rush(book: Measured) -> Asks:
    calendar, new = Calendar(book.capacity, WEEK), Stage("rush", "rush", 0, 300, 0, 9)
    return lambda: rush_impact(calendar, book.stages, new, weeks_of(book), OWN), {}


QUESTIONS: dict[str, Callable[[Measured], Asks]] = {
    "feasible": feasible,
    "must-do": must_do_this_week,
    "promise date": promise_date,
    "own minutes": own,
    "week plan": week,
    "rush impact": rush,
}
SQUARED = {"own minutes", "week plan", "rush impact"}


def timed(ask: Ask, runs: int = 1) -> tuple[Any, float]:
    """The answer and the median milliseconds of the processor; waiting for it is not counted."""
    spent = []
    for _ in range(runs):
        start = time.process_time()
        answer = ask()
        spent.append((time.process_time() - start) * 1000)
    return answer, median(spent)


def measure(question: str, stages: int, buckets: int) -> dict[str, float]:
    """Median milliseconds of the planner and of each solver, over a few books."""
    books = [book_of(stages, buckets, seed) for seed in range(BOOKS)]
    if question == "feasible":
        books += [book_of(stages, buckets, seed, load=1.2) for seed in range(BOOKS)]
    spent: dict[str, list[float]] = {}
    for book in books:
        planner, solvers = QUESTIONS[question](book)
        answer, milliseconds = timed(planner, RUNS)
        spent.setdefault("planner", []).append(milliseconds)
        for name, ask in solvers.items():
            same, milliseconds = timed(ask)
            assert same == answer, f"{name} answers {same}, not {answer}, to {question}"
            spent.setdefault(name, []).append(milliseconds)
    return {name: median(each) for name, each in spent.items()}


def units(question: str, stages: int, buckets: int) -> float:
    """n log n + T, or with T squared where own minutes are asked for."""
    return stages * log2(stages) + buckets ** (2 if question in SQUARED else 1)


def table() -> tuple[list[str], list[str]]:
    """The lines to print, and what falls short."""
    lines = ["n x T         question            planner ms  ns/unit   solver ms (times slower)"]
    short = []
    for question in QUESTIONS:
        smallest = 0.0
        for stages, buckets in SIZES:
            spent = measure(question, stages, buckets)
            planner = spent.pop("planner")
            unit = planner * 1e6 / units(question, stages, buckets)
            smallest = smallest or unit
            others = [f"{name} {ms:,.1f} ({ms / planner:,.0f}x)" for name, ms in spent.items()]
            where = f"{stages} x {buckets}"
            lines.append(
                f"{where:<14}{question:<20}{planner:>10.3f}{unit:>9.0f}   " + ", ".join(others)
            )
            if spent.get("HiGHS", 0) < AT_LEAST.get(question, 0) * planner:
                short.append(f"{question} at {where}: less than {AT_LEAST[question]} times faster")
            if unit > GROWTH * smallest:
                short.append(
                    f"{question} at {where}: a unit costs {unit / smallest:.1f} times as much"
                )
    return lines, short


def test_the_planner_outruns_general_solvers(capsys):
    lines, short = table()
    with capsys.disabled():
        print("", *lines, sep="\n")
    assert short == []


if __name__ == "__main__":
    written, fallen_short = table()
    print(*written, *fallen_short, sep="\n")
    raise SystemExit(1 if fallen_short else 0)
