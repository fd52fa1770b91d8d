"""The heel height is noted when the shoes come, and can be taken back."""

from decimal import Decimal

import pytest

from jobs.tickets import actions
from tests.drafts import received
from tests.histories import sentences, undo_last


@pytest.fixture
def ticket(studio, owner):
    return received(studio, owner)


def note(garment, owner, typed="7 cm", mm=Decimal(70)):
    return actions.note_heel(garment=garment, heel_mm=mm, heel_typed=typed, by=owner)


def test_a_heel_is_noted_once(ticket, owner):
    garment = ticket.garments.get()
    for _ in range(2):
        note(garment, owner)
    garment.refresh_from_db()
    assert (garment.heel_mm, garment.heel_typed) == (Decimal(70), "7 cm")
    assert sentences(ticket) == [
        "Heel height of A: 7 cm.",
        "Received, 1 garment.",
    ]


def test_other_shoes_after_all_and_back(ticket, owner, studio):
    garment = note(ticket.garments.get(), owner)
    note(garment, owner, '2 3/4"', Decimal("69.85"))
    undo_last(ticket, owner)
    garment.refresh_from_db()
    assert garment.heel_typed == "7 cm"


def test_not_on_a_closed_ticket(ticket, owner):
    actions.cancel(ticket=ticket, why="moved away", by=owner)
    with pytest.raises(actions.TicketError, match="no longer in work"):
        note(ticket.garments.get(), owner)
