"""Mrs Reed brings trousers to hem for 24.00, leaves a deposit, and pays the rest when she comes."""

from uuid import uuid4

import pytest
import time_machine
from django.db import transaction

from jobs.billing.actions import BillingError, record_payment, refund, reverse_payment
from jobs.billing.models import Payment
from jobs.billing.queries import balance, paid, usual_kind
from jobs.tickets.actions import cancel
from studio.shop import clock
from studio.shop.models import NumberSeries
from tests.drafts import received
from tests.histories import sentences


@pytest.fixture
def ticket(studio, owner):
    return received(studio, owner)


@pytest.fixture
def pay(studio, owner, ticket):
    """Take money for the hem: ``pay(1000)``."""

    def paying(amount, **facts):
        sent = {
            "method": "cash",
            "kind": "part",
            "form_key": uuid4(),
            "ticket": ticket,
        } | facts
        return record_payment(amount=amount, by=owner, studio=studio, **sent)

    return paying


@pytest.fixture
def give_back(studio, owner, ticket):
    def giving(amount, **facts):
        sent = {"method": "cash", "why": "Too dear", "form_key": uuid4()} | facts
        return refund(ticket=ticket, amount=amount, by=owner, studio=studio, **sent)

    return giving


@pytest.fixture
def undo(studio, owner):
    def undoing(payment, why="Typed wrong", form_key=None):
        key = form_key or uuid4()
        return reverse_payment(payment=payment, why=why, by=owner, studio=studio, form_key=key)

    return undoing


def test_a_deposit_and_the_balance(ticket, pay):
    first = pay(1000, kind="deposit", method="card", note=" by phone ")
    assert (first.amount, first.currency, first.kind, first.method) == (
        1000, "EUR", "deposit", "card",
    )  # fmt: skip
    assert first.note == "by phone"
    assert balance(ticket) == 1400
    pay(1400, kind="balance")
    assert (balance(ticket), paid(ticket)) == (0, 2400)


@time_machine.travel("2026-03-02 10:00Z", tick=False)
def test_receipts_have_a_series_of_their_own(pay):
    assert [pay(100).number, pay(100).number] == ["R26-0001", "R26-0002"]


def test_a_new_year_starts_a_new_series(pay):
    with time_machine.travel("2026-12-31 23:30Z", tick=False):
        assert pay(100).number == "R26-0001"
    with time_machine.travel("2027-01-01 00:30Z", tick=False):
        assert pay(100).number == "R27-0001"


def test_a_refused_payment_leaves_no_gap(pay):
    pay(100)
    with pytest.raises(BillingError):
        pay(5000)
    assert pay(100).number.endswith("-0002")


def test_a_payment_that_is_rolled_back_gives_its_number_back(pay):
    with transaction.atomic():
        pay(100)
        transaction.set_rollback(True)
    assert pay(100).number.endswith("-0001")


def test_the_day_is_the_studios_own(studio, pay):
    """At 23:30 UTC on 30 June it is 00:30 on 1 July in Dublin (UTC+1 in summer)."""
    with time_machine.travel("2026-06-30 23:30Z", tick=False):
        late = pay(100)
    assert late.day.isoformat() == "2026-07-01"
    assert late.data["day"] == "2026-07-01"
    studio.time_zone = "America/New_York"
    clock.activate(studio)
    with time_machine.travel("2026-07-01 03:30Z", tick=False):
        assert pay(100).day.isoformat() == "2026-06-30"


@pytest.mark.postgres
def test_a_double_click_books_once(ticket, pay):
    key = uuid4()
    first, second = pay(1000, form_key=key), pay(1000, form_key=key)
    assert first == second
    assert paid(ticket) == 1000
    assert NumberSeries.objects.get(key__startswith="R").last == 1


def test_a_form_sent_again_with_another_amount_is_refused(ticket, pay):
    key = uuid4()
    pay(1000, form_key=key)
    with pytest.raises(BillingError, match=r"booked R\d\d-0001 already"):
        pay(1200, form_key=key)
    assert paid(ticket) == 1000


def test_a_form_key_of_another_ticket_is_refused(studio, owner, pay):
    key = uuid4()
    pay(1000, form_key=key)
    with pytest.raises(BillingError, match="already"):
        pay(1000, form_key=key, ticket=received(studio, owner))


@pytest.mark.parametrize("amount", [0, -1, -2400])
def test_only_amounts_above_zero_are_taken(pay, amount):
    with pytest.raises(BillingError, match="above zero"):
        pay(amount)


@pytest.mark.parametrize("amount", [10.0, "10", True, None])
def test_an_amount_is_whole_minor_units(pay, amount):
    with pytest.raises(TypeError):
        pay(amount)


@pytest.mark.parametrize("kind", ["deposit", "part", "balance"])
def test_no_more_than_the_balance_is_taken(ticket, pay, kind):
    pay(1000)
    with pytest.raises(BillingError, match=r"more than is open: €14\.00"):
        pay(1401, kind=kind)
    assert balance(ticket) == 1400


