"""The first page: what is next, the day as a line of time, and what asks for care."""

import re
from datetime import timedelta
from urllib.parse import unquote

import pytest
import time_machine
from django.urls import reverse

from jobs.planning import actions
from jobs.planning.models import BenchTime
from jobs.tickets import actions as tickets
from jobs.tickets.models import State
from studio.shop import clock, history
from tests import factories as f
from tests.drafts import hem, received, take_in, trousers
from tests.jobs.planning.books import at
from tests.jobs.planning.pages import day, drawer, notices, part, words

pytestmark = pytest.mark.usefixtures("monday")


def bar(page) -> str:
    """What the bar of the day says to whoever cannot see it."""
    return re.search(r'<svg[^>]*role="img" aria-label="([^"]*)"', page.text)[1]


def test_the_day_is_a_line_of_time(owner_client, bring, studio, owner):
    hemmed = bring(0, hem(minutes_each=60))
    fitted = bring(4, take_in(), hem(fitting_first=True), name="Bo Lark")
    details = {"starts_at": at(0, "16:00"), "minutes": 30, "kind": "first"}
    actions.book_fitting(ticket=fitted, studio=studio, by=owner, **details)
    actions.put_appointment(
        kind="other",
        name="The accountant",
        starts_at=at(0, "11:00"),
        minutes=60,
        studio=studio,
        by=owner,
    )
    page = owner_client.get("/")
    # Sewn by 16:00 for the fitting and by 17:00 as promised: all but what comes after the fitting.
    assert day(page) == [
        "09:00 Trousers, navy Bo Lark \N{MIDDLE DOT} take in sides \N{MIDDLE DOT} by 16:00 1 h",
        "10:00 Trousers, navy Ada Moss \N{MIDDLE DOT} hem \N{MIDDLE DOT} by 17:00 1 h",
        "Must be sewn today: 2 h",
        "11:00 The accountant 1 h",
        "16:00 First fitting Bo Lark \N{MIDDLE DOT} Trousers, navy 30 min",
        "16:30 Trousers, navy Bo Lark \N{MIDDLE DOT} hem 30 min",
    ]
    assert (hemmed.number in page.text, fitted.number in page.text) == (True, True)


def test_what_is_next_with_its_amount_and_latest_start(owner_client, bring, owner):
    # 9 to 17 are 480 minutes; 60 due at 17:00 can wait until 16:00.
    ticket = bring(0, hem(minutes_each=60))
    page = owner_client.get("/")
    assert part(page, "next") == (
        f"Next \N{MIDDLE DOT} {ticket.number} Ada Moss Trousers, navy: hem "
        "take off 4.5 cm, total 1 h "
        f"Start by 16:00 , ready by 17:00 Start : {ticket.number} Hem Something else "
        "A tap starts the clock on it. Own sewing Nothing in particular"
    )
    with time_machine.travel("2026-03-02 16:20Z", tick=False):
        assert "Start now, ready by 17:00" in part(owner_client.get("/"), "next")


def test_another_can_be_first(owner_client, bring, owner):
    bring(1, hem())
    other = bring(2, hem(name="Taper"), name="Bo Lark")
    line = other.garments.get().lines.get()
    page = owner_client.get("/")
    assert part(page, "next").startswith("Next \N{MIDDLE DOT}")
    assert f'<button class="strip" type="submit" name="line" value="{line.pk}">' in page.text
    page = owner_client.post(reverse("clock-start"), {"line": line.pk}, follow=True)
    assert "Trousers, navy: taper" in part(page, "running")


def test_the_rest_of_the_ticket_stands_under_what_runs(owner_client, bring, owner, studio):
    ticket = bring(1, take_in(minutes_each=45), hem(minutes_each=30), hem(name="Press"))
    line = ticket.garments.get().lines.get(name="Take in sides")
    actions.start_clock(line=line, purpose="client", by=owner)
    with time_machine.travel("2026-03-02 08:18Z", tick=False):
        page = owner_client.get("/")
    assert "18 min of 45 min" in part(page, "running")
    # 18 of 45 minutes are 40 %.
    assert 'x2="40.00%"' in page.text
    assert part(page, "rest") == "Then, on this ticket 1 h A Hem 30 min A Press 30 min"
    assert re.findall(r'class="running-now"', page.text) == ['class="running-now"']


