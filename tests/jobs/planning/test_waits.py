"""Work that waits, and the promise that waits with it."""

from datetime import date

import pytest

from jobs.planning import actions
from jobs.planning.honest_date import standing_work
from jobs.planning.models import Wait
from jobs.planning.plan.day_line import day_line
from jobs.planning.queries import read_week
from jobs.tickets import actions as tickets
from studio.shop import clock
from studio.shop.models import WorkingDay
from tests.factories import DayOffFactory, PlanRulesFactory
from tests.histories import sentences
from tests.jobs.planning.books import MONDAY

# The ticket of these tests is promised for Thursday 12 March 2026, 17:00.


@pytest.fixture
def lines(ticket):
    return list(ticket.garments.get().lines.all())


@pytest.fixture
def hold(owner):
    def holding(line, what="client", question="", expected=None):
        return actions.hold(line=line, what=what, question=question, expected=expected, by=owner)

    return holding


@pytest.fixture
def end(studio, owner):
    def ending(wait):
        return actions.end_wait(wait=wait, studio=studio, by=owner)

    return ending


def promised(ticket):
    ticket.refresh_from_db()
    return clock.local(ticket.promise_at).date()


def latest(ticket):
    agreement = ticket.agreements.last()
    return agreement.version, agreement.reason


def test_three_days_of_waiting_move_the_promise_three_days(ticket, lines, hold, end, on):
    wait = hold(lines[0], "part", "a navy zip", date(2026, 3, 5))
    with on(3):
        end(wait)
        # From Monday to Thursday; Thursday the 12th and three days is a Sunday, so Monday it is.
        assert promised(ticket) == date(2026, 3, 16)
    assert clock.local(ticket.promise_at).hour == 17
    assert latest(ticket) == (2, "waited 3 days for a zip or other part")
    assert sentences(ticket)[1:3] == [
        "A Take in sides resumed: a zip or other part is here.",
        "A Take in sides waits for a zip or other part (a navy zip).",
    ]


@pytest.mark.postgres
def test_an_answer_on_the_same_day_moves_nothing(ticket, lines, hold, end, on):
    wait = hold(lines[0])
    with on(0, "16:00"):
        end(wait)
    assert (promised(ticket), latest(ticket)) == (date(2026, 3, 12), (1, ""))


def test_one_night_is_one_day(ticket, lines, hold, end, on):
    with on(0, "17:30"):
        wait = hold(lines[0])
    with on(1, "08:00"):
        end(wait)
    assert (promised(ticket), latest(ticket)) == (
        date(2026, 3, 13),
        (2, "waited 1 day for the client's answer"),
    )


def test_a_weekend_counts_with_its_days(ticket, lines, hold, end, on):
    with on(4, "12:00"):
        wait = hold(lines[0])
    with on(7):
        end(wait)
    # Saturday, Sunday, Monday: from Thursday the 12th to Sunday, which is closed.
    assert promised(ticket) == date(2026, 3, 16)


def test_the_new_day_is_an_open_one(ticket, lines, hold, end, on):
    for day in (13, 16, 17):
        DayOffFactory(day=date(2026, 3, day))
    wait = hold(lines[0])
    with on(1):
        end(wait)
    assert promised(ticket) == date(2026, 3, 18)


def test_a_studio_that_has_no_hours_still_gets_a_day(ticket, lines, hold, end, on):
    WorkingDay.objects.update(minutes=0)
    wait = hold(lines[0])
    with on(1):
        end(wait)
    assert promised(ticket) == date(2026, 3, 13)


def test_two_waits_at_once_move_the_promise_once(ticket, lines, hold, end, on):
    """Tuesday to Friday in all: four days, although they waited three and three."""
    first, second = hold(lines[0]), None
    with on(1):
        second = hold(lines[1], "washing")
    with on(3):
        end(first)
        assert promised(ticket) == date(2026, 3, 16)  # the 15th is a Sunday
    with on(4):
        end(second)
    assert promised(ticket) == date(2026, 3, 17)
    assert [agreement.reason for agreement in ticket.agreements.all()] == [
        "",
        "waited 3 days for the client's answer",
        "waited 1 day for washing",
    ]


