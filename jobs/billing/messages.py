"""Messages to clients about money."""

from jobs.tickets.messages import ClientMessage, draft
from jobs.tickets.models import Ticket
from studio.shop.models import Profile
from studio.shop.words import words_for


def about_balance(ticket: Ticket, balance: int, studio: Profile) -> ClientMessage:
    """What is still to be paid on a ticket that was collected."""
    words = words_for(ticket.client.language, studio)
    text = words(
        "Your ticket {number}: {amount} is still to pay.",
        number=ticket.number, amount=words.money(balance, ticket.currency),
    )  # fmt: skip
    return draft(ticket, text, words, studio)