def test_done_is_said_and_can_be_undone_from_here(owner_client, bring, owner):
    line = bring(1).garments.get().lines.get()
    actions.start_clock(line=line, purpose="client", by=owner)
    page = owner_client.post(reverse("clock-stop"), {"done": "1"}, follow=True)
    line.refresh_from_db()
    assert line.done_at
    undo = re.search(r'<form method="post" action="(/t/[^"]*/undo/)">.*?</form>', page.text)
    fields = dict(re.findall(r'name="(entry|back)" value="([^"]*)"', undo[0]))
    assert owner_client.post(undo[1], fields).url == "/"
    line.refresh_from_db()
    assert line.done_at is None


def test_what_is_all_sewn_can_be_called_ready_with_a_tap(owner_client, bring, owner):
    ticket = bring(3)
    tickets.tick_all(ticket=ticket, by=owner)
    page = owner_client.get("/")
    assert day(page) == ["08:00 All sewn Ada Moss Ready to collect : Ada Moss"]
    address = reverse("ticket-ready", args=[ticket.number])
    page = owner_client.post(address, {"back": "/"}, follow=True)
    assert notices(page) == ["Ready to collect."]
    assert page.redirect_chain[0][0] == "/"
    ticket.refresh_from_db()
    assert ticket.state == State.READY


def test_small_things_of_several_tickets_are_one_row(owner_client, bring):
    numbers = [bring(1, hem(minutes_each=10), name=name).number for name in ("Ada", "Bo")]
    (row,) = day(owner_client.get("/"))
    assert row == f"09:00 2 small things Ada, Bo {numbers[0]} Ada Hem {numbers[1]} Bo Hem 20 min"


def test_the_bar_says_whose_the_day_is(owner_client, bring, owner, studio):
    f.PlanRulesFactory._meta.model.objects.update(own_percent=10)
    bring(0, hem(minutes_each=200))
    f.BenchTimeFactory(purpose="client", line=bring(9).garments.get().lines.get(), minutes=20,
                       started_at=at(0, "07:30"), by=owner)  # fmt: skip
    actions.put_appointment(
        kind="other", name="", starts_at=at(0, "11:00"), minutes=30, studio=studio, by=owner
    )
    # 480 less the appointment are 450; 10 % of the week's 2400 are the owner's, all of them today;
    # 20 are sewn and 200 are for today's promise: 450 - 240 - 200 are free.
    assert bar(owner_client.get("/")) == (
        "Today at the bench: Clients 20 min of 3 h 40, Yours 4 h, Appointments 30 min, "
        "Free 10 min; Must be sewn today 3 h 40"
    )


def test_nothing_has_to_be_done_is_an_answer_too(owner_client, bring):
    bring(9)
    page = owner_client.get("/")
    assert bar(page) == "Today at the bench: Clients 30 min, Free 7 h 30"
    assert "Must be sewn today" not in page.text


def test_what_is_due_today_has_to_be_done(owner_client, bring):
    bring(0, hem(minutes_each=200))
    page = owner_client.get("/")
    assert bar(page) == (
        "Today at the bench: Clients 3 h 20, Free 4 h 40; Must be sewn today 3 h 20"
    )


def test_what_is_due_later_may_have_to_be_begun_today(owner_client, bring):
    # 10 h are due on Tuesday, whose bench holds 8 h.
    bring(1, hem(minutes_each=600))
    assert bar(owner_client.get("/")).endswith("Must be sewn today 2 h")


def test_more_than_fits_is_said_and_leads_to_what_would_mend_it(owner_client, bring):
    bring(0, hem(minutes_each=600))
    page = owner_client.get("/")
    assert bar(page) == "Today at the bench: Clients 8 h, Does not fit by Mon 2 2 h"
    assert 'href="/too-much/"' in page.text
    # 600 minutes of which today holds 480: done on Tuesday.
    assert part(page, "risks") == (
        "Promises at risk Ada Moss Trousers, navy, ready by Mon 2 No room before Tue 3"
    )


def test_a_promise_at_risk_shows_the_garment_that_is_still_to_be_sewn(owner_client, studio, owner):
    """Of two the first is done; the second was promised for yesterday."""
    pieces = (trousers(hem()), trousers(hem(), kind_name="Skirt", colour="rust"))
    client = f.ClientFactory(name="Ada Moss")
    ticket = received(studio, owner, *pieces, client=client, promise_at=at(0))
    tickets.tick(line=ticket.garments.get(letter="A").lines.get(), by=owner)
    with time_machine.travel("2026-03-03 08:00Z", tick=False):
        page = owner_client.get("/")
    assert part(page, "risks").startswith("Promises at risk Ada Moss Skirt, rust, ready by Mon 2")


