"""The owner's hours: the share, weeks of their own, the ledger, and what the clock says is lost."""

import re
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.planning import actions
from jobs.planning.models import OwnWeek, PlanRules
from jobs.planning.own_hours import measured_loss, own_rows, own_year
from jobs.planning.plan.bench import Busy, lay_out, lost_time
from jobs.planning.queries import read_own_weeks, read_week
from tests.drafts import received, take_in, trousers
from tests.factories import (
    AppointmentFactory,
    BenchTimeFactory,
    DayOffFactory,
    FittingFactory,
    HoursTakenFactory,
    LineFactory,
    OwnWeekFactory,
    PlanRulesFactory,
    TicketFactory,
)
from tests.jobs.planning.books import DUBLIN, MONDAY, WEEKDAYS, at
from tests.jobs.planning.pages import beside, notices, words
from tests.tables import cells

PAGE = "/week/own/"


@pytest.fixture(autouse=True)
def _monday(monday):
    """Every test stands on Monday 2 March 2026, eight in the morning."""


def rows(studio):
    return own_rows(read_week(studio), read_own_weeks(MONDAY))


def weeks(**hours):
    """What the six fields are sent with: empty but for ``w0`` to ``w5``."""
    mondays = [MONDAY + timedelta(weeks=n) for n in range(6)]
    sent = {monday.isoformat(): hours.get(f"w{n}", "") for n, monday in enumerate(mondays)}
    return sent | {"save": "weeks"}


def rules(**typed):
    usual = {"own_percent": "30", "lost_percent": "10", "min_piece": "15", "safe_percent": "80"}
    return usual | {"save": "rules"} | typed


def test_thirty_percent_from_the_start(studio):
    """Forty hours of bench time, twelve of them the owner's, and room for all of them."""
    weeks_shown = rows(studio)
    assert [(row.own.target, row.loose, row.own.lost) for row in weeks_shown] == [(720, 720, 0)] * 6


def test_a_day_off_takes_its_share_with_it(studio):
    DayOffFactory(day=date(2026, 3, 11))
    assert [row.usual for row in rows(studio)][:3] == [720, 576, 720]


def test_put_on_days_sewn_and_loose_add_up(studio, owner):
    AppointmentFactory(kind="own", starts_at=at(1), minutes=120)
    BenchTimeFactory(purpose="own", line=None, started_at=at(0, "07:00"), minutes=45)
    row = rows(studio)[0]
    assert (row.own.sewn, row.placed, row.loose, row.own.lost) == (45, 120, 555, 0)


def test_client_work_leaves_no_room(studio, owner):
    """Forty hours less a tenth are 36; thirty of them are promised by Friday."""
    received(studio, owner, trousers(take_in(minutes_each=1800)), promise_at=at(4))
    row = rows(studio)[0]
    assert (row.own.target, row.loose, row.own.lost) == (720, 360, 360)


def test_a_week_of_its_own_and_back_to_the_share(owner_client, studio):
    owner_client.post(PAGE, weeks(w0="5:30", w2="0"))
    assert [row.own.target for row in rows(studio)] == [330, 720, 0, 720, 720, 720]
    page = words(owner_client.get(PAGE).text)
    assert "Chosen (usual 12 h) 5 h 30" in page
    owner_client.post(PAGE, weeks(w2="0"))
    assert list(OwnWeek.objects.values_list("monday", "minutes")) == [(date(2026, 3, 16), 0)]


def press_undo(client):
    """The button that the page offers; gives the page after it."""
    button = re.search(r'name="entry" value="(\d+)"', client.get(PAGE).text)
    assert button
    return client.post(PAGE, {"save": "undo", "entry": button[1]}, follow=True)


def test_the_last_change_is_taken_back(owner_client, studio):
    owner_client.post(PAGE, weeks(w0="5:30"))
    owner_client.post(PAGE, weeks(w0="4", w1="3"))
    words = "Undo: Own hours: week of Mon 2 Mar 2026 4 h; week"
    assert words in owner_client.get(PAGE).text
    assert "Undone." in press_undo(owner_client).text
    assert dict(OwnWeek.objects.values_list("monday", "minutes")) == {MONDAY: 330}
    press_undo(owner_client)
    assert not OwnWeek.objects.exists()


