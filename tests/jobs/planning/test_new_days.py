"""New days agreed at one press, longer days, and which promises are better not moved."""

from datetime import date, timedelta

import pytest

from jobs.planning import actions
from jobs.planning.messages import about_new_day
from jobs.planning.models import LongerDay
from jobs.planning.queries import read_week
from jobs.planning.too_much import Stays, what_stays
from jobs.tickets import actions as tickets
from jobs.tickets.models import Ticket
from studio.shop import clock
from studio.shop.history import HistoryError
from studio.shop.models import Entry, WorkingDay
from tests import factories
from tests.drafts import hem, received, trousers
from tests.jobs.planning.pages import words

pytestmark = pytest.mark.django_db


def open_day(ahead: int) -> date:
    day = clock.today() + timedelta(days=ahead)
    return day + timedelta(days=(7 - day.weekday()) % 7 if day.weekday() > 4 else 0)


def promise(day: date):
    return clock.at(day, clock.local(clock.now()).time().replace(hour=17, minute=0))


@pytest.fixture
def both(studio, owner) -> list[Ticket]:
    return [received(studio, owner, trousers(hem())) for _ in range(2)]


def agree(both, studio, owner, **facts):
    days = {ticket: promise(open_day(20 + place)) for place, ticket in enumerate(both)}
    return days, actions.agree_new_days(days=days, studio=studio, by=owner, **facts)


def promised(both) -> list:
    return [Ticket.objects.get(pk=ticket.pk).promise_at for ticket in both]


def test_one_press_agrees_all_new_days_and_one_takes_them_back(studio, owner, both):
    before = promised(both)
    days, entries = agree(both, studio, owner, longer={open_day(1): 30})
    assert promised(both) == list(days.values())
    assert LongerDay.objects.get().minutes == 30
    assert [ticket.agreements.count() for ticket in both] == [2, 2]
    assert len(entries) == 3
    actions.take_back(entries=entries, by=owner)
    assert promised(both) == before
    assert not LongerDay.objects.exists()


def test_sent_twice_it_is_once(studio, owner, both):
    agree(both, studio, owner)
    assert agree(both, studio, owner)[1] == []
    assert [ticket.agreements.count() for ticket in both] == [2, 2]


def test_all_of_it_or_nothing(studio, owner, both):
    before = promised(both)
    tickets.cancel(ticket=both[1], by=owner, why="no longer wanted")
    with pytest.raises(tickets.TicketError):
        agree(both, studio, owner, longer={open_day(1): 30})
    assert promised(both) == before
    assert not LongerDay.objects.exists()
    assert not Entry.objects.filter(verb="week.longer").exists()


def test_taking_back_is_all_or_nothing_too(studio, owner, both):
    _, entries = agree(both, studio, owner)
    later = promised(both)
    Ticket.objects.filter(pk=both[0].pk).update(promise_at=promise(open_day(30)))
    with pytest.raises(HistoryError):
        actions.take_back(entries=entries, by=owner)
    assert promised(both)[1] == later[1]


@pytest.mark.postgres
def test_a_longer_day_is_in_the_week(studio, owner):
    def minutes(day):
        return read_week(studio).book.bench.minutes_on(day)

    lost = read_week(studio).rules.lost_percent
    open_before, day = minutes(open_day(2)), open_day(2)
    saturday = clock.today() + timedelta(days=(5 - clock.today().weekday()) % 7)
    assert not WorkingDay.objects.filter(weekday=5, minutes__gt=0).exists()
    actions.set_longer_days(minutes={day: 60, saturday: 120}, studio=studio, by=owner)
    assert minutes(day) == open_before + 60 * (100 - lost) // 100
    assert minutes(saturday) == 120 * (100 - lost) // 100
    with pytest.raises(actions.PlanError, match="8 hours"):
        actions.set_longer_days(minutes={day: 481}, studio=studio, by=owner)
    yesterday = clock.today() - timedelta(days=1)
    with pytest.raises(actions.PlanError, match="over"):
        actions.set_longer_days(minutes={yesterday: 30}, studio=studio, by=owner)


def test_a_fitting_an_event_and_a_promise_moved_before_stay(
    studio, owner, both, django_assert_num_queries
):
    fitted, wedding = (received(studio, owner, trousers(hem())) for _ in range(2))
    factories.FittingFactory(ticket=fitted)
    Ticket.objects.filter(pk=wedding.pk).update(event="a wedding")
    agree(both[:1], studio, owner)
    book = read_week(studio).book
    numbers = [ticket.number for ticket in (*both, fitted, wedding)]
    with django_assert_num_queries(1):
        stays = what_stays(book, numbers)
    assert stays == {
        both[0].number: (Stays.MOVED, ""),
        fitted.number: (Stays.FITTING, ""),
        wedding.number: (Stays.EVENT, "a wedding"),
    }


def test_the_message_says_both_days(studio, owner, both):
    was = both[0].promise_at
    agree(both[:1], studio, owner)
    both[0].refresh_from_db()
    message = about_new_day(both[0], was, studio)
    assert message.text.startswith(f"Your ticket {both[0].number}: it will be ready by ")
    for day in (both[0].promise_at, was):
        assert f"{clock.local(day).day} " in message.text


def test_without_a_moved_promise_the_page_says_what_it_is_for(owner_client):
    page = words(owner_client.get("/new-days/").text)
    assert "New days" in page
    assert "0 new days" not in page
    assert "the message to its client is ready here, to be sent. To the week" in page
