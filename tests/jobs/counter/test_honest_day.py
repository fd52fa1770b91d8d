"""The day of the promise at drop-off: the honest one, until somebody chooses another."""

import re
from datetime import date, datetime, time, timedelta

import pytest
import time_machine

from jobs.counter.dropoff.page import no_later_less_likely
from jobs.planning.honest_date import DayState, PromiseDay
from jobs.planning.models import HoursTaken, PlanRules
from jobs.tickets.models import Ticket
from studio.shop import clock
from studio.shop.models import WorkingDay
from tests import factories
from tests.drafts import hem, received, trousers
from tests.jobs.counter.html_form import Counter
from tests.thorough import left_out

# Monday 2 March 2026, nine o'clock: 8 h a day until Friday, 12 of the week's 40 h are the owner's.
MONDAY = date(2026, 3, 2)
HTMX = {"HX-Request": "true"}


@pytest.fixture(autouse=True)
def _monday():
    with time_machine.travel("2026-03-02 09:00Z", tick=False):
        yield


@pytest.fixture
def kind(studio):
    factories.PlanRulesFactory(lost_percent=0)
    return factories.GarmentKindFactory(name="Trousers")


@pytest.fixture
def work(kind):
    return factories.OperationFactory(garment_kind=kind, name="Lining", minutes=180, price=6000)


@pytest.fixture
def promise(studio, owner, kind):
    def make(day, minutes, name="Mary Larkin", **facts):
        client = factories.ClientFactory(name=name)
        return received(
            studio, owner, trousers(hem(minutes_each=minutes, **facts)), client=client,
            promise_at=clock.at(MONDAY + timedelta(days=day), time(17)),
        )  # fmt: skip

    return make


@pytest.fixture
def full_week(promise):
    """26 h are promised by Friday: of the 40 h, 12 are the owner's and 2 nobody's."""
    return promise(4, 26 * 60)


def take_in(client, work, address="/drop-off/"):
    counter = Counter(client, f"{address}?client={factories.ClientFactory(name='Ann Reed').pk}")
    return counter.put(work)


def words(counter):
    return " ".join(counter.text.split())


def day_of(counter):
    (written,) = counter.form.fields["promise_day"]
    (tapped,) = counter.form.fields.get("day", [written])
    assert written == tapped
    return written


def test_before_there_is_work_the_usual_time_stands(owner_client, work):
    counter = Counter(owner_client)
    assert day_of(counter) == "2026-03-09"
    assert "day" not in counter.form.chips


def test_the_honest_day_is_chosen_as_soon_as_there_is_work(owner_client, full_week, work):
    counter = take_in(owner_client, work)
    assert day_of(counter) == "2026-03-09"
    text = words(counter)
    assert "Earliest with your own hours kept: <strong>Mon 9 Mar</strong>." in text
    assert "If they give way: <strong>Mon 2 Mar</strong>." in text
    assert "40 h of bench time; 38 h of it are promised, 12 h of that your own hours" in text
    assert f"most of the rest to {full_week.client.name}. 2 h are left." in text
    assert "day-costs" not in text


def labels(counter):
    """What the days of the calendar that can be chosen are called, in their order."""
    return re.findall(r'name="day"[^>]*aria-label="([^"]*)"', counter.text)


def test_the_calendar_says_of_each_day_whether_it_is_safe_and_what_it_takes(
    owner_client, full_week, work
):
    """By hand: until Friday 2 h are spare beside the owner's, so that 3 h take one; from Monday the
    9th on 8 h more are there."""
    counter = take_in(owner_client, work)
    days = sorted(counter.form.chips["day"])
    assert len(days) == 15
    assert (days[0], days[-1]) == ("2026-03-02", "2026-03-20")
    assert not {"2026-03-07", "2026-03-08"} & set(days)
    assert labels(counter)[:6] == [
        *(f"{day} Mar, takes 1 h of your own hours" for day in ["Mon 2", "Tue 3", "Wed 4"]),
        *(f"{day} Mar, takes 1 h of your own hours" for day in ["Thu 5", "Fri 6"]),
        "Mon 9 Mar, safe",
    ]


