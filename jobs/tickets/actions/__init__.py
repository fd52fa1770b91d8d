"""The verbs of a ticket. Each is one function, one transaction, and safe to send twice."""

from jobs.tickets.actions.agree import (
    agreed_anew,
    change,
    draft_of,
    measure,
    move_promise,
    receive,
)
from jobs.tickets.actions.bench import (
    cancel,
    hand_back,
    hand_over,
    mark_ready,
    open_lines,
    start,
    tick,
    tick_all,
    undo,
    untick,
    why_not_done,
)
from jobs.tickets.actions.garments import (
    WornWith,
    hang,
    note_care,
    note_cloth,
    note_heel,
    note_worn,
    read_caution,
)
from jobs.tickets.actions.lock import TicketError

__all__ = [
    "TicketError",
    "WornWith",
    "agreed_anew",
    "cancel",
    "change",
    "draft_of",
    "hand_back",
    "hand_over",
    "hang",
    "mark_ready",
    "measure",
    "move_promise",
    "note_care",
    "note_cloth",
    "note_heel",
    "note_worn",
    "open_lines",
    "read_caution",
    "receive",
    "start",
    "tick",
    "tick_all",
    "undo",
    "untick",
    "why_not_done",
]
