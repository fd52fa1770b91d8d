"""Pads of paper tickets: numbers of the series that are given before their tickets are typed in.

A number that was reserved is open, used by one ticket, or voided with a reason: the series has
neither gap nor twin.
"""

from collections.abc import Collection
from uuid import UUID

from django.db import transaction

from jobs.tickets import verbs
from jobs.tickets.actions.lock import TicketError
from jobs.tickets.models import Pad, PadNumber, Ticket
from studio.shop import clock
from studio.shop.actions import the_studio
from studio.shop.history import note, record
from studio.shop.models import User
from studio.shop.numbers import lock, year_number

MOST_ON_A_PAD = 100


@transaction.atomic
def reserve(*, count: int, form_key: UUID, by: User) -> Pad:
    """A pad with the next ``count`` numbers. The same form again is the same pad.

    Raises TicketError.
    """
    if not 1 <= count <= MOST_ON_A_PAD:
        raise TicketError(f"A pad has from 1 to {MOST_ON_A_PAD} tickets.")
    year = clock.today().year
    lock(f"{year:04d}")  # So that the other half of a double click waits here.
    if made := Pad.objects.filter(form_key=form_key).first():
        return made
    pad = Pad.objects.create(made_at=clock.now(), made_by=by, form_key=form_key)
    numbers = [year_number("", year) for _ in range(count)]
    PadNumber.objects.bulk_create(PadNumber(pad=pad, number=number) for number in numbers)
    note(
        verbs.PAD_RESERVED, about=(the_studio(), pad), by=by,
        first=numbers[0], last=numbers[-1], count=count,
    )  # fmt: skip
    return pad


def take(number: str) -> PadNumber:
    """An open number of a pad, held until the transaction ends. Raises TicketError."""
    held = PadNumber.objects.select_for_update().filter(number=number).first()
    if held is None:
        raise TicketError(f"{number} is on no pad.")
    if held.ticket_id is not None:
        raise TicketError(f"{number} was typed in already. Choose another number.")
    if held.voided_at is not None:
        raise TicketError(f"{number} was voided. Choose another number.")
    return held


def used(held: PadNumber, ticket: Ticket) -> None:
    held.ticket = ticket
    held.save(update_fields=["ticket"])


def void(*, pad: Pad, numbers: Collection[str], why: str, by: User) -> list[PadNumber]:
    """These numbers will have no ticket, and this is why. Those that were voided stay as they are.

    Raises TicketError without a reason, or where one was typed in meanwhile.
    """
    why = " ".join(why.split())
    with record(verbs.PAD_VOIDED, about=(the_studio(), pad), by=by, why=why[:200]) as step:
        held = list(pad.numbers.select_for_update().filter(number__in=numbers, voided_at=None))
        if not numbers:
            raise TicketError("Tick the numbers that will have no ticket.")
        if not why:
            raise TicketError("Say why they are void.")
        if taken := [one.number for one in held if one.ticket_id is not None]:
            raise TicketError(f"Typed in already: {', '.join(taken)}.")
        step.parameters["numbers"] = [one.number for one in held]
        step.keep(*held)
        for one in held:
            one.voided_at, one.voided_why = clock.now(), why[:200]
            one.save(update_fields=["voided_at", "voided_why"])
    return held