def test_a_day_that_breaks_a_promise_is_struck_and_cannot_be_tapped(owner_client, promise, work):
    """By hand: 8 h are promised for Monday, and the bench holds 8."""
    promise(0, 480)
    counter = take_in(owner_client, work)
    assert '<span class="full"><b>2</b><small>full</small></span>' in counter.text
    assert min(counter.form.chips["day"]) == "2026-03-03"
    assert '<span class="closed"><b>7</b>' in counter.text
    # Too full and closed have each a mark of their own in the legend, and where no more is known of
    # a day than that it is certain enough, its cell says nothing.
    assert '<i class="k-full"></i>Too full' in counter.text
    assert '<i class="k-closed"></i>Closed' in counter.text
    assert "10 in 10</small>" not in counter.text


def test_a_rush_is_a_choice_of_earlier_days_each_with_its_price(owner_client, full_week, work):
    """By hand: a quarter of 60.00, and 1 h on each day of this week."""
    counter = take_in(owner_client, work).type(rush="on").press("enter")
    assert day_of(counter) == "2026-03-06"
    assert len(counter.form.chips["day"]) == 4
    text = words(counter)
    assert text.count("Costs 1 h of your own hours</small>") == 4
    assert text.count("+€15.00") == 4
    # Without hurry the safe day is back.
    assert day_of(counter.type(rush="").press("enter")) == "2026-03-09"


def test_a_day_is_no_less_likely_than_one_before_that_takes_no_more(studio):
    """By hand: what may be sewn as for Monday at the same price is done as surely on Tuesday."""
    days = [
        PromiseDay(MONDAY, DayState.OWN, own=60, chance=90),
        PromiseDay(MONDAY + timedelta(days=1), DayState.OWN, own=30, chance=40),
        PromiseDay(MONDAY + timedelta(days=2), DayState.SAFE, chance=95),
        PromiseDay(MONDAY + timedelta(days=3), DayState.CLOSED),
        PromiseDay(MONDAY + timedelta(days=4), DayState.SAFE, chance=70),
        PromiseDay(MONDAY + timedelta(days=5), DayState.OWN, own=60, chance=10),
    ]
    assert [day.chance for day in no_later_less_likely(days)] == [90, 40, 95, None, 95, 95]


def test_a_rush_pressed_together_with_save_moves_no_day_unseen(owner_client, full_week, work):
    take_in(owner_client, work).type(rush="on").press("save")
    ticket = Ticket.objects.exclude(pk=full_week.pk).get()
    assert clock.local(ticket.promise_at).date() == date(2026, 3, 9)
    assert ticket.gross == 6000


def test_more_work_moves_the_day_along(owner_client, full_week, work):
    counter = take_in(owner_client, work)
    counter.type(g0_l0_quantity="5").press("enter")
    assert day_of(counter) == "2026-03-10"


def test_a_chosen_day_stays_whatever_work_is_added(owner_client, full_week, work):
    counter = take_in(owner_client, work).type(day="2026-03-11").press("reprice")
    assert day_of(counter) == "2026-03-11"
    counter.type(g0_l0_quantity="5").press("enter")
    assert day_of(counter) == "2026-03-11"


def test_a_written_day_counts_like_a_tapped_one(owner_client, full_week, work):
    counter = take_in(owner_client, work).type(promise_day="2026-04-20").press("enter")
    assert counter.form.fields["promise_day"] == ["2026-04-20"]
    assert "day" not in counter.form.fields
    counter.type(day="2026-03-12").press("enter")
    assert day_of(counter) == "2026-03-12"


def test_choosing_the_honest_day_hands_the_choice_back(owner_client, full_week, work):
    counter = take_in(owner_client, work).type(day="2026-03-11").press("enter")
    counter.type(day="2026-03-09").press("enter").type(g0_l0_quantity="5").press("enter")
    assert day_of(counter) == "2026-03-10"


