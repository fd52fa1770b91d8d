"""Mrs Reed comes for her trousers: they are ticked, tried on, paid and handed over."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse

from jobs.billing.actions import record_payment
from jobs.billing.models import Payment
from jobs.billing.queries import balance
from jobs.tickets import actions as tickets
from jobs.tickets.models import Line, State, Ticket
from studio.shop import clock
from studio.shop.history import of
from studio.shop.models import User
from tests.drafts import hem, paid, received, take_in, trousers
from tests.factories import ClientFactory
from tests.histories import sentences
from tests.jobs.counter.html_form import HtmlForm


@pytest.fixture
def reed(db):
    return ClientFactory(name="Anna Réed", phone="087 555 4321")


@pytest.fixture
def ticket(studio, owner, reed):
    """Navy trousers to take in and hem, grey ones to hem: 78.00, everything done and ready."""
    made = received(studio, owner, trousers(take_in(), hem()), trousers(colour="grey"), client=reed)
    tickets.tick_all(ticket=made, by=owner)
    return tickets.mark_ready(ticket=made, by=owner)


@pytest.fixture
def at_work(studio, owner, reed):
    """One pair to take in and hem; only the sides are done."""
    made = received(studio, owner, trousers(take_in(), hem()), client=reed)
    return tickets.tick(line=made.garments.get().lines.get(name="Take in sides"), by=owner)


class Page:
    """Somebody at a ticket's pick-up page, sending the form that is really there."""

    def __init__(self, client, ticket):
        self.client, self.ticket = client, ticket
        self.address = reverse("ticket-pick-up", args=[ticket.number])
        self.read(client.get(self.address))

    def read(self, response):
        self.response, self.text = response, response.content.decode()
        if 'id="pick-up"' in self.text:
            self.form = HtmlForm(self.text, "pick-up")
        self.ticket.refresh_from_db()

    def all_leave(self):
        for name in self.form.chips:
            if name.startswith("leaves_"):
                self.form.fields[name] = ["on"]
        return self

    def set(self, **typed):
        """``done_Hem=False``: fields by the name of their line or the letter of their garment."""
        for name, value in typed.items():
            field = name if name in self.form.fields | self.form.chips else self._field(name)
            self.form.fields[field] = [value] if isinstance(value, str) else ["on"] * value
        return self

    def _field(self, name):
        kind, _, of = name.partition("_")
        pieces = self.ticket.garments.order_by("pk")
        if kind in {"done", "why"}:
            pk = Line.objects.filter(garment__in=pieces, name=of).earliest("pk").pk
        else:
            pk = pieces.get(letter=of).pk
        return f"{kind}_{pk}"

    def press(self, intent="hand-over"):
        assert intent in self.form.intents
        self.sent = {**self.form.fields, "intent": [intent]}
        self.read(self.client.post(self.address, self.sent, follow=True))
        return self


@pytest.fixture
def at(owner_client):
    return lambda ticket: Page(owner_client, ticket).all_leave()


# --- finding the ticket


@pytest.mark.parametrize(
    "typed",
    [
        "{number}",
        " {number} ",
        "{number}-B",
        "http://localhost:8000/t/{number}/",
        "4321",
        "reed",
        "anna r",
        "RÉED",
    ],
)
def test_one_ticket_that_can_be_meant_opens_at_once(owner_client, ticket, typed):
    response = owner_client.get("/pick-up/", {"q": typed.format(number=ticket.number)})
    assert (response.status_code, response["Location"]) == (302, f"/t/{ticket.number}/pick-up/")


def test_several_are_listed_for_the_hand_to_choose(owner_client, owner, studio, ticket, reed):
    other = received(studio, owner, client=reed)
    stranger = received(studio, owner, client=ClientFactory(name="Bo Finch"))
    response = owner_client.get("/pick-up/", {"q": "reed"})
    assert {found.number for found in response.context["tickets"]} == {ticket.number, other.number}
    page = response.content.decode()
    assert f"/t/{other.number}/pick-up/" in page
    assert stranger.number not in page


def test_a_collected_ticket_opens_its_page(owner_client, owner, ticket):
    tickets.hand_over(ticket=ticket, garments=ticket.garments.all(), tried_on=[], by=owner)
    response = owner_client.get("/pick-up/", {"q": ticket.number})
    assert response["Location"] == f"/t/{ticket.number}/"


def test_nothing_found_says_so_and_keeps_what_was_typed(owner_client, ticket):
    page = owner_client.get("/pick-up/", {"q": '<b>"nobody"'}).content.decode()
    assert "No ticket found for “&lt;b&gt;&quot;nobody&quot;”" in page
    assert 'value="&lt;b&gt;&quot;nobody&quot;"' in page


