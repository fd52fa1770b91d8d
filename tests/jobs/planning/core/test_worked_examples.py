"""Worked examples from teaching pages, public test files and textbooks.

Beside each stands where it is from, and whether data and answer were read there ("seen"), only
the data ("data seen", the answer computed by two independent ways), or recalled ("from memory").
"""

import pytest

from jobs.planning.core import (
    Calendar,
    Stage,
    credibility,
    edf,
    fewest_moved,
    lateness,
)
from tests.jobs.planning.core import references as ref
from tests.jobs.planning.core.books import job, unit_calendar, units


@pytest.mark.parametrize(
    ("lengths", "dues", "worst"),
    [
        # From memory: Kleinberg and Tardos, slides on greedy algorithms.
        ([3, 2, 1, 4, 3, 2], [6, 8, 9, 9, 14, 15], 1),
        # Data seen on a public teaching page, where another order comes to 7; optimum computed.
        ([3, 2, 1, 4, 3, 2], [6, 8, 9, 9, 10, 11], 4),
        # Data seen on a public teaching page: jobs A to E.
        ([5, 10, 2, 8, 6], [10, 15, 5, 12, 8], 16),
    ],
)
def test_maximum_lateness(lengths, dues, worst):
    book = units(list(zip(lengths, dues, strict=True)))
    assert max(lateness(unit_calendar(book), book).values()) == worst


def test_order_by_due_date():
    """Data seen on a public teaching page: A 5/10, B 10/15, C 2/5, D 8/12, E 6/8."""
    rows = [("A", 5, 10), ("B", 10, 15), ("C", 2, 5), ("D", 8, 12), ("E", 6, 8)]
    plan = edf([1] * 31, [job(name, length, 0, due - 1) for name, length, due in rows])
    assert sorted(plan.completion, key=plan.completion.get) == ["C", "E", "A", "D", "B"]


@pytest.mark.parametrize(
    ("jobs", "late"),
    [
        # Seen: a public unit test, the same as Pinedo, Scheduling, example 3.3.3.
        ([(7, 9), (8, 17), (4, 18), (6, 19), (6, 20)], {"1", "2"}),
        # Data seen: a public exercise collection.
        (
            [
                *[(19, 48), (23, 75), (5, 170), (31, 215), (17, 205)],
                *[(8, 240), (32, 85), (41, 67), (26, 100), (18, 95)],
            ],
            {"7", "8"},
        ),
    ],
)
def test_the_fewest_to_move(jobs, late):
    """Whoever is not late need not be moved: as many as the published set, and no more minutes."""
    book = units(jobs)
    assert set(ref.fewest_late([1] * 300, book)) == late
    moved = fewest_moved([1] * 300, book, {stage.ticket: stage.processing for stage in book})
    assert len(moved.tickets) == len(late)
    assert moved.minutes <= sum(stage.processing for stage in book if stage.id in late)


def test_three_stay_where_they_are():
    """Seen: docs.rs, crate moore-hodgson, (processing, due) 5/6 1/7 1/4 4/6 3/8."""
    book = units([(5, 6), (1, 7), (1, 4), (4, 6), (3, 8)])
    moved = fewest_moved([1] * 10, book, {stage.ticket: stage.processing for stage in book})
    assert len(book) - len(moved.tickets) == len(book) - len(ref.fewest_late([1] * 10, book)) == 3


@pytest.mark.parametrize(
    ("jobs", "answer"),
    [
        # Seen twice: the tests of proc-opt, and the repository Witeq/Schrage-Schrage_prmt.
        ([(0, 27, 78), (140, 7, 67), (14, 36, 54), (133, 76, 5)], 221),
        # Data seen: docs.rs, crate proc-opt (50 without interruptions); 49 computed.
        (
            [(10, 5, 7), (13, 6, 26), (11, 7, 24), (20, 4, 21), (30, 3, 8), (0, 6, 17), (30, 2, 0)],
            49,
        ),
    ],
)
def test_release_times_and_tails(jobs, answer):
    """Jobs (release, processing, tail): the last tail ends soonest at ``answer``.

    A tail q is the same as due time K - q, with a maximum lateness of ``answer`` - K; the start
    of the worst interval gives the same number.
    """
    common = 400
    book = [job(str(i), p, r, common - q - 1) for i, (r, p, q) in enumerate(jobs)]
    assert max(lateness(Calendar((1,) * common), book).values()) + common == answer
    inside = [
        (min(r for r, _, _ in chosen) + sum(p for _, p, _ in chosen) + min(q for *_, q in chosen))
        for bits in range(1, 1 << len(jobs))
        if (chosen := [row for i, row in enumerate(jobs) if bits >> i & 1])
    ]
    assert max(inside) == answer


def test_processor_demand():
    """Seen: Buttazzo, Hard Real-Time Computing Systems, 4.6 (the deadlines from memory).

    Tasks of 2, 2, 3 units every 6, 8, 9 units, due 4, 5, 7 units after they arrive: schedulable.
    That one unit more of any task is too much was computed.
    """

    def tasks(lengths: list[int]) -> list[Stage]:
        return [
            job(f"{period} {start}", length, start, start + due - 1)
            for length, due, period in zip(lengths, [4, 5, 7], [6, 8, 9], strict=True)
            for start in range(0, 72, period)
        ]

    assert edf([1] * 80, tasks([2, 2, 3])).feasible
    assert not any(
        edf([1] * 80, tasks(more)).feasible for more in ([3, 2, 3], [2, 3, 3], [2, 2, 5])
    )


def test_credibility():
    """Seen: a public actuarial page: n 5, expected process variance 25000, between 5000: Z 0.5."""
    assert credibility(5, 25_000, 5_000) == 0.5
