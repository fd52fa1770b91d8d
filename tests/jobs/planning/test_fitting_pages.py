"""The pages of fittings, as the counter uses them."""

import re
from decimal import Decimal

import pytest
from django.urls import reverse

from jobs.planning import actions
from jobs.planning.models import Fitting
from jobs.planning.ticket_plan import ticket_plan
from jobs.tickets import actions as tickets
from studio.shop.models import WorkingDay
from tests.drafts import hem, received, trousers
from tests.histories import sentences
from tests.jobs.planning.books import at
from tests.jobs.planning.pages import beside, notices

pytestmark = pytest.mark.usefixtures("ticket")


def booking(ticket):
    return reverse("fitting-book", args=[ticket.number])


def offered(response):
    return re.findall(r'name="slot" value="(2026[^"]+)"', response.text)


def send(client, ticket, **typed):
    blank = {"kind": "first", "minutes": "30", "slot": "", "day": "", "time": ""}
    return client.post(booking(ticket), blank | typed, follow=True)


@pytest.mark.parametrize("role", ["owner", "helper"])
def test_a_time_on_offer_is_booked(role, ticket, request):
    client = request.getfixturevalue(f"{role}_client")
    page = client.get(booking(ticket))
    assert "Before it comes 1 h of work: A Take in sides." in page.text
    first = offered(page)[0]
    assert first == "2026-03-02T10:30:00+00:00"
    after = send(client, ticket, slot=first)
    assert notices(after) == ["Booked: First fitting, Mon 2 Mar 10:30. Message"]
    assert "Mon 2 Mar, 10:30" in after.text
    assert Fitting.objects.get().starts_at == at(0, "10:30")


def test_the_client_names_the_time(owner_client, ticket):
    after = send(
        owner_client, ticket, slot="other", day="2026-03-06", time="16:15", minutes="45"
    )  # fmt: skip
    assert notices(after) == ["Booked: First fitting, Fri 6 Mar 16:15. Message"]
    assert Fitting.objects.get().ends_at == at(4, "17:00")


def test_a_time_before_the_work_is_done_is_booked_with_a_warning(owner_client, ticket):
    after = send(owner_client, ticket, day="2026-03-02", time="09:30")
    assert set(notices(after)) == {
        "Booked: First fitting, Mon 2 Mar 09:30. Message",
        "The work before it, 1 h, can be done by Mon 2 Mar 10:30 at the earliest.",
    }


@pytest.mark.parametrize(
    ("typed", "field", "message"),
    [
        ({}, "day", "Choose a time above, or say which day."),
        ({"day": "2026-03-03"}, "time", "Say at what time."),
        ({"day": "2026-03-07", "time": "10:00"}, "day", "The studio is closed on Sat 7 Mar 2026."),
        ({"day": "2026-02-27", "time": "10:00"}, "time", "This time is over. Choose a later one."),
        (
            {"day": "2026-03-03", "time": "12:15"},
            "time",
            "That clashes with: First fitting of 26-0001, Tue 3 Mar 12:00.",
        ),
        (
            {"slot": "2026-03-03T12:00:00+00:00", "minutes": "45", "kind": "next"},
            "slot",
            "",
        ),
        (
            {"slot": "2026-03-03T11:30:00+00:00", "minutes": "45"},
            "slot",
            "That clashes with: First fitting of 26-0001, Tue 3 Mar 12:00.",
        ),
        (
            {"slot": "2026-03-03T11:30:00+00:00", "day": "2026-03-04", "time": "09:00"},
            "slot",
            "Choose one of the times, or write another: not both.",
        ),
        ({"slot": "soon"}, "slot", "Choose one of the times, or write another."),
        ({"slot": "2026-03-03T11:30:00"}, "slot", "Choose one of the times, or write another."),
        ({"minutes": "2"}, "minutes", "Ensure this value is greater than or equal to 5."),
        ({"kind": "third", "day": "2026-03-03"}, "kind", "Select a valid choice."),
    ],
)
def test_what_is_wrong_is_said_beside_the_field_and_nothing_is_lost(
    owner_client, ticket, book_at, typed, field, message
):
    book_at(1, "12:00")
    response = send(owner_client, ticket, **typed)
    if not message:  # The same time again is the same fitting.
        assert "Booked: First fitting, Tue 3 Mar 12:00. Message" in notices(response)
        return
    assert beside(response, field).startswith(f"{message}")
    for name in ("day", "time", "minutes"):
        if typed.get(name):
            assert re.search(rf'name="{name}" value="{typed[name]}"', response.text)
    assert Fitting.objects.count() == 1


