"""What a helper would change of what is agreed is a question, until the owner says yes."""

from datetime import timedelta

import pytest
from django.urls import reverse

from jobs.tickets.models import AskedChange
from studio.shop import clock, history
from studio.shop.models import User
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
    assert "Agreed as asked" in answer(owner_client, ticket, "yes").text
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
