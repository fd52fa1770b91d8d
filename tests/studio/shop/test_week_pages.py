"""The usual week, and the days on which the studio is closed."""

from datetime import date, time

import holidays
import pytest
import time_machine
from django.urls import reverse

from studio.shop import territory
from studio.shop.forms import parse_hours
from studio.shop.models import DayOff, Profile, WorkingDay
from tests.factories import DayOffFactory
from tests.studio.shop.first_run_form import Fields

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _late_november():
    with time_machine.travel("2026-11-25 12:00:00+00:00", tick=False):
        yield


@pytest.mark.parametrize(
    ("typed", "minutes"),
    [
        ("0", 0), ("7", 420), ("7h", 420), ("7.5", 450), ("7,5", 450), ("7:30", 450), ("7:05", 425),
        ("7 h 30", 450), ("7H30", 450), ("7.25 h", 435), (" 8 ", 480), ("24", 1440), ("7.33", 440),
    ],
)  # fmt: skip
def test_hours_as_people_write_them(typed, minutes):
    assert parse_hours(typed) == minutes


@pytest.mark.parametrize(
    "typed",
    ["", "-1", "7:60", "7:5:5", "24.5", "24:01", "100", "7.555", "half", "7 30", "1e1"],
)
def test_hours_nobody_can_mean(typed):
    with pytest.raises(ValueError, match=r"Write hours|24 hours"):
        parse_hours(typed)


def send_week(client, **typed):
    page = reverse("studio-week")
    return client.post(page, Fields.of(client.get(page).text) | typed)


def test_the_week_sent_as_it_comes_changes_nothing(owner_client):
    before = list(WorkingDay.objects.values())
    assert send_week(owner_client)["Location"] == reverse("studio-settings")
    assert list(WorkingDay.objects.values()) == before


def test_week_and_promise_are_saved_together_or_not_at_all(owner_client, studio, monkeypatch):
    """A weekday cannot be written: nothing else of the page is kept."""
    before = list(WorkingDay.objects.values())
    monkeypatch.setattr(WorkingDay.objects, "update_or_create", fail)
    with pytest.raises(OSError, match="full"):
        send_week(owner_client, lead_days="10", **{"saturday-hours": "4:30"})
    studio.refresh_from_db()
    assert studio.lead_days != 10
    # And the other way round: a profile that cannot be written keeps the old week.
    monkeypatch.undo()
    monkeypatch.setattr(Profile, "save", fail)
    with pytest.raises(OSError, match="full"):
        send_week(owner_client, lead_days="10", **{"saturday-hours": "4:30"})
    assert list(WorkingDay.objects.values()) == before


def fail(*_args, **_facts):
    raise OSError("The disk is full.")


def test_a_press_of_plus_and_a_script_are_answered_by_the_picture_alone(owner_client):
    before = list(WorkingDay.objects.values())
    page = send_week(owner_client, step="monday-hours 30")
    assert Fields.of(page.text)["monday-hours"] == "8:30"
    # By hand: 40.5 hours, of each day a tenth lost and of the week three tenths the owner's.
    for figure in ("40 h 30 a week", "24 h 18 clients, 12 h 09 yours", "4 h 03"):
        assert figure in page.text
    fields = Fields.of(owner_client.get(reverse("studio-week")).text)
    answer = owner_client.post(
        reverse("studio-week"), fields | {"friday-hours": "2"}, headers={"hx-request": "true"}
    )
    assert "34 h a week" in answer.text
    assert list(WorkingDay.objects.values()) == before


def test_a_shorter_week_and_a_longer_promise(owner_client, studio):
    typed = {"wednesday-hours": "", "saturday-hours": "4:30", "saturday-starts": "08:00"}
    send_week(owner_client, lead_days="10", promise_time="16:30", **typed)
    week = {day.name: (day.starts, day.minutes) for day in WorkingDay.objects.all()}
    assert week["Wednesday"] == (time(9), 0)
    assert week["Saturday"] == (time(8), 270)
    studio.refresh_from_db()
    assert (studio.lead_days, studio.promise_time) == (10, time(16, 30))
    page = owner_client.get(reverse("studio-settings")).text
    # Four days of 8 hours and one of 4 and a half; the gap is named day by day.
    assert "Mon, Tue, Thu, Fri, Sat, 36 h 30" in page