def test_an_earlier_day_says_what_it_costs_and_offers_the_rush(owner_client, full_week, work):
    counter = take_in(owner_client, work).type(day="2026-03-06").press("enter")
    text = words(counter)
    assert "<strong>Fri 6 Mar: nobody would be late.</strong>" in text
    assert "It takes 1 h of your own hours this week." in text
    assert "As a rush it is €15.00 more, €75.00 in all: tick Rush below." in text
    counter.type(rush="on").press("enter")
    assert "It is taken as a rush, for €15.00 more." in words(counter)


def test_a_make_that_would_not_be_done_by_its_day_is_named(owner_client, kind):
    """All of Monday and Tuesday is the coat's: the half hour of a fitting on Monday is not free."""
    factories.MakeFactory(planned=True, wear_by=date(2026, 3, 3), minutes=960, words="Red coat")
    gated = factories.OperationFactory(
        garment_kind=kind, minutes=180, price=6000, fitting_first=True
    )
    counter = take_in(owner_client, gated)
    assert day_of(counter) == "2026-03-05"
    text = words(counter.type(day="2026-03-04").press("enter"))
    assert "<strong>Wed 4 Mar: nobody would be late.</strong>" in text
    assert "30 min of Red coat would not be sewn by Tue 3 Mar" in text
    assert "None of your own hours" not in text
    assert "As a rush it is" in text


def test_a_rush_without_an_earlier_day_costs_nothing(owner_client, full_week, work):
    """Monday the 9th is the honest day of its own accord: 60.00 with or without the tick."""
    counter = take_in(owner_client, work).type(day="2026-03-09", rush="on").press("enter")
    counter.type(promise_day="2026-03-09").press("enter")
    assert counter.form.fields["promise_day"] == ["2026-03-09"]
    assert "This day is no rush: nobody gives way for it" in words(counter)
    counter.press("save")
    ticket = Ticket.objects.exclude(pk=full_week.pk).get()
    assert ticket.gross == 6000
    # Agreed for Friday it was a rush, and stays one when a later day would do.
    address = f"/t/{ticket.number}/change/"
    Counter(owner_client, address).type(day="2026-03-06", rush="on").press("save")
    ticket.refresh_from_db()
    assert ticket.gross == 7500
    Counter(owner_client, address).type(day="2026-03-09").press("save")
    ticket.refresh_from_db()
    assert ticket.gross == 7500


def test_a_day_months_ahead_is_on_the_strip(owner_client, promise, work):
    """480 h and more are promised until June: 60 days hold 44 working days of 8 h."""
    factories.OwnWeekFactory(monday=MONDAY, minutes=0)
    long = promise(90, 61 * 480)
    counter = take_in(owner_client, work)
    day = day_of(counter)
    assert date.fromisoformat(day) > MONDAY + timedelta(days=60), long
    days = sorted(counter.form.chips["day"])
    assert day in days
    assert len(days) <= 15
    counter.type(day=day).press("enter")
    assert "day-costs" not in words(counter)


def test_an_earlier_day_names_whoever_would_be_late(owner_client, promise, work):
    ticket = promise(0, 480)
    counter = take_in(owner_client, work).type(promise_day="2026-03-02").press("enter")
    text = words(counter)
    assert "<strong>Mon 2 Mar breaks 1 promise:</strong>" in text
    assert f"{ticket.number}, Mary Larkin: Tue 3 Mar instead of Mon 2 Mar, 1 day late" in text
    assert "Mon 2 Mar: 8 h of bench time, 11 h wanted. 3 h too much." in text


