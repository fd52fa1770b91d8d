"""The first page: find, take in, and the day at the bench in clock order."""

import re
from datetime import timedelta

import pytest
import time_machine

from jobs.planning import actions
from jobs.planning.models import BenchTime
from jobs.tickets import actions as tickets
from jobs.tickets.models import State
from studio.shop import clock
from studio.shop.models import WorkingDay
from tests import factories as f
from tests.drafts import hem, received, take_in, trousers
from tests.jobs.planning.books import at
from tests.jobs.planning.pages import words


@pytest.fixture(autouse=True)
def _monday(studio):
    """Monday 2 March, eight in the morning, an hour before the bench opens; no time is lost."""
    f.PlanRulesFactory(lost_percent=0, own_percent=0)
    with time_machine.travel("2026-03-02 08:00Z", tick=False):
        yield


@pytest.fixture
def bring(studio, owner):
    """A ticket with one pair of trousers, a hem of 30 minutes unless told otherwise."""

    def bringing(day: int, *lines, hour="17:00", name="Ada Moss", **facts):
        client = f.ClientFactory(name=name)
        details = {"client": client, "promise_at": at(day, hour)} | facts
        return received(studio, owner, trousers(*lines), **details)

    return bringing


def part(page, label: str) -> str:
    """The words of the section whose heading has that id."""
    match = re.search(
        rf'<section[^>]*aria-label(?:ledby)?="{label}".*?</section>', page.text, re.DOTALL
    )
    assert match, f"There is no {label} on the page."
    return words(match[0])


def agenda(page) -> list[str]:
    rows = re.findall(r'<li class="agenda-\w+">(.*?)</li>', page.text, re.DOTALL)
    return [re.sub(r" : .*$", "", words(row)) for row in rows]


def test_the_day_in_clock_order_with_latest_starts(owner_client, bring, studio, owner):
    hemmed = bring(0, hem(minutes_each=60))
    fitted = bring(4, take_in(), hem(fitting_first=True), name="Bo Lark")
    details = {"starts_at": at(0, "16:00"), "minutes": 30, "kind": "first"}
    actions.book_fitting(ticket=fitted, studio=studio, by=owner, **details)
    actions.put_appointment(
        kind="other", name="The accountant", starts_at=at(0, "11:00"), minutes=60, studio=studio
    )
    number, other, start = hemmed.number, fitted.number, "Start"
    must = f"must be sewn today {start}"
    assert agenda(owner_client.get("/")) == [
        f"09:00 A Take in sides {other} Bo Lark 1 h · start by 14:30 , ready by 16:00 · {must}",
        f"10:00 A Hem {number} Ada Moss 1 h · start by 15:30 , ready by 17:00 · {must}",
        "11:00 The accountant 1 h",
        f"16:00 First fitting {other} Bo Lark 30 min",
        f"16:30 A Hem {other} Bo Lark 30 min · ready by Fri 6 Mar {start}",
    ]


def test_nothing_has_to_be_done_is_an_answer_too(owner_client, bring):
    bring(9)
    text = part(owner_client.get("/"), "What has to be done")
    assert text == "Nothing has to be done today. All 8 h left at the bench today are free."


def test_what_is_due_today_has_to_be_done(owner_client, bring):
    bring(0, hem(minutes_each=200))
    assert part(owner_client.get("/"), "What has to be done") == (
        "Today at least 3 h 20 for clients: all of it must be sewn today. "
        "The bench holds 8 h today, so 4 h 40 are free."
    )


def test_what_is_due_later_may_have_to_be_begun_today(owner_client, bring):
    # 10 h are due on Tuesday, whose bench holds 8 h.
    bring(1, hem(minutes_each=600))
    assert part(owner_client.get("/"), "What has to be done") == (
        "Today at least 2 h for clients, because 10 h must be sewn by Tue 3 Mar and only 8 h is "
        "left after today. The bench holds 8 h today, so 6 h are free."
    )


def test_more_than_fits_is_said_and_leads_to_what_would_mend_it(owner_client, bring):
    bring(0, hem(minutes_each=600))
    page = owner_client.get("/")
    text = part(page, "What has to be done")
    assert text.startswith("More is promised than fits. What is too much, and how to fix it")
    assert 'href="/too-much/"' in page.text


def test_what_leaves_the_bench_today(owner_client, bring, owner):
    late, today, sewn = bring(0), bring(0, hour="18:00"), bring(0, hour="12:00", name="Bo Lark")
    bring(1)
    tickets.tick_all(ticket=sewn, by=owner)
    with time_machine.travel("2026-03-02 17:30Z", tick=False):
        text = part(owner_client.get("/"), "leaving")
    assert text == (
        f"Leaves the bench today Overdue {sewn.number} Bo Lark was promised Mon 2 Mar "
        f"· all sewn: say that it is ready {late.number} Ada Moss was promised Mon 2 Mar "
        f"· 30 min to sew Ready by today {today.number} Ada Moss by 18:00 · 30 min to sew"
    )


