"""Too much promised: by hand, and by maximum flow and enumeration on books made by chance."""

from datetime import time, timedelta
from itertools import combinations

from jobs.planning.plan.bench import sew_longer
from jobs.planning.plan.make_it_fit import (
    StudioHours,
    in_the_way,
    left_over,
    new_days,
    propose,
    with_longer_days,
)
from tests.jobs.planning.books import MONDAY, at, book, fitting, is_open, job, work
from tests.jobs.planning.core import references as ref
from tests.jobs.planning.core.books import dice

HOURS = StudioHours(time(17), is_open)
WEEK = [MONDAY + timedelta(days=ahead) for ahead in range(14)]


def too_much(**facts):
    """By Tuesday 960 minutes of bench time: A 500, B 400, C 200, D 60, E 100 make 300 too many."""
    return book(
        job("A", at(1), work(1, 500)),
        job("B", at(1), work(2, 400)),
        job("C", at(1), work(3, 200)),
        job("D", at(1), work(4, 60)),
        job("E", at(0), work(5, 100)),
        job("F", at(4), work(6, 60)),
        **facts,
    )


def test_the_fewest_promises_then_the_fewest_minutes():
    week = too_much()
    assert [row.job.ticket for row in in_the_way(week)] == ["E", "A", "B", "C", "D"]
    proposal = propose(week, HOURS)
    # One is enough: A (500) or B (400); B is the lighter.
    assert (proposal.moved, proposal.longer, proposal.least) == (("B",), (), True)


def test_what_stays_is_never_moved():
    week = too_much()
    # C + E is 300: just enough, and two tickets are fewer than three.
    assert propose(week, HOURS, {"A", "B"}).moved == ("C", "E")


def test_bench_time_comes_first_where_no_set_is_enough():
    """A, B and C stay: 1,100 of 960. 140 minutes are missing on Tuesday, which is 150 in steps."""
    proposal = propose(too_much(), HOURS, {"A", "B", "C"})
    assert proposal.longer == ((WEEK[1], 150),)
    # 1,260 - 1,110 = 150 minutes are still too many, so both D and E go.
    assert proposal.moved == ("D", "E")
    left = left_over(too_much(), HOURS, proposal.moved, dict(proposal.longer))
    assert (left.over, left.fits) == (0, True)


def test_every_tick_and_every_step_has_its_answer():
    week = too_much()
    left = left_over(week, HOURS)
    assert (left.until, left.promised, left.over, left.bench) == (WEEK[1], 1260, 300, 960)
    assert left.longer == ((WEEK[1], 300),)
    assert left_over(week, HOURS, {"C"}).over == 100
    assert left_over(week, HOURS, {"C"}, {WEEK[1]: 45}).over == 55
    # An hour more on Monday helps Tuesday as well; one on Wednesday comes too late.
    assert left_over(week, HOURS, {"C"}, {WEEK[0]: 60}).over == 40
    assert left_over(week, HOURS, {"C"}, {WEEK[2]: 60}).over == 100


def test_lost_time_is_lost_of_what_is_added_too():
    """A tenth is lost: two days hold 864. Without C 1,060 are 196 too many; an hour more holds 54.

    196 minutes at the bench take 218 by the clock, in steps 225.
    """
    hours = StudioHours(time(17), is_open, lost_percent=10)
    week = too_much(lost_percent=10)
    left = left_over(week, hours, {"C"})
    assert (left.over, left.longer) == (196, ((WEEK[1], 225),))
    assert left_over(week, hours, {"C"}, {WEEK[1]: 60}).over == 142
    assert left_over(week, hours, {"C"}, {WEEK[1]: 225}).fits


def test_new_days_come_behind_everybody_else():
    """B's 400: until Wednesday 1,440 - 860 = 580 are free. A's 500 after it: 180, so Thursday."""
    days = new_days(too_much(), HOURS, {"B"})
    assert days == {"B": WEEK[2]}
    assert new_days(too_much(), HOURS, {"A", "B"}) == {"A": WEEK[2], "B": WEEK[2]}


def test_all_that_fits_needs_nothing():
    week = book(job("A", at(1), work(1, 500)))
    assert propose(week, HOURS) is None
    assert in_the_way(week) == []
    assert left_over(week, HOURS).fits


