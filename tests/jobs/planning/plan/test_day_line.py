"""The day as a line of time: by hand, and on books made by chance beside the plan it comes from."""

from datetime import timedelta
from itertools import groupby, pairwise

from jobs.planning import core
from jobs.planning.plan.day_line import CRUMB, day_line
from tests.jobs.planning.books import MONDAY, at, book, fitting, job, work
from tests.jobs.planning.core.books import dice
from tests.jobs.planning.plan.test_another_day import random_book

WEEK = [MONDAY + timedelta(days=ahead) for ahead in range(7)]
MINUTE = timedelta(minutes=1)


def told(blocks) -> list[tuple[str, int]]:
    return [("+".join(j.ticket for j in block.jobs) or "own", block.minutes) for block in blocks]


def test_a_ticket_is_sewn_in_one_piece_where_its_work_is_due_at_two_times():
    """A's bodice is due at noon with B, its hem after the promise of B: B comes first."""
    tried_on = fitting(1, "12:00")
    week = book(
        job("A", at(4), work(1, 60), work(2, 90, after=1, order=20), fittings=[tried_on]),
        job("B", at(0, "13:00"), work(3, 120)),
        job("C", at(0, "16:00"), work(4, 30), work(5, 45, garment="B")),
        job("D", at(0), work(6, 60)),
    )
    # Plan by dues: B 120, C 30 + 45, D 60, A 60. One block each, no jumping between garments.
    line = day_line(week, MONDAY)
    assert told(line) == [("B", 120), ("C", 75), ("D", 60), ("A", 60)]
    assert [block.starts for block in line] == [
        at(0, hour) for hour in ("09:00", "11:00", "12:15", "13:15")
    ]
    # Backwards by hand: D by 17:00 takes 60; C by 16:00 (D behind it needs 16:00) takes 75.
    assert [block.latest for block in line] == [
        at(0, "11:00"), at(0, "14:45"), at(0, "16:00"), None,
    ]  # fmt: skip


def test_work_due_tonight_and_tomorrow_stays_together():
    """A has 60 by noon and 60 by the evening, B 60 by the evening: A A B, not A B A."""
    tried_on = fitting(0, "17:00")
    week = book(
        job("A", at(0, "13:00"), work(1, 60)),
        job("B", at(0, "15:00"), work(2, 60)),
        job("C", at(0, "16:00"), work(3, 60, after=1), work(4, 60), fittings=[tried_on]),
    )
    assert [ticket for ticket, _ in told(day_line(week, MONDAY))][:2] == ["A", "B"]


def test_small_things_are_pooled_and_own_crumbs_are_told_at_the_end():
    """10 and 5 minutes of two tickets lie together; 20 own minutes before noon are a crumb."""
    tried_on = fitting(0, "12:00", minutes=300)
    week = book(
        job("A", at(0), work(1, 145), fittings=[]),
        job("B", at(0), work(2, 10)),
        job("C", at(0), work(3, 5)),
        job("F", at(8), work(4, 30, after=1), fittings=[tried_on]),
        own=20,
    )
    line = day_line(week, MONDAY)
    assert told(line) == [("A", 145), ("B+C", 15), ("own", 20)]
    assert [minutes for _, minutes in line[-1].crumbs] == [20]
    assert line[-1].own


def test_a_block_says_whether_it_was_put_on_its_day():
    week = book(job("A", at(4), work(1, 60, day=WEEK[2])), job("B", at(4), work(2, 60)))
    (block,) = day_line(week, WEEK[2])
    assert (block.put, block.stages) == (True, {"line-1"})
    assert [block.put for block in day_line(week, MONDAY)] == [False]


def by_stage(blocks) -> dict[str, int]:
    minutes: dict[str, int] = {}
    for block in blocks:
        for part in block.parts:
            minutes[part.work.stage] = minutes.get(part.work.stage, 0) + part.minutes
    return minutes


def planned(week, day) -> tuple[dict[str, int], int, int]:
    """What the plan has on a day: minutes by stage, the owner's, and runs of one ticket."""
    minutes: dict[str, int] = {}
    order, own = [], 0
    for place, bucket in enumerate(week.bench.buckets):
        for stage, length in week.plan.days[place] if bucket.day == day else ():
            if stage.startswith(core.OWN):
                own += length
                order.append("own")
            else:
                minutes[stage] = minutes.get(stage, 0) + length
                order.append(week.load.job_of[stage].ticket)
    return minutes, own, len(list(groupby(order)))


def test_the_same_minutes_and_no_more_changes_than_the_plan_has():
    fewer = 0
    for number in range(150):
        week = random_book(dice(number))
        for day in WEEK[:5]:
            line = day_line(week, day)
            minutes, own, runs = planned(week, day)
            assert by_stage(line) == minutes
            assert sum(block.minutes for block in line if block.own) == own
            at_work = [block for block in line if not block.crumbs]
            for block, following in pairwise(at_work):
                assert block.starts + block.minutes * MINUTE <= following.starts
            assert all(block.minutes >= CRUMB for block in at_work if block.own)
            assert len(at_work) <= runs
            fewer += len(at_work) < runs
    assert fewer > 20


def test_every_due_and_every_latest_start_is_kept():
    """Where the book is not overfull: each due reckoned minute by minute from where blocks lie."""
    looked_at = 0
    for number in range(150):
        week = random_book(dice(number))
        if week.plan.relaxed:
            continue
        for block in [block for day in WEEK[:5] for block in day_line(week, day)]:
            now = block.starts
            assert block.latest is None or block.starts <= block.latest
            for part in block.parts:
                now += part.minutes * MINUTE
                assert now <= week.bench.buckets[week.due_of[part.work.stage]].ends
                looked_at += 1
    assert looked_at > 300


def test_whose_ticket_is_due_sooner_comes_sooner_where_the_order_is_free():
    week_book = book(job("26-0001", at(3), work(1, 60)), job("26-0002", at(1), work(2, 60)))
    assert [block.jobs[0].ticket for block in day_line(week_book, MONDAY)] == ["26-0002", "26-0001"]
