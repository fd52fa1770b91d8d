"""The list of tickets: chips with counts, promised days as rails, rows by day, pages."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse

from jobs.planning.models import Wait
from jobs.tickets import actions
from jobs.tickets.models import State
from studio.shop import clock
from tests import factories
from tests.drafts import hem, received, take_in, trousers
from tests.jobs.planning.pages import words


def listed(client, **query):
    return client.get(reverse("tickets"), query)


def numbers(response) -> list[str]:
    return re.findall(r'class="strip" href="/t/(\d\d-\d{4,})/"', response.text)


def chips(response) -> dict[str, int]:
    return {name: number for name, _, number in response.context["chips"]}


@pytest.fixture
def shelf(studio, owner, watch):
    """One of each: to sew, waiting, not measured, late, ready, collected, cancelled."""
    made = {}
    for name in ("open", "waits", "unmeasured", "late", "ready", "collected", "cancelled"):
        lines = [take_in(), hem()]
        if name == "unmeasured":
            facts = {"amount_mm": None, "amount_typed": "", "measure_later": True}
            lines = [take_in(), hem(**facts)]
        made[name] = received(studio, owner, trousers(*lines))
        watch.shift(60)
    line = made["waits"].garments.get().lines.first()
    factories.WaitFactory(line=line, what=Wait.What.SHOES)
    made["late"].promise_at = clock.now() - timedelta(days=2)
    made["late"].save()
    for name in ("ready", "collected"):
        actions.tick_all(ticket=made[name], by=owner)
        actions.mark_ready(ticket=made[name], by=owner)
    gone = made["collected"]
    actions.hand_over(ticket=gone, garments=gone.garments.all(), tried_on=[], by=owner)
    actions.cancel(ticket=made["cancelled"], why="moved away", by=owner)
    return made


@pytest.mark.postgres
def test_the_chips_count_and_show_the_same(owner_client, shelf):
    """To sew, on the rail, collected and cancelled together are all."""
    response = listed(owner_client)
    assert chips(response) == {
        "to-sew": 4, "ready": 1, "waiting": 1, "unmeasured": 1, "late": 1,
        "collected": 1, "cancelled": 1, "all": 7,
    }  # fmt: skip
    for name, number in chips(response).items():
        one = listed(owner_client, state=name)
        assert len(numbers(one)) == number, name
        assert one.context["page"].paginator.count == number


def test_the_rails_say_what_their_pegs_are(owner_client, shelf):
    key = re.search(r'<dl class="key pegs">.*?</dl>', listed(owner_client).text, re.DOTALL)
    assert words(key[0]) == "To sew Waits Late"


@pytest.mark.postgres
def test_late_comes_first_then_by_promise_and_each_row_says_what_holds_it_up(owner_client, shelf):
    response = listed(owner_client)
    late, *rest = numbers(response)
    assert late == shelf["late"].number
    assert rest == [shelf[name].number for name in ("open", "waits", "unmeasured")]
    shown = words(response.text.split("by-day")[1])
    assert "Late 1 ticket" in shown
    passed = clock.today() - timedelta(days=2)
    assert f"late, {passed:%a} {passed.day} {passed:%b}" in shown
    assert "waits: shoes" in shown
    assert "not measured" in shown
    assert "trousers, navy" in shown


def test_a_row_is_one_link(owner_client, shelf):
    for row in re.findall(
        r"<li>(<a class=\"strip\".*?)</li>", listed(owner_client).text, re.DOTALL
    ):
        assert row.count("<a ") == 1
        assert "<button" not in row


def test_states_of_older_addresses_still_show_theirs(owner_client, shelf):
    assert len(numbers(listed(owner_client, state="open"))) == 5
    assert len(numbers(listed(owner_client, state="received"))) == 4
    assert numbers(listed(owner_client, state="in_work")) == []
    assert numbers(listed(owner_client, state="nonsense")) == numbers(listed(owner_client))
    assert listed(owner_client, page="abc").status_code == 200
    assert listed(owner_client, day="2026-02-31").status_code == 200
    assert listed(owner_client, day="soon").status_code == 200


@pytest.mark.postgres
def test_what_was_typed_is_looked_for_in_all_states(owner_client, shelf):
    client = shelf["collected"].client
    client.name = "José Órla"
    client.save()
    assert numbers(listed(owner_client, q="jose")) == [shelf["collected"].number]
    assert numbers(listed(owner_client, q=shelf["late"].number[3:])) == [shelf["late"].number]


@pytest.mark.postgres
def test_a_number_nobody_has_brings_the_nearest(owner_client, studio):
    """0415 is 0145 with two digits swapped and 0418 with another at the end; 0999 is neither."""
    this, last = (f"{clock.today().year - past}"[2:] for past in (0, 1))
    for number in (f"{this}-0145", f"{last}-0418", f"{last}-0999", f"{this}-0999"):
        factories.TicketFactory(number=number)
    response = listed(owner_client, q="0415")
    near = [ticket.number for ticket in response.context["nearest"]]
    assert near == [f"{this}-0145", f"{last}-0418"]
    assert "No ticket has 0415" in response.text
    assert "Show all 4" in response.text


@pytest.mark.postgres
@pytest.mark.parametrize("typed", ["", "zz", "12", "123456789", "26-0415-B", "\N{SPOOL OF THREAD}"])
def test_anything_may_be_typed(owner_client, studio, typed):
    assert listed(owner_client, q=typed).status_code == 200


@pytest.mark.postgres
def test_an_empty_list_says_what_it_is_for_and_has_one_button(owner_client, studio):
    shown = listed(owner_client).text
    assert "Every garment that comes in hangs here" in shown
    assert shown.split("<main")[1].count("btn main") == 1


@pytest.mark.postgres
def test_the_rails_hold_a_strip_for_each_promise(owner_client, shelf):
    """Wednesday 11 March: a week on are three; two days ago one is late; Saturdays are closed."""
    rails = listed(owner_client).context["rails"]
    assert [rail.late for rail in rails] == [True] + [False] * 11
    assert [(rail.count, len(rail.pegs)) for rail in rails if rail.pegs] == [(1, 1), (3, 3)]
    assert sorted(peg.kind for rail in rails for peg in rail.pegs) == ["", "", "late", "waits"]
    due = next(rail for rail in rails if rail.count == 3)
    assert due.href == f"#day-{due.day}"
    only = listed(owner_client, day=due.day.isoformat())
    assert len(numbers(only)) == 3
    for rail in rails:
        assert all(peg.x >= 0 and peg.x + peg.width <= 60 for peg in rail.pegs)


def test_strips_beyond_telling_apart_still_hang_on_the_rail(owner_client, studio):
    promise = clock.now() + timedelta(days=1)
    factories.TicketFactory.create_batch(45, promise_at=promise)
    response = listed(owner_client)
    rail = next(rail for rail in response.context["rails"] if rail.count)
    assert rail.count == 45
    assert all(peg.x >= 0 and peg.x + peg.width <= 60 for peg in rail.pegs)
    assert "45 tickets" in response.text


@pytest.mark.postgres
@pytest.mark.parametrize("state", ["to-sew", "all", "open", "received"])
def test_no_ticket_stands_on_two_pages(owner_client, state):
    """All came in one moment and are promised for one: only their own order tells them apart."""
    client, moment = factories.ClientFactory(), clock.now()
    promise = moment + timedelta(days=3)
    tickets = factories.TicketFactory.create_batch(
        90, client=client, received_at=moment, promise_at=promise
    )
    shown = []
    for page in (1, 2, 3):
        shown += numbers(listed(owner_client, state=state, page=page))
    assert sorted(shown) == sorted(ticket.number for ticket in tickets)
    assert shown in (sorted(shown), sorted(shown, reverse=True))
    assert f"state={state}&amp;page=2" in listed(owner_client, state=state).text


def test_pieces_are_those_still_on_the_ticket(owner_client, studio):
    ticket = factories.TicketFactory()
    factories.GarmentFactory.create_batch(3, ticket=ticket, kind_name="Skirt", colour="")
    factories.GarmentFactory(ticket=ticket, kind_name="Coat", removed_at=clock.now())
    shown = listed(owner_client).text
    assert "skirt, skirt, skirt" in shown
    assert "coat" not in shown
    assert ">+1<" in shown


@pytest.mark.parametrize("count", [1, 3])
def test_the_list_asks_the_same_for_any_number(
    owner_client, studio, owner, django_assert_num_queries, count
):
    """The profile, the session, the user; two for the chips; how many and which, with garments,
    lines, photographs and waits; of the days to come what is promised and two for the week."""
    for _ in range(count):
        received(studio, owner, trousers(), trousers(take_in(), hem()))
    with django_assert_num_queries(14):
        response = listed(owner_client)
    assert len(numbers(response)) == count
    with django_assert_num_queries(11):
        listed(owner_client, state="all")


def test_a_helper_sees_the_list_without_money(helper_client, shelf):
    response = listed(helper_client, state="all")
    assert len(numbers(response)) == 7
    assert "€" not in response.text


def test_what_has_left_stands_by_month_with_its_day(owner_client, shelf):
    shown = words(listed(owner_client, state=State.COLLECTED).text.split("by-day")[1])
    assert f"{clock.today():%B %Y} 1 ticket" in shown
    assert f"Collected {clock.today():%a} {clock.today().day} {clock.today():%b}" in shown
