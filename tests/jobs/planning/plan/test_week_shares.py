"""A usual week in its parts: by hand, and as the plan itself counts."""

from hypothesis import given
from hypothesis import strategies as st

from jobs.planning.plan.weeks import Shares, week_shares

# A day has half an hour or more, or none.
MINUTES = st.lists(st.just(0) | st.integers(30, 1440), min_size=1, max_size=7)


def test_five_days_of_eight_hours():
    """By hand: of 480 minutes a tenth, 48, is lost; of 2400 three tenths, 720, are the owner's."""
    assert week_shares([480] * 5, 30, 10) == [Shares(288, 144, 48)] * 5


def test_days_of_seven_minutes_add_up_to_the_weeks_share():
    """By hand: a third of 21 is 6 rounded down, though a third of 7 is 2 with a rest."""
    assert [day.own for day in week_shares([7, 7, 7], 33, 0)] == [2, 2, 2]
    assert [day.own for day in week_shares([5, 5], 50, 0)] == [2, 3]


@given(MINUTES, st.integers(0, 100), st.integers(0, 90))
def test_the_parts_are_the_whole_and_none_is_less_than_nothing(minutes, own, lost):
    days = week_shares(minutes, own, lost)
    assert [day.minutes for day in days] == minutes
    assert all(min(day.clients, day.own, day.lost) >= 0 for day in days)
    if own + lost <= 90:
        # The share of the whole week, rounded down, as ``Hours.usual_own`` has it.
        assert sum(day.own for day in days) == sum(minutes) * own // 100
