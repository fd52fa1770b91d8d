"""Do all promises fit? Which do not, by how much, and one press that mends it."""

from datetime import date, datetime, time, timedelta

import pytest
import time_machine

from jobs.planning.models import Fitting
from studio.shop import clock
from studio.shop.models import WorkingDay
from tests import factories
from tests.drafts import hem, received, take_in, trousers
from tests.jobs.planning.pages import words

MONDAY = date(2026, 3, 2)


@pytest.fixture(autouse=True)
def _monday():
    with time_machine.travel("2026-03-02 09:00Z", tick=False):
        yield


def at(day, hour=17):
    return clock.at(MONDAY + timedelta(days=day), time(hour))


@pytest.fixture
def promise(studio, owner):
    """A ticket of so many minutes, promised for 17:00 of a day; 8 h a day are lost to nobody."""
    factories.PlanRulesFactory(lost_percent=0)

    def make(day, *minutes, name="Mary Larkin", **facts):
        lines = [hem(minutes_each=each, **facts) for each in minutes]
        client = factories.ClientFactory(name=name)
        return received(studio, owner, trousers(*lines), client=client, promise_at=at(day))

    return make


def look(client):
    return " ".join(client.get("/too-much/").content.decode().split())


def test_nothing_is_promised(owner_client, studio):
    assert "Nothing is promised, so everything fits." in look(owner_client)


def test_all_fit_and_the_tightest_is_named(owner_client, promise):
    promise(4, 600)
    ticket = promise(1, 925)
    page = look(owner_client)
    assert "<strong>All 2 promises fit.</strong> Tightest: Tue 3 Mar, 35 min spare" in page
    assert f'href="{ticket.get_absolute_url()}"' in page


def test_too_much_says_which_days_and_by_how_much(owner_client, promise):
    first, second = promise(2, 20 * 60), promise(2, 380, name="Tom Field")
    page = look(owner_client)
    assert '<h2 id="full">Mon 2 Mar to Wed 4 Mar</h2>' in page
    assert (
        "<strong>24 h</strong> of bench time, <strong>26 h 20</strong> promised (2 tickets). "
        "<strong>2 h 20 too much.</strong>"
    ) in page
    assert "<dt>By Wed 4 Mar</dt><dd>2 h 20</dd>" in page
    for ticket in (first, second):
        assert f"Move {ticket.number} to Thu 5 Mar" in page


def test_only_what_is_due_in_those_days_is_counted(owner_client, studio, owner, promise):
    """Of the dress's 7 h only the 4 h before its fitting are due by Tuesday noon."""
    hemmed = promise(0, 480)
    lines = take_in(minutes_each=240), hem(minutes_each=180, fitting_first=True)
    dress = received(studio, owner, trousers(*lines), promise_at=at(4))
    factories.FittingFactory(ticket=dress, starts_at=at(1, 12), minutes=30)
    page = words(owner_client.get("/too-much/").text)
    assert "11 h of bench time, 12 h promised (2 tickets). 1 h too much." in page
    assert f"{hemmed.number} Mary Larkin Mon 2 Mar, 17:00 8 h" in page
    assert "Tue 3 Mar, for a fitting (ready by Fri 6 Mar) 4 h of 7 h" in page


def test_one_press_moves_the_promise_and_all_the_others_hold(owner_client, promise):
    # The week is full: the next open day is Monday the 9th.
    promise(4, 2400)
    ticket = promise(4, 180, name="Tom Field")
    page = look(owner_client)
    assert f"Move {ticket.number} to Mon 9 Mar" in page
    sent = {"day": "2026-03-09"}
    response = owner_client.post(f"/t/{ticket.number}/move-promise/", sent)
    assert response.url == ticket.get_absolute_url()

    ticket.refresh_from_db()
    assert (ticket.promise_at, ticket.version) == (at(7), 2)
    assert ticket.agreements.get(version=2).reason == "the days before were too full"
    shown = " ".join(owner_client.get(response.url).content.decode().split())
    assert f"Ticket {ticket.number} is promised for Mon 9 Mar 17:00 now." in shown
    assert "Print ticket and tags" in shown
    assert "All 2 promises fit." in look(owner_client)


def test_pressed_twice_it_is_agreed_once(owner_client, promise):
    ticket = promise(4, 180)
    for _ in range(2):
        owner_client.post(f"/t/{ticket.number}/move-promise/", {"day": "2026-03-09"})
    assert ticket.agreements.count() == 2


@pytest.mark.parametrize("day", ["", "soon", "2026-02-27"])
def test_only_a_day_to_come_is_promised(owner_client, promise, day):
    ticket = promise(4, 180)
    response = owner_client.post(f"/t/{ticket.number}/move-promise/", {"day": day}, follow=True)
    assert "Choose one of the days on offer." in response.content.decode()
    assert ticket.agreements.count() == 1


def test_a_ticket_that_is_gone_by_now(owner_client, promise):
    ticket = promise(4, 180)
    type(ticket).objects.update(state="collected")
    sent = {"day": "2026-03-09"}
    response = owner_client.post(f"/t/{ticket.number}/move-promise/", sent, follow=True)
    assert f"Ticket {ticket.number} is collected." in response.content.decode()