def test_it_can_be_saved_in_one_press_and_the_ledger_knows(owner_client, owner, full_week, work):
    counter = take_in(owner_client, work).type(day="2026-03-06", rush="on").press("save")
    ticket = Ticket.objects.exclude(pk=full_week.pk).get()
    assert counter.response.url == f"{ticket.get_absolute_url()}saved/"
    assert ticket.promise_at == clock.at(date(2026, 3, 6), time(17))
    assert ticket.gross == 7500
    row = HoursTaken.objects.get()
    assert (row.ticket, row.monday, row.minutes, row.by) == (ticket, MONDAY, 60, owner)


def test_the_honest_day_takes_nothing(owner_client, full_week, work):
    take_in(owner_client, work).press("save")
    assert Ticket.objects.count() == 2
    assert not HoursTaken.objects.exists()


def test_a_helper_hears_of_hours_but_not_of_money(helper_client, full_week, work):
    counter = take_in(helper_client, work).type(day="2026-03-06").press("enter")
    text = words(counter).replace("&#x27;", "'")
    assert "It takes 1 h of the owner's hours this week." in text
    assert "it is a rush: tick Rush below." in text
    assert "€" not in text


def test_the_hour_of_the_promise_counts(owner_client, promise, work):
    promise(0, 120)
    counter = take_in(owner_client, work).type(g0_l0_quantity="2").press("enter")
    assert day_of(counter) == "2026-03-02"
    # By five the 6 h fit beside the 2 promised; until noon only 3 h are there.
    assert day_of(counter.type(promise_time="12:00").press("enter")) == "2026-03-03"
    assert day_of(counter.type(promise_time="noon").press("enter")) == "2026-03-02"


def test_after_its_hour_today_is_no_choice(owner_client, work):
    with time_machine.travel("2026-03-02 17:10Z", tick=False):
        counter = take_in(owner_client, work)
    assert min(counter.form.chips["day"]) == "2026-03-03"
    assert day_of(counter) == "2026-03-03"


def test_a_day_that_is_over_costs_nothing_but_is_refused(owner_client, work):
    counter = take_in(owner_client, work).type(promise_day="2026-02-27").press("save")
    assert "This day is over. Choose today or a later day." in counter.text
    assert "day-costs" not in counter.text
    assert not Ticket.objects.exists()


def test_without_bench_time_the_usual_time_stands(owner_client, helper_client, work):
    WorkingDay.objects.update(minutes=0)
    counter = take_in(owner_client, work)
    assert day_of(counter) == "2026-03-09"
    assert "There is no bench time to sew it in." in words(counter)
    assert "So the usual 7 days hold." in words(counter)
    assert 'href="/studio/week/"' in counter.text
    assert 'href="/studio/week/"' not in take_in(helper_client, work).text


def test_work_without_minutes_leaves_the_usual_time(owner_client, work):
    counter = take_in(owner_client, work).type(g0_l0_minutes="0").press("enter")
    assert day_of(counter) == "2026-03-09"
    assert "No bench minutes are noted for this work" in words(counter)
    assert "So the usual 7 days hold." in words(counter)


def test_the_likely_day_once_five_jobs_are_timed(owner_client, work):
    assert "is a guess until 5 jobs are timed" in words(take_in(owner_client, work))
    for minutes in (40, 45, 50, 45, 40):
        line = factories.LineFactory(done_at=clock.now(), garment__ticket__state="collected")
        factories.BenchTimeFactory(line=line, minutes=minutes)
    text = words(take_in(owner_client, work).type(g0_l0_minutes="420").press("enter"))
    assert "Earliest with your own hours kept: <strong>Mon 2 Mar</strong>." in text
    assert "8 times out of 10: <strong>Tue 3 Mar</strong>." in text


