"""What a helper would change of what is agreed is a question, until the owner says yes."""

from datetime import timedelta

import pytest
from django.urls import reverse

from jobs.tickets import actions
from jobs.tickets.agreements import tell_asked
from jobs.tickets.models import AskedChange
from studio.shop import clock, history
from studio.shop.models import User
from tests import factories
from tests.drafts import hem, received, trousers
from tests.histories import sentences
from tests.jobs.counter.html_form import Counter


@pytest.fixture
def ticket(studio, owner, work):
    later = hem(
        operation_id=work.pk, amount_mm=None, amount_typed="", basis="", measure="",
        measure_later=True,
    )  # fmt: skip
    first = hem(operation_id=work.pk)
    return received(studio, owner, trousers(first, later, kind_id=work.garment_kind_id))


def shorter(browser, ticket):
    page = Counter(browser, f"/t/{ticket.number}/change/")
    return page.type(g0_l0_amount="6", reason="pinned again").press("save")


def stands(ticket):
    ticket.refresh_from_db()
    return ticket.version, ticket.garments.get().lines.order_by("pk")[0].amount_typed


def answer(browser, ticket, says):
    asked = AskedChange.objects.get(ticket=ticket, accepted=None)
    address = reverse("ticket-answer", args=[ticket.number])
    return browser.post(address, {"asked": asked.pk, "answer": says}, follow=True)


def test_the_tick_decides_whether_a_change_counts_or_is_asked(
    owner_client, helper_client, helper, ticket
):
    page = shorter(helper_client, ticket)
    assert stands(ticket) == (1, "4.5 cm")
    mine = helper_client.get(page.response.url).text
    assert "You ask" in mine
    assert "It waits for the owner." in mine
    assert "Agree to it" not in mine
    assert "4.5 cm" in mine

    today = owner_client.get("/").text
    assert "Asked of you" in today
    assert helper.shown_name in today
    text = owner_client.get(ticket.get_absolute_url()).text
    assert f"{helper.shown_name} asks" in text
    assert "6 cm" in text
    assert "pinned again" in text
    hers = helper_client.get("/").text
    assert "You asked" in hers
    assert 'class="mark waits">waits' in hers
    assert "Agreed as asked" in answer(owner_client, ticket, "yes").text
    assert 'class="mark ready">agreed' in helper_client.get("/").text
    assert stands(ticket) == (2, "6 cm")
    newest = ticket.agreements.get(version=2)
    assert (newest.agreed_by.username, newest.reason) == ("owner", "pinned again")
    assert "Asked of you" not in owner_client.get("/").text
    assert sentences(ticket)[0].startswith("Saved as a new version")
    assert "The owner says yes: A: Hem" in sentences(ticket)[1]

    User.objects.filter(pk=helper.pk).update(ticks=["agreed"])
    again = Counter(helper_client, f"/t/{ticket.number}/change/")
    again.type(g0_l0_amount="7").press("save")
    assert stands(ticket) == (3, "7 cm")


def test_no_leaves_it_as_agreed_and_one_question_stands_at_a_time(
    owner_client, helper_client, ticket
):
    shorter(helper_client, ticket)
    twice = Counter(helper_client, f"/t/{ticket.number}/change/")
    twice.type(g0_l0_amount="9").press("save")
    assert "A change is asked already" in twice.text
    assert "It stays as agreed" in answer(owner_client, ticket, "no").text
    assert stands(ticket) == (1, "4.5 cm")
    assert sentences(ticket)[0].startswith("The owner says no")
    page = shorter(helper_client, ticket)
    entry = history.of(ticket).first()
    assert "Undo: Asks the owner" in helper_client.get(page.response.url).text
    helper_client.post(reverse("ticket-undo", args=[ticket.number]), {"entry": entry.pk})
    assert not AskedChange.objects.filter(accepted=None).exists()


def test_what_somebody_else_changed_since_is_kept_beside_what_was_asked(
    owner_client, helper_client, ticket
):
    shorter(helper_client, ticket)
    owner = Counter(owner_client, f"/t/{ticket.number}/change/")
    owner.type(g0_colour="black", discount_amount="2").press("save")
    answer(owner_client, ticket, "yes")
    assert stands(ticket) == (3, "6 cm")
    assert ticket.garments.get().colour == "black"
    assert ticket.discount_amount == 200


def test_what_no_longer_goes_together_is_refused_and_asked_still(
    owner_client, helper_client, ticket
):
    shorter(helper_client, ticket)
    owner = Counter(owner_client, f"/t/{ticket.number}/change/")
    owner.type(g0_l0_amount="3").press("save")
    assert "It does not fit any more" in answer(owner_client, ticket, "yes").text
    assert stands(ticket) == (2, "3 cm")
    assert AskedChange.objects.get().accepted is None


def test_what_is_noted_and_an_amount_that_was_to_be_measured_need_no_question(
    helper_client, ticket
):
    page = Counter(helper_client, f"/t/{ticket.number}/change/")
    page.type(note="ring first", event="wedding", g0_colour="black").press("save")
    assert (stands(ticket)[0], ticket.note) == (2, "ring first")
    page = Counter(helper_client, f"/t/{ticket.number}/change/")
    page.type(g0_l1_amount="5", g0_l1_measure_later=[], g0_l1_measure="take_off")
    page.type(g0_l1_basis="total").press("save")
    assert stands(ticket)[0] == 3
    assert AskedChange.objects.count() == 0