def test_what_waits_on_whom_and_since_when(owner_client, bring, owner):
    asked, fitted = bring(5), bring(6, hem(fitting_first=True), name="Bo Lark")
    line = asked.garments.get().lines.get()
    details = {"what": "client", "question": "How short?", "expected": at(2).date()}
    actions.hold(line=line, by=owner, **details)
    with time_machine.travel("2026-03-03 08:00Z", tick=False):
        page = owner_client.get("/")
    assert part(page, "waiting") == (
        f"Waits {asked.number} Ada Moss A Hem: the client's answer : How short? "
        "since Mon 2 Mar, 1 day · expected Wed 4 Mar "
        f"{fitted.number} Bo Lark A Hem: a fitting to be booked since Mon 2 Mar, 1 day "
        "Ask, or resume"
    )
    assert agenda(page) == []


def test_a_missed_fitting_and_a_hem_to_be_marked_wait_too(owner_client, bring, studio, owner):
    missed, kept = (bring(7, hem(fitting_first=True), name=name) for name in ("Ada", "Bo"))
    for ticket, close in ((missed, actions.miss_fitting), (kept, actions.keep_fitting)):
        details = {"starts_at": at(0, "10:00" if close is actions.miss_fitting else "11:00")}
        fitting = actions.book_fitting(
            ticket=ticket, minutes=30, kind="first", studio=studio, by=owner, **details
        )
        close(fitting=fitting, by=owner)
    text = part(owner_client.get("/"), "waiting")
    assert f"{missed.number} Ada A Hem: a new day for the missed fitting since Mon 2 Mar" in text
    assert f"{kept.number} Bo A Hem: the hem to be marked since Mon 2 Mar" in text


def test_who_may_come_for_it_today_is_first(owner_client, bring, owner):
    for day, name in ((-6, "Long ago"), (0, "Today"), (2, "Later"), (-1, "Yesterday")):
        ticket = bring(1, name=name)
        tickets.tick_all(ticket=ticket, by=owner)
        tickets.mark_ready(ticket=ticket, by=owner)
        type(ticket).objects.filter(pk=ticket.pk).update(promise_at=at(day))
    text = part(owner_client.get("/"), "ready")
    names = re.findall(r"Today|Yesterday|Long ago|Later", text)
    assert names == ["Today", "Yesterday", "Long ago", "Later"]


def test_a_fitting_that_is_over_is_asked_about(owner_client, bring, studio, owner):
    ticket = bring(9, hem(fitting_first=True))
    fitting = actions.book_fitting(
        ticket=ticket, starts_at=at(0, "10:00"), minutes=30, kind="first", studio=studio, by=owner
    )
    with time_machine.travel("2026-03-03 08:00Z", tick=False):
        rows = agenda(owner_client.get("/"))
        assert rows[0].startswith("Mon 2 Mar 10:00 First fitting")
        assert "Did they come? Kept Missed" in rows[0]
        owner_client.post(f"/fittings/{fitting.pk}/kept/", {"back": "/"})
        assert agenda(owner_client.get("/")) == []


def test_the_day_ends_at_the_studios_own_midnight(owner_client, bring, studio):
    tonight, tomorrow = bring(0, hour="23:30"), bring(1, hour="00:30")
    shown = part(owner_client.get("/"), "leaving")
    assert (tonight.number in shown, tomorrow.number in shown) == (True, False)
    # At 23:30 in Dublin it is Tuesday noon in Auckland, where Monday was over at 11:00 UTC.
    type(studio).objects.update(time_zone="Pacific/Auckland")
    shown = part(owner_client.get("/"), "leaving")
    assert tonight.number not in shown


# The instants are the IANA time zone database's: Europe/Dublin springs forward on 29 March and
# falls back on 25 October 2026, America/New_York on 8 March and 1 November, Pacific/Auckland on
# 27 September (forward) and 5 April (back). On these Sundays the bench is open from nine to five.
@pytest.mark.parametrize(
    ("zone", "morning", "offset"),
    [
        ("Europe/Dublin", "2026-03-29 08:00Z", "+01:00"),
        ("Europe/Dublin", "2026-10-25 09:00Z", "+00:00"),
        ("America/New_York", "2026-03-08 13:00Z", "-04:00"),
        ("America/New_York", "2026-11-01 14:00Z", "-05:00"),
        ("Pacific/Auckland", "2026-04-04 21:00Z", "+12:00"),
        ("Pacific/Auckland", "2026-09-26 20:00Z", "+13:00"),
    ],
)
def test_the_clock_is_right_on_the_day_it_changes(
    zone, morning, offset, owner_client, owner, bring, studio
):
    type(studio).objects.update(time_zone=zone)
    WorkingDay.objects.update(minutes=480)
    with time_machine.travel(morning, tick=False):
        owner_client.force_login(owner)
        clock.activate(type(studio).load())
        noon = clock.at(clock.today(), at(0, "12:00").time())
        assert noon.strftime("%z") == offset.replace(":", "")
        ticket = bring(0, promise_at=noon)
        rows = agenda(owner_client.get("/"))
    (row,) = rows
    assert row.startswith(
        f"09:00 A Hem {ticket.number} Ada Moss 30 min · start by 11:30 , ready by 12:00"
    )