def test_longer_fittings_are_offered_other_times(owner_client, ticket, book_at):
    book_at(0, "10:30", minutes=60)
    page = owner_client.get(booking(ticket) + "?minutes=480")
    assert offered(page)[0] == "2026-03-03T09:00:00+00:00"
    assert 'name="minutes" value="480"' in page.text
    assert 'value="next"' in re.search(r"<input[^>]*checked[^>]*>", page.text)[0]


def test_a_time_after_the_promise_is_said_to_be_one(owner_client, ticket, studio, owner, book_at):
    facts = {"studio": studio, "by": owner, "reason": ""}
    tickets.move_promise(ticket=ticket, promise_at=at(0, "10:00"), **facts)
    page = owner_client.get(booking(ticket)).text
    assert "These times come after the promise of Mon 2 Mar" in page
    book_at(1)
    page = owner_client.get(f"/t/{ticket.number}/").text
    assert "The first fitting on Tue 3 Mar comes after the promise of Mon 2 Mar." in page


def test_a_closed_ticket_leads_back(owner_client, ticket, owner):
    tickets.cancel(ticket=ticket, why="moved away", by=owner)
    response = owner_client.get(booking(ticket), follow=True)
    assert notices(response) == [f"Ticket {ticket.number} is cancelled."]


def test_a_studio_without_hours_says_so(owner_client, ticket):
    WorkingDay.objects.update(minutes=0)
    assert "No free time in the next twelve weeks." in owner_client.get(booking(ticket)).text


@pytest.mark.parametrize("step", ["fitting-kept", "fitting-missed"])
def test_kept_and_missed_are_there_from_its_own_hour_and_are_taken_back(
    owner_client, ticket, book_at, on, step
):
    """Booked for ten: a minute before nobody can have come or stayed away."""
    fitting = book_at(1)
    address, press = f"/t/{ticket.number}/", reverse(step, args=[fitting.pk])
    for hour, shown in (("00:01", False), ("09:59", False), ("10:00", True), ("10:10", True)):
        with on(1, hour):
            assert (press in owner_client.get(address).text) is shown
            assert (press in owner_client.get("/").text) is shown
    with on(1, "10:10"):
        after = owner_client.post(press, follow=True)
        assert press not in after.text
        fitting.refresh_from_db()
        assert fitting.state in {"kept", "missed"}
        undo = re.search(r'action="([^"]+)"[^>]*>(?:(?!</form>).)*Undo', after.text, re.DOTALL)
        assert undo, "no way back on the ticket's page"
        entry = re.search(r'name="entry" value="(\d+)"', undo[0])
        back = owner_client.post(undo[1], {"entry": entry[1]} if entry else {}, follow=True)
        fitting.refresh_from_db()
        assert fitting.state == "booked", notices(back)
        assert press in back.text


def test_a_missed_fitting_is_given_a_new_day(owner_client, ticket, book_at, on):
    fitting = book_at(1)
    with on(1, "11:00"):
        page = owner_client.post(reverse("fitting-missed", args=[fitting.pk]), follow=True)
        assert "Find a new day" in page.text
        address = reverse("fitting-move", args=[fitting.pk])
        page = owner_client.get(address)
        assert "Now on Tue 3 Mar, 10:00 (30 min), missed." in page.text
        first = offered(page)[0]
        after = owner_client.post(address, {"slot": first}, follow=True)
    assert notices(after) == ["Booked: First fitting, Tue 3 Mar 12:30. Message"]
    assert Fitting.objects.get().sequence == 1


def test_a_fitting_that_another_makes_up_for_wants_no_new_day(
    owner_client, ticket, book_at, owner, on
):
    fitting = book_at(1)
    with on(1, "11:00"):
        actions.miss_fitting(fitting=fitting, by=owner)
        book_at(2, kind="next")
        page = owner_client.get(f"/t/{ticket.number}/").text
    assert ">Missed</span>" in page
    assert "Find a new day" not in page


def test_moving_to_a_taken_time_is_refused_beside_the_field(owner_client, ticket, book_at):
    fitting, _ = book_at(1), book_at(2, kind="next")
    address = reverse("fitting-move", args=[fitting.pk])
    response = owner_client.post(address, {"day": "2026-03-04", "time": "10:15"})
    assert "Next fitting of 26-0001" in beside(response, "time")
    assert 'value="10:15"' in response.text