def test_the_rail_has_what_is_ready_who_comes_today_first(
    owner_client, owner, studio, ticket, watch
):
    """Who was told today comes first, then what was finished last; over 30 days it says so."""
    watch.shift(60)
    later = received(studio, owner, client=ClientFactory(name="Åke Alder"))
    tickets.tick_all(ticket=later, by=owner)
    tickets.mark_ready(ticket=later, by=owner)
    waiting = received(studio, owner, client=ClientFactory(name="Bo Finch"))
    rail = owner_client.get("/pick-up/").context["rail"]
    assert [hanger.ticket for hanger in rail.hangers] == [later, ticket]
    assert (rail.count, rail.to_pay, rail.old) == (2, later.gross + 7800, 0)
    Ticket.objects.filter(pk=ticket.pk).update(
        promise_at=clock.now(), ready_at=clock.now() - timedelta(days=30)
    )
    response = owner_client.get("/pick-up/")
    rail = response.context["rail"]
    assert [(hanger.ticket, hanger.today, hanger.long) for hanger in rail.hangers] == [
        (ticket, True, True), (later, False, False),
    ]  # fmt: skip
    page = response.content.decode()
    assert "€78.00" in page
    assert "today, " in page
    assert waiting.number not in page


def test_an_empty_rail_says_what_it_is_for(owner_client, studio):
    assert "Nothing is ready to collect." in owner_client.get("/pick-up/").content.decode()


def test_what_left_today_is_listed_with_its_way_back(owner_client, owner, ticket):
    tickets.hand_over(ticket=ticket, garments=ticket.garments.all(), tried_on=[], by=owner)
    page = owner_client.get("/pick-up/").content.decode()
    assert "Handed over today" in page
    assert f"/t/{ticket.number}/handed-over/" in page


def test_a_helper_sees_who_is_ready_but_no_amount(helper_client, ticket):
    page = helper_client.get("/pick-up/").content.decode()
    assert ticket.number in page
    assert "78.00" not in page


@pytest.mark.parametrize("count", [1, 3])
def test_the_list_takes_as_many_queries_for_three_as_for_one(
    owner_client, owner, studio, django_assert_num_queries, count
):
    for _ in range(count):
        made = received(studio, owner)
        tickets.tick_all(ticket=made, by=owner)
        tickets.mark_ready(ticket=made, by=owner)
    with django_assert_num_queries(12):
        owner_client.get("/pick-up/")


# --- handing over


def test_everything_goes_home_paid(at, ticket):
    reed = at(ticket).set(tried_A=True, method="card").press()
    payment = Payment.objects.get()
    assert reed.response.redirect_chain == [(f"/t/{ticket.number}/handed-over/", 302)]
    assert ticket.state == State.COLLECTED
    assert (payment.amount, payment.method, payment.kind) == (7800, "card", "balance")
    assert balance(ticket) == 0
    assert [(g.letter, g.tried_on) for g in ticket.garments.order_by("pk")] == [
        ("A", True), ("B", False),
    ]  # fmt: skip
    assert f"Handed over, {clock.local(clock.now()):%H:%M}" in reed.text
    assert f'href="/receipts/{payment.number}/"' in reed.text
    assert "nothing to pay" in reed.text


def test_fits_is_said_of_all_that_leaves(at, ticket):
    at(ticket).set(fit="fits", method="card", leaves_B=False).press()
    assert [(g.letter, g.tried_on) for g in ticket.garments.order_by("pk")] == [
        ("A", True), ("B", False),
    ]  # fmt: skip


def test_several_are_ticked_by_hand_one_alone_is_ticked(owner_client, studio, owner, ticket):
    """What leaves is looked at, piece by piece; where there is one, there is nothing to choose."""
    both = Page(owner_client, ticket)
    assert not [name for name in both.form.fields if name.startswith("leaves_")]
    both.set(method="card").press()
    assert "Say which garments leave now." in both.text
    one = received(studio, owner)
    assert [n for n in Page(owner_client, one).form.fields if n.startswith("leaves_")]


def test_what_is_not_right_stays_and_its_work_comes_back(at, ticket):
    """The sides of A are wrong: A stays and goes back to the bench, B leaves."""
    reed = at(ticket).set(fit="wrong", amount="").press()
    assert "Say what is not right." in reed.text
    assert "Take the tick off the work that is not right." in reed.text
    reed.set(wrong="pulls over the hip", **{"done_Take in sides": False}).press()
    assert ticket.state == State.IN_WORK
    assert [g.letter for g in ticket.garments.filter(handed_over_at=None)] == ["A"]
    assert [line.name for line in tickets.open_lines(ticket)] == ["Take in sides"]
    assert "Tried on and not right (A): pulls over the hip." in sentences(ticket)