def test_longer_days_begin_earlier_today_ends_later_and_a_closed_day_opens():
    week = book(job("A", at(1), work(1, 500)), now=at(0, "10:00"))
    added = {WEEK[0]: 30, WEEK[1]: 60, WEEK[5]: 45, WEEK[0] - timedelta(days=1): 60}
    longer = sew_longer(week.bench, added, 0, time(9))
    assert [longer.minutes_on(WEEK[day]) for day in (0, 1, 2, 5)] == [450, 540, 480, 45]
    assert longer.buckets[longer.last_of_day(WEEK[0])].ends == at(0, "17:30")
    assert longer.buckets[longer.first_of_day(WEEK[1])].starts == at(1, "08:00")
    saturday = longer.buckets[longer.first_of_day(WEEK[5])]
    assert (saturday.starts, saturday.ends) == (at(5, "09:00"), at(5, "09:45"))
    starts = [bucket.starts for bucket in longer.buckets]
    assert starts == sorted(starts)


def test_against_maximum_flow_and_every_set_on_many_books():
    """Promises at closing time, one operation a ticket, so that a day is a bucket."""
    proposed = both = 0
    for number in range(120):
        rng = dice(number)
        week = book(
            *(
                job(f"T{place}", at(rng.randint(0, 4)), work(place, rng.randint(60, 700)))
                for place in range(rng.randint(3, 7))
            )
        )
        jobs = {
            planned.ticket: ref.Stage(planned.ticket, planned.ticket, 0, planned.minutes, 0, day)
            for planned in week.jobs
            for day in [(week.bench.day_of(planned.promise_at) - MONDAY).days]
        }
        stays = {ticket for ticket in jobs if rng.random() < 0.4}
        proposal = propose(week, HOURS, stays)
        capacity = [480] * 5
        if ref.feasible(capacity, list(jobs.values())):
            assert proposal is None
            continue
        for place, minutes in proposal.longer:
            capacity[(place - MONDAY).days] += minutes
        movable = sorted(jobs.keys() - stays)
        best = min(
            (len(chosen), sum(jobs[ticket].processing for ticket in chosen), chosen)
            for size in range(len(movable) + 1)
            for chosen in combinations(movable, size)
            if ref.feasible(capacity, [row for name, row in jobs.items() if name not in chosen])
        )
        assert (proposal.moved, proposal.least) == (best[2], True)
        rest = [jobs[ticket] for ticket in stays]
        missing = sum(row.processing for row in rest) - ref.max_flow([480] * 5, rest)
        assert bool(proposal.longer) == bool(missing)
        added = sum(minutes for _, minutes in proposal.longer)
        assert missing <= added < missing + 15 * max(1, len(proposal.longer))
        some = [ticket for ticket in jobs if rng.random() < 0.3]
        left = left_over(week, HOURS, some, days=True)
        kept = [row for name, row in jobs.items() if name not in some]
        assert left.over == sum(row.processing for row in kept) - ref.max_flow([480] * 5, kept)
        assert left.days.keys() == set(some)
        agreed = left_over(week, HOURS, proposal.moved, dict(proposal.longer), days=True)
        assert agreed.fits
        # The new days agreed, everything holds: by maximum flow, over two weeks.
        longer = with_longer_days(week, HOURS, dict(proposal.longer))
        moved = [
            ref.Stage(name, name, 0, row.processing, 0, longer.bench.last_of_day(day))
            if (day := agreed.days.get(name))
            else row
            for name, row in jobs.items()
        ]
        assert ref.feasible(longer.capacity, moved)
        proposed += not proposal.longer
        both += bool(proposal.longer)
    assert proposed > 20
    assert both > 10


def test_longer_days_are_at_most_half_a_day_longer_the_last_open_ones_first():
    """Work that stays, due on Tuesday, in two days of 8 h: what is more than 16 h is added in
    steps of 15 min, up to 4 h on Tuesday, the rest on Monday."""

    def added(minutes):
        week = book(job("A", at(1), work(1, minutes)), job("B", at(2), work(2, 60)))
        return propose(week, HOURS, {"A"}).longer

    assert added(960 + 200) == ((WEEK[1], 210),)
    assert added(960 + 480) == ((WEEK[0], 240), (WEEK[1], 240))
    assert added(960 + 300) == ((WEEK[0], 60), (WEEK[1], 240))


def test_the_minutes_of_the_list_are_those_due_in_the_full_days():
    """A is missed on Tuesday: of B, promised for Thursday, only what is due before its fitting is
    in the way; together they are what is promised by then."""
    fitted = job("B", at(3), work(2, 120), work(3, 180, after=1), fittings=[fitting(1, "12:00")])
    week = book(job("A", at(1), work(1, 1000)), fitted)
    rows = {row.job.ticket: (row.minutes, row.in_all) for row in in_the_way(week)}
    assert rows == {"A": (1000, 1000), "B": (120, 300)}
    assert left_over(week, HOURS).promised == 1120