@pytest.mark.parametrize(("percent", "day"), [(50, "2026-03-02"), (99, "2026-03-03")])
def test_the_safe_day_is_proposed_and_earlier_ones_say_how_sure_they_are(
    owner_client, work, percent, day
):
    """Five jobs took 40 to 50 minutes for 30, so that 5 h mostly take less than the day's 8 h."""
    PlanRules.objects.update(safe_percent=percent)
    for minutes in (40, 45, 50, 45, 40):
        line = factories.LineFactory(done_at=clock.now(), garment__ticket__state="collected")
        factories.BenchTimeFactory(line=line, minutes=minutes)
    counter = take_in(owner_client, work).type(g0_l0_minutes="300").press("enter")
    text = words(counter)
    assert day_of(counter) == day
    sure = [int(label.split(", ")[2].split()[0]) for label in labels(counter)]
    # Any day before the safe one is less sure than what is asked, and no day less than one before.
    assert sure == sorted(sure)
    assert 5 <= sure[0] <= 10
    before = day != "2026-03-02"
    assert sure[0] < 10 or not before
    assert ("5 times out of 10" if percent == 50 else "99 times out of 100") in text
    # Choosing an earlier day holds; the safe one hands the choice back to the week.
    if before:
        assert day_of(counter.type(day="2026-03-02").press("enter")) == "2026-03-02"
        counter.type(day=day).press("enter").type(g0_l0_minutes="900").press("enter")
        assert day_of(counter) > day


def test_a_fitting_is_proposed_and_offered_when_it_is_saved(owner_client, promise, work):
    """The lining is sewn before it: 3 h beside the 6 that Monday holds."""
    promise(0, 360)
    work.fitting_place = "before"
    work.save()
    seams = factories.OperationFactory(
        garment_kind=work.garment_kind, name="Hem", minutes=60, fitting_first=True
    )
    counter = take_in(owner_client, work).press(f"add-line:0:{seams.pk}")
    assert "A fitting comes first: <strong>Tue 3 Mar</strong>, at the end of the day." in words(
        counter
    )
    assert day_of(counter) == "2026-03-04"
    counter.press("save")
    ticket = Ticket.objects.first()
    page = owner_client.get(counter.response.url).content.decode()
    assert f'href="/t/{ticket.number}/fittings/new/"' in page
    assert "Book the fitting by Tue 3 Mar" in page


def test_taking_in_is_asked_where_a_fitting_is_ahead(owner_client, kind):
    """By hand: two days of taking in and an hour's hem, on an empty bench of 8 h a day.

    After the fitting, it is fitted on Monday and sewn until Thursday; before it, fitted on Tuesday.
    """
    PlanRules.objects.update(own_percent=0)
    sides = factories.OperationFactory(
        garment_kind=kind, name="Take in", minutes=960, fitting_place="ask"
    )
    gated = factories.OperationFactory(
        garment_kind=kind, name="Hem", minutes=60, fitting_first=True
    )
    counter = take_in(owner_client, sides)
    assert "After the fitting" not in counter.text
    counter.press(f"add-line:0:{gated.pk}")
    assert "After the fitting" in counter.text
    assert "A fitting comes first: <strong>Mon 2 Mar</strong>" in words(counter)
    assert day_of(counter) == "2026-03-05"
    counter.press("save")
    assert "Say whether it is sewn before or after the fitting." in counter.text
    counter.type(g0_l0_fitting_place="before").press("enter")
    assert "A fitting comes first: <strong>Wed 4 Mar</strong>" in words(counter)
    counter.press("save")
    places = {
        line.name: line.fitting_place for line in Ticket.objects.get().garments.get().lines.all()
    }
    assert places == {"Take in": "before", "Hem": "after"}


def test_a_hem_that_hangs_moves_the_promise(owner_client, work):
    """By hand: an empty bench on Monday morning; three hours of hem that hangs for two days."""
    assert day_of(take_in(owner_client, work)) == "2026-03-02"
    work.hang_days = 2
    work.save()
    counter = take_in(owner_client, work)
    assert day_of(counter) == "2026-03-04"
    text = words(counter)
    assert "The hem hangs before it is levelled: sewn from <strong>Wed 4 Mar</strong> on." in text
    counter.press("save")
    line = Ticket.objects.get().garments.get().lines.get()
    assert line.hang_days == 2
    sheet = Ticket.objects.get().agreements.get().data["garments"][0]["lines"][0]
    assert sheet["hang_days"] == 2