def test_all_wrong_is_no_hand_over(at, at_work):
    at(at_work).set(fit="wrong", wrong="too tight", done_Hem=True).press()
    assert at_work.state == State.IN_WORK
    at(at_work).set(
        fit="wrong", wrong="too tight", amount="", **{"done_Take in sides": False}
    ).press()
    assert at_work.garments.get().handed_over_at is None
    assert "Tried on and not right (A): too tight." in sentences(at_work)


def test_what_is_not_done_may_stay_alone(at, ticket):
    """The third way out of a refusal: hand over without it."""
    reed = at(ticket).set(amount="", **{"done_Take in sides": False}).press()
    assert "Tick it, or say why it was not done." in reed.text
    assert "Without A" in reed.text
    reed.press("without")
    assert [g.letter for g in ticket.garments.filter(handed_over_at=None)] == ["A"]
    assert not Payment.objects.exists()


def test_what_was_left_with_it_is_ticked_once(at, studio, owner):
    made = received(studio, owner, trousers(things_left="belt"))
    tickets.tick_all(ticket=made, by=owner)
    reed = at(made).set(given_back=True, method="cash")
    assert "belt: given back" in reed.text
    reed.press()
    assert "Given back: belt." in sentences(made)


def test_the_way_this_client_paid_last_is_chosen(at, studio, owner, ticket, reed):
    assert "method" not in at(ticket).form.fields
    at(ticket).set(method="transfer").press()
    assert at(received(studio, owner, client=reed)).form.fields["method"] == ["transfer"]
    assert "method" not in at(received(studio, owner)).form.fields


@pytest.mark.parametrize(
    ("typed", "paid", "now", "later"),
    [
        ("", 0, 7800, 0),
        ("50", 0, 5000, 2800),
        ("99", 0, 7800, 0),
        ("-1", 0, 7800, 0),
        ("x", 0, 7800, 0),
    ],
)
def test_paid_now_and_later_come_to_the_total(owner_client, ticket, typed, paid, now, later):
    address = f"/t/{ticket.number}/pick-up/"
    settling = owner_client.get(address, {"amount": typed}).context["settling"]
    assert (settling.paid, settling.now, settling.later) == (paid, now, later)
    assert settling.paid + settling.now + settling.later == settling.total == 7800
    assert settling.sums == [7800, 5000, 2000, 1000, 3900]


def test_handing_over_is_taken_back_from_its_slip(at, owner_client, ticket):
    reed = at(ticket).set(method="card").press()
    step = reed.response.context["left"].step
    owner_client.post(f"/t/{ticket.number}/undo/", {"entry": step.pk})
    ticket.refresh_from_db()
    assert ticket.state == State.READY
    response = owner_client.get(f"/t/{ticket.number}/handed-over/")
    assert response["Location"] == f"/t/{ticket.number}/"


def test_a_helper_s_slip_names_no_amount(helper_client, ticket, owner, studio):
    pay_all(ticket, owner, studio)
    helped = Page(helper_client, ticket).all_leave().press()
    assert "Handed over, " in helped.text
    assert "€" not in helped.text


def test_sent_twice_it_is_one_payment_and_one_hand_over(at, owner_client, ticket):
    reed = at(ticket).set(method="cash").press()
    owner_client.post(reed.address, reed.sent)
    assert Payment.objects.count() == 1
    assert (
        len([sentence for sentence in sentences(ticket) if sentence.startswith("Handed over")]) == 1
    )


def test_two_pages_that_were_open_take_the_money_once(at, owner_client, ticket):
    first, second = at(ticket), at(ticket)
    first.set(method="cash").press("pay")
    second.set(method="cash").press()
    assert "It was paid before: no second payment was booked." in second.text
    assert (Payment.objects.count(), ticket.state) == (1, State.COLLECTED)


def test_what_is_not_ticked_asks_why(at, at_work):
    reed = at(at_work).set(method="cash").press()
    assert "Tick it, or say why it was not done." in reed.text
    assert at_work.state == State.IN_WORK
    assert not Payment.objects.exists()
    assert reed.form.fields["method"] == ["cash"]
    reed.set(why_Hem="cloth too frayed").press()
    line = at_work.garments.get().lines.get(name="Hem")
    assert (line.not_done_why, line.done_at) == ("cloth too frayed", None)
    assert at_work.state == State.COLLECTED