@pytest.mark.parametrize(
    ("facts", "words"),
    [
        ({"method": "cheque"}, "cash, card or transfer"),
        ({"kind": "reversal"}, "a deposit, a part or the final payment"),
        ({"kind": "gift"}, "a deposit, a part or the final payment"),
    ],
)
def test_method_and_kind_are_known(pay, facts, words):
    with pytest.raises(BillingError, match=words):
        pay(100, **facts)


def test_a_cancelled_ticket_takes_no_money_and_its_deposit_is_to_give_back(
    ticket, pay, owner, give_back
):
    pay(1000, kind="deposit")
    cancel(ticket=ticket, why="Changed her mind", by=owner)
    ticket.refresh_from_db()
    assert balance(ticket) == -1000
    with pytest.raises(BillingError, match="cancelled"):
        pay(100)
    given = give_back(1000)
    assert (given.amount, given.kind, given.note) == (-1000, "refund", "Too dear")
    assert balance(ticket) == 0


def test_no_more_is_given_back_than_was_paid(pay, give_back):
    pay(1000)
    with pytest.raises(BillingError, match=r"more than was paid: €10\.00"):
        give_back(1001)


def test_nothing_is_given_back_without_a_reason_or_an_amount(pay, give_back):
    pay(1000)
    with pytest.raises(BillingError, match="Say why"):
        give_back(100, why="  ")
    with pytest.raises(BillingError, match="above zero"):
        give_back(0)


def test_giving_back_twice_by_one_form_gives_once(ticket, pay, give_back):
    pay(1000)
    key = uuid4()
    assert give_back(400, form_key=key) == give_back(400, form_key=key)
    assert paid(ticket) == 600


def test_a_wrong_entry_is_reversed_by_its_mirror(ticket, pay, undo):
    wrong = pay(1000, method="card")
    mirror = undo(wrong)
    assert (mirror.amount, mirror.method, mirror.kind) == (-1000, "card", "reversal")
    assert (mirror.reverses, mirror.note) == (wrong, "Typed wrong")
    assert mirror.data["reverses"] == wrong.number
    assert balance(ticket) == 2400
    assert Payment.objects.count() == 2


def test_an_entry_is_reversed_once(ticket, pay, undo):
    wrong, key = pay(1000), uuid4()
    first = undo(wrong, form_key=key)
    assert undo(wrong, form_key=key) == first
    with pytest.raises(BillingError, match=f"already, by {first.number}"):
        undo(wrong)
    with pytest.raises(BillingError, match="a reversal itself"):
        undo(first)
    assert paid(ticket) == 0


def test_a_reversal_needs_a_reason(pay, undo):
    with pytest.raises(BillingError, match="Say why"):
        undo(pay(1000), why=" ")


def test_what_was_given_back_cannot_be_reversed_as_well(ticket, pay, give_back, undo):
    first = pay(1000)
    back = give_back(1000)
    with pytest.raises(BillingError, match="given back already"):
        undo(first)
    undo(back)
    undo(first)
    assert paid(ticket) == 0


def test_the_history_tells_it_to_the_owner_alone(ticket, pay, undo):
    undo(pay(1000, method="card", kind="deposit"))
    sent = sentences(ticket, money=True)[::-1]
    assert [words.replace(f"R{clock.today():%y}", "R") for words in sent] == [
        "Deposit paid, €10.00, card (R-0001).",
        "Reversal of R-0001, €10.00, card (R-0002): Typed wrong.",
    ]


def test_the_receipt_keeps_what_stood_that_day(ticket, pay, studio):
    studio.name = "Larkfield Sewing Room"
    first = pay(1000, kind="deposit", method="card")
    studio.name = "Another Name"
    studio.save()
    first.refresh_from_db()
    assert first.data == first.data | {
        "number": first.number,
        "ticket": ticket.number,
        "invoice": "",
        "method": "card",
        "kind": "deposit",
        "amount": 1000,
        "gross": 2400,
        "paid_total": 1000,
        "balance": 1400,
        "reverses": "",
    }
    assert first.data["studio"]["name"] == "Larkfield Sewing Room"
    assert first.data["client"]["name"] == ticket.client.name


def test_what_a_payment_is_usually_called(ticket):
    assert usual_kind(ticket, 1000) == "deposit"
    assert usual_kind(ticket, 2400) == "balance"
    ticket.state = "ready"
    assert usual_kind(ticket, 1000) == "part"


def test_the_same_again_is_the_same_payment_though_the_rest_is_another_kind(ticket, pay):
    """Half is a deposit; with it booked, the same form would be taken for a part."""
    key = uuid4()
    first = pay(1000, form_key=key, kind="deposit")
    assert pay(1000, form_key=key, kind="part") == first


def test_a_form_sent_again_with_another_note_is_refused(ticket, pay):
    key = uuid4()
    pay(1000, form_key=key, note="for the hem")
    with pytest.raises(BillingError, match="What you changed since is not saved"):
        pay(1000, form_key=key, note="for the zip")
