"""The record's lists as tables for a spreadsheet: plain decimals, ISO 8601 days."""

from collections.abc import Iterator, Sequence
from typing import Any

from clients.models import Measured, Sheet
from jobs.billing.models import Invoice, Payment
from jobs.counter.privacy.gathering import Rows
from jobs.tickets.models import Garment, Line, Ticket
from studio.shop import clock
from studio.shop.csvfile import write_csv
from studio.shop.money import to_decimal

Cells = Sequence[Any]

TICKETS = [
    "ticket", "received", "promised", "state", "piece", "garment", "colour", "description", "work",
    "pinned amount", "times", "unit price", "currency",
]  # fmt: skip
MEASURES = ["taken on", "measure", "side", "as typed", "unit", "millimetres", "a minor"]
BOOKS = ["number", "kind", "day", "ticket", "amount", "currency"]


def tables(held: Rows) -> dict[str, str]:
    """The text of each table by its name in the archive."""
    return {
        "tickets.csv": write_csv(_lines(held), TICKETS),
        "measures.csv": write_csv(_measures(held), MEASURES),
        "invoices.csv": write_csv(_books(held), BOOKS),
    }


def _lines(held: Rows) -> Iterator[Cells]:
    tickets = {ticket.pk: ticket for ticket in held[Ticket]}
    garments = {garment.pk: garment for garment in held[Garment]}
    for line in (one for one in held[Line] if one.removed_at is None):
        garment = garments[line.garment_id]
        ticket = tickets[garment.ticket_id]
        received, promised = clock.local(ticket.received_at), clock.local(ticket.promise_at)
        yield [
            ticket.number, received.date(), promised.isoformat(timespec="minutes"), ticket.state,
            garment.letter, garment.kind_name, garment.colour, garment.description, line.name,
            line.pinned, line.quantity, to_decimal(line.unit_price, ticket.currency),
            ticket.currency,
        ]  # fmt: skip


def _measures(held: Rows) -> Iterator[Cells]:
    sheets = {sheet.pk: sheet for sheet in held[Sheet]}
    for one in held[Measured]:
        sheet = sheets[one.sheet_id]
        minor = "yes" if sheet.minor else "no"
        yield [sheet.taken_on, one.key, one.side, one.typed, one.unit, one.mm, minor]


def _books(held: Rows) -> Iterator[Cells]:
    numbers = {ticket.pk: ticket.number for ticket in held[Ticket]}
    for one in held[Invoice]:
        amount = to_decimal(one.gross, one.currency)
        yield [one.number, one.kind, one.issued_on, numbers[one.ticket_id], amount, one.currency]
    for one in held[Payment]:
        amount = to_decimal(one.amount, one.currency)
        yield [one.number, one.kind, one.day, numbers[one.ticket_id], amount, one.currency]