def test_a_wait_inside_another_adds_nothing(ticket, lines, hold, end, on):
    outer = hold(lines[0])
    with on(1):
        inner = hold(lines[1], "shoes")
    with on(4):
        end(outer)
    assert promised(ticket) == date(2026, 3, 16)
    with on(4, "16:00"):
        end(inner)
    assert (promised(ticket), ticket.agreements.count()) == (date(2026, 3, 16), 2)


def test_two_waits_one_after_the_other_count_both(ticket, lines, hold, end, on):
    wait = hold(lines[0])
    with on(1):
        end(wait)
        wait = hold(lines[0], "part")
    with on(2):
        end(wait)
    # One day to Friday the 13th, another one to Saturday, so Monday.
    assert promised(ticket) == date(2026, 3, 16)
    assert Wait.objects.filter(line=lines[0]).count() == 2


def test_holding_or_ending_twice_is_once(ticket, lines, hold, end, on):
    wait = hold(lines[0])
    assert hold(lines[0], "washing") == wait
    with on(1):
        end(wait)
    with on(2):
        end(wait)
    assert (promised(ticket), latest(ticket)[0]) == (date(2026, 3, 13), 2)


def test_what_waits_is_not_on_todays_list(ticket, lines, hold, studio, on):
    PlanRulesFactory(own_percent=0)
    with on(0):
        before = [
            part.work.name for row in day_line(read_week(studio).book, MONDAY) for part in row.parts
        ]
        hold(lines[0])
        after = [
            part.work.name for row in day_line(read_week(studio).book, MONDAY) for part in row.parts
        ]
    assert (before, after) == (["Take in sides"], [])


def test_only_what_is_open_can_wait(ticket, lines, hold, owner):
    with pytest.raises(actions.PlanError, match="Say what it waits for"):
        hold(lines[0], "weather")
    tickets.tick(line=lines[0], by=owner)
    with pytest.raises(actions.PlanError, match="no longer open"):
        hold(lines[0])
    assert not Wait.objects.exists()


def test_a_cancelled_ticket_keeps_its_promise(ticket, lines, hold, end, owner, on):
    wait = hold(lines[0])
    tickets.cancel(ticket=ticket, why="moved away", by=owner)
    with on(2):
        end(wait)
    assert (promised(ticket), latest(ticket)[0]) == (date(2026, 3, 12), 1)


@pytest.mark.parametrize(
    ("zone", "days", "lands"),
    [
        # Monday 23:30 in Dublin is Tuesday morning in Auckland (13 hours ahead in March), and
        # Tuesday 08:00 there is Tuesday evening: the same local day.
        ("Europe/Dublin", 1, date(2026, 3, 13)),
        ("Pacific/Auckland", 0, date(2026, 3, 12)),
    ],
)
def test_days_are_those_of_the_studio(ticket, lines, hold, end, on, studio, zone, days, lands):
    studio.time_zone = zone
    studio.save()
    clock.activate(studio)
    ticket.promise_at = clock.at(date(2026, 3, 12), ticket.promise_at.time())
    ticket.save()
    with on(0, "23:30"):
        wait = hold(lines[0])
    with on(1, "08:00"):
        end(wait)
    assert promised(ticket) == lands
    assert latest(ticket)[0] == 1 + days


@pytest.mark.parametrize(("expected", "day"), [(date(2026, 3, 5), 5), (None, 3)])
def test_a_changed_ticket_is_asked_about_from_the_day_on_which_it_goes_on(
    ticket, lines, hold, expected, day
):
    # Without a day that is expected, it goes on tomorrow at the earliest.
    draft = tickets.draft_of(ticket)
    assert standing_work(ticket).asked(draft.lines).not_before is None
    hold(lines[0], expected=expected)
    assert standing_work(ticket).asked(draft.lines).not_before == date(2026, 3, day)
