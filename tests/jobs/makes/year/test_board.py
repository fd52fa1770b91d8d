"""Planned against made, each figure reckoned by hand beside it."""

from datetime import UTC, date, datetime
from decimal import Decimal

from jobs.makes.year.board import Finished, Hoped, board
from jobs.makes.year.seasons import seasons_of

SEASONS = seasons_of(2026, 1)
STARTS = {s.first: datetime(s.first.year, s.first.month, 1, tzinfo=UTC) for s in SEASONS}
WINTER, SPRING, SUMMER, AUTUMN = (s.first for s in SEASONS)
NOW = datetime(2026, 8, 10, tzinfo=UTC)


def at(month, day):
    return datetime(2026, month, day, tzinfo=UTC)


def wish(make, begins, since, until=None, **facts):
    return Hoped(make=make, gap=None, begins=begins, since=since, until=until, **facts)


def shown(wishes=(), finished=(), now=NOW):
    return board(SEASONS, wishes, finished, starts=STARTS, now=now)


def test_a_year_by_hand():
    """Four hoped for in seasons that began, three of them made, one of these two seasons later;
    one made in a whim: 4 made = 3 hoped + 1 unplanned.
    """
    before = datetime(2025, 12, 20, tzinfo=UTC)
    year = shown(
        [
            wish(1, WINTER, before, minutes=300, mm=Decimal(1200)),
            wish(2, WINTER, before, minutes=90),
            wish(3, SPRING, at(3, 1), minutes=120, mm=Decimal(800)),
            wish(4, SUMMER, at(6, 30)),
            wish(5, AUTUMN, at(7, 1), minutes=600),
        ],
        [
            Finished(1, date(2026, 2, 1)),
            Finished(2, date(2026, 7, 5)),
            Finished(3, date(2026, 4, 1)),
            Finished(9, date(2026, 5, 5)),
        ],
    )
    winter, spring, summer, autumn = year.lanes
    assert (winter.made, spring.made, summer.made, autumn.made) == ([1], [3], [2], [])
    assert [lane.unplanned for lane in year.lanes] == [[], [9], [], []]
    assert (year.made, year.hoped_and_made, year.unplanned) == (4, 3, 1)
    assert year.hoped_makes == {1, 2, 3, 4, 5}
    assert [lane.hoped_minutes for lane in year.lanes] == [390, 120, 0, 600]
    assert [lane.hoped_mm for lane in year.lanes] == [1200, 800, 0, 0]


def test_what_stood_when_the_season_began_is_the_plan_whatever_comes_later():
    dropped_later = wish(1, SPRING, at(3, 1), at(5, 1))
    dropped_before = wish(2, SPRING, at(3, 1), at(3, 20))
    on_the_stroke = wish(3, SPRING, STARTS[SPRING])
    added_later = wish(4, SPRING, at(4, 2))
    added_and_dropped = wish(5, SPRING, at(4, 2), at(4, 3))
    spring = shown(
        [dropped_later, dropped_before, on_the_stroke, added_later, added_and_dropped]
    ).lanes[1]
    assert spring.hoped == [dropped_later, on_the_stroke]
    assert spring.later == [added_later]


def test_what_was_added_while_the_season_ran_was_not_planned():
    year = shown([wish(4, SPRING, at(4, 2))], [Finished(4, date(2026, 5, 1))])
    assert (year.hoped_and_made, year.unplanned) == (0, 1)


def test_a_season_to_come_shows_what_stands_now_and_plans_nothing_yet():
    year = shown(
        [wish(1, AUTUMN, at(3, 1)), wish(2, AUTUMN, at(3, 1), at(8, 1))],
        [Finished(1, date(2026, 8, 1))],
    )
    assert [wish.make for wish in year.lanes[3].hoped] == [1]
    assert (year.hoped_and_made, year.unplanned) == (0, 1)


def test_what_was_made_in_another_year_is_on_another_board():
    year = shown([], [Finished(1, date(2025, 12, 31)), Finished(2, date(2027, 1, 1))])
    assert year.made == 0