def test_what_was_changed_since_is_not_taken_back(owner_client, studio):
    owner_client.post(PAGE, rules(own_percent="50"))
    PlanRules.objects.update(own_percent=60)
    assert "was changed since" in press_undo(owner_client).text
    assert PlanRules.load().own_percent == 60


def test_the_same_weeks_sent_twice_are_one(owner_client):
    for _ in range(2):
        after = owner_client.post(PAGE, weeks(w1="10"), follow=True)
    assert notices(after) == ["Saved."]
    assert OwnWeek.objects.get().minutes == 600


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ("169", "A week has 168 hours."),
        ("a lot", "Write hours such as 7.5 or 7:30, or 0."),
        ("-1", "Write hours such as 7.5 or 7:30, or 0."),
    ],
)
def test_hours_no_week_can_have(owner_client, typed, message):
    response = owner_client.post(PAGE, weeks(w1=typed, w2="4"))
    assert beside(response, "2026-03-09") == message
    assert f'value="{typed}"' in response.text
    assert 'value="4"' in response.text
    assert not OwnWeek.objects.exists()


def test_the_rules_are_kept(owner_client, studio):
    after = owner_client.post(PAGE, rules(own_percent="50", lost_percent="0"), follow=True)
    assert notices(after) == ["Saved."]
    assert PlanRules.objects.get().own_percent == 50
    assert [row.own.target for row in rows(studio)][:2] == [1200, 1200]
    assert read_week(studio).book.bench.minutes_on(MONDAY) == 480


@pytest.mark.parametrize(
    ("name", "typed", "message"),
    [
        ("own_percent", "101", "less than or equal to 100"),
        ("own_percent", "-1", "greater than or equal to 0"),
        ("lost_percent", "91", "less than or equal to 90"),
        ("safe_percent", "100", "less than or equal to 99"),
        ("min_piece", "0", "greater than or equal to 1"),
        ("min_piece", "", "This field is required."),
    ],
)
def test_rules_nobody_can_mean(owner_client, name, typed, message):
    response = owner_client.post(PAGE, rules(**{name: typed}))
    assert message in beside(response, name)
    assert not PlanRules.objects.exists()


def test_the_hours_are_the_owners_business(helper_client):
    assert helper_client.post(PAGE, rules(own_percent="0")).status_code == 403
    assert not PlanRules.objects.exists()


def test_the_ledger_names_the_ticket_that_took_them(owner_client, owner):
    ticket = TicketFactory(number="26-0907", client__name="Ada Moss")
    facts = {"ticket": ticket, "by": owner}
    for _ in range(2):
        actions.take_hours(lost=[(MONDAY, 100), (date(2026, 3, 9), 30)], **facts)
    HoursTakenFactory(monday=date(2025, 12, 29), minutes=50)
    BenchTimeFactory(purpose="own", line=None, minutes=40, started_at=at(-1))
    BenchTimeFactory(purpose="release", line=None, minutes=20, started_at=at(-2))
    BenchTimeFactory(minutes=90, started_at=at(-2))
    page = owner_client.get(PAGE)
    assert cells(page) == [
        ["Mon 9 Mar 2026", "30 min", "26-0907", "Ada Moss", "Mon 2 Mar 2026", "Owner"],
        ["Mon 2 Mar 2026", "1 h 40", "26-0907", "Ada Moss", "Mon 2 Mar 2026", "Owner"],
    ]
    assert "Sewn for myself 1 h Taken by client work 2 h 10" in words(page.text)
    last = words(owner_client.get(PAGE + "?year=2025").text)
    assert "Hours that client work took in 2025" in last
    assert "Taken by client work 50 min" in last


@pytest.mark.parametrize("asked", ["", "soon", "99999", "-1", "²"])
def test_a_year_that_is_none_is_this_one(owner_client, asked):
    assert "took in 2026" in owner_client.get(PAGE, {"year": asked}).text


