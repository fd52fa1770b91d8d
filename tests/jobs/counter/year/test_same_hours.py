"""Own and client hours on the week's page, the year's page and in the journal are the same."""

from datetime import date, timedelta

import pytest
import time_machine
from django.urls import reverse

from jobs.planning.own_hours import own_year
from studio.shop import clock
from studio.shop.locales import show_minutes
from tests import factories as f
from tests import papers
from tests.jobs.counter.year.making import at, finished
from tests.jobs.planning.pages import words as read

FIRST_MONDAY = date(2026, 1, 5)
WEEKS = 4
"""Whole weeks of one year, all over but the last, which is under way."""


@pytest.fixture(autouse=True)
def _friday(studio):
    """Friday 30 January 2026 in Auckland, where the local day is not the day of UTC."""
    studio.time_zone = "Pacific/Auckland"
    studio.save()
    clock.activate(studio)
    with time_machine.travel(at(date(2026, 1, 30), "17:00"), tick=False):
        yield


def spend(day: date, minutes: int, purpose: str, hour: str = "23:30", **facts) -> int:
    line = {} if purpose == "client" else {"line": None}
    f.BenchTimeFactory(started_at=at(day, hour), minutes=minutes, purpose=purpose, **line | facts)
    return minutes


@pytest.fixture
def times(owner):
    """What was spent on what, in minutes; the clock that runs counts nowhere yet."""
    days = [FIRST_MONDAY + timedelta(days=4 * step) for step in range(7)]
    make = finished(date(2026, 1, 29), words="The only make")
    spent = {"own": 0, "release": 0, "client": 0}
    for number, day in enumerate(days):
        spent["own"] += spend(day, 61 + number, "own", make=make)
        spent["release"] += spend(day, 7, "release", "08:00")
        spent["client"] += spend(day, 130, "client", "00:15")
    spend(date(2026, 1, 30), None, "own", "16:00", by=owner)
    return spent


def of_the_weeks(client) -> dict[str, int]:
    sums = {"own": 0, "release": 0, "client": 0}
    for week in range(WEEKS):
        monday = FIRST_MONDAY + timedelta(weeks=week)
        bars = client.get(reverse("week-of", args=[monday])).context["sheet"].bars
        for day in bars.days:
            sums["own"] += day.done_own
            sums["release"] += day.done_releases
            sums["client"] += day.done_clients
    return sums


def test_three_pages_say_the_same(owner_client, times):
    page = owner_client.get(reverse("year-of", args=[2026]))
    owner_client.post(reverse("journal-build", args=[2026]), {"paper": "A5"})
    text = papers.text(owner_client.get(reverse("journal-file", args=[2026, "A5"])).content)
    shown, shown_words = page.context["sheet"].spent, read(page.text)
    assert of_the_weeks(owner_client) == times
    assert {"own": shown.own, "release": shown.release, "client": shown.client} == times
    for words, minutes in [
        ("Own sewing", times["own"]),
        ("Pattern releases", times["release"]),
        ("Client work", times["client"]),
    ]:
        assert f"{words} {show_minutes(minutes)}" in text
        assert f"{words} {show_minutes(minutes)}" in shown_words
    assert f"Hours {show_minutes(times['own'])}" in text


def test_the_page_of_own_hours_says_the_same(times):
    assert own_year(2026).sewn == times["own"] + times["release"]


def test_the_rows_behind_the_hours_add_up_to_them(owner_client, times):
    rows = owner_client.get(reverse("year-hours", args=[2026])).context["table"].data
    assert {key: sum(row[key] for row in rows) for key in times} == times


def test_a_year_begins_with_the_local_new_year(owner_client):
    spend(date(2025, 12, 31), 40, "own")
    spend(date(2026, 1, 1), 25, "own", "00:10")
    sheets = [
        owner_client.get(reverse("year-of", args=[year])).context["sheet"] for year in (2025, 2026)
    ]
    assert [sheet.spent.own for sheet in sheets] == [40, 25]
    assert [row.spent.own for row in sheets[1].years] == [25, 40]
