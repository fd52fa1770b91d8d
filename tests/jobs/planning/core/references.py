"""The same questions asked of general-purpose solvers and of plain enumeration.

Feasibility, overtime and dates by maximum flow (scipy.sparse.csgraph, networkx), least and most
minutes by linear programming (scipy's HiGHS), worst windows by looking at all of them, finishing
times by living through every minute, the fewest late by the rule of Moore and Hodgson. Nothing here
uses the planner.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate, product

import networkx as nx
import numpy as np
from scipy.optimize import Bounds, LinearConstraint, linprog, milp
from scipy.sparse import block_diag, coo_array, csr_array, lil_array
from scipy.sparse.csgraph import maximum_flow

from jobs.planning.core import Stage


def closure(stages: Iterable[Stage]) -> list[Stage]:
    """Windows narrowed pair by pair until no ticket's order contradicts them; now is 0."""
    rows = [replace(s, release=max(s.release, 0)) for s in stages]
    changed = True
    while changed:
        changed = False
        for i, k in product(range(len(rows)), repeat=2):
            earlier, later = rows[i], rows[k]
            if earlier.ticket == later.ticket and earlier.seq < later.seq:
                release, due = max(earlier.release, later.release), min(earlier.due, later.due)
                changed = changed or release > later.release or due < earlier.due
                rows[i] = replace(earlier, due=due)
                rows[k] = replace(later, release=release)
    return rows


def work(stages: Iterable[Stage]) -> list[Stage]:
    """The narrowed stages that have minutes, in a fixed order; a past due bucket is now."""
    rows = [replace(s, due=max(s.due, 0)) for s in closure(stages) if s.processing]
    return sorted(rows, key=lambda s: s.id)


def max_flow(capacity: Sequence[int], jobs: Sequence[Stage]) -> int:
    """Most minutes of the jobs that can be worked inside their windows."""
    capacity = capacity[: max((job.due for job in jobs), default=0) + 1]
    source, sink, first = len(jobs), len(jobs) + 1, len(jobs) + 2
    rows, columns, limits = [], [], []
    for i, job in enumerate(jobs):
        rows.append(source)
        columns.append(i)
        limits.append(job.processing)
        for t in range(job.release, min(job.due + 1, len(capacity))):
            rows.append(i)
            columns.append(first + t)
            limits.append(job.processing)
    for t, held in enumerate(capacity):
        rows.append(first + t)
        columns.append(sink)
        limits.append(held)
    size = first + len(capacity)
    graph = csr_array((np.array(limits, dtype=np.int32), (rows, columns)), shape=(size, size))
    return int(maximum_flow(graph, source, sink).flow_value)


def network_flow(
    capacity: Sequence[int], jobs: Sequence[Stage], each_day: int | None = None
) -> int:
    """The same by networkx; with ``each_day`` no job gets more minutes than that in a bucket."""
    graph = nx.DiGraph()
    graph.add_nodes_from(["source", "sink"])
    for t, held in enumerate(capacity):
        graph.add_edge(("day", t), "sink", capacity=held)
    for job in jobs:
        graph.add_edge("source", ("job", job.id), capacity=job.processing)
        for t in range(job.release, job.due + 1):
            most = job.processing if each_day is None else each_day
            graph.add_edge(("job", job.id), ("day", t), capacity=most)
    return nx.maximum_flow_value(graph, "source", "sink")


def feasible(capacity: Sequence[int], jobs: Sequence[Stage]) -> bool:
    return max_flow(capacity, jobs) == sum(job.processing for job in jobs)


def worst_window(
    capacity: Sequence[int], jobs: Sequence[Stage]
) -> tuple[int, list[tuple[int, int]]]:
    """The largest excess of demand over capacity, and every window that has it."""
    excesses: dict[tuple[int, int], int] = {}
    for a in range(len(capacity)):
        for b in range(a, len(capacity)):
            demand = sum(j.processing for j in jobs if j.release >= a and j.due <= b)
            excesses[a, b] = demand - sum(capacity[a : b + 1])
    excess = max(excesses.values())
    return excess, [window for window, over in excesses.items() if over == excess]


