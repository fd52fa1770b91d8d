"""The bench clock: one tap to start, one to stop, or an honest guess afterwards."""

from datetime import timedelta

import pytest
from django.urls import reverse

from jobs.planning import actions
from jobs.planning.models import BenchTime, is_forgotten
from jobs.tickets import actions as tickets
from jobs.tickets.models import State
from studio.shop import clock
from tests.jobs.planning.books import at
from tests.jobs.planning.pages import drawer, notices, part

pytestmark = pytest.mark.usefixtures("ticket")


@pytest.fixture
def line(ticket):
    return ticket.garments.get().lines.get(name="Take in sides")


def start(client, **facts):
    return client.post(reverse("clock-start"), facts, follow=True)


def stop(client, **facts):
    return client.post(reverse("clock-stop"), facts, follow=True)


@pytest.mark.parametrize("role", ["owner", "helper"])
def test_a_tap_starts_and_a_tap_stops(role, request, line, ticket, on):
    client = request.getfixturevalue(f"{role}_client")
    page = start(client, line=line.pk)
    assert f'name="line" value="{line.pk}"' not in page.text
    ticket.refresh_from_db()
    assert ticket.state == State.IN_WORK
    with on(0, "08:25"):
        assert 'data-running="25">25 min' in client.get("/").text
        assert notices(stop(client)) == [f"{ticket.number} A Take in sides: 25 min."]
    time = BenchTime.objects.get()
    assert (time.line, time.minutes, time.started_at) == (line, 25, at(0, "08:00"))


def test_it_is_done_with_the_same_tap(owner_client, line, on):
    start(owner_client, line=line.pk)
    with on(0, "08:50"):
        stop(owner_client, done="1")
    line.refresh_from_db()
    assert (line.done_at, BenchTime.objects.get().minutes) == (at(0, "08:50"), 50)


def test_starting_twice_is_once_and_something_else_stops_it(owner, line, hem_line, on):
    facts = {"purpose": "client", "by": owner}
    first = actions.start_clock(line=line, **facts)
    assert actions.start_clock(line=line, **facts) == first
    with on(0, "08:20"):
        second = actions.start_clock(line=hem_line, **facts)
    first.refresh_from_db()
    assert (first.minutes, second.minutes) == (20, None)


def test_stopping_what_does_not_run_changes_nothing(owner_client):
    assert notices(stop(owner_client)) == []
    assert not BenchTime.objects.exists()


def test_everybody_has_a_clock_of_their_own(owner_client, helper_client, line, hem_line):
    start(owner_client, line=line.pk)
    start(helper_client, line=hem_line.pk)
    assert BenchTime.objects.filter(minutes=None).count() == 2
    assert part(owner_client.get("/"), "running").startswith("Since 08:00")
    assert ": hem" not in part(owner_client.get("/"), "running")
    assert ": hem" in part(helper_client.get("/"), "running")


def test_own_sewing_runs_without_a_ticket(owner_client, on):
    assert "Own sewing</h2>" in start(owner_client, purpose="own").text
    with on(0, "09:30"):
        assert notices(stop(owner_client)) == ["Own sewing: 1 h 30."]


def test_client_work_without_an_operation_cannot_start(owner_client):
    assert notices(start(owner_client)) == ["Say which operation you are working on."]
    assert start(owner_client, line=999).status_code == 404


def test_a_ticket_that_left_cannot_be_worked_on(owner_client, ticket, line, owner):
    tickets.cancel(ticket=ticket, why="chose another dress", by=owner)
    said_then = notices(start(owner_client, line=line.pk))
    assert said_then == [f"Ticket {ticket.number} is cancelled. Undo that step first."]


def test_a_forgotten_clock_asks_how_long_it_really_was(owner_client, line, hem_line, on):
    start(owner_client, line=line.pk)
    with on(1, "09:00"):
        page = owner_client.get("/").text
        assert "It has run since Mon 2 Mar 2026, 08:00. How long did the work take?" in page
        assert "Done</button>" not in page
        assert notices(start(owner_client, line=hem_line.pk)) == [
            "A forgotten clock still runs. Say first how long that work took."
        ]
        assert notices(stop(owner_client, minutes="2000")) == [
            "The clock ran 1500 minutes: it can be trimmed, not stretched."
        ]
        assert notices(stop(owner_client, minutes="an hour")) == ["Write the minutes as a number."]
        assert notices(stop(owner_client, minutes="-5")) == ["Write minutes from 0 up."]
        stop(owner_client, minutes="55")
    assert BenchTime.objects.get().minutes == 55


