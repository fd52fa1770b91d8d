"""What is done with money, for ``tests/test_history.py``: none of it has a way back by undo."""

from uuid import uuid4

from jobs.billing import actions, verbs
from tests.history_cases import case


def _invoice(house):
    return actions.issue_invoice(
        ticket=house.ticket, by=house.owner, studio=house.studio, form_key=uuid4()
    )


def _paid(house, amount=1000):
    return actions.record_payment(
        ticket=house.ticket, amount=amount, method="cash", kind="deposit", note="in coins",
        by=house.owner, studio=house.studio, form_key=uuid4(),
    )  # fmt: skip


@case(verbs.INVOICED)
def _invoiced(house):
    assert house.ticket
    yield
    _invoice(house)


@case(verbs.CREDITED)
def _credited(house):
    invoice = _invoice(house)
    yield
    actions.credit_invoice(
        invoice=invoice, why="wrong name", by=house.owner, studio=house.studio, form_key=uuid4()
    )


@case(verbs.LINES_CREDITED)
def _lines_credited(house):
    invoice = _invoice(house)
    yield
    actions.credit_lines(
        invoice=invoice, amounts={0: 100}, why="loose thread", give_back="", by=house.owner,
        studio=house.studio, form_key=uuid4(),
    )  # fmt: skip


@case(verbs.BOOKED)
def _taken(house):
    assert house.ticket
    yield
    _paid(house)


@case(verbs.BOOKED)
def _given_back(house):
    _paid(house)
    yield
    actions.refund(
        ticket=house.ticket, amount=400, method="card", why="too much", by=house.owner,
        studio=house.studio, form_key=uuid4(),
    )  # fmt: skip


@case(verbs.BOOKED)
def _reversed(house):
    payment = _paid(house)
    yield
    actions.reverse_payment(
        payment=payment, why="typed twice", by=house.owner, studio=house.studio, form_key=uuid4()
    )


@case(verbs.COUNTED)
def _counted(house):
    assert house.studio
    yield
    actions.close_day(
        pieces={2000: 1}, rest=150, taken_out=0, expected=None, why="", by=house.owner,
        studio=house.studio, form_key=uuid4(),
    )  # fmt: skip