def live_through(capacity: Sequence[int], stages: Sequence[Stage]) -> dict[str, int]:
    """Finishing bucket of each stage, minute by minute, always on the first due of the open."""
    left = {s.id: s.processing for s in stages}
    ends: dict[str, int] = {}
    for t, held in enumerate(capacity):
        for _ in range(held):
            ready = [s for s in stages if s.release <= t and left[s.id]]
            if not ready:
                break
            now = min(ready, key=lambda s: (s.due, s.ticket, s.seq, s.id))
            left[now.id] -= 1
            ends[now.id] = t
    assert not any(left.values())
    return ends


def settled(capacity: Sequence[int], stages: Sequence[Stage]) -> tuple[list[int], list[Stage]]:
    """Late stages due when the living plan finishes them; work without room gets a last bucket."""
    rows = [s for s in closure(stages) if s.processing]
    jobs = work(stages)
    if feasible(capacity, jobs):
        return list(capacity), jobs
    last = len(capacity) - 1
    missing = sum(j.processing for j in jobs) - max_flow(
        capacity, [replace(j, due=last) for j in jobs]
    )
    longer = [*capacity, missing] if missing else list(capacity)
    ends = live_through(longer, rows)
    return longer, [replace(j, due=max(j.due, ends[j.id])) for j in jobs]


@dataclass(frozen=True)
class Program:
    """A linear program: minimise cost subject to uses <= limits and sums == totals."""

    cost: np.ndarray
    uses: coo_array
    limits: np.ndarray
    sums: coo_array
    totals: np.ndarray


def program(
    capacity: Sequence[int],
    jobs: Sequence[Stage],
    *,
    early: int | None = None,
    extra: Sequence[tuple[int, int, int, int | None]] = (),
) -> Program:
    """Minutes of each job in each bucket of its window.

    ``early`` counts every client minute up to that bucket as cost. Each ``extra`` is
    (first, last, gain, minutes or None): more minutes that may be worked in first..last, each
    worth its gain, all of them together ``minutes`` if that is given.
    """
    cells = [(i, t) for i, job in enumerate(jobs) for t in range(job.release, job.due + 1)]
    cost = [1.0 if early is not None and t <= early else 0.0 for _, t in cells]
    totals: list[int] = [job.processing for job in jobs]
    for first, last, gain, minutes in extra:
        row = len(totals) if minutes is not None else -1
        totals += [] if minutes is None else [minutes]
        cells += [(row, t) for t in range(first, last + 1)]
        cost += [-float(gain)] * (last + 1 - first)
    columns = range(len(cells))
    fixed = [(row, column) for column, (row, _) in enumerate(cells) if row >= 0]
    return Program(
        cost=np.array(cost),
        uses=coo_array(
            (np.ones(len(cells)), ([t for _, t in cells], list(columns))),
            shape=(len(capacity), len(cells)),
        ),
        limits=np.array(capacity, dtype=float),
        sums=coo_array(
            (np.ones(len(fixed)), ([r for r, _ in fixed], [c for _, c in fixed])),
            shape=(len(totals), len(cells)),
        ),
        totals=np.array(totals, dtype=float),
    )


def solve(programs: Sequence[Program]) -> list[int]:
    """The least cost of each program, all solved in one run as independent blocks."""
    cost = np.concatenate([p.cost for p in programs])
    if not len(cost):
        return [0] * len(programs)
    result = linprog(
        cost,
        A_ub=block_diag([p.uses for p in programs], format="csr"),
        b_ub=np.concatenate([p.limits for p in programs]),
        A_eq=block_diag([p.sums for p in programs], format="csr"),
        b_eq=np.concatenate([p.totals for p in programs]),
        method="highs",
    )
    assert result.status == 0, result.message
    values, start = [], 0
    for p in programs:
        value = float(p.cost @ result.x[start : start + len(p.cost)])
        assert abs(value - round(value)) < 1e-6
        values.append(round(value))
        start += len(p.cost)
    return values


def least_by(capacity: Sequence[int], jobs: Sequence[Stage]) -> list[int]:
    """Least client minutes by the end of every bucket, each found by its own program."""
    return solve([program(capacity, jobs, early=by) for by in range(len(capacity))])


def most_extra(capacity: Sequence[int], jobs: Sequence[Stage], release: int) -> list[int]:
    """Most extra minutes in release..d for every d, each found by its own program."""
    ends = range(release, len(capacity))
    programs = [program(capacity, jobs, extra=[(release, d, 1, None)]) for d in ends]
    return [0] * release + [-value for value in solve(programs)]