@pytest.mark.parametrize(("minutes", "forgotten"), [(240, False), (241, True)])
def test_four_hours_are_a_long_sitting(minutes, forgotten):
    now = clock.now()
    assert is_forgotten(now - timedelta(minutes=minutes), now) is forgotten


def guess(client, **facts):
    return client.post(reverse("clock-catch-up"), facts, follow=True)


def test_about_twenty_minutes_afterwards(owner_client, ticket, line, hem_line, owner, on):
    with on(0, "10:00"):
        tickets.tick_all(ticket=ticket, by=owner)
    with on(0, "16:00"):
        page = owner_client.get("/")
        assert drawer(page, "Minutes to fill in").startswith("2 ")
        assert f'name="line-{line.pk}" value="20"' in page.text
        facts = {f"line-{line.pk}": "20", f"line-{hem_line.pk}": ""}
        assert notices(guess(owner_client, **facts)) == ["Minutes of 1 operation written down."]
        assert notices(guess(owner_client, **facts)) == []
        assert drawer(owner_client.get("/"), "Minutes to fill in").startswith("1 ")
    time = BenchTime.objects.get()
    assert (time.line, time.minutes, time.started_at) == (line, 20, at(0, "09:40"))


@pytest.mark.postgres
def test_other_minutes_are_typed_and_count_before_the_offered_ones(
    owner_client, ticket, line, owner
):
    tickets.tick_all(ticket=ticket, by=owner)
    facts = {f"line-{line.pk}": "20", f"typed-{line.pk}": "170", "own_typed": "75"}
    assert notices(guess(owner_client, **facts)) == [
        "Minutes of 1 operation written down.",
        "1 h 15 of own sewing written down.",
    ]
    noted = BenchTime.objects.values_list("purpose", "minutes").order_by("purpose")
    assert list(noted) == [("client", 170), ("own", 75)]


def test_work_that_was_collected_the_same_day_is_asked_for_too(owner_client, ticket, line, owner):
    tickets.tick_all(ticket=ticket, by=owner)
    tickets.hand_over(
        ticket=ticket, garments=[ticket.garments.get()], tried_on=[], by=owner
    )  # fmt: skip
    assert f'name="line-{line.pk}"' in owner_client.get("/").text


def test_what_was_timed_or_done_yesterday_is_not_asked_for(owner_client, ticket, line, owner, on):
    actions.start_clock(line=line, purpose="client", by=owner)
    with on(0, "08:30"):
        actions.finish_work(by=owner)
        tickets.tick_all(ticket=ticket, by=owner)
        assert f'name="line-{line.pk}"' not in owner_client.get("/").text
    with on(1, "08:30"):
        assert "without minutes" not in owner_client.get("/").text


def test_own_sewing_afterwards_once_however_often_it_is_sent(owner_client):
    facts = {"own": "90", "at": clock.now().isoformat()}
    for _ in range(2):
        assert notices(guess(owner_client, **facts)) == ["1 h 30 of own sewing written down."]
    time = BenchTime.objects.get()
    assert (time.purpose, time.minutes) == ("own", 90)


@pytest.mark.parametrize(
    ("facts", "answer"),
    [
        ({"own": "0"}, "Write minutes between 1 and 1440."),
        ({"own": "1441"}, "Write minutes between 1 and 1440."),
        ({"line-1": "much"}, "Write the minutes as a whole number."),
        ({"own": "30", "at": "2027-01-01T10:00:00+00:00"}, "This time has not come yet."),
    ],
)
def test_minutes_that_cannot_be(facts, answer, owner_client):
    assert notices(guess(owner_client, **facts)) == [answer]
    assert not BenchTime.objects.exists()


def test_minutes_out_of_bounds_are_no_time(owner, line):
    for minutes in (0, 1441):
        with pytest.raises(actions.PlanError, match="between 1 and 1440"):
            actions.log_time(line=line, purpose="client", minutes=minutes, by=owner)
