"""The verbs of a ticket. Each is one function, one transaction, and safe to send twice."""

from jobs.tickets.actions.garments import note_heel
from jobs.tickets.actions.receiving import change, draft_of, move_promise, receive
from jobs.tickets.actions.steps import (
    cancel,
    hand_over,
    mark_ready,
    open_lines,
    start,
    tick,
    tick_all,
    untick,
    why_not_done,
)
from jobs.tickets.actions.undo import undo_last
from jobs.tickets.errors import TicketError

__all__ = [
    "TicketError",
    "cancel",
    "change",
    "draft_of",
    "hand_over",
    "mark_ready",
    "move_promise",
    "note_heel",
    "open_lines",
    "receive",
    "start",
    "tick",
    "tick_all",
    "undo_last",
    "untick",
    "why_not_done",
]
