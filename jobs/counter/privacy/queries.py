"""What the pages about a client's data read."""

from itertools import chain

from django.db.models import Count, Q

from clients.models import Client
from jobs.billing.models import Invoice, Payment
from jobs.billing.queries import with_balances
from jobs.planning.models import Appointment, Declined
from jobs.tickets.models import Agreement, AgreementSheet, FitSum, Initials, Photo, State, Ticket
from studio.shop.models import Profile
from studio.shop.money import format_money

MOST_SHOWN = 8


def kept_of(client: Client) -> dict[str, int]:
    """How much is kept of a client, by kind."""
    mine = {"ticket__client": client}
    printed = Agreement.objects.filter(**mine).aggregate(claim=Count("paper"), press=Count("press"))
    sheets = AgreementSheet.objects.filter(agreement__ticket__client=client).exclude(paper=None)
    return {
        "merged": client.merged.count(),
        "sheets": client.sheets.count(),
        "tickets": client.tickets.count(),
        "photographs": Photo.objects.filter(garment__ticket__client=client).count(),
        "fit_sums": FitSum.objects.filter(garment__ticket__client=client).count(),
        "initials": Initials.objects.filter(agreement__ticket__client=client).count(),
        "papers": printed["claim"] + printed["press"] + sheets.count(),
        "invoices": Invoice.objects.filter(**mine).count(),
        "payments": Payment.objects.filter(**mine).count(),
    }


def hindrances(client: Client, studio: Profile) -> list[str]:
    """What has to be settled before the client can be erased, one sentence a ticket."""
    tickets = with_balances(Ticket.objects.filter(client=client))
    pending = tickets.filter(Q(state__in=State.open()) | ~Q(balance=0))
    return list(chain.from_iterable(_pending(t, studio) for t in pending.order_by("pk")))


def _pending(ticket: Ticket, studio: Profile) -> list[str]:
    reasons = []
    if ticket.is_open:
        state = ticket.get_state_display().lower()
        reasons.append(f"Ticket {ticket.number} is {state}: hand it over or cancel it first.")
    balance = ticket.balance  # type: ignore[attr-defined]
    shown = format_money(abs(balance), ticket.currency, studio.locale)
    if balance > 0:
        reasons.append(f"On ticket {ticket.number} {shown} is still to pay.")
    elif balance < 0:
        reasons.append(f"On ticket {ticket.number} {shown} is still to be given back.")
    return reasons


def never_invoiced(client: Client) -> list[Ticket]:
    """Collected tickets without an invoice: one issued later would name nobody."""
    collected = Ticket.objects.filter(client=client, state=State.COLLECTED, gross__gt=0)
    return list(collected.filter(invoices=None).order_by("pk"))


def mentions(client: Client) -> list[str]:
    """Where the client's name stands in notes that belong to nobody or to another client."""
    name = client.name
    appointments = Appointment.objects.filter(name__icontains=name)
    declined = Declined.objects.filter(note__icontains=name)
    others = Client.objects.present().exclude(pk=client.pk).filter(notes__icontains=name)
    tickets = Ticket.objects.exclude(client=client).filter(
        Q(note__icontains=name) | Q(event__icontains=name)
    )
    places = [f"an appointment on {row.starts_at:%Y-%m-%d}" for row in appointments[:MOST_SHOWN]]
    places += [f"a declined rush of {row.at:%Y-%m-%d}" for row in declined[:MOST_SHOWN]]
    places += [f"the notes on {other}" for other in others[:MOST_SHOWN]]
    return places + [f"ticket {ticket.number}" for ticket in tickets[:MOST_SHOWN]]