def own_by_week(
    capacity: Sequence[int],
    jobs: Sequence[Stage],
    weeks: Sequence[tuple[int, int]],
    target: Sequence[int],
) -> list[int]:
    """Most own minutes of the first week, then of the second with the first kept, and so on."""
    end = max([last for _, last in weeks] + [job.due for job in jobs])
    capacity = capacity[: end + 1]
    kept: list[int] = []
    for place, (first, last) in enumerate(weeks):
        before = [(a, b, 0, m) for (a, b), m in zip(weeks, kept, strict=False)]
        gain = [(first, last, 1, None)]
        most = -solve([program(capacity, jobs, extra=[*before, *gain])])[0]
        kept.append(min(target[place], most))
    return kept


def own_by_flow(
    capacity: Sequence[int],
    jobs: Sequence[Stage],
    weeks: Sequence[tuple[int, int]],
    target: Sequence[int],
) -> list[int]:
    """The same by maximum flow: what each week adds to the flow of the clients and earlier weeks.

    A maximum flow leaves out nothing that can all be worked, so that clients lose no minute.
    """
    rows, kept = list(jobs), []
    for (first, last), minutes in zip(weeks, target, strict=True):
        own = Stage(f"own {first}", "", 0, minutes, first, last)
        kept.append(max_flow(capacity, [*rows, own]) - sum(row.processing for row in rows))
        rows.append(replace(own, processing=kept[-1]))
    return kept


def workable_in_order(capacity: Sequence[int], stages: Sequence[Stage]) -> bool:
    """Whether all windows as they are given can be kept in the order of each ticket.

    A mixed-integer program: minutes per stage and bucket, and for each stage and bucket whether
    the stage is finished by its end. A later stage may be worked in a bucket only if the earlier
    one is finished by the end of it; within a bucket there is room for any order.
    """
    count, buckets = len(stages), len(capacity)
    minutes = np.arange(count * buckets).reshape(count, buckets)
    finished = minutes + count * buckets
    size = 2 * count * buckets
    low, high = np.zeros(size), np.concatenate([np.full(size // 2, np.inf), np.ones(size // 2)])
    rows: list[tuple[list[int], list[int], float, float]] = []
    for t, held in enumerate(capacity):
        rows.append((list(minutes[:, t]), [1] * count, 0, held))
    for i, stage in enumerate(stages):
        high[minutes[i, : max(stage.release, 0)]] = high[finished[i, : max(stage.release, 0)]] = 0
        low[finished[i, max(stage.due, 0)]] = 1
        for t in range(buckets):
            sofar = [*minutes[i, : t + 1], finished[i, t]]
            rows.append((sofar, [*[1] * (t + 1), -stage.processing], 0, np.inf))
        for k, later in enumerate(stages):
            if stage.ticket == later.ticket and stage.seq < later.seq:
                for t in range(buckets):
                    rows.append(([finished[k, t], finished[i, t]], [1, -1], -np.inf, 0))
                    both = [minutes[k, t], finished[i, t]]
                    rows.append((both, [1, -later.processing], -np.inf, 0))
        rows.append((list(minutes[i]), [1] * buckets, stage.processing, stage.processing))
    matrix = lil_array((len(rows), size))
    for row, (columns, values, _, _) in enumerate(rows):
        matrix[row, columns] = values
    result = milp(
        np.zeros(size),
        integrality=np.repeat([0, 1], size // 2),
        bounds=Bounds(low, high),
        constraints=LinearConstraint(
            matrix.tocsr(), [least for *_, least, _ in rows], [most for *_, most in rows]
        ),
    )
    assert result.status in {0, 2}, result.message
    return result.status == 0


def fewest_late(capacity: Sequence[int], jobs: Iterable[Stage]) -> list[str]:
    """A smallest set of jobs to finish late, for single jobs that can all be begun now.

    In due order; whenever they no longer fit, the longest so far is given up: J. M. Moore, "An n
    job, one machine sequencing algorithm for minimizing the number of late jobs", Management
    Science 15 (1968), 102-109 (cited from memory).
    """
    held = list(accumulate(capacity))
    taken: list[Stage] = []
    late = []
    for job in sorted(jobs, key=lambda job: job.due):
        taken.append(job)
        if sum(each.processing for each in taken) > held[job.due]:
            longest = max(taken, key=lambda each: each.processing)
            taken.remove(longest)
            late.append(longest.id)
    return late