def test_a_tick_at_the_counter_is_a_tick(at, at_work, owner):
    at(at_work).set(done_Hem=True, method="cash").press()
    line = at_work.garments.get().lines.get(name="Hem")
    assert (line.done_by, line.not_done_why) == (owner, "")
    assert at_work.state == State.COLLECTED


@pytest.mark.postgres
def test_taking_a_tick_away_asks_why(at, ticket):
    reed = at(ticket).set(**{"done_Take in sides": False}, method="cash").press()
    assert "Tick it, or say why it was not done." in reed.text
    assert ticket.state == State.READY


def test_money_stays_open_only_with_a_reason(at, ticket):
    reed = at(ticket).set(amount="").press()
    assert "€78.00 is still open. Take it, or say why it can wait." in reed.text
    assert ticket.state == State.READY
    reed.set(pays_later="by transfer on Friday").press()
    assert (ticket.state, balance(ticket)) == (State.COLLECTED, 7800)
    words = "Handed over with €78.00 open: by transfer on Friday."
    assert sentences(ticket, money=True).count(words) == 1


def test_all_of_it_now_and_later_is_asked_about(at, ticket):
    reed = at(ticket).set(amount="78", method="cash", pays_later="on Friday").press()
    assert "All of it is paid now. Empty this, or the amount." in reed.text
    assert (ticket.state, Payment.objects.count()) == (State.READY, 0)


def test_nothing_now_and_all_later(at, ticket):
    reed = at(ticket).set(amount="0", pays_later="on Friday").press()
    assert (ticket.state, balance(ticket)) == (State.COLLECTED, 7800)
    assert "no second payment" not in reed.text
    assert "stays to pay" in reed.text


def test_a_part_leaves_the_rest_open(at, ticket):
    reed = at(ticket).set(amount="50", method="cash").press()
    assert "€28.00 is still open." in reed.text
    assert not Payment.objects.exists()
    reed.set(pays_later="next week").press()
    assert (ticket.state, balance(ticket)) == (State.COLLECTED, 2800)


@pytest.mark.parametrize(
    ("typed", "wrong"),
    [
        ({"amount": "78"}, "Say whether it is cash, card or transfer."),
        ({"amount": "78.01", "method": "cash"}, "That is more than is open: €78.00."),
        ({"amount": "seventy", "method": "cash"}, "Write an amount in EUR"),
        ({"amount": "-1", "method": "cash"}, "This amount cannot be negative."),
        ({"method": "cash", "leaves_A": False, "leaves_B": False}, "Say which garments leave now."),
        ({"fit": "wrong", "wrong": "x", "method": "cash"}, "Take the tick off the work"),
        ({"method": "cash", "pays_later": "x" * 201}, "at most 200 characters"),
        ({"method": "cash", "form_key": "x"}, "This page is too old. Open it afresh."),
    ],
)
def test_a_wrong_entry_hands_nothing_over(at, ticket, typed, wrong):
    reed = at(ticket).set(**typed).press()
    assert wrong in reed.text
    assert (ticket.state, Payment.objects.count()) == (State.READY, 0)


def test_one_piece_may_leave_before_the_others(at, ticket):
    reed = at(ticket).set(leaves_B=False, amount="", tried_A=True).press()
    assert ticket.state == State.READY
    assert [g.letter for g in ticket.garments.filter(handed_over_at=None)] == ["B"]
    assert "B stays here." in reed.text
    again = at(ticket)
    assert "Trousers, navy" not in again.text
    again.set(method="cash").press()
    assert (ticket.state, balance(ticket)) == (State.COLLECTED, 0)


def test_a_payment_alone_keeps_the_ticks_and_the_pieces(at, at_work):
    at(at_work).set(done_Hem=True, amount="20", method="transfer").press("pay")
    assert (at_work.state, balance(at_work)) == (State.IN_WORK, 3400)
    assert tickets.open_lines(at_work) == []
    assert Payment.objects.get().kind == "deposit"


def test_a_payment_alone_needs_an_amount(at, ticket):
    assert "Write the amount that is paid." in at(ticket).set(amount="").press("pay").text


def test_a_paid_ticket_asks_for_no_money(at, ticket, owner, studio):
    pay_all(ticket, owner, studio)
    reed = at(ticket)
    assert "Everything is paid." in reed.text
    assert "amount" not in reed.form.fields
    reed.press()
    assert (ticket.state, Payment.objects.count()) == (State.COLLECTED, 1)


