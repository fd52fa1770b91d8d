"""The week's page and the bench clock, as the owner and a helper meet them."""

from datetime import timedelta

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from jobs.planning import actions
from jobs.planning.models import BenchTime, HoursTaken
from jobs.tickets.actions import open_lines
from jobs.tickets.models import State
from studio.shop import clock
from studio.shop.models import WorkingDay
from tests.drafts import hem, received, take_in, trousers
from tests.jobs.planning.books import MONDAY, at
from tests.jobs.planning.pages import words

pytestmark = pytest.mark.usefixtures("monday")


def week(client, monday=None) -> str:
    address = f"/week/{monday}/" if monday else reverse("week")
    return words(client.get(address).text)


def start(client, line) -> None:
    client.post(reverse("clock-start"), {"line": line.pk, "purpose": "client"})


def test_the_must_do_of_the_week_and_why(owner_client, studio, owner):
    # 23 h are due by Monday the 9th, of whose eight hours 7 h 12 are sewn: 15 h 48 this week.
    received(studio, owner, trousers(hem(minutes_each=23 * 60)), promise_at=at(7))
    shown = week(owner_client)
    assert "This week at least 15 h 48 for clients" in shown
    assert "because 23 h are due by Mon 9 Mar and only 7 h 12 is left after Sunday" in shown


def test_nothing_has_to_be_done_is_said_too(owner_client, studio, owner):
    received(studio, owner, trousers(hem(minutes_each=30)), promise_at=at(11))
    assert "Nothing has to be done this week" in week(owner_client)


def test_the_ledger_names_the_ticket_that_took_own_hours(owner_client, studio, owner):
    ticket = received(studio, owner, promise_at=at(4))
    actions.take_hours(ticket=ticket, lost=[(MONDAY, 80)], by=owner)
    assert HoursTaken.objects.count() == 1
    shown = week(owner_client)
    assert f"Taken by clients {ticket.number} 1 h 20" in shown


def test_the_week_before_shows_what_was_sewn_and_the_next_what_is_planned(
    owner_client, studio, owner
):
    ticket = received(studio, owner, trousers(hem(minutes_each=300)), promise_at=at(9))
    line = open_lines(ticket)[0]
    BenchTime.objects.create(
        line=line, started_at=clock.now() - timedelta(days=4), minutes=125, by=owner
    )
    BenchTime.objects.create(
        purpose="own", started_at=clock.now() - timedelta(days=3), minutes=65, by=owner
    )
    before = week(owner_client, (MONDAY - timedelta(weeks=1)).isoformat())
    assert "clients 2 h 05" in before
    assert "own 1 h 05" in before
    assert "Mon 9 Mar" in week(owner_client, (MONDAY + timedelta(weeks=1)).isoformat())


def test_a_day_of_the_week_leads_to_its_monday_and_far_weeks_are_not_there(owner_client, studio):
    answer = owner_client.get("/week/2026-03-05/")
    assert answer.url == "/week/2026-03-02/"
    assert owner_client.get("/week/2031-03-03/").status_code == 404
    assert owner_client.get("/week/2026-02-30/").status_code == 404


def test_a_studio_without_hours_gets_a_clear_answer(owner_client, studio, owner):
    received(studio, owner, promise_at=at(4))
    WorkingDay.objects.update(minutes=0)
    for address in (reverse("today"), reverse("week"), reverse("too-much")):
        answer = owner_client.get(address)
        assert answer.status_code == 200
    for address in (reverse("today"), reverse("week")):
        shown = owner_client.get(address).text
        assert "There is no bench time on any day" in shown
        assert reverse("studio-week") in shown


@pytest.mark.parametrize("zone", ["Europe/Dublin", "America/New_York", "Pacific/Auckland"])
@pytest.mark.parametrize("day", ["2026-03-02", "2026-03-23", "2026-10-19", "2026-10-26"])
def test_weeks_with_a_change_of_the_clocks_are_laid_out(owner, studio, zone, day):
    """Dublin's clocks change on 29 March and 25 October, New York's on 8 March and 1 November,
    Auckland's on 5 April (IANA time zone database)."""
    studio.time_zone = zone
    studio.save()
    with time_machine.travel(f"{day} 12:00Z", tick=False):
        client = Client()
        client.force_login(owner)
        shown = week(client)
    assert shown.count("no bench time") == 2  # the weekend
    assert "40 h" not in shown  # a tenth of the eight hours is lost to the door
    assert shown.count("own 12 h") >= 4


@pytest.mark.parametrize("count", [1, 3, 40])
def test_today_and_the_week_ask_the_database_the_same_for_any_number(
    owner_client, studio, owner, django_assert_num_queries, count
):
    for _ in range(count):
        received(studio, owner, trousers(take_in(), hem()), promise_at=at(3))
    with django_assert_num_queries(11):
        owner_client.get(reverse("today"))
    with django_assert_num_queries(11):
        owner_client.get(reverse("week"))


def test_one_tap_starts_the_clock_and_one_stops_it(owner_client, studio, owner, on):
    ticket = received(studio, owner, promise_at=at(1))
    (line,) = open_lines(ticket)
    start(owner_client, line)
    ticket.refresh_from_db()
    assert ticket.state == State.IN_WORK
    with on(0, "08:25"):
        owner_client.post(reverse("clock-stop"))
    assert BenchTime.objects.get().minutes == 25


def test_starting_twice_is_starting_once_and_another_start_stops_the_first(
    owner_client, studio, owner, on
):
    first, second = open_lines(
        received(studio, owner, trousers(take_in(), hem()), promise_at=at(1))
    )
    start(owner_client, first)
    start(owner_client, first)
    with on(0, "08:40"):
        start(owner_client, second)
    assert list(BenchTime.objects.order_by("pk").values_list("line", "minutes")) == [
        (first.pk, 40),
        (second.pk, None),
    ]


def test_a_forgotten_clock_may_be_trimmed_but_not_stretched(owner_client, studio, owner, on):
    (line,) = open_lines(received(studio, owner, promise_at=at(1)))
    start(owner_client, line)
    with on(0, "15:00"):
        answer = owner_client.post(reverse("clock-stop"), {"minutes": "900"}, follow=True)
        assert "it can be trimmed, not stretched" in answer.text
        owner_client.post(reverse("clock-stop"), {"minutes": "20"})
    assert BenchTime.objects.get().minutes == 20


def test_waiting_work_is_not_on_todays_list(owner_client, studio, owner):
    ticket = received(studio, owner, promise_at=at(0))
    (line,) = open_lines(ticket)
    assert f'value="{line.pk}"' in owner_client.get("/").text
    actions.hold(line=line, what="part", question="a red zip", expected=None, by=owner)
    shown = owner_client.get("/").text
    assert f'value="{line.pk}"' not in shown
    assert "a red zip" in words(shown)


def test_a_helper_sees_the_week_and_no_money(helper_client, studio, owner):
    received(studio, owner, promise_at=at(3))
    shown = helper_client.get(reverse("week"))
    assert shown.status_code == 200
    assert "€" not in shown.text
