"""Messages to clients about money."""

from jobs.tickets.messages import ClientMessage, contact_links, opening
from jobs.tickets.models import Ticket
from studio.shop.models import Profile
from studio.shop.money import format_money


def about_balance(ticket: Ticket, balance: int, studio: Profile) -> ClientMessage:
    """What is still to be paid on a ticket that was collected."""
    amount = format_money(balance, ticket.currency, studio.locale)
    text = f"{opening(ticket)}: {amount} is still to pay. {studio.name}"
    return ClientMessage(ticket, ticket, text, contact_links(ticket, text, studio), 0)
