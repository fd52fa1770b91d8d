"""Counted back from a client's event, each day reckoned here by hand.

The studio is open from Monday to Friday.
"""

from datetime import date, timedelta

import pytest
from django.urls import reverse

from jobs.planning import actions
from jobs.planning.event_book import STEPS, event_book
from jobs.planning.models import PlanRules
from jobs.tickets import actions as tickets
from studio.shop import clock, history
from tests.drafts import hem, received, trousers
from tests.factories import DayOffFactory
from tests.pages import page_of


@pytest.fixture
def gown(studio, owner):
    """Wanted a hundred days from now, so that no habit is squeezed."""
    event_on = clock.today() + timedelta(days=100)
    return received(
        studio, owner, trousers(hem(hang_days=3), shoes="silver sandals"), event="her wedding",
        wanted_by=event_on, promise_at=clock.at(event_on - timedelta(days=3), studio.promise_time),
    )  # fmt: skip


def steps_of(ticket, studio):
    return {step.key: step for step in event_book(ticket, studio).steps}


def open_before(day: date) -> date:
    """By hand: Saturday goes back one day, Sunday two."""
    return day - timedelta(days=max(0, day.weekday() - 4))


def test_each_step_is_counted_back_to_an_open_day(studio, gown):
    steps = steps_of(gown, studio)
    assert list(steps) == ["first", "next", "hang", "hem", "bustle", "final", "press"]
    promised = clock.local(gown.promise_at).date()
    for key, (_, days) in STEPS.items():
        day = gown.wanted_by - timedelta(days=days)
        # It is pressed before it leaves.
        assert steps[key].aim == open_before(min(day, promised) if key == "press" else day)
        assert steps[key].late == 0


def test_a_day_off_is_none_of_the_days(studio, gown):
    aim = steps_of(gown, studio)["final"].aim
    DayOffFactory(day=aim)
    assert steps_of(gown, studio)["final"].aim == open_before(aim - timedelta(days=1))


def test_the_plan_s_own_days_stand_beside_them(studio, owner, gown):
    """The hem hangs three days from the drop-off; the plan sews it in the days after."""
    came = clock.today()
    steps = steps_of(gown, studio)
    assert steps["hang"].day == came + timedelta(days=3)
    assert steps["hem"].day is not None
    assert came + timedelta(days=3) <= steps["hem"].day <= clock.local(gown.promise_at).date()
    assert steps["hem"].detail == "in silver sandals, heel not known"
    assert (steps["bustle"].works, steps["press"].works) == (False, True)
    line = gown.garments.get().lines.get()
    tickets.tick(line=line, by=owner)
    assert (steps_of(gown, studio)["hem"].done, steps_of(gown, studio)["hem"].day) == (True, came)


def test_a_fitting_without_a_day_has_free_times_from_its_day_on(studio, owner, gown):
    first = steps_of(gown, studio)["first"]
    assert first.day is None
    assert len(first.times) == 3
    assert clock.local(first.times[0]).date() >= first.aim
    assert [steps_of(gown, studio)[key].times for key in ("next", "final")] == [(), ()]
    actions.book_fitting(
        ticket=gown, starts_at=first.times[0], minutes=30, kind="first", studio=studio, by=owner
    )
    steps = steps_of(gown, studio)
    assert (steps["first"].day, steps["first"].times) == (
        clock.local(first.times[0]).date(), (),
    )  # fmt: skip
    assert clock.local(steps["next"].times[0]).date() >= steps["next"].aim


def test_a_late_one_says_so(studio, owner, gown):
    """A first fitting a week after its day is 7 days late; on the event's day it is too late."""
    aim = steps_of(gown, studio)["first"].aim
    fitting = actions.book_fitting(
        ticket=gown, starts_at=clock.at(aim + timedelta(days=7), studio.promise_time.min)
        + timedelta(hours=10), minutes=30, kind="first", studio=studio, by=owner,
    )  # fmt: skip
    step = steps_of(gown, studio)["first"]
    assert (step.late, step.too_late) == (7, False)
    fitting.starts_at = clock.at(gown.wanted_by, studio.promise_time)
    fitting.save()
    assert steps_of(gown, studio)["first"].too_late


def test_one_that_comes_in_late_is_squeezed(studio, owner):
    """35 days are left of 70, so each habit is halved: 42 becomes 21, 28 becomes 14."""
    event_on = clock.today() + timedelta(days=35)
    ticket = received(studio, owner, trousers(hem()), event="a ball", wanted_by=event_on)
    book = event_book(ticket, studio)
    aims = {step.key: step.aim for step in book.steps}
    assert book.squeezed
    assert aims["next"] == open_before(event_on - timedelta(days=21))
    assert aims["hem"] == open_before(event_on - timedelta(days=14))


def test_the_habits_are_the_studio_s_and_can_be_taken_back(
    studio, owner, owner_client, helper_client, gown
):
    address = reverse("ticket-event", args=[gown.number])
    page = page_of(owner_client, address)
    assert "first fitting" in page.text.casefold()
    assert "her wedding" in page.text
    # Every offered time leads to the booking with kind, day and time filled in.
    href = page.one(".counted-back .acts a")["href"]
    booking = page_of(owner_client, href)
    assert booking.one("#id_day")["value"] in href
    days = {key: str(days) for key, (_, days) in STEPS.items()} | {"hem": "35"}
    answer = owner_client.post(reverse("event-habits"), days | {"back": address})
    assert answer["Location"] == address
    assert steps_of(gown, studio)["hem"].aim == open_before(gown.wanted_by - timedelta(days=35))
    owner_client.post(reverse("event-habits"), days | {"hem": "-1", "back": address})
    assert PlanRules.load().event_days["hem"] == 35
    entry = history.of(PlanRules(pk=PlanRules.ONLY))[0]
    history.undo(entry=entry, by=owner)
    assert steps_of(gown, studio)["hem"].aim == open_before(gown.wanted_by - timedelta(days=28))
    assert "Days before the event" not in page_of(helper_client, address).text


def test_a_ticket_leads_there_and_a_closed_one_asks_for_nothing(studio, owner, owner_client, gown):
    address = reverse("ticket-event", args=[gown.number])
    ticket = page_of(owner_client, gown.get_absolute_url())
    assert address in {link["href"] for link in ticket.all("a[href]")}
    tickets.cancel(ticket=gown, why="called off", by=owner)
    page = page_of(owner_client, address)
    assert page.all(".counted-back .acts") == []


@pytest.mark.parametrize("count", [1, 3])
def test_the_queries_of_the_page(studio, owner, owner_client, django_assert_num_queries, count):
    event_on = clock.today() + timedelta(days=80)
    ticket = received(
        studio, owner, *(trousers(hem()) for _ in range(count)), event="a ball", wanted_by=event_on
    )
    with django_assert_num_queries(23):
        owner_client.get(reverse("ticket-event", args=[ticket.number]))