def test_a_promise_at_risk_moves_with_one_tap_and_back(owner_client, bring, studio, owner):
    ticket = bring(1, hem(fitting_first=True))
    f.FittingFactory(ticket=ticket, starts_at=at(3, "10:00"))
    page = owner_client.get("/")
    # The fitting is on Thursday at ten; thirty minutes after it, on the same day.
    assert part(page, "risks") == (
        "Promises at risk Ada Moss Trousers, navy, ready by Tue 3 "
        "The fitting on Thu 5 comes after it "
        "Move to Thu 5 : Ada Moss"
    )
    address = reverse("too-much-move", args=[ticket.number])
    page = owner_client.post(address, {"day": "2026-03-05", "back": "/"}, follow=True)
    assert page.redirect_chain[0][0] == "/"
    assert notices(page) == [f"Ticket {ticket.number} is promised for Thu 5 Mar 17:00 now."]
    assert 'id="risks"' not in page.text
    undo = re.search(r'action="(/t/[^"]*/undo/)">.*?name="entry" value="(\d+)"', page.text)
    assert owner_client.post(undo[1], {"entry": undo[2], "back": "/"}).url == "/"
    ticket.refresh_from_db()
    assert ticket.promise_at == at(1, "17:00")


def test_who_does_not_answer_is_asked_again_by_the_way_they_like(owner_client, bring, owner):
    ticket = bring(0)
    type(ticket.client).objects.update(phone="085 555 0101", way="text")
    line = ticket.garments.get().lines.get()
    actions.hold(line=line, what="client", question="", expected=None, by=owner)
    page = owner_client.get("/")
    assert part(page, "risks") == (
        "Promises at risk Ada Moss Trousers, navy, ready by Mon 2 Waits for the client's answer, "
        "nobody knows until when "
        "Ask again : Ada Moss"
    )
    href = re.search(r'href="(sms:[^"]*)"', page.text)[1]
    assert href.startswith("sms:0855550101?body=")
    assert f"Your ticket {ticket.number} (A \N{MIDDLE DOT} trousers, navy: hem)" in unquote(href)


def test_what_else_cannot_be_kept_is_a_link_away(owner_client, bring, owner):
    assert 'id="risks"' not in owner_client.get("/").text
    for _ in range(5):
        line = bring(0).garments.get().lines.get()
        actions.hold(line=line, what="client", question="", expected=None, by=owner)
    text = part(owner_client.get("/"), "risks")
    assert text.startswith("Promises at risk All 5")
    assert text.count("Waits for the client's answer") == 3


def test_a_promise_that_has_passed_is_late(owner_client, bring):
    bring(0)
    with time_machine.travel("2026-03-03 08:00Z", tick=False):
        text = part(owner_client.get("/"), "risks")
    assert text == (
        "Promises at risk Ada Moss Trousers, navy, ready by Mon 2 Late Move to Tue 3 : Ada Moss"
    )


def test_what_waits_on_whom_and_since_when(owner_client, bring, owner):
    asked, fitted = bring(5), bring(6, hem(fitting_first=True), name="Bo Lark")
    line = asked.garments.get().lines.get()
    details = {"what": "client", "question": "How short?", "expected": at(2).date()}
    actions.hold(line=line, by=owner, **details)
    with time_machine.travel("2026-03-03 08:00Z", tick=False):
        page = owner_client.get("/")
    assert drawer(page, "Waiting for others") == (
        f"1 {asked.number} Ada Moss A Hem: the client's answer : How short? "
        "since Mon 2 Mar, 1 day \N{MIDDLE DOT} expected Wed 4 Mar "
        "Ask, or resume"
    )
    assert drawer(page, "To book, mark or hang") == (
        f"1 {fitted.number} Bo Lark A Hem: a fitting to be booked since Mon 2 Mar, 1 day"
    )
    # As many as the list of tickets says, and the page of all that waits.
    assert "1 ticket" in words(owner_client.get("/waiting/").text)
    assert re.search(
        r"state=waiting[^>]*>[^<]*<span class=\"n\">1<", owner_client.get("/tickets/").text
    )
    assert day(page) == []


def test_a_missed_fitting_and_a_hem_to_be_marked_wait_too(owner_client, bring, studio, owner):
    missed, kept = (bring(7, hem(fitting_first=True), name=name) for name in ("Ada", "Bo"))
    for ticket, close in ((missed, actions.miss_fitting), (kept, actions.keep_fitting)):
        details = {"starts_at": at(0, "10:00" if close is actions.miss_fitting else "11:00")}
        fitting = actions.book_fitting(
            ticket=ticket, minutes=30, kind="first", studio=studio, by=owner, **details
        )
        close(fitting=fitting, by=owner)
    text = drawer(owner_client.get("/"), "To book, mark or hang")
    assert f"{missed.number} Ada A Hem: a new day for the missed fitting since Mon 2 Mar" in text
    assert f"{kept.number} Bo A Hem: the hem to be marked since Mon 2 Mar" in text


