"""The week on its page: hours day by day, whose they are, what must be done of it, and why."""

import re
from datetime import date, timedelta

import pytest
import time_machine
from django.urls import reverse

from jobs.planning import actions
from jobs.planning.queries import read_week
from jobs.planning.week import past_week, week_sheet
from studio.shop import clock
from studio.shop.models import WorkingDay
from tests import factories as f
from tests.drafts import hem, take_in
from tests.jobs.planning.books import MONDAY, at
from tests.jobs.planning.pages import words


@pytest.fixture(autouse=True)
def _monday(studio):
    """Monday 2 March, eight in the morning; no time is lost, 12 of 40 hours are the owner's."""
    f.PlanRulesFactory(lost_percent=0, own_percent=30)
    with time_machine.travel("2026-03-02 08:00Z", tick=False):
        yield


def sheet(studio, monday=MONDAY):
    return week_sheet(read_week(studio, until=monday + timedelta(days=6)), monday)


def part(page, ident: str) -> str:
    """The words of the section whose heading has that id."""
    card = re.search(rf'<section[^>]*aria-labelledby="{ident}".*?</section>', page.text, re.DOTALL)
    assert card, f"There is no {ident} on the page."
    return words(card[0])


def day_words(page, day: date) -> str:
    """The words of a day's section."""
    found = re.search(
        rf'<section[^>]*aria-labelledby="day-{day}".*?</section>', page.text, re.DOTALL
    )
    assert found, f"There is no {day} on the page."
    return words(found[0])


def sums_of(page) -> dict[str, str]:
    """The figures above the week: what is kept, and what becomes of it."""
    sums = re.search(r'<figure class="own-sum".*?<dl class="key">(.*?)</dl>', page.text, re.DOTALL)
    return (
        dict(re.findall(r"<dt>(?:<i[^>]*></i>)?([^<]*)</dt><dd>([^<]*)</dd>", sums[1]))
        if sums
        else {}
    )


def lead(page) -> str:
    return words(re.search(r'<p class="say">(.*?)</p>', page.text, re.DOTALL)[1])


def test_seven_bars_add_up_to_the_bench(studio, bring, owner):
    bring(2, hem(minutes_each=600))
    actions.put_appointment(
        kind="other", name="Visit", starts_at=at(3, "10:00"), minutes=60, studio=studio, by=owner
    )
    actions.put_appointment(
        kind="own", name="Shirt", starts_at=at(4, "09:00"), minutes=120, studio=studio, by=owner
    )
    bars = sheet(studio).bars
    assert [(bar.clients, bar.own, bar.appointments, bar.free) for bar in bars.days] == [
        (480, 0, 0, 0),
        (120, 360, 0, 0),
        (0, 240, 0, 240),
        (0, 0, 60, 420),
        (0, 120, 0, 360),
        (0, 0, 0, 0),
        (0, 0, 0, 0),
    ]
    assert (bars.clients, bars.own, bars.whole) == (600, 720, 2400)
    assert [(part.kind, part.minutes, part.done) for part in sheet(studio).days[1].parts] == [
        ("clients", 120, False),
        ("own", 360, False),
    ]


def test_what_is_sewn_counts_with_what_is_planned(studio, bring, owner):
    line = bring(2, hem(minutes_each=300)).garments.get().lines.get()
    for minutes, purpose in ((100, {"line": line}), (45, {"line": None, "purpose": "own"})):
        f.BenchTimeFactory(started_at=at(0, "09:00"), minutes=minutes, by=owner, **purpose)
    f.BenchTimeFactory(
        started_at=at(0, "12:00"), minutes=30, by=owner, line=None, purpose="release"
    )
    with time_machine.travel("2026-03-03 08:00Z", tick=False):
        week = sheet(studio)
    first = week.bars.days[0]
    assert (first.done_clients, first.done_own, first.done_releases) == (100, 45, 30)
    assert (first.clients, first.own, first.free) == (0, 0, 0)
    assert week.bars.releases == 30
    # The own hours sewn are taken off what is still looked for.
    assert (week.own.target, week.own.sewn, week.own.fits, week.own.lost) == (720, 45, 675, 0)
    # Of the eight hours of Monday nobody timed 305 minutes.
    assert [(part.kind, part.minutes, part.done) for part in week.days[0].parts] == [
        ("clients", 100, True),
        ("own", 45, True),
        ("releases", 30, True),
        ("lost", 305, True),
    ]
    assert week.bars.days[0].whole == 480


