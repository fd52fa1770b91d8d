"""How a body changes: against scipy's regression, and by hand where a sum is small."""

from datetime import date, timedelta
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from clients.fit.changes import Taking, changed, comparable, course, is_old, trend
from clients.fit.lengths import parse_length

WAIST, HIP = ("waist", ""), ("hip", "")
FIRST = date(2026, 1, 10)


def taking(day: date = FIRST, waist_at: str = "natural", front_from: str = "", **cm: str) -> Taking:
    lengths = {(key, ""): parse_length(typed, "cm") for key, typed in cm.items()}
    return Taking(day, lengths, waist_at, front_from)


@given(
    st.lists(
        st.tuples(st.integers(0, 900), st.integers(5000, 15000)),
        min_size=3,
        max_size=25,
        unique_by=lambda row: row[0],
    ),
    st.integers(0, 1500),
)
def test_the_trend_and_its_interval_are_those_of_scipy(rows, ahead):
    points = [(FIRST + timedelta(days=day), Decimal(tenths) / 10) for day, tenths in rows]
    answer = trend(points, FIRST + timedelta(days=ahead))

    x = np.array([day for day, _ in rows], dtype=float)
    y = np.array([tenths / 10 for _, tenths in rows])
    line = stats.linregress(x, y)
    n = len(rows)
    left = y - line.intercept - line.slope * x
    error = np.sqrt((left @ left) / (n - 2))
    away = (ahead - x.mean()) ** 2 / ((x - x.mean()) ** 2).sum()
    half = stats.t.ppf(0.9, n - 2) * error * np.sqrt(1 + 1 / n + away)
    assert float(answer.slope) == pytest.approx(line.slope, rel=1e-6, abs=1e-4)
    expected = line.intercept + line.slope * ahead
    assert float(answer.expected) == pytest.approx(expected, rel=1e-6, abs=1e-3)
    assert float(answer.half) == pytest.approx(half, rel=1e-5, abs=1e-3)


def test_two_days_are_too_few_and_so_is_one_day_taken_thrice():
    later = FIRST + timedelta(days=40)
    assert trend([(FIRST, Decimal(720)), (later, Decimal(704))], later) is None
    assert trend([(FIRST, Decimal(720))] * 3, later) is None


def test_three_days_on_a_line_go_on_along_it():
    # 16 mm less in each five weeks; five weeks later 16 mm less again.
    weeks = [timedelta(weeks=5 * step) for step in range(4)]
    points = [(FIRST + weeks[step], Decimal(720 - 16 * step)) for step in range(3)]
    answer = trend(points, FIRST + weeks[3])
    assert (answer.count, answer.expected, answer.half) == (3, 672, 0)
    # No interval is said to be finer than a tape can be read (common practice: 5 mm).
    assert (answer.low, answer.high) == (667, 677)


def test_what_grows_is_never_forecast_below_today():
    """By hand, from the row above: 688 mm are left, 672 expected; growing, it stays at 688."""
    weeks = [timedelta(weeks=5 * step) for step in range(4)]
    points = [(FIRST + weeks[step], Decimal(720 - 16 * step)) for step in range(3)]
    answer = trend(points, FIRST + weeks[3])
    assert answer.growing(Decimal(688)) == (688, 688, 688)
    assert answer.growing(Decimal(670)) == (670, 672, 677)


@pytest.mark.parametrize(
    ("taken", "today", "old"),
    [
        # Texas extension service, "Principles of Pattern Alteration": again every six months.
        (date(2026, 1, 10), date(2026, 7, 10), False),
        (date(2026, 1, 10), date(2026, 7, 11), True),
        (date(2025, 8, 31), date(2026, 2, 28), False),
        (date(2025, 8, 31), date(2026, 3, 1), True),
    ],
)
def test_a_sheet_is_good_for_six_months_by_the_calendar(taken, today, old):
    assert is_old(taken, today) is old


def test_the_change_since_the_last_sheet():
    now, before = taking(waist="70.5", hip="98"), taking(waist="72")
    assert changed(now, before, WAIST) == -15
    assert changed(now, before, HIP) is None
    assert changed(now, None, WAIST) is None


def test_a_waist_taken_elsewhere_is_not_compared():
    now, before = taking(waist_at="midway", waist="74", hip="98"), taking(waist="72", hip="97")
    assert changed(now, before, WAIST) is None
    assert changed(now, before, HIP) == 10


def test_a_front_length_from_elsewhere_is_not_compared():
    nape, neck_side = taking(front_from="nape"), taking(front_from="neck_side")
    assert not comparable("front_waist", nape, neck_side)
    assert comparable("hip", nape, neck_side)


def test_a_course_runs_from_the_oldest_day_and_keeps_to_the_place_of_the_last():
    days = [FIRST + timedelta(days=30 * step) for step in range(4)]
    takings = [
        taking(days[2], waist="71"),
        taking(days[0], waist="72"),
        taking(days[1], waist_at="midway", waist="75"),
        taking(days[3], waist="70"),
        taking(days[3], waist="70.5"),
    ]
    measured = course(takings, WAIST)
    assert measured.points == ((days[0], 720), (days[2], 710), (days[3], 705))
    assert (measured.last, measured.change) == (705, -5)
    assert course(takings, HIP).points == ()
    assert course(takings[:1], WAIST).change is None
