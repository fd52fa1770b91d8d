"""Books of work to measure the planner with, and the general solvers it is measured against."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from random import Random

import networkx as nx
import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array, csr_array, vstack
from scipy.sparse.csgraph import maximum_flow

from jobs.planning.core import Stage, fits

WEEK = (420, 420, 300, 420, 420, 180, 0)
LOAD = 0.7


@dataclass(frozen=True)
class Measured:
    """A book with the newcomer whose date is asked for."""

    capacity: tuple[int, ...]
    stages: tuple[Stage, ...]
    processing: int
    release: int


def book_of(stages: int, buckets: int, seed: int, load: float = LOAD) -> Measured:
    """A random book of that many stages, most of which arrive later, up to six weeks before due.

    Its windows can all be kept unless ``load``, the share of the bench time asked for, is above 1.
    """
    rng = Random(f"{stages} {buckets} {seed}")  # noqa: S311 -- reproducible, not secret
    capacity = tuple(WEEK[t % 7] for t in range(buckets))
    while True:
        sizes = [rng.uniform(0.2, 1.8) for _ in range(stages)]
        scale = load * sum(capacity) / sum(sizes)
        rows = []
        for i, size in enumerate(sizes):
            due = min(buckets - 1, int(buckets * rng.uniform(0.02, 1.1)))
            start = max(0, due - rng.randint(7, 42))
            rows.append(Stage(f"s{i}", f"t{i}", 0, max(1, int(size * scale)), start, due))
        if fits(capacity, rows) or load > 1:
            return Measured(capacity, tuple(rows), int(3 * scale), rng.randint(0, 5))


def _cells(stages: Sequence[Stage]) -> tuple[np.ndarray, np.ndarray]:
    """Stage and bucket of every cell in which a stage may be worked."""
    release = np.array([s.release for s in stages])
    lengths = np.array([s.due for s in stages]) - release + 1
    rows = np.repeat(np.arange(len(stages)), lengths)
    first = np.repeat(np.cumsum(lengths) - lengths, lengths)
    return rows, np.arange(len(rows)) - first + release[rows]


class Highs:
    """The same questions as linear programs for HiGHS, built once for each book."""

    def __init__(self, capacity: Sequence[int], stages: Sequence[Stage]) -> None:
        rows, self.days = _cells(stages)
        size, ones = len(rows), np.ones(len(rows))
        columns = np.arange(size)
        work = coo_array((ones, (rows, columns)), shape=(len(stages), size))
        use = coo_array((ones, (self.days, columns)), shape=(len(capacity), size))
        minutes = [s.processing for s in stages]
        low = np.concatenate([minutes, np.zeros(len(capacity))])
        high = np.concatenate([minutes, capacity])
        self.rules = LinearConstraint(vstack([work, use], format="csc"), low, high)

    def least(self, cost: np.ndarray) -> float | None:
        """The least cost of a plan, None if there is no plan."""
        found = milp(cost, constraints=self.rules, bounds=Bounds(0, np.inf))
        return float(found.fun) if found.status == 0 else None

    def feasible(self) -> bool:
        return self.least(np.zeros(len(self.days))) is not None

    def must_do(self, by: int) -> int:
        return round(self.least((self.days <= by).astype(float)) or 0)


def flow_keeps(capacity: Sequence[int], stages: Sequence[Stage]) -> bool:
    """Feasibility by scipy's maximum flow."""
    rows, days = _cells(stages)
    n, source, sink = len(stages), len(stages) + len(capacity), len(stages) + len(capacity) + 1
    minutes = np.array([s.processing for s in stages])
    starts = np.concatenate([rows, np.full(n, source), n + np.arange(len(capacity))])
    ends = np.concatenate([n + days, np.arange(n), np.full(len(capacity), sink)])
    limits = np.concatenate([minutes[rows], minutes, capacity]).astype(np.int32)
    graph = csr_array((limits, (starts, ends)), shape=(sink + 1, sink + 1))
    return int(maximum_flow(graph, source, sink).flow_value) == int(minutes.sum())


def network_keeps(capacity: Sequence[int], stages: Sequence[Stage]) -> bool:
    """Feasibility by networkx's maximum flow."""
    graph = nx.DiGraph()
    for t, held in enumerate(capacity):
        graph.add_edge(t, "sink", capacity=held)
    for stage in stages:
        graph.add_edge("source", stage.id, capacity=stage.processing)
        graph.add_edges_from((stage.id, t) for t in range(stage.release, stage.due + 1))
    return nx.maximum_flow_value(graph, "source", "sink") == sum(s.processing for s in stages)


def first_date(book: Measured, keeps: Callable[[Sequence[Stage]], bool]) -> int:
    """The newcomer's earliest date by bisection over the dates."""
    low, high = book.release, len(book.capacity) - 1
    while low < high:
        due = (low + high) // 2
        new = Stage("new", "new", 0, book.processing, book.release, due)
        low, high = (low, due) if keeps([*book.stages, new]) else (due + 1, high)
    return low