def test_who_may_come_for_it_today_is_first(owner_client, bring, owner):
    for promised, name in ((-6, "Long ago"), (0, "Today"), (2, "Later"), (-1, "Yesterday")):
        ticket = bring(1, name=name)
        tickets.tick_all(ticket=ticket, by=owner)
        tickets.mark_ready(ticket=ticket, by=owner)
        type(ticket).objects.filter(pk=ticket.pk).update(promise_at=at(promised))
    page = owner_client.get("/")
    names = re.findall(r"<b>(Today|Yesterday|Long a\.|Later)</b>", page.text.split('id="rail"')[1])
    assert names == ["Today", "Yesterday", "Long a.", "Later"]


def test_what_was_promised_for_today_is_handed_over_with_what_is_to_be_paid(
    owner_client, helper_client, bring, owner
):
    ticket = bring(0, hem(unit_price=3400), hour="15:30")
    tickets.tick_all(ticket=ticket, by=owner)
    tickets.mark_ready(ticket=ticket, by=owner)
    page = owner_client.get("/")
    row = "15:30 Pick-up Ada Moss \N{MIDDLE DOT} €34.00 to pay Hand over"
    assert day(page) == [row]
    assert f'href="{reverse("ticket-pick-up", args=[ticket.number])}"' in page.text
    assert part(page, "rail").endswith(f"Ada M. {ticket.number} €34.00")
    f.PaymentFactory(ticket=ticket, amount=3400)
    assert "Ada Moss \N{MIDDLE DOT} paid" in day(owner_client.get("/"))[0]
    assert day(helper_client.get("/")) == ["15:30 Pick-up Ada Moss Hand over"]


def test_a_fitting_that_is_over_is_asked_about(owner_client, bring, studio, owner):
    ticket = bring(9, hem(fitting_first=True))
    fitting = actions.book_fitting(
        ticket=ticket, starts_at=at(0, "10:00"), minutes=30, kind="first", studio=studio, by=owner
    )
    with time_machine.travel("2026-03-03 08:00Z", tick=False):
        rows = day(owner_client.get("/"))
        assert rows[0].startswith("Mon 2 Mar First fitting")
        assert "Did they come? Kept Missed" in rows[0]
        owner_client.post(f"/fittings/{fitting.pk}/kept/", {"back": "/"})
        assert day(owner_client.get("/")) == []


def test_work_on_hold_is_not_planned_and_its_promise_is_named(owner_client, bring, owner):
    """Waited for without a day: no block of the week is its, nothing says that all promises hold,
    Today names what it waits for, and on its page the filled button is not Resume. With a day it
    is planned from then on."""
    client = f.ClientFactory(name="Rosalind Moss", phone="085 555 0101")
    ticket = bring(4, client=client)
    type(ticket).objects.update(received_at=at(-3))
    line = ticket.garments.get().lines.get()
    facts = {"question": "", "by": owner}
    wait = actions.hold(line=line, what="part", expected=None, **facts)
    week = owner_client.get("/week/").text
    assert f"?lines={line.pk}" not in week
    assert "promise holds" not in words(week)
    risks = part(owner_client.get("/"), "risks")
    assert "Waits for a zip or other part, nobody knows until when" in risks
    page = owner_client.get(ticket.get_absolute_url()).text
    assert "It is not planned until it is resumed" in page
    assert "promise at risk: no day to resume" in page
    assert re.search(r'class="btn big"[^>]*>Resume', page)
    assert not re.search(r'class="btn main big"[^>]*>Resume', page)
    # A zip is waited for, nobody was asked.
    assert "Ask again" not in page
    wait.expected = at(2).date()
    wait.save()
    assert f"?lines={line.pk}" in owner_client.get("/week/").text


def test_all_sewn_says_what_was_made_and_who_can_be_told(owner_client, bring, owner):
    ticket = bring(2)
    tickets.tick_all(ticket=ticket, by=owner)
    tickets.mark_ready(ticket=ticket, by=owner)
    page = owner_client.get("/")
    text = part(page, "evening")
    assert text.startswith(
        "All of today is sewn. Iron off. Ada M. Trousers One is ready: tell them"
    )
    assert page.text.count('href="/messages/"') == 2
    assert "To say : 1 ready" in words(page.text)
    assert ticket.number in owner_client.get("/messages/").text
    assert drawer(page, "Done today").startswith(f"1, minutes to fill in 1 {ticket.number} A Hem")


