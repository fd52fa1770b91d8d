"""Sentences that a room wrote ready-made, until it declares verbs of its own."""

from jobs.tickets.models import Ticket
from studio.shop.history import OLDER
from studio.shop.history.recording import Step, write
from studio.shop.models import Entry, User


def record(ticket: Ticket, by: User, words: str, *, money: bool = False) -> Entry:
    return write(Step(OLDER, {"words": words}), [("tickets.ticket", ticket.pk)], by, money=money)
