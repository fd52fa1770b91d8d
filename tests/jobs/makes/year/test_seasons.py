"""Every day in one season, every year four of them; the months are those of the weather service.

Source: World Meteorological Organization, *Guide to Climatological Practices* (WMO-No. 100), on
seasons of the northern middle latitudes: December to February, March to May, June to August,
September to November. Quoted from memory.
"""

from datetime import date, timedelta
from itertools import pairwise

import pytest

from jobs.makes.year.seasons import Name, season_of, seasons_of
from tests.thorough import thinned


def test_meteorological_seasons_of_the_north_are_those_of_the_weather_service():
    months = {
        1: "winter", 2: "winter", 3: "spring", 4: "spring", 5: "spring", 6: "summer",
        7: "summer", 8: "summer", 9: "autumn", 10: "autumn", 11: "autumn", 12: "winter",
    }  # fmt: skip
    for month, name in months.items():
        assert season_of(date(2026, month, 15), 12).name == name


def test_in_the_south_they_are_the_other_half_of_the_year():
    for month in range(1, 13):
        day = date(2026, month, 15)
        north = list(Name).index(season_of(day, 12).name)
        assert list(Name).index(season_of(day, 6).name) == (north + 2) % 4


@pytest.mark.parametrize("winter_begins", thinned(range(1, 13), {1, 6, 12}.__contains__))
def test_every_day_lies_in_one_season_and_every_year_has_four(winter_begins):
    day, days = date(2023, 1, 1), {}
    seasons = [found for year in range(2022, 2031) for found in seasons_of(year, winter_begins)]
    while day < date(2029, 1, 1):
        among = [found for found in seasons if found.first <= day <= found.last]
        assert among == [season_of(day, winter_begins)]
        days.setdefault(among[0], []).append(day)
        day += timedelta(1)
    for year in range(2024, 2028):
        four = seasons_of(year, winter_begins)
        assert sorted(found.name for found in four) == sorted(Name)
        for this, following in pairwise(four):
            assert following.first == this.last + timedelta(1)
        for found in four:
            assert found.year == year == found.last.year
            assert len({day.month for day in days[found]}) == 3


def test_calendar_quarters_keep_the_calendar_year():
    four = seasons_of(2026, 1)
    assert [str(found) for found in four] == [
        "Winter 2026", "Spring 2026", "Summer 2026", "Autumn 2026",
    ]  # fmt: skip
    assert (four[0].first, four[3].last) == (date(2026, 1, 1), date(2026, 12, 31))
    assert [found.months for found in four][:2] == ["Jan to Mar", "Apr to Jun"]


def test_a_winter_that_crosses_new_year_belongs_to_the_year_it_ends_in():
    assert str(season_of(date(2025, 12, 31), 12)) == "Winter 2026"
    assert str(season_of(date(2026, 12, 1), 12)) == "Winter 2027"