def test_no_day_is_left_for_the_fitting(owner_client, work):
    work.fitting_first = True
    work.save()
    counter = take_in(owner_client, work).type(promise_day="2026-03-02").press("enter")
    assert "There is no day before it for the fitting." in words(counter)
    assert "it is a rush" not in words(counter)


def test_a_changed_field_brings_the_strip_and_moves_the_day(owner_client, full_week, work):
    counter = take_in(owner_client, work)
    fields = dict(counter.form.fields)
    counter.send({**fields, "g0-l0-quantity": ["5"]}, headers=HTMX)
    assert "<form" not in counter.text
    assert 'hx-swap-oob="innerHTML:#days"' in counter.text
    assert 'id="day-2026-03-10" value="2026-03-10" checked' in counter.text
    assert 'hx-swap-oob="innerHTML:#ready-on"' in counter.text
    assert (
        'value="2026-03-10" id="id_promise_day"'
        in counter.text.replace('type="date" name="promise_day" ', "")
        or 'name="promise_day" value="2026-03-10"' in counter.text
    )

    counter.send({**fields, "promise_day": ["2026-03-05"]}, headers=HTMX)
    # What somebody is typing in stays as it is.
    assert "#ready-on" not in counter.text
    assert "It takes 1 h of your own hours this week." in words(counter)


def test_a_ticket_that_is_changed_keeps_its_day_and_is_not_in_its_own_way(
    owner_client, studio, owner, promise, work
):
    ticket = promise(4, 26 * 60)
    counter = Counter(owner_client, f"/t/{ticket.number}/change/")
    assert counter.form.fields["promise_day"] == ["2026-03-06"]
    text = words(counter)
    # Without it the week is free: 28 h are nobody's, and 26 of them are wanted.
    assert "Earliest with your own hours kept: <strong>Thu 5 Mar</strong>." in text
    assert "day-costs" not in text


def test_work_that_is_done_is_not_asked_for_again(owner_client, owner, promise):
    ticket = promise(4, 26 * 60)
    line = ticket.garments.get().lines.get()
    line.done_at = clock.now()
    line.save()
    counter = Counter(owner_client, f"/t/{ticket.number}/change/")
    assert "No bench minutes are noted for this work" in words(counter)


@pytest.mark.postgres
def test_agreed_for_an_earlier_day_the_ledger_grows_once(owner_client, full_week, promise):
    ticket = promise(9, 180)
    address = f"/t/{ticket.number}/change/"
    Counter(owner_client, address).type(g0_colour="black").press("save")
    assert not HoursTaken.objects.exists()
    Counter(owner_client, address).type(day="2026-03-06").press("save")
    Counter(owner_client, address).type(g0_l0_minutes="240").press("save")
    Counter(owner_client, address).type(g0_l0_minutes="150").press("save")
    row = HoursTaken.objects.get()
    assert (row.ticket, row.minutes) == (ticket, 120)


def test_a_booked_fitting_stands_and_the_work_after_it_follows(owner_client, studio, promise):
    ticket = promise(4, 240, fitting_first=True)
    thursday = clock.at(date(2026, 3, 5), time(10))
    factories.FittingFactory(ticket=ticket, starts_at=thursday, minutes=60)
    text = words(Counter(owner_client, f"/t/{ticket.number}/change/"))
    assert "A fitting comes first:" not in text
    assert "Earliest with your own hours kept: <strong>Thu 5 Mar</strong>." in text


def test_a_fitting_that_has_been_is_not_asked_for_again(owner_client, promise):
    ticket = promise(4, 240, fitting_first=True)
    monday = clock.at(MONDAY, time(8))
    factories.FittingFactory(ticket=ticket, starts_at=monday, minutes=60, state="kept")
    text = words(Counter(owner_client, f"/t/{ticket.number}/change/"))
    assert "A fitting comes first:" not in text
    assert "Earliest with your own hours kept: <strong>Mon 2 Mar</strong>." in text