def test_another_promise_is_asked_too(owner_client, helper_client, ticket):
    was, day = ticket.promise_at, clock.today() + timedelta(days=20)
    sent = {"day": f"{day}", "time": "11:30", "reason": "she is away"}
    for name in ("too-much-move", "ticket-promise"):
        AskedChange.objects.all().delete()
        helper_client.post(reverse(name, args=[ticket.number]), sent)
        ticket.refresh_from_db()
        assert ticket.promise_at == was
    answer(owner_client, ticket, "yes")
    ticket.refresh_from_db()
    assert clock.local(ticket.promise_at).date() == day
    assert ticket.agreements.get(version=2).reason == "she is away"


def an_amount(by_sum, by_sheet, by_hand):
    """The three pages by which the amount of a line is another than agreed, and what it becomes."""
    hem_sum = {"garment": "trousers", "floor": "80", "heel": "3", "above": "2", "depth": "4",
               "layers": "1"}  # fmt: skip
    flat = {"piece-inside_leg": "82", "fits-inside_leg": "80"}
    by_hand_typed = {"amount": "9", "measure": "take_off", "basis": "total"}
    return [
        (by_hand, by_hand_typed, "take off 9 cm, total"),
        (by_sheet, flat, "take off 2 cm, each leg"),
        (by_sum, hem_sum, "finished 81 cm, each leg"),
    ]


def test_another_amount_of_a_line_is_asked_from_every_page_that_takes_one(
    owner_client, helper_client, ticket
):
    """By hand, laid flat, by a sum: asked, told to the owner, and agreed with her yes."""
    garment = ticket.garments.get()
    line = garment.lines.order_by("pk")[0]
    sheet = reverse("garment-sheet", args=[garment.pk])
    by_hand = reverse("line-measure", args=[line.pk])
    pages = an_amount(reverse("fit-sum", args=[garment.pk, "hem"]), sheet, by_hand)
    for version, (address, typed, becomes) in enumerate(pages, start=2):
        was = stands(ticket)
        put = {"put": f"inside_leg:{line.pk}", "line": f"{line.pk}"}
        after = helper_client.post(address, typed | put, follow=True).text
        assert f"{line.name}: {becomes}. Asked." in after, address
        assert stands(ticket) == was
        assert "Asked of you" in owner_client.get("/").text
        assert "Agreed as asked" in answer(owner_client, ticket, "yes").text
        line.refresh_from_db()
        assert (stands(ticket)[0], line.pinned) == (version, becomes)
    assert garment.fit_sums.get().applied_at
    again = helper_client.post(by_hand, {"amount": "81", "measure": "finished", "basis": "leg"})
    assert again.status_code == 302
    assert not AskedChange.objects.filter(accepted=None).exists()

    helper_client.post(by_hand, pages[0][1])
    owner_client.post(by_hand, {"amount": "3", "measure": "take_off", "basis": "total"})
    refused = answer(owner_client, ticket, "yes").text
    assert f"It does not fit any more: {line.name} is take off 3 cm, total by now." in refused


@pytest.mark.parametrize("closes", ["cancelled", "collected"])
def test_a_question_ends_with_its_ticket_and_stands_again_with_it(
    owner_client, helper_client, owner, ticket, closes
):
    shorter(helper_client, ticket)
    if closes == "cancelled":
        actions.cancel(ticket=ticket, why="moved away", by=owner)
    else:
        actions.tick_all(ticket=ticket, by=owner)
        garments = ticket.garments.all()
        actions.hand_over(ticket=ticket, garments=garments, tried_on=[], by=owner)
    asked = AskedChange.objects.get()
    assert (asked.accepted, asked.answered_by) == (False, None)
    assert "asks</b>" not in owner_client.get(ticket.get_absolute_url()).text
    assert sentences(ticket)[1].startswith("Nobody answered what was asked: A: Hem")
    entry = history.undoable(history.of(ticket), owner)
    actions.undo(ticket=ticket, entry=entry, by=owner)
    assert "asks</b>" in owner_client.get(ticket.get_absolute_url()).text
    assert "Agreed as asked" in answer(owner_client, ticket, "yes").text


def test_the_owner_reads_which_surcharge_makes_it_dearer(owner_client, helper_client, ticket):
    """By hand: 24.00 and a quarter more for a lining are 30.00."""
    factories.SurchargeFactory(name="Lined", percent=25)
    page = Counter(helper_client, f"/t/{ticket.number}/change/")
    assert "Ask for it" in page.text
    page.type(g0_l0_surcharges=["Lined"]).press("save")
    told = owner_client.get("/").text
    assert "Added A: Hem, Lined; price €48.00 → €54.00" in told
    assert "Added A: Hem, Lined; price" in helper_client.get("/").text
    assert "€54.00" not in helper_client.get("/").text


def test_a_question_says_once_what_stays():
    for old, new, says in (
        ("A: Hem take off 4 cm, total", "A: Hem take off 6 cm, total",
         "A: Hem take off 4 → 6 cm, total"),
        ("A: Hem take off 4 cm, total", "A: Hem finished 81 cm, each leg",
         "A: Hem take off 4 cm, total → finished 81 cm, each leg"),
        ("A: Hem", "A: Hem x 2", "A: Hem → A: Hem x 2"),
    ):  # fmt: skip
        assert tell_asked([["line", old, new]], "en_IE") == says