def test_the_must_do_of_the_week_and_why(owner_client, bring):
    # 44 h must be sewn by Monday, and Monday itself holds 8 h.
    bring(7, *[hem(name=f"Part {n}", minutes_each=330) for n in range(8)])
    assert lead(owner_client.get("/week/")) == (
        "This week at least 36 h for clients, because 44 h must be sewn by Mon 9 Mar and only 8 h "
        "is left after Sunday. 4 h of bench time are left, your own hours among them."
    )


def test_a_week_in_which_nothing_has_to_be_done(owner_client, bring):
    bring(9)
    assert lead(owner_client.get("/week/")) == (
        "Nothing has to be done this week. 40 h of bench time are left, your own hours among them."
    )


def test_own_hours_lost_to_clients_and_who_took_them(owner_client, bring, owner):
    ticket = bring(4, *[hem(name=f"Part {n}", minutes_each=300) for n in range(7)])
    f.HoursTakenFactory(ticket=ticket, monday=MONDAY, minutes=420)
    f.HoursTakenFactory(ticket=bring(20), monday=MONDAY + timedelta(weeks=1), minutes=60)
    # 35 of 40 h are promised for Friday, so 5 of the owner's 12 h are left.
    page = owner_client.get("/week/")
    assert sums_of(page) == {
        "Kept for you": "12 h",
        "Sewn": "0 min",
        "Still fits": "5 h",
        "No room": "7 h",
    }
    assert f"Your hours 7 h taken by tickets {ticket.number} 7 h" in words(page.text)
    assert f'href="{reverse("what-fits")}">Make now<' in page.text
    assert "Change what is kept 30 % of every week" in words(page.text)


def test_own_hours_gone_by_are_not_called_without_room(owner_client, helper_client, owner, bring):
    """12 h are kept. Monday's eight hours saw one of own sewing, so 7 h of the bench went by;
    of the four days of 8 h that are left clients need 30 h: 12 = 1 + 2 + 7 + 2."""
    f.BenchTimeFactory(purpose="own", line=None, started_at=at(0, "09:00"), minutes=60, by=owner)
    bring(4, *[hem(name=f"Part {n}", minutes_each=360) for n in range(5)])
    with time_machine.travel(at(1, "07:00"), tick=False):
        page = owner_client.get("/week/")
        sums = {"Kept for you": "12 h", "Sewn": "1 h", "Still fits": "2 h"}
        assert sums_of(page) == {**sums, "Gone by": "7 h", "No room": "2 h"}
        text = words(page.text)
        assert "Gone by 7 h , 7 h of it yours" in text
        assert "no room for 2 h" in text
        assert "7 h went by while no clock ran." in text
        own = words(owner_client.get("/week/own/").text)
        assert "12 h Sewn 1 h Still fits 2 h Gone by 7 h No room 2 h" in own
        assert "Gone by 7 h , 7 h of it the owner's" in words(helper_client.get("/week/").text)
        # More than fits: what must be sewn is not said to be nothing.
        bring(4, hem(minutes_each=600))
        assert "What must be sewn 8 h more than fits" in words(owner_client.get("/week/").text)


def test_what_is_beyond_the_hours_kept_is_taken_off(owner_client, owner):
    """Twelve hours are kept; of thirteen sewn one is more: 12 = 13 + 0 - 1."""
    f.BenchTimeFactory(purpose="own", line=None, started_at=at(0, "07:00"), minutes=780, by=owner)
    assert sums_of(owner_client.get("/week/")) == {
        "Kept for you": "12 h",
        "Sewn": "13 h",
        "Still fits": "0 min",
        "More than kept": "1 h",
    }