def test_a_link_brings_day_rush_and_work(owner_client, full_week, work):
    other = factories.OperationFactory(name="Hem", garment_kind__name="Coat")
    address = f"/drop-off/?day=2026-03-06&rush=yes&work={work.pk}&work={other.pk}&work=x"
    counter = Counter(owner_client, address)
    assert day_of(counter) == "2026-03-06"
    assert counter.form.fields["rush"] == ["on"]
    assert counter.form.fields["g0-l0-operation"] == [str(work.pk)]
    assert counter.form.fields["g1-l0-operation"] == [str(other.pk)]
    assert "It takes 1 h 30 of your own hours this week." in words(counter)


@pytest.mark.parametrize("day", ["2026-03-01", "tomorrow", "2031-01-01", "2026-02-31"])
def test_a_link_brings_no_day_that_cannot_be_promised(owner_client, work, day):
    assert day_of(Counter(owner_client, f"/drop-off/?day={day}")) == "2026-03-09"


@pytest.mark.parametrize(
    ("zone", "moment", "days"),
    [
        # The clock goes forward on Sunday 29 March 2026 in Dublin, back on 25 October; in New York
        # on 8 March and 1 November; in Auckland back on 5 April (tz database).
        ("Europe/Dublin", "2026-03-27 09:00+00:00", ("2026-03-30", "2026-03-31")),
        ("Europe/Dublin", "2026-10-23 09:00+01:00", ("2026-10-26", "2026-10-27")),
        left_out(("America/New_York", "2026-03-06 09:00-05:00", ("2026-03-09", "2026-03-10"))),
        left_out(("America/New_York", "2026-10-30 09:00-04:00", ("2026-11-02", "2026-11-03"))),
        ("Pacific/Auckland", "2026-04-03 09:00+13:00", ("2026-04-06", "2026-04-07")),
    ],
)
def test_the_day_is_the_studios_own_across_a_change_of_the_clock(
    owner_client, owner, studio, work, zone, moment, days
):
    """16 h from Friday nine o'clock are done on Monday by five; a minute more is Tuesday's."""
    studio.time_zone = zone
    studio.save()
    clock.activate(studio)
    factories.OwnWeekFactory(monday=date.fromisoformat(days[0]), minutes=0)
    factories.OwnWeekFactory(monday=date.fromisoformat(days[0]) - timedelta(weeks=1), minutes=0)
    with time_machine.travel(datetime.fromisoformat(moment), tick=False):
        owner_client.force_login(owner)
        counter = take_in(owner_client, work)
        shown = [
            day_of(counter.type(g0_l0_minutes=minutes).press("enter")) for minutes in (960, 961)
        ]
        assert tuple(shown) == days
        counter.press("save")
    assert clock.local(Ticket.objects.get().promise_at).isoformat()[:16] == f"{days[1]}T17:00"


@pytest.mark.parametrize("tickets", [1, 3])
def test_the_week_is_read_in_a_number_of_queries_that_does_not_grow(
    owner_client, promise, work, tickets, django_assert_num_queries
):
    for _ in range(tickets):
        promise(4, 26 * 60 // tickets)
    counter = take_in(owner_client, work)
    # Ten for the page, one for the client's sheets, eleven for the week, and how long work took.
    with django_assert_num_queries(24):
        counter.type(day="2026-03-02").press("enter")
    assert "day-costs" in counter.text


@pytest.mark.parametrize("tickets", [2, 4])
def test_the_change_page_reads_the_week_as_often(
    owner_client, promise, tickets, django_assert_num_queries
):
    for _ in range(tickets):
        ticket = promise(4, 600)
    counter = Counter(owner_client, f"/t/{ticket.number}/change/")
    with django_assert_num_queries(31):
        counter.press("reprice")
