"""The ways of issuing an invoice that the rush hour tries: each worker has tickets of its own."""

from uuid import uuid4

from django.db import IntegrityError

from jobs.billing.actions import issue_invoice
from jobs.tickets.models import Ticket
from studio.shop.models import Profile, User
from tests.factories import InvoiceFactory
from tests.studio.shop import number_takers
from tests.studio.shop.rush_hour import EACH, Job


def guarded(job: Job, turn: int) -> str:
    """As the ticket's page does."""
    invoice = issue_invoice(
        ticket=_ticket(job, turn),
        by=User.objects.get(),
        studio=Profile.objects.get(),
        form_key=uuid4(),
    )
    return invoice.number


def unguarded(job: Job, turn: int) -> str:
    """With a number that was read and written without transaction or lock.

    The table refuses a twin, so there the invoice is lost.
    """
    number = f"I26-{number_takers.unguarded(job, turn):04d}"
    try:
        InvoiceFactory(number=number, ticket=_ticket(job, turn), issued_by=User.objects.get())
    except IntegrityError:
        return "lost"
    return number


def _ticket(job: Job, turn: int) -> Ticket:
    return Ticket.objects.order_by("pk")[job.worker * EACH + turn]