@pytest.mark.postgres
@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ({"monday-hours": "lots"}, "Write hours such as 7.5 or 7:30, or 0."),
        (
            {"monday-hours": "12", "monday-starts": "13:00"},
            "A working day cannot run over midnight: end it by 24:00.",
        ),
        ({"monday-starts": ""}, "This field is required."),
        ({"lead_days": "366"}, "less than or equal to 365"),
        ({"lead_days": "soon"}, "Enter a whole number."),
        ({"promise_time": "25:00"}, "Enter a valid time."),
    ],
)
def test_a_week_that_cannot_be_changes_nothing(owner_client, typed, message):
    response = send_week(owner_client, **{"tuesday-hours": "3"}, **typed)
    assert message in response.text
    assert "<title>Error: " in response.text
    assert 'value="3"' in response.text
    assert set(WorkingDay.objects.filter(weekday__lt=5).values_list("minutes", flat=True)) == {480}


def test_a_week_at_the_sea_skips_the_day_that_is_closed_already(owner_client):
    DayOffFactory(day=date(2026, 12, 2), reason="Fair")
    fields = {"first": "2026-12-01", "last": "2026-12-03", "reason": "At the sea"}
    page = owner_client.post(reverse("studio-days-off"), fields, follow=True).text
    assert "Closed on 2 more days." in page
    assert "Thu 3 Dec 2026" in page
    again = owner_client.post(reverse("studio-days-off"), fields, follow=True).text
    assert "Closed on 0 more days." in again
    kept = [(closed.day.day, closed.reason) for closed in DayOff.objects.all()]
    assert kept == [(1, "At the sea"), (2, "Fair"), (3, "At the sea")]


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ({"first": ""}, "This field is required."),
        ({"first": "tomorrow"}, "Enter a valid date."),
        ({"first": "2026-11-24"}, "This day is over."),
        ({"last": "2026-11-30"}, "The last day comes before the first."),
        ({"last": "2027-12-01"}, "At most 92 days at once."),
        ({"last": "Easter"}, "Enter a valid date."),
        ({"reason": "x" * 101}, "at most 100 characters"),
    ],
)
def test_days_off_that_cannot_be(owner_client, typed, message):
    fields = {"first": "2026-12-01", "last": "", "reason": "Rest"} | typed
    response = owner_client.post(reverse("studio-days-off"), fields)
    assert message in response.text
    assert DayOff.objects.count() == 0


def test_opening_again(owner_client):
    closed = DayOffFactory(day=date(2026, 12, 2))
    owner_client.post(reverse("studio-day-off-remove", args=[closed.pk]))
    assert DayOff.objects.count() == 0


@pytest.mark.postgres
def test_public_holidays_come_at_one_press_and_only_once(owner_client):
    """Ireland's ten public holidays of 2027: the Organisation of Working Time Act 1997, second
    schedule, with St Brigid's day since 2023. Boxing Day is Saint Stephen's Day there."""
    for _ in range(2):
        owner_client.post(reverse("studio-holidays"), {"year": "2027"})
    reasons = dict(DayOff.objects.values_list("day", "reason"))
    assert len(reasons) == 10
    assert reasons[date(2027, 3, 17)] == "Saint Patrick's Day"
    assert date(2027, 2, 1) in reasons
    assert date(2027, 12, 26) in reasons


def test_the_holidays_of_every_country_on_offer_are_known():
    assert set(territory.countries()) <= set(holidays.list_supported_countries())


@pytest.mark.parametrize("rows", [1, 3])
def test_the_list_of_days_off_asks_the_database_four_times(
    owner_client, rows, django_assert_num_queries
):
    for day in range(rows):
        DayOffFactory(day=date(2026, 12, 1 + day))
    with django_assert_num_queries(4):
        owner_client.get(reverse("studio-days-off"))
