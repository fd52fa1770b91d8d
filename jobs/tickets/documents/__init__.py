"""The papers of a ticket: claim ticket, slip, garment tags, work sheet."""

from jobs.tickets.documents.papers import TicketPapers

__all__ = ["TicketPapers"]