def test_an_empty_ledger_says_so(owner_client):
    assert cells(owner_client.get(PAGE)) == [["No own hour was given away."]]
    assert own_year(2026).taken == 0


def timed(day, hour, minutes, **facts):
    return BenchTimeFactory(started_at=at(day, hour), minutes=minutes, **facts)


def test_the_clock_says_what_was_lost(owner_client, studio):
    """Five days of eight hours: 300 minutes timed on each, less what was booked that day."""
    line = LineFactory()
    for day in range(-7, -2):
        timed(day, "09:00", 200, line=line)
        timed(day, "13:00", 100, line=None, purpose="own")
    FittingFactory(ticket=line.garment.ticket, starts_at=at(-7, "16:00"), state="kept")
    AppointmentFactory(starts_at=at(-6, "15:00"), minutes=90)
    loss = measured_loss(studio)
    # 2400 minutes less 30 and 90; 1500 are 65.8 % of 2280.
    assert (loss.days, loss.bench, loss.sewn, loss.percent) == (5, 2280, 1500, 34)
    page = words(owner_client.get(PAGE).text)
    assert "The clock says 34 %: on the last 5 days with a running clock, 25 h of 38 h" in page


def test_too_few_days_say_nothing(owner_client, studio):
    for day in range(-7, -3):
        timed(day, "09:00", 200)
    timed(0, "07:00", 30)  # today does not count yet
    timed(-60, "09:00", 200)  # nor does what is long over
    BenchTimeFactory(started_at=at(-3, "09:00"), minutes=None)  # nor a clock that still runs
    assert measured_loss(studio) is None
    assert "Once the clock has run on five days" in owner_client.get(PAGE).text


def test_a_closed_day_and_the_evening_are_not_bench_time():
    sewn = [
        Busy(at(0, "16:30"), at(0, "18:00")),  # half an hour of it inside
        Busy(at(5, "10:00"), at(5, "12:00")),  # a Saturday
    ]
    loss = lost_time(lay_out(at(0, "00:00"), 7, DUBLIN, WEEKDAYS), sewn)
    assert (loss.days, loss.bench, loss.sewn) == (1, 480, 30)


@given(
    st.lists(
        st.tuples(st.integers(0, 4 * 24 * 60), st.integers(1, 700)), min_size=1, max_size=12
    ),
    st.lists(st.tuples(st.integers(0, 4 * 24 * 60), st.integers(1, 200)), max_size=4),
)  # fmt: skip
def test_lost_time_counted_minute_by_minute(sewn, rests):
    """The reference lights every minute of the clock by itself."""
    start = at(0, "00:00")

    def stretch(row):
        begins = start + timedelta(minutes=row[0])
        return Busy(begins, begins + timedelta(minutes=row[1]))

    bench = lay_out(start, 5, DUBLIN, WEEKDAYS, busy=[stretch(row) for row in rests])
    loss = lost_time(bench, [stretch(row) for row in sewn])
    lit = {minute for first, long in sewn for minute in range(first, first + long)}
    off = {minute for first, long in rests for minute in range(first, first + long)}
    opened = {
        day: {day * 1440 + 9 * 60 + minute for minute in range(480)} - off for day in range(5)
    }
    days = {day for day, minutes in opened.items() if minutes & lit}
    assert loss.days == len(days)
    assert loss.sewn == sum(len(opened[day] & lit) for day in days)
    assert loss.bench == sum(len(opened[day]) for day in days)


@pytest.mark.postgres
@pytest.mark.parametrize("count", [1, 3])
def test_the_page_asks_the_database_twenty_six_times(
    owner_client, studio, owner, django_assert_num_queries, count
):
    PlanRulesFactory()
    for week in range(count):
        OwnWeekFactory(monday=MONDAY + timedelta(weeks=week))
        HoursTakenFactory(ticket=received(studio, owner), monday=MONDAY)
    with django_assert_num_queries(26):
        page = owner_client.get(PAGE)
    assert len(cells(page)) == count