def test_where_no_single_move_is_enough_it_is_said(owner_client, studio, promise):
    promise(0, 600)
    late = promise(4, 600, fitting_first=True, name="Tom Field")
    fitting = factories.FittingFactory(ticket=late, starts_at=at(3, 16), minutes=60)
    factories.AfterFittingFactory(line=late.garments.get().lines.get(), fitting=fitting)
    page = look(owner_client)
    assert "No single move is enough." in page
    assert "<dt>By Mon 2 Mar</dt><dd>2 h</dd>" in page
    assert "<dt>By Fri 6 Mar</dt><dd>2 h</dd>" in page
    assert '<dd class="sum">4 h</dd>' in page


def test_many_moves_are_folded_away(owner_client, promise):
    for number in range(8):
        promise(0, 65, name=f"Client {number}")
    page = look(owner_client)
    assert page.count(">Move 26-") == 8
    assert "<summary>2 more</summary>" in page


def test_no_bench_time_at_all(owner_client, helper_client, promise):
    promise(4, 60)
    WorkingDay.objects.update(minutes=0)
    assert "There is no bench time, but 1 promise." in look(owner_client)
    assert 'href="/studio/week/"' in look(owner_client)
    assert 'href="/studio/week/"' not in look(helper_client)


def test_a_promise_in_the_past(owner_client, promise):
    ticket = promise(-3, 45)
    page = look(owner_client)
    assert (
        f"{ticket.number}</a>, Mary Larkin: was promised for Fri 27 Feb, 17:00; "
        "45 min still to sew. Promise another day on its page."
    ) in page
    assert "The one promise fits the bench." in page


def test_a_ticket_without_minutes(owner_client, promise):
    promise(-3, 0)
    page = look(owner_client)
    assert "The one promise fits the bench." in page
    assert "0 min still to sew" in page


def test_a_fitting_after_the_promise(owner_client, promise):
    ticket = promise(2, 60, fitting_first=True)
    Fitting.objects.create(ticket=ticket, starts_at=at(3, 11))
    page = look(owner_client)
    assert (
        f"{ticket.number}</a>, Mary Larkin: the fitting on Thu 5 Mar comes after the promise, "
        "Wed 4 Mar. Move one of them."
    ) in page


def test_work_that_waits_past_the_promise(owner_client, promise):
    ticket = promise(2, 60)
    line = ticket.garments.get().lines.get()
    wait = factories.WaitFactory(line=line, what="part", expected=MONDAY + timedelta(days=4))
    assert (
        "it waits (a zip or other part) until Fri 6 Mar, and is promised for Wed 4 Mar. "
        "Promise a later day."
    ) in look(owner_client)
    wait.expected = None
    wait.save()
    type(ticket).objects.update(promise_at=at(0))
    assert "it waits (a zip or other part), nobody knows until when" in look(owner_client)


@pytest.mark.parametrize(
    ("zone", "moment", "last", "hours"),
    [
        # The clock goes forward on Sunday 29 March 2026 in Dublin, back on 25 October; in New York
        # on 8 March and 1 November; in Auckland back on 5 April (tz database).
        ("Europe/Dublin", "2026-03-27 09:00+00:00", date(2026, 3, 30), 16),
        ("Europe/Dublin", "2026-10-23 09:00+01:00", date(2026, 10, 26), 16),
        ("America/New_York", "2026-03-06 09:00-05:00", date(2026, 3, 9), 16),
        ("America/New_York", "2026-10-30 09:00-04:00", date(2026, 11, 2), 16),
        ("Pacific/Auckland", "2026-04-03 09:00+13:00", date(2026, 4, 6), 16),
    ],
)
def test_bench_time_is_the_same_across_a_change_of_the_clock(
    owner_client, studio, owner, zone, moment, last, hours
):
    """From Friday nine o'clock to Monday five o'clock are two days of 8 h, whatever the clock."""
    factories.PlanRulesFactory(lost_percent=0)
    studio.time_zone = zone
    studio.save()
    clock.activate(studio)
    with time_machine.travel(datetime.fromisoformat(moment), tick=False):
        ticket = received(
            studio, owner, trousers(take_in(minutes_each=60 * hours + 1)),
            promise_at=clock.at(last, time(17)),
        )  # fmt: skip
        owner_client.force_login(owner)
        page = look(owner_client)
        assert f"<strong>{hours} h</strong> of bench time" in page
        assert "<strong>1 min too much.</strong>" in page
        assert f"Move {ticket.number} to Tue {last.day + 1} " in page


@pytest.mark.parametrize("tickets", [1, 3])
def test_the_page_asks_as_often_for_one_as_for_three(
    owner_client, promise, tickets, django_assert_num_queries
):
    for number in range(tickets):
        promise(0, 600, name=f"Client {number}")
    # The session, the user and the profile; the book of work in eight.
    with django_assert_num_queries(14):
        look(owner_client)