def test_a_closed_day_is_the_owners_to_sew_on(owner_client, helper_client, studio):
    """Saturday the 7th is closed. From its day on the week, own sewing is put there, at an hour:
    it stands among the own hours, and clients are offered no minute of it."""
    there = "/appointments/?kind=own&amp;day=2026-03-07"
    assert there in owner_client.get("/week/").text
    assert there not in helper_client.get("/week/").text
    before = read_week(studio).book
    form = {"kind": "own", "name": "", "day": "2026-03-07", "time": "10:00", "minutes": "3"}
    response = owner_client.post("/appointments/", form)
    assert response.status_code == 302
    book = read_week(studio).book
    assert book.capacity == before.capacity
    assert book.bench.minutes_on(date(2026, 3, 7)) == 0
    assert (book.targets[0].placed, book.own_minutes([date(2026, 3, 7)])) == (180, 180)
    page = owner_client.get("/week/")
    assert day_words(page, date(2026, 3, 7)).startswith("Sat 7 yours 3 h · closed")
    assert "10:00 Own sewing" in day_words(page, date(2026, 3, 7))
    # In the hand, own hours are led on to such a day; a client's work is not.
    page = owner_client.get("/week/?own=2026-03-04&minutes=60").text
    assert "/appointments/?kind=own&amp;day=2026-03-08&amp;minutes=60" in page
    # Anything else is refused there, and the way on is named.
    form |= {"kind": "other", "name": "Dentist", "time": "15:00"}
    page = owner_client.post("/appointments/", form).text
    assert "The studio is closed on Sat 7 Mar 2026." in page
    assert "own sewing can be put on any" in page


def test_the_helper_reads_of_the_owners_hours(helper_client):
    page = helper_client.get("/week/")
    assert sums_of(page)["Kept for the owner"] == "12 h"
    assert "Change what is kept" not in page.text
    assert "Move own sewing" not in page.text


def test_each_day_has_its_blocks_in_clock_order(owner_client, bring, studio, owner):
    fitted = bring(4, take_in(), hem(fitting_first=True), name="Bo Lark")
    actions.book_fitting(
        ticket=fitted, starts_at=at(1, "10:00"), minutes=30, kind="first", studio=studio, by=owner
    )
    waiting = bring(4).garments.get().lines.get()
    actions.hold(line=waiting, what="part", question="", expected=at(1).date(), by=owner)
    page = owner_client.get("/week/")
    assert day_words(page, MONDAY) == (
        "Today, Mon 2 Mar 1 h · yours 7 h "
        "Bo Lark navy trousers, take in sides 1 h ready by Fri 6 Own sewing 7 h"
    )
    assert day_words(page, MONDAY + timedelta(days=1)) == (
        "Tue 3 1 h · yours 5 h Ada Moss navy trousers, hem 30 min ready by Fri 6 Own sewing 30 min "
        "10:00 Bo Lark first fitting 30 min "
        "Bo Lark navy trousers, hem 30 min ready by Fri 6 Own sewing 4 h 30 1 h 30 free"
    )


def test_eight_weeks_ahead(owner_client, bring, studio):
    bring(9, hem(minutes_each=600))
    week = sheet(studio)
    assert [shown.bars.monday for shown in week.ahead] == [
        MONDAY + timedelta(weeks=ahead) for ahead in range(8)
    ]
    assert [(shown.own.kept, shown.bars.free) for shown in week.ahead][:2] == [
        (720, 1080),
        (720, 1680),
    ]
    ahead = part(owner_client.get("/week/"), "ahead")
    assert ahead.startswith("Eight weeks 2 Mar 10 h clients 18 h free 9 Mar 0 min")


def test_a_later_week(owner_client, bring):
    bring(9, hem(minutes_each=600))
    page = owner_client.get("/week/2026-03-09/")
    assert lead(page) == (
        "From now until Sun 15 Mar at least 10 h for clients: all of it must be sewn by then."
    )
    assert "Week of Mon 9 Mar" in page.text
    assert f'href="{reverse("week-of", args=[date(2026, 3, 2)])}" rel="prev"' in page.text
    assert f'href="{reverse("week-of", args=[date(2026, 3, 16)])}" rel="next"' in page.text


