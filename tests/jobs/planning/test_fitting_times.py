"""Times offered for a fitting: free, open, inside the hours, with the work before it done."""

from datetime import UTC, date, datetime, time, timedelta

import pytest
import time_machine

from jobs.planning import actions
from jobs.planning.fittings import offer_times
from jobs.planning.models import Fitting
from jobs.planning.plan.bench import Busy, Shift, lay_out
from jobs.planning.plan.fitting_times import free_times, spread
from jobs.tickets import actions as tickets
from studio.shop import clock
from tests.drafts import hem, received, take_in, trousers
from tests.factories import AppointmentFactory, DayOffFactory
from tests.jobs.planning.books import DUBLIN, MONDAY, WEEKDAYS, at

NINE_TO_FIVE = Shift(time(9), 480)


def bench(now, **facts):
    return lay_out(now, 14, DUBLIN, WEEKDAYS, **facts)


def walls(times):
    return [f"{moment.astimezone(DUBLIN):%H:%M}" for moment in times]


def test_half_hours_inside_the_bench_hours():
    times = walls(free_times(bench(at(0, "08:00")), MONDAY, NINE_TO_FIVE, [], 60))
    assert (times[0], times[1], times[-1], len(times)) == ("09:00", "09:30", "16:00", 15)


def test_nothing_that_is_over_and_nothing_that_is_taken():
    taken = [Busy(at(0, "11:00"), at(0, "12:15")), Busy(at(0, "13:00"), at(0, "17:00"))]
    times = free_times(bench(at(0, "09:40")), MONDAY, NINE_TO_FIVE, taken, 30)
    assert walls(times) == ["10:00", "10:30", "12:30"]


def test_a_closed_day_offers_nothing():
    assert list(free_times(bench(at(0)), MONDAY, None, [], 30)) == []


@pytest.mark.parametrize(
    ("day", "hours"),
    [
        # The clocks of Dublin leap from 1:00 to 2:00 on 29 March and back to it on 25 October
        # 2026 (EU directive 2000/84/EC); an hour that comes twice is offered once.
        (date(2026, 3, 29), ["00:00", "00:30", "02:00", "02:30"]),
        (date(2026, 10, 25), ["00:00", "00:30", "01:00", "01:30", "02:00", "02:30"]),
    ],
)
def test_the_night_in_which_the_clock_changes(day, hours):
    now = datetime.combine(day - timedelta(days=1), time(12), UTC)
    assert walls(free_times(bench(now), day, Shift(time(0), 180), [], 30)) == hours


def test_one_time_for_each_part_of_the_day():
    free = list(free_times(bench(at(0, "08:00")), MONDAY, NINE_TO_FIVE, [], 30))
    assert walls(spread(free, DUBLIN)) == ["09:00", "12:00", "15:00"]


@pytest.fixture
def monday():
    """Monday 2 March 2026, eight in the morning."""
    with time_machine.travel(datetime(2026, 3, 2, 8, tzinfo=UTC), tick=False):
        yield


@pytest.fixture
def ticket(monday, studio, owner):
    """An hour's work that needs no fitting, and a hem after one."""
    return received(
        studio, owner, trousers(take_in(), hem(fitting_first=True)), promise_at=at(10)
    )  # fmt: skip


def shown(offer):
    return [f"{moment.astimezone(DUBLIN):%a %H:%M}" for moment in offer.times]


def test_the_work_before_it_comes_first(ticket, studio):
    offer = offer_times(ticket, studio, 30)
    # An hour's work at a tenth of lost time: 9:00 to 10:07.
    assert shown(offer)[:3] == ["Mon 10:30", "Mon 12:00", "Mon 15:00"]
    assert ([work.name for work in offer.before], offer.minutes) == (["Take in sides"], 60)
    assert offer.too_soon(at(0, "10:00"))
    assert not offer.too_soon(at(0, "10:30"))


def test_what_was_promised_before_is_kept(ticket, studio, owner):
    """Monday's seven hours and twelve minutes are promised to somebody else."""
    received(studio, owner, trousers(take_in(minutes_each=432)), promise_at=at(0))
    assert shown(offer_times(ticket, studio, 30))[0] == "Tue 10:30"


def test_nobody_becomes_late_through_the_fitting_itself(ticket, studio, owner):
    """Nothing is left to be sewn before the fitting, but Monday is full to the last minute."""
    tickets.tick(line=ticket.garments.get().lines.first(), by=owner)
    received(studio, owner, trousers(take_in(minutes_each=432)), promise_at=at(0))
    assert shown(offer_times(ticket, studio, 30))[0] == "Tue 09:00"


def test_appointments_own_blocks_fittings_and_closed_days(ticket, studio, owner):
    DayOffFactory(day=MONDAY)
    AppointmentFactory(starts_at=at(1, "09:00"), minutes=240)
    AppointmentFactory(kind="own", starts_at=at(1, "14:00"), minutes=180)
    other = received(studio, owner, promise_at=at(10))
    facts = {"minutes": 30, "kind": "first", "studio": studio, "by": owner}
    actions.book_fitting(ticket=other, starts_at=at(2, "12:00"), **facts)
    # Tuesday has only one hour before two, and the work fills it.
    assert shown(offer_times(ticket, studio, 30))[:3] == ["Wed 09:30", "Wed 12:30", "Wed 15:00"]


def test_a_fitting_that_moves_does_not_stand_in_its_own_way(ticket, studio, owner):
    facts = {"minutes": 480, "kind": "first", "studio": studio, "by": owner}
    booked = actions.book_fitting(ticket=ticket, starts_at=at(1, "09:00"), **facts)
    assert shown(offer_times(ticket, studio, 480, booked))[0] == "Tue 09:00"


@pytest.mark.postgres
def test_the_second_fitting_has_the_work_between_before_it(ticket, studio, owner):
    facts = {"minutes": 30, "studio": studio, "by": owner}
    first = actions.book_fitting(ticket=ticket, starts_at=at(1, "09:00"), kind="first", **facts)
    offer = offer_times(ticket, studio, 30)
    assert [work.name for work in offer.before] == ["Take in sides", "Hem"]
    assert shown(offer)[0] == "Tue 10:30"
    actions.work_after(line=ticket.garments.get().lines.last(), fitting=first, by=owner)
    actions.miss_fitting(fitting=first, by=owner)
    assert [work.name for work in offer_times(ticket, studio, 30).before] == ["Take in sides"]


def test_an_overdue_ticket_is_offered_times_too(studio, owner):
    with time_machine.travel(datetime(2026, 3, 2, 8, tzinfo=UTC), tick=False):
        late = received(studio, owner, trousers(take_in()), promise_at=at(1))
    with time_machine.travel(datetime(2026, 3, 5, 8, tzinfo=UTC), tick=False):
        assert shown(offer_times(late, studio, 30))[0] == "Thu 10:30"


def test_without_hours_there_is_no_time_to_offer(ticket, studio):
    from studio.shop.models import WorkingDay

    WorkingDay.objects.update(minutes=0)
    assert offer_times(ticket, studio, 30).times == ()


def test_twelve_queries_however_many_tickets(ticket, studio, owner, django_assert_num_queries):
    with django_assert_num_queries(12):
        offer_times(ticket, studio, 30)
    for _ in range(2):
        received(studio, owner, promise_at=at(10))
    with django_assert_num_queries(12):
        offer_times(ticket, studio, 30)
    assert Fitting.objects.count() == 0
    assert clock.today() == MONDAY