def test_other_tickets_of_the_client_that_are_ready_are_named(at, ticket, owner, studio, reed):
    other = received(studio, owner, client=reed)
    tickets.tick_all(ticket=other, by=owner)
    tickets.mark_ready(ticket=other, by=owner)
    assert f"/t/{other.number}/pick-up/" in at(ticket).text


def test_a_closed_ticket_leads_to_its_page(owner_client, ticket, owner):
    tickets.cancel(ticket=ticket, why="Sold", by=owner)
    response = owner_client.get(f"/t/{ticket.number}/pick-up/", follow=True)
    assert response.redirect_chain == [(f"/t/{ticket.number}/", 302)]
    assert f"Ticket {ticket.number} is cancelled." in response.content.decode()


# --- the helper


def test_a_helper_sees_that_money_is_open_but_not_how_much(helper_client, ticket):
    text = Page(helper_client, ticket).text
    assert "Money is still open: the owner takes it and hands over." in text
    assert "78.00" not in text


def test_a_helper_hands_nothing_over_while_money_is_open(helper_client, ticket):
    helped = Page(helper_client, ticket).all_leave()
    assert "hand-over" not in helped.form.intents
    assert "Back to the ticket" in helped.text
    helped.form.fields |= {"amount": ["78"], "method": ["cash"], "pays_later": ["later"]}
    helped.form.intents.append("hand-over")
    helped.press()
    assert "Money is still open on this ticket: the owner hands it over." in helped.text
    assert (ticket.state, Payment.objects.count()) == (State.READY, 0)
    helped.form.intents.append("pay")
    helped.press("pay")
    assert Payment.objects.count() == 0


def test_a_helper_hands_over_what_is_paid(helper_client, helper, ticket, owner, studio):
    pay_all(ticket, owner, studio)
    Page(helper_client, ticket).all_leave().press()
    assert ticket.state == State.COLLECTED
    assert of(ticket).first().by == helper


def test_a_helper_who_may_takes_what_is_to_pay_into_a_drawer_of_her_own(
    owner_client, owner, helper_client, helper, ticket, studio
):
    """78.00 in cash, by the price list of this file, and 10.00 into the box: 88.00 in all. Each
    drawer has a line of the day-end sheet, hers with room for its float and what is counted."""
    User.objects.filter(pk=helper.pk).update(ticks=["drawer"])
    helped = Page(helper_client, ticket).all_leave()
    assert "78.00" in helped.text
    assert "pays_later" not in helped.form.fields | helped.form.chips
    helped.form.fields |= {"amount": ["50"], "method": ["cash"], "pays_later": ["later"]}
    helped.press()
    assert "Money is still open on this ticket: the owner hands it over." in helped.text
    assert (ticket.state, Payment.objects.count()) == (State.READY, 0)
    helped.form.fields |= {"amount": ["78"], "method": ["cash"]}
    helped.press()
    assert ticket.state == State.COLLECTED
    assert (Payment.objects.get().amount, Payment.objects.get().taken_by) == (7800, helper)
    receipt = reverse("receipt", args=[Payment.objects.get().number])
    assert receipt in helper_client.get(f"/t/{ticket.number}/handed-over/").text
    assert helper_client.get(receipt).status_code == 200
    others = reverse("receipt", args=[paid(studio, owner, amount=1000).number])
    assert helper_client.get(others).status_code == 403
    day_end = owner_client.get("/money/day-end/").text
    apart = day_end.partition(f"Drawer of {helper.shown_name}</b>")[2]
    assert apart.startswith("<small>€78.00 in cash</small>")
    sheet = owner_client.get(reverse("paper-day-end")).text
    drawers = re.findall(r"<tr[^>]*>.*?</tr>", sheet.partition("Cash by drawer")[2])[1:4]
    cash = [re.search("€[0-9.]+", row)[0] for row in drawers]
    assert cash == ["€78.00", "€10.00", "€88.00"]
    assert [row.count('"write"') for row in drawers] == [4, 0, 0]
    assert helper.shown_name in drawers[0]


def pay_all(ticket, owner, studio):
    record_payment(
        ticket=ticket, amount=7800, method="cash", kind="balance", by=owner, studio=studio,
        form_key="7d3f2a52-9f0e-4c52-8f50-6f2f7a1b8c11",
    )  # fmt: skip


@pytest.mark.parametrize("count", [1, 3])
def test_a_page_of_three_pieces_takes_as_many_queries_as_of_one(
    owner_client, owner, studio, django_assert_num_queries, count
):
    made = received(studio, owner, *[trousers() for _ in range(count)])
    with django_assert_num_queries(10):
        owner_client.get(f"/t/{made.number}/pick-up/")