@pytest.mark.postgres
def test_a_week_that_is_over_shows_what_was_sewn(owner_client, owner, studio):
    line = f.LineFactory(name="Hem", garment__letter="A")
    ticket = line.garment.ticket
    for minutes, hour in ((50, "09:00"), (30, "11:00")):
        f.BenchTimeFactory(line=line, started_at=at(-4, hour), minutes=minutes, by=owner)
    f.BenchTimeFactory(line=None, purpose="own", started_at=at(-3, "15:00"), minutes=90, by=owner)
    f.BenchTimeFactory(line=line, started_at=at(-8, "15:00"), minutes=999, by=owner)
    f.FittingFactory(ticket=ticket, state="kept", starts_at=at(-5, "10:00"), minutes=45)
    f.FittingFactory(ticket=ticket, state="missed", starts_at=at(-5, "12:00"))
    f.AppointmentFactory(starts_at=at(-5, "14:00"), minutes=60)
    f.OwnWeekFactory(monday=MONDAY - timedelta(weeks=1), minutes=600)
    f.HoursTakenFactory(ticket=ticket, monday=MONDAY - timedelta(weeks=1), minutes=510)

    page = owner_client.get("/week/2026-02-23/")

    assert lead(page) == (
        "This week is over: 1 h 20 were sewn for clients and 1 h 30 were the owner's."
    )
    assert sums_of(page) == {"Kept for you": "10 h", "Sewn": "1 h 30", "Not sewn": "8 h 30"}
    assert f"{ticket.number} 8 h 30" in words(page.text)
    assert day_words(page, date(2026, 2, 26)).startswith("Thu 26 1 h 20")
    assert day_words(page, date(2026, 2, 23)) == "Mon 23 nothing sewn"
    assert "Eight weeks" not in page.text
    days = past_week(MONDAY - timedelta(weeks=1)).days
    assert days[2].bar.done_appointments == 105
    assert [(each.ticket, each.words, each.minutes) for each in days[3].parts] == [
        (ticket.number, "A Hem", 80)
    ]


def test_any_day_leads_to_its_monday(owner_client):
    response = owner_client.get("/week/2026-03-12/")
    assert (response.status_code, response["Location"]) == (302, "/week/2026-03-09/")


@pytest.mark.parametrize(
    "day", ["0001-01-01", "1999-12-27", "2026-07-06", "2030-01-07", "9999-12-27", "2026-02-30"]
)
def test_a_week_that_is_not_laid_out_is_not_there(day, owner_client):
    assert owner_client.get(f"/week/{day}/").status_code == 404


def test_the_first_week_has_none_before_it(owner_client):
    assert 'rel="prev"' not in owner_client.get("/week/2000-01-03/").text
    assert 'rel="prev"' in owner_client.get("/week/2000-01-10/").text


def test_the_last_week_of_the_bench_has_none_after_it(owner_client):
    assert 'rel="next"' in owner_client.get("/week/2026-05-11/").text
    assert 'rel="next"' not in owner_client.get("/week/2026-05-18/").text


def test_small_work_of_a_full_day_to_come_is_folded_and_counted(owner_client, bring, studio):
    """10 and 15 minutes beside two hours; today, and on a day that has only them, all is seen."""
    for day, minutes in ((0, 10), (1, 470), (1, 10), (1, 480), (2, 15), (2, 460)):
        bring(day, hem(minutes_each=minutes), name=f"{minutes} of {day}")
    days = {day.bar.day: day.folded for day in sheet(studio).days}
    assert not days[MONDAY]
    folded = [each.part for parts in days.values() for each in parts]
    assert {"10 of 1", "15 of 2"} & {part.client for part in folded}
    assert all(part.minutes < 20 for part in folded)
    page = owner_client.get("/week/").text
    assert page.count(" folded") == len(folded)


def test_no_bench_time_at_all(owner_client, bring):
    bring(1)
    WorkingDay.objects.update(minutes=0)
    page = owner_client.get("/week/")
    for shown in (page, owner_client.get("/")):
        assert "There is no bench time on any day" in words(shown.text)
    assert lead(page) == (
        "More is promised than fits. What is too much, and how to fix it. "
        "There is no bench time until Sun 8 Mar."
    )
    assert "Kept for you" not in page.text
    assert "No ticket took hours of this week." in page.text


