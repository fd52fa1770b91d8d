"""Whole tickets for tests, made as the counter makes them."""

from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any
from uuid import uuid4

from clients.models import Client
from jobs.billing.actions import issue_invoice, record_payment
from jobs.billing.models import Invoice, Payment
from jobs.tickets import actions
from jobs.tickets.facts import DRAFTED
from jobs.tickets.models import State, Ticket
from jobs.tickets.quoting import GarmentDraft, LineDraft, TicketDraft
from studio.shop import clock
from studio.shop.models import Profile, User
from tests import factories

REPAIRS = {"name": "Repairs", "percent": "13.5", "exempt": False, "sentence": ""}


def hem(**facts: Any) -> LineDraft:
    """A hem at 24.00 of 30 minutes, 4.5 cm to take off in total."""
    details: dict[str, Any] = {
        "name": "Hem",
        "unit_price": 2400,
        "minutes_each": 30,
        "tax": REPAIRS,
        "amount_mm": Decimal(45),
        "amount_typed": "4.5 cm",
        "basis": "total",
        "measure": "take_off",
        "work_order": 40,
    }
    return LineDraft(**details | facts)


def take_in(**facts: Any) -> LineDraft:
    """Side seams taken in at 30.00: body work, so before any hem, and before any fitting."""
    details = {"name": "Take in sides", "unit_price": 3000, "minutes_each": 60, "work_order": 10,
               "fitting_place": "before"}  # fmt: skip
    return hem(**details | facts)


def trousers(*lines: LineDraft, **facts: Any) -> GarmentDraft:
    """Facts that are columns of a garment are noted of it."""
    facts = {"kind_name": "Trousers", "colour": "navy"} | facts
    noted = {name: facts.pop(name) for name in DRAFTED if name in facts}
    return GarmentDraft(lines=list(lines) or [hem()], noted=noted, **facts)


def draft(*garments: GarmentDraft, **facts: Any) -> TicketDraft:
    details: dict[str, Any] = {"promise_at": clock.now() + timedelta(days=7)} | facts
    return TicketDraft(garments=list(garments) or [trousers()], **details)


def received(
    studio: Profile,
    by: User,
    *garments: GarmentDraft,
    client: Client | None = None,
    **facts: Any,
) -> Ticket:
    """A ticket that went through ``receive``."""
    return actions.receive(
        client=client or factories.ClientFactory(),
        draft=draft(*garments, **facts),
        studio=studio,
        by=by,
    )


def issued(studio: Profile, by: User, ticket: Ticket | None = None) -> Invoice:
    """The invoice of a ticket."""
    ticket = ticket or received(studio, by)
    return issue_invoice(ticket=ticket, by=by, studio=studio, form_key=uuid4())


def paid(studio: Profile, by: User, ticket: Ticket | None = None, amount: int = 1000) -> Payment:
    """A deposit in cash."""
    return record_payment(
        ticket=ticket or received(studio, by), amount=amount, method="cash", kind="deposit",
        by=by, studio=studio, form_key=uuid4(),
    )  # fmt: skip


def gone(ticket: Ticket, at: datetime | None = None) -> Ticket:
    """The ticket as it is once its last piece has left, now or at another time."""
    ticket.state, ticket.collected_at = State.COLLECTED, at or clock.now()
    ticket.save(update_fields=["state", "collected_at"])
    return ticket
