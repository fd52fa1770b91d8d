"""A garment is received, and what was agreed changes."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
import time_machine

from jobs.pricing.quote import QuoteError
from jobs.tickets import actions
from jobs.tickets.models import Ticket
from jobs.tickets.quoting import AmbiguousAmountError, TicketDraft
from studio.shop import clock
from studio.shop.history import of
from studio.shop.models import NumberSeries
from tests import factories
from tests.drafts import draft, hem, received, take_in, trousers
from tests.histories import sentences


def test_the_number_is_year_and_sequence_and_garments_have_letters(studio, owner):
    with time_machine.travel("2026-03-04 10:00Z", tick=False):
        first = received(studio, owner, trousers(), trousers())
        second = received(studio, owner)
    assert [first.number, second.number] == ["26-0001", "26-0002"]
    assert [garment.tag for garment in first.garments.all()] == ["26-0001-A", "26-0001-B"]


def test_the_year_is_the_studios_own(studio, owner):
    studio.time_zone = "Pacific/Auckland"
    studio.save()
    clock.activate(studio)
    with time_machine.travel("2026-12-31 12:00Z", tick=False):
        assert received(studio, owner).number == "27-0001"


def test_the_letters_go_on_after_z(studio, owner):
    ticket = received(studio, owner, *[trousers() for _ in range(28)])
    assert [g.letter for g in ticket.garments.order_by("pk")][-3:] == ["Z", "AA", "AB"]


def test_a_double_click_makes_one_ticket(studio, owner):
    twice = draft()
    client = factories.ClientFactory()
    tickets = {
        actions.receive(client=client, draft=twice, studio=studio, by=owner).pk for _ in range(2)
    }
    assert len(tickets) == 1
    assert NumberSeries.objects.get().last == 1


def test_what_it_comes_to_is_kept_on_the_ticket(studio, owner):
    ticket = received(studio, owner, trousers(take_in(), hem()))
    # 54.00 with 13.5 % inside it: 54.00 * 13.5 / 113.5 = 6.4229 -> 6.42.
    assert (ticket.net, ticket.tax, ticket.gross, ticket.minutes) == (4758, 642, 5400, 90)


def test_work_is_kept_in_the_order_of_work(studio, owner):
    ticket = received(studio, owner, trousers(hem(), take_in()))
    data = ticket.agreements.get().data
    assert [line["name"] for line in data["garments"][0]["lines"]] == ["Take in sides", "Hem"]
    assert [line["price"] for line in data["garments"][0]["lines"]] == [3000, 2400]


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        (lambda: draft(replace(trousers(), lines=[])), "Say what is to be done on the trousers."),
        (lambda: replace(draft(), garments=[]), "Add at least one garment."),
    ],
)
def test_an_empty_ticket_is_refused(studio, owner, wrong, sentence):
    with pytest.raises(actions.TicketError, match=sentence):
        _receive(studio, owner, wrong())
    assert not Ticket.objects.exists()


@pytest.mark.parametrize(
    ("field", "blank"), [("basis", {"basis": ""}), ("measure", {"measure": ""})]
)
def test_an_ambiguous_amount_is_refused(studio, owner, field, blank):
    with pytest.raises(AmbiguousAmountError) as refused:
        _receive(studio, owner, draft(trousers(hem(**blank))))
    assert refused.value.field == field
    assert not Ticket.objects.exists()


def test_a_refused_ticket_takes_no_number(studio, owner):
    with pytest.raises(QuoteError):
        _receive(studio, owner, draft(discount_percent=Decimal(101)))
    assert received(studio, owner).number.endswith("-0001")


def test_changing_the_price_list_and_the_client_changes_no_agreement(studio, owner):
    operation = factories.OperationFactory(price=2400)
    ticket = received(studio, owner, trousers(hem(operation_id=operation.pk)))
    before = ticket.agreements.get().data
    operation.price = 9900
    operation.save()
    ticket.client.name = "Somebody Else"
    ticket.client.save()
    ticket.refresh_from_db()
    assert ticket.gross == 2400
    assert ticket.agreements.get().data == before


def test_a_change_makes_a_version_and_keeps_the_old(studio, owner):
    ticket = received(studio, owner)
    changed = actions.draft_of(ticket)
    changed.garments[0].lines[0].unit_price = 3000
    changed.garments.append(trousers(take_in()))
    ticket = actions.change(
        ticket=ticket, draft=changed, studio=studio, by=owner, reason="brought another pair"
    )
    first, second = ticket.agreements.all()
    assert (first.data["gross"], second.data["gross"]) == (2400, 6000)
    assert second.delta == "added B: Take in sides take off 4.5 cm, total; price €24.00 → €60.00"
    assert ticket.version == 2
    assert sentences(ticket)[0] == (
        "Saved as a new version: added B: Take in sides take off 4.5 cm, total; price "
        "(brought another pair)"
    )


def test_a_garment_taken_off_keeps_its_letter(studio, owner):
    ticket = received(studio, owner, trousers(), trousers(colour="grey"))
    changed = actions.draft_of(ticket)
    changed.garments = [changed.garments[1], trousers(colour="red")]
    ticket = actions.change(ticket=ticket, draft=changed, studio=studio, by=owner, reason="")
    here = ticket.garments.filter(removed_at=None)
    assert [(g.letter, g.colour) for g in here] == [("B", "grey"), ("C", "red")]


def test_a_change_of_nothing_makes_no_version(studio, owner):
    ticket = received(studio, owner)
    actions.change(
        ticket=ticket, draft=actions.draft_of(ticket), studio=studio, by=owner, reason=""
    )
    assert ticket.agreements.count() == 1
    assert of(ticket).count() == 1


def test_moving_the_promise_is_said_on_the_agreement(studio, owner):
    with time_machine.travel("2026-03-02 10:00Z", tick=False):
        ticket = received(studio, owner)
        ticket = actions.move_promise(
            ticket=ticket,
            promise_at=ticket.promise_at + timedelta(days=2),
            studio=studio,
            by=owner,
            reason="waiting for a zip",
        )
    latest = ticket.agreements.get(version=2)
    assert latest.delta == "ready Mon 9 Mar 10:00 → Wed 11 Mar 10:00"
    assert latest.reason == "waiting for a zip"


def test_a_collected_ticket_is_not_changed(studio, owner):
    ticket = received(studio, owner)
    actions.tick_all(ticket=ticket, by=owner)
    actions.hand_over(ticket=ticket, garments=ticket.garments.all(), tried_on=[], by=owner)
    with pytest.raises(actions.TicketError, match="is collected"):
        actions.change(
            ticket=ticket, draft=actions.draft_of(ticket), studio=studio, by=owner, reason=""
        )


def test_a_merged_client_brings_nothing(studio, owner):
    gone = factories.ClientFactory(merged_into=factories.ClientFactory())
    with pytest.raises(actions.TicketError, match="no longer in use"):
        received(studio, owner, client=gone)


def _receive(studio, owner, wrong: TicketDraft) -> Ticket:
    return actions.receive(client=factories.ClientFactory(), draft=wrong, studio=studio, by=owner)
