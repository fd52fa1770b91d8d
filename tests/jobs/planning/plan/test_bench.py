"""The bench calendar: buckets of bench time, cut by appointments and promises."""

from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

import pytest

from jobs.planning.plan.bench import Bench, Busy, Shift, lay_out

DUBLIN = ZoneInfo("Europe/Dublin")
EVERY_DAY = {weekday: Shift(time(9), 480) for weekday in range(7)}


def at(text: str, zone: ZoneInfo = DUBLIN) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=zone)


def bench(now: str, days: int = 2, zone: ZoneInfo = DUBLIN, shifts=EVERY_DAY, **rest) -> Bench:
    return lay_out(at(now, zone), days, zone, shifts, **rest)


def spans(result: Bench, zone: ZoneInfo = DUBLIN) -> list[str]:
    return [
        f"{b.starts.astimezone(zone):%a %H:%M}-{b.ends.astimezone(zone):%H:%M} {b.minutes}"
        for b in result.buckets
    ]


def test_a_day_is_one_bucket_and_today_is_what_is_left():
    assert spans(bench("2026-03-02 10:30")) == ["Mon 10:30-17:00 390", "Tue 09:00-17:00 480"]


def test_before_opening_the_whole_day_is_left():
    assert spans(bench("2026-03-02 06:00", 1)) == ["Mon 09:00-17:00 480"]


def test_after_closing_today_is_an_empty_bucket():
    assert spans(bench("2026-03-02 19:00")) == ["Mon 17:00-17:00 0", "Tue 09:00-17:00 480"]


def test_a_fitting_cuts_the_day_so_that_before_four_is_exact():
    fitting = Busy(at("2026-03-02 16:00"), at("2026-03-02 16:30"))
    result = bench("2026-03-02 09:00", 1, busy=[fitting])
    assert spans(result) == ["Mon 09:00-16:00 420", "Mon 16:30-17:00 30"]
    assert result.last_before(fitting.starts) == 0
    assert result.first_after(fitting.ends) == 1


def test_overlapping_appointments_take_their_time_once():
    rests = [
        Busy(at("2026-03-02 10:00"), at("2026-03-02 12:00")),
        Busy(at("2026-03-02 11:00"), at("2026-03-02 11:30")),
        Busy(at("2026-03-02 16:30"), at("2026-03-02 18:00")),
    ]
    assert spans(bench("2026-03-02 09:00", 1, busy=rests)) == [
        "Mon 09:00-10:00 60",
        "Mon 12:00-16:30 270",
    ]


def test_a_promise_at_noon_cuts_without_taking_time():
    result = bench("2026-03-02 09:00", 1, cuts=[at("2026-03-02 12:00"), at("2026-03-02 12:00")])
    assert spans(result) == ["Mon 09:00-12:00 180", "Mon 12:00-17:00 300"]
    assert result.last_before(at("2026-03-02 12:00")) == 0
    assert result.last_before(at("2026-03-02 11:59")) == -1


def test_a_promise_in_the_evening_has_the_whole_day():
    result = bench("2026-03-02 09:00", 2)
    assert result.last_before(at("2026-03-02 18:00")) == 0


def test_closed_days_and_days_off_are_empty_but_there():
    weekdays = {weekday: shift for weekday, shift in EVERY_DAY.items() if weekday < 5}
    result = bench("2026-03-06 09:00", 4, shifts=weekdays, closed=[date(2026, 3, 9)])
    assert [bucket.minutes for bucket in result.buckets] == [480, 0, 0, 0]
    assert [bucket.day.day for bucket in result.buckets] == [6, 7, 8, 9]


def test_lost_time_is_taken_off_and_rounded_down():
    result = bench("2026-03-02 16:14", 1, lost_percent=10)
    assert [bucket.minutes for bucket in result.buckets] == [41]  # 46 x 0.9 = 41.4


def test_no_capacity_at_all_is_a_calendar_of_empty_days():
    assert [bucket.minutes for bucket in bench("2026-03-02 09:00", 7, shifts={}).buckets] == [0] * 7


# The instants are the IANA time zone database's: Europe/Dublin springs forward on 29 March 2026
# and falls back on 25 October 2026 at 01:00 UTC; America/New_York on 8 March and 1 November 2026 at
# 02:00 local; Pacific/Auckland falls back on 5 April 2026 at 03:00 local.
@pytest.mark.parametrize(
    ("zone", "day", "minutes"),
    [
        ("Europe/Dublin", "2026-03-29", 420),
        ("Europe/Dublin", "2026-10-25", 540),
        ("Europe/Dublin", "2026-03-30", 480),
        ("America/New_York", "2026-03-08", 420),
        ("America/New_York", "2026-11-01", 540),
        ("Pacific/Auckland", "2026-04-05", 540),
        ("Pacific/Auckland", "2026-09-27", 420),
    ],
)
def test_a_night_shift_over_a_clock_change_is_as_long_as_it_is(zone, day, minutes):
    where = ZoneInfo(zone)
    night = {weekday: Shift(time(0), 480) for weekday in range(7)}
    result = bench(f"{day} 00:00", 1, where, night)
    assert [bucket.minutes for bucket in result.buckets] == [minutes]


@pytest.mark.parametrize("zone", ["Europe/Dublin", "America/New_York", "Pacific/Auckland"])
def test_an_ordinary_day_is_the_same_the_whole_year(zone):
    where = ZoneInfo(zone)
    result = bench("2026-01-01 00:00", 365, where)
    assert {bucket.minutes for bucket in result.buckets} == {480}
    assert {b.starts.astimezone(where).time() for b in result.buckets} == {time(9)}


def test_the_moments_are_in_utc():
    bucket = bench("2026-07-01 09:00", 1).buckets[0]
    assert (bucket.starts, bucket.starts.tzinfo) == (datetime(2026, 7, 1, 8, tzinfo=UTC), UTC)


def test_a_day_may_end_at_midnight_but_not_after_it():
    late = {0: Shift(time(16), 480)}
    assert spans(bench("2026-03-02 09:00", 1, shifts=late)) == ["Mon 16:00-00:00 480"]
    with pytest.raises(ValueError, match="cannot run over midnight"):
        bench("2026-03-02 09:00", 1, shifts={0: Shift(time(16), 481)})
