"""What can go wrong with a ticket, said in a sentence for the counter."""


class TicketError(ValueError):
    """The step cannot be taken; the message says why and what would help."""