def test_cancelling_twice_says_nothing_new(owner_client, ticket, book_at, owner):
    fitting = book_at(1)
    for _ in range(2):
        page = owner_client.post(reverse("fitting-cancel", args=[fitting.pk]), follow=True)
    assert notices(page) == []
    assert sentences(ticket).count("First fitting cancelled.") == 1
    page = owner_client.post(reverse("fitting-kept", args=[fitting.pk]), follow=True)
    assert notices(page) == ["This fitting was cancelled already."]


def test_a_step_may_lead_back_to_where_it_was_taken(owner_client, book_at):
    fitting = book_at(1)
    address = reverse("fitting-kept", args=[fitting.pk])
    assert owner_client.post(address, {"back": "/waiting/"})["Location"] == "/waiting/"
    elsewhere = owner_client.post(address, {"back": "https://elsewhere.example/"})
    assert elsewhere["Location"] == "/t/26-0001/"


def test_which_work_comes_after_which_fitting(owner_client, ticket, book_at, hem_line):
    page = owner_client.get(f"/t/{ticket.number}/").text
    assert "Which work comes after a fitting" not in page
    fitting, last = book_at(1), book_at(2, kind="final")
    page = owner_client.get(f"/t/{ticket.number}/").text
    assert "after: First fitting, Tue 3 Mar 10:00" in page
    body = ticket.garments.get().lines.exclude(pk=hem_line.pk).get()
    address = reverse("fitting-work", args=[ticket.number])
    sent = {f"line-{hem_line.pk}": last.pk, f"line-{body.pk}": fitting.pk}
    page = owner_client.post(address, sent, follow=True).text
    assert f'<option value="{last.pk}" selected>' in page
    sent = {f"line-{hem_line.pk}": "", f"line-{body.pk}": "999"}
    owner_client.post(address, sent)
    assert [gate.line_id for gate in fitting.work_after.all()] == [body.pk]
    assert not last.work_after.exists()


def test_no_hem_is_cut_before_the_heel_is_written_down(owner_client, ticket, hem_line):
    address = reverse("line-cut", args=[hem_line.pk])
    page = owner_client.get(f"/t/{ticket.number}/").text
    assert address in page
    refused = owner_client.post(address)
    assert beside(refused, "heel") == ("Write the heel height first: this hem is worn with them.")
    refused = owner_client.post(address, {"heel": "high"})
    assert "Write one number and one unit" in beside(refused, "heel")
    assert 'value="high"' in refused.text
    hem_line.refresh_from_db()
    assert not hasattr(hem_line, "cut_mark")
    after = owner_client.post(address, {"heel": "7"}, follow=True).text
    assert "Ready to cut since Mon 2 Mar." in after
    assert "<dt>Heel height</dt><dd>7 cm</dd>" in after
    assert address not in after


def test_a_known_heel_is_not_asked_for_again(helper_client, ticket, hem_line, owner):
    heel = {"heel_mm": Decimal(70), "heel_typed": "7 cm", "by": owner}
    tickets.note_heel(garment=hem_line.garment, **heel)
    address = reverse("line-cut", args=[hem_line.pk])
    assert (
        "Same shoes? The heel height noted is <strong>7 cm</strong>."
        in helper_client.get(address).text
    )
    assert helper_client.post(address)["Location"] == f"/t/{ticket.number}/"
    assert actions.ready_to_cut(line=hem_line, by=owner).by.username == "helper"


@pytest.mark.parametrize("count", [1, 3])
def test_the_ticket_page_reads_the_plan_in_three_queries(
    studio, owner, book_at, django_assert_num_queries, count
):
    lines = [hem(fitting_first=True) for _ in range(count)]
    brought = received(studio, owner, trousers(*lines), promise_at=at(10))
    for day in range(count):
        book_at(1 + day, "15:00", ticket=brought)
    with django_assert_num_queries(3):
        plan = ticket_plan(brought, studio)
    assert (len(plan.fittings), len(plan.rows)) == (count, count)


@pytest.mark.parametrize("count", [1, 3])
def test_the_booking_page_asks_the_database_twenty_times(
    owner_client, studio, owner, ticket, book_at, django_assert_num_queries, count
):
    for day in range(count):
        book_at(1 + day, "15:00", ticket=received(studio, owner, promise_at=at(10)))
    with django_assert_num_queries(23):
        owner_client.get(booking(ticket))