def test_the_first_day_has_one_button_and_the_first_steps(owner_client, helper_client, studio):
    page = owner_client.get("/")
    assert part(page, "empty").startswith("Nothing has come in yet.")
    assert page.text.count("First steps") == 1
    assert "First steps" not in helper_client.get("/").text
    assert "Put away" in page.text
    # Once something hangs here it is one line, until all is done or the owner has put it away.
    f.TicketFactory()
    page = owner_client.get("/")
    assert "3 left" in page.text
    assert "First steps" not in helper_client.get("/").text
    page = owner_client.post(reverse("first-steps-away"), follow=True)
    assert page.text.count("First steps") == 1
    assert "First steps: put away." in page.text
    assert "First steps" not in owner_client.get("/").text
    entry = history.of(studio).get(verb="studio.profile")
    owner_client.post(reverse("studio-undo"), {"entry": entry.pk})
    assert "3 left" in owner_client.get("/").text


def test_the_button_of_the_first_day_takes_in(owner_client):
    page = owner_client.get("/")
    assert re.findall(r'class="btn main[^>]*>', page.text) == [
        '<a class="btn main big" href="/drop-off/">'.removeprefix("<a ")
    ]


def test_own_sewing_on_the_clock_shows_before_the_first_ticket(owner_client):
    owner_client.post(reverse("clock-start"), {"purpose": "own"})
    page = owner_client.get("/")
    assert "Own sewing" in part(page, "running")
    assert "Nothing has come in yet." not in page.text


def test_a_ticket_without_minutes_leaves_the_bench_all_the_same(owner_client, bring):
    bring(0, hem(minutes_each=0))
    page = owner_client.get("/")
    assert day(page) == ["08:00 1 to tick Ada Moss"]
    assert "Must be sewn today" not in page.text


def test_own_sewing_has_its_place_and_only_for_its_owner(
    owner_client, helper_client, bring, studio, owner
):
    bring(9)
    actions.put_appointment(
        kind="own",
        name="Linen shirt",
        starts_at=at(0, "14:00"),
        minutes=60,
        studio=studio,
        by=owner,
    )
    assert "14:00 Linen shirt Own sewing 1 h" in day(owner_client.get("/"))
    assert "Linen shirt" not in helper_client.get("/").text


def test_a_helper_sees_the_day_and_no_money(helper_client, bring, owner):
    ticket = bring(0, hem(unit_price=98700))
    ready = bring(0, hem(unit_price=4321))
    tickets.tick_all(ticket=ready, by=owner)
    tickets.mark_ready(ticket=ready, by=owner)
    held = bring(0).garments.get().lines.get()
    actions.hold(line=held, what="client", question="", expected=None, by=owner)
    page = helper_client.get("/").text
    assert ticket.number in page
    assert not re.search(r"[€$£¥]|987|43\.21", page)
    assert f"Ask {owner.first_name}" in words(page)


@pytest.mark.parametrize("each", [1, 3])
def test_the_page_asks_the_database_as_often_for_one_as_for_three(
    owner_client, owner, studio, bring, each, django_assert_num_queries
):
    for turn in range(each):
        bring(0)
        bring(9)
        held = bring(0).garments.get().lines.get()
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

    # The session, the user, the profile; rules, days off, shifts, longer days, appointments,
    # tickets, times, fittings, operations, makes and own hours; garments with lines and
    # photographs, who is asked again, what is to be paid,
    # what the studio has to do, and how its copies stand.
    type(studio).objects.update(steps_away=True)
    with django_assert_num_queries(25):
        owner_client.get("/")


def test_the_page_asks_no_more_with_300_open_tickets(
    owner_client, owner, django_assert_num_queries
):
    moments = [clock.now() + timedelta(hours=9, days=number // 5) for number in range(300)]
    for number, promise_at in enumerate(moments):
        ticket = f.TicketFactory(promise_at=promise_at, minutes=30, received_by=owner)
        f.LineFactory(garment=f.GarmentFactory(ticket=ticket, letter="A"), name=f"Work {number}")
    with django_assert_num_queries(25):
        page = owner_client.get("/")
    # Six rows are shown and ten lie in a drawer, the chalk line among them.
    assert len(day(page)) == 17


@pytest.mark.postgres
def test_of_a_long_list_a_few_are_shown(owner_client):
    for _ in range(8):
        f.TicketFactory(state=State.READY, ready_at=clock.now())
    page = owner_client.get("/")
    assert "All 8" in part(page, "rail")
    assert page.text.split('id="rail"')[1].count('data-goes="/t/') == 4