def test_no_bench_time_at_all(owner_client, bring):
    bring(0)
    WorkingDay.objects.update(minutes=0)
    page = owner_client.get("/")
    assert "The studio is closed today." in part(page, "What has to be done")
    assert "More is promised than fits." in part(page, "What has to be done")
    assert agenda(page) == []


def test_after_closing_no_bench_time_is_left(owner_client, bring):
    bring(3)
    with time_machine.travel("2026-03-02 19:00Z", tick=False):
        text = part(owner_client.get("/"), "What has to be done")
    assert text == "Nothing has to be done today. No bench time is left today."


def test_a_ticket_without_minutes_leaves_the_bench_all_the_same(owner_client, bring):
    ticket = bring(0, hem(minutes_each=0))
    page = owner_client.get("/")
    assert f"{ticket.number} Ada Moss by 17:00 · 1 to tick" in part(page, "leaving")
    assert part(page, "What has to be done").startswith("Nothing has to be done today.")


def test_work_that_cannot_start_before_its_promise_is_named(owner_client, bring, studio, owner):
    ticket = bring(1, hem(fitting_first=True))
    f.FittingFactory(ticket=ticket, starts_at=at(3, "10:00"))
    assert (
        f"{ticket.number} , Ada Moss: the fitting on Thu 5 Mar comes after the promise, Tue 3 Mar."
    ) in part(owner_client.get("/"), "clashes")


def test_what_else_cannot_be_kept_is_a_link_away(owner_client, bring, owner):
    assert 'id="clashes"' not in owner_client.get("/").text
    for _ in range(8):
        line = bring(0).garments.get().lines.get()
        actions.hold(line=line, what="client", question="", expected=None, by=owner)
    text = part(owner_client.get("/"), "clashes")
    assert text.count("it waits (the client's answer)") == 6
    assert text.endswith("and 2 more")


def test_own_sewing_has_its_place_and_the_helper_no_button_for_it(
    owner_client, helper_client, bring, studio
):
    bring(9)
    actions.put_appointment(
        kind="own", name="Linen shirt", starts_at=at(0, "14:00"), minutes=60, studio=studio
    )
    assert "14:00 Own sewing Linen shirt 1 h Start" in agenda(owner_client.get("/"))
    assert "14:00 Own sewing Linen shirt 1 h" in agenda(helper_client.get("/"))


def test_a_helper_sees_the_day_and_no_money(helper_client, bring):
    ticket = bring(0, hem(unit_price=98700))
    page = helper_client.get("/").text
    assert ticket.number in page
    assert "987" not in page


@pytest.mark.parametrize("each", [1, 3])
def test_the_page_asks_the_database_as_often_for_one_as_for_three(
    owner_client, owner, studio, bring, each, django_assert_num_queries
):
    for turn in range(each):
        bring(0)
        bring(9)
        held = bring(5).garments.get().lines.get()
        actions.hold(line=held, what="client", question="", expected=None, by=owner)
        fitted = bring(6, take_in(), hem(fitting_first=True))
        actions.book_fitting(
            ticket=fitted, starts_at=at(0, f"1{turn}:00"), minutes=30, kind="first",
            studio=studio, by=owner,
        )  # fmt: skip
        done = bring(4)
        tickets.tick_all(ticket=done, by=owner)
        tickets.mark_ready(ticket=done, by=owner)
    BenchTime.objects.create(purpose="own", started_at=clock.now(), by=owner)

    # The session, the user, the profile; rules, days off, shifts, appointments, tickets, times,
    # fittings and operations.
    with django_assert_num_queries(14):
        owner_client.get("/")


def test_the_page_asks_no_more_with_300_open_tickets(
    owner_client, owner, django_assert_num_queries
):
    moments = [clock.now() + timedelta(hours=9, days=number // 5) for number in range(300)]
    for number, promise_at in enumerate(moments):
        ticket = f.TicketFactory(promise_at=promise_at, minutes=30, received_by=owner)
        f.LineFactory(garment=f.GarmentFactory(ticket=ticket, letter="A"), name=f"Work {number}")
    with django_assert_num_queries(14):
        page = owner_client.get("/")
    assert len(agenda(page)) == 16


def test_a_long_list_is_shown_in_part(owner_client):
    for _ in range(8):
        f.TicketFactory(state=State.READY, ready_at=clock.now())
    assert "and 2 more" in owner_client.get("/").text