def test_a_promise_in_the_past_is_planned_now(owner_client, bring):
    ticket = bring(1)
    type(ticket).objects.update(promise_at=at(-3))
    page = owner_client.get("/week/")
    assert "Ada Moss navy trousers, hem 30 min late : ready by Fri 27" in day_words(page, MONDAY)
    assert f"?lines={ticket.garments.get().lines.get().pk}" in page.text
    assert "Promises at risk" in page.text
    assert lead(page).startswith(
        "This week at least 30 min for clients: all of it must be sewn this week."
    )


def test_a_ticket_without_minutes_takes_no_hours(owner_client, bring):
    bring(1, hem(minutes_each=0))
    assert lead(owner_client.get("/week/")).startswith("Nothing has to be done this week.")


# The instants are the IANA time zone database's: Europe/Dublin changes its clock on Sunday
# 29 March and 25 October 2026, America/New_York on 8 March and 1 November, Pacific/Auckland on
# 5 April and 27 September. A night shift from midnight to eight is an hour shorter or longer then.
@pytest.mark.parametrize(
    ("zone", "sunday", "minutes"),
    [
        ("Europe/Dublin", date(2026, 3, 29), 420),
        ("Europe/Dublin", date(2026, 10, 25), 540),
        ("America/New_York", date(2026, 3, 8), 420),
        ("America/New_York", date(2026, 11, 1), 540),
        ("Pacific/Auckland", date(2026, 4, 5), 540),
        ("Pacific/Auckland", date(2026, 9, 27), 420),
    ],
)
def test_a_week_in_which_the_clock_changes(zone, sunday, minutes, owner_client, owner, studio):
    type(studio).objects.update(time_zone=zone)
    WorkingDay.objects.update(starts=at(0, "00:00").time(), minutes=480)
    monday = sunday - timedelta(days=6)
    clock.activate(type(studio).load())
    with time_machine.travel(clock.at(monday, at(0, "00:00").time()), tick=False):
        owner_client.force_login(owner)
        lengths = [bar.whole for bar in sheet(type(studio).load(), monday).bars.days]
        page = owner_client.get("/week/")
    assert lengths == [480] * 6 + [minutes]
    assert f"Bench {(480 * 6 + minutes) // 60} h" in words(page.text)


@pytest.mark.parametrize("address", ["/week/", "/week/2026-03-09/"])
@pytest.mark.parametrize("each", [1, 3])
def test_the_page_asks_the_database_as_often_for_one_as_for_three(
    owner_client, owner, studio, bring, each, address, django_assert_num_queries
):
    for turn in range(each):
        line = bring(8).garments.get().lines.get()
        f.BenchTimeFactory(line=line, started_at=at(0, "07:00"), minutes=20, by=owner)
        f.HoursTakenFactory(ticket=line.garment.ticket, monday=MONDAY)
        fitted = bring(9, take_in(), hem(fitting_first=True))
        actions.book_fitting(
            ticket=fitted, starts_at=at(7, f"1{turn}:00"), minutes=30, kind="first",
            studio=studio, by=owner,
        )  # fmt: skip
        f.AppointmentFactory(starts_at=at(2, f"1{turn}:00"))
    # The session, the user, the profile; rules, days off and hours taken, shifts, appointments,
    # tickets, times, fittings and operations; the garments of the week's blocks.
    with django_assert_num_queries(15):
        owner_client.get(address)


@pytest.mark.parametrize("each", [1, 3])
def test_a_past_week_asks_as_often_for_one_as_for_three(
    owner_client, owner, each, django_assert_num_queries
):
    for _ in range(each):
        line = f.LineFactory()
        f.BenchTimeFactory(line=line, started_at=at(-4, "09:00"), by=owner)
        f.FittingFactory(ticket=line.garment.ticket, state="kept", starts_at=at(-5, "10:00"))
        f.AppointmentFactory(starts_at=at(-5, "14:00"))
        f.HoursTakenFactory(ticket=line.garment.ticket, monday=MONDAY - timedelta(weeks=1))
    # The session, the user, the profile; times, days off and hours taken, shifts, rules,
    # fittings and appointments.
    with django_assert_num_queries(11):
        owner_client.get("/week/2026-02-23/")
