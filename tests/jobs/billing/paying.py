"""Ways of paying that several hands try at once, all of them for the same tickets."""

from uuid import uuid4

from jobs.billing.actions import BillingError, issue_invoice, record_payment
from jobs.billing.queries import balance
from jobs.tickets.models import Ticket
from studio.shop.models import Profile, User
from tests.factories import PaymentFactory
from tests.studio.shop.rush_hour import Job


def guarded(job: Job, turn: int) -> str:
    """As the pages do: the whole balance is taken and the invoice issued, unless too late."""
    who = {"by": User.objects.get(), "studio": Profile.objects.get()}
    ticket = _ticket(turn)
    job.meet(f"turn {turn}")
    answers = []
    try:
        issue_invoice(ticket=ticket, form_key=uuid4(), **who)
        answers.append("invoiced")
    except BillingError:
        answers.append("late")
    try:
        record_payment(
            ticket=ticket, amount=2400, method="cash", kind="balance", form_key=uuid4(), **who
        )
        answers.append("paid")
    except BillingError:
        answers.append("late")
    return " ".join(answers)


def unguarded(job: Job, turn: int) -> str:
    """The balance is read, and then the payment is written, without transaction or lock."""
    ticket = _ticket(turn)
    still_open = balance(ticket)
    job.meet(f"turn {turn}")
    PaymentFactory(
        number=f"{job.worker}-{turn}", ticket=ticket, amount=still_open, taken_by=User.objects.get()
    )
    return "paid"


def _ticket(turn: int) -> Ticket:
    return Ticket.objects.order_by("pk")[turn]
