"""The page of a client: what hangs here, what is to pay, the last jobs, measures and notes."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.contrib import messages
from django.db.models import F, QuerySet
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from clients.actions import change_client
from clients.fields import unit_of
from clients.fit.changes import is_old
from clients.fit.measures import MEASURES, spot_name
from clients.models import MOST_NOTES, Client, GoneError, Sheet
from clients.queries import entry_of_its_own, household_of, live_client
from clients.sheets.display import as_typed
from clients.sheets.figure import Doll, doll
from clients.sheets.known import Body
from clients.sheets.queries import sheets_of
from jobs.billing.documents import buyer_facts, seller_facts
from jobs.billing.points import InvoicePoint, doubt_of_vat_number, missing
from jobs.billing.queries import with_balances
from jobs.tickets.agreements import line_prices
from jobs.tickets.models import Agreement, Garment, State
from jobs.tickets.queries import pieces_here, ticket_list
from studio.shop import clock
from studio.shop.http import StudioRequest, say
from studio.shop.may import Tick
from studio.shop.models import Profile

JOBS = 4
GLANCE = ("bust", "waist", "hip", "arm_length", "inseam")


@dataclass(frozen=True)
class LastJob:
    """A garment that went home, its work as operations of the list, and what it cost as agreed."""

    garment: Garment
    price: int

    @property
    def works(self) -> list[int]:
        return [line.operation_id for line in self.garment.lines.all() if line.operation_id]


@dataclass(frozen=True)
class Glance:
    """The newest of a few measures, with the day of those that the last sheet lacks, and the
    figure with all that was ever taken.
    """

    sheet: Sheet
    old: bool
    values: list[tuple[str, str, date | None]]
    figure: Doll


def last_jobs(client: Client) -> list[LastJob]:
    """What was collected last. Four queries."""
    gone = Garment.objects.filter(
        ticket__client=client, ticket__state=State.COLLECTED, removed_at=None
    )
    garments = list(
        gone.select_related("ticket")
        .prefetch_related("lines", "photos")
        .order_by("-ticket__collected_at", "-pk")[:JOBS]
    )
    agreed = Agreement.objects.filter(
        ticket__in={garment.ticket_id for garment in garments}, version=F("ticket__version")
    )
    prices: dict[int, int] = {}
    for data in agreed.values_list("data", flat=True):
        prices |= line_prices(data)
    return [
        LastJob(garment, sum(prices.get(line.pk, 0) for line in garment.lines.all()))
        for garment in garments
    ]


@dataclass(frozen=True)
class Relative:
    """Somebody of the client's household with their open tickets; ``answers`` for all of it."""

    client: Client
    answers: bool
    tickets: list[Any]


def relatives(client: Client, *, money: bool) -> list[Relative]:
    """The others of the household, who answers first. A query, two where there are any."""
    members = [member for member in household_of(client) if member != client]
    if not members:
        return []
    rows: QuerySet[Any] = ticket_list().filter(client__in=members, state__in=State.open())
    theirs: dict[int, list[Any]] = defaultdict(list)
    for ticket in with_balances(rows) if money else rows:
        theirs[ticket.client_id].append(ticket)
    return [Relative(each, each.household_id is None, theirs[each.pk]) for each in members]


def lacks_of_company(client: Client, studio: Profile) -> list[InvoicePoint]:
    """The points that an invoice to the client would lack as its card stands; of a company only."""
    if not client.is_company:
        return []
    facts = {
        "studio": seller_facts(studio), "client": buyer_facts(client), "form": "full",
        "rates": [], "lines": [], "adjustments": [], "electronic": studio.electronic,
        "issued_on": "today", "supply_on": "today",
    }  # fmt: skip
    return [point for point in missing(facts) if point.place.startswith("client.")]


def glance(client: Client, studio: Profile) -> Glance | None:
    """Two queries."""
    sheets = sheets_of(client)
    if not sheets:
        return None
    last, body, unit = sheets[-1], Body(sheets), unit_of(studio)
    shown = [
        (
            spot_name((fact.key, side), MEASURES), as_typed(length, unit),
            fact.day if fact.day != last.taken_on else None,
        )
        for fact in body.of(GLANCE)
        for side, length in fact.sides.items()
    ]  # fmt: skip
    return Glance(
        last, is_old(last.taken_on, clock.today()), shown[:5], doll("front", set(body.facts))
    )


@require_GET
def client(request: StudioRequest, pk: int) -> HttpResponse:
    shown = live_client(pk)
    if shown.pk != pk:
        return redirect("client", shown.pk)
    tickets: QuerySet[Any] = ticket_list().filter(client=shown)
    to_pay, back = None, 0
    if request.user.may(Tick.PRICES):
        tickets = with_balances(tickets)
        to_pay = sum(max(ticket.balance, 0) for ticket in tickets)
        back = sum(max(-ticket.balance, 0) for ticket in tickets)
    here = pieces_here(shown)
    context = {
        "client": shown,
        "tickets": tickets,
        "here": here,
        "tickets_here": {garment.ticket_id for garment in here},
        "ready": next((g.ticket for g in here if g.ticket.state == State.READY), None),
        "lacks": lacks_of_company(shown, request.studio) if request.user.is_owner else [],
        "doubt": doubt_of_vat_number(shown.vat_number) if request.user.is_owner else "",
        "to_pay": to_pay,
        "back": back,
        "owing": [ticket for ticket in tickets if ticket.balance] if to_pay is not None else [],
        "relatives": relatives(shown, money=request.user.may(Tick.PRICES)),
        "jobs": last_jobs(shown),
        "glance": glance(shown, request.studio),
        "bare": doll("front", ()),
        "notes": [line for line in shown.notes.splitlines() if line.strip()],
        "most_note": max(0, min(500, MOST_NOTES - len(shown.notes) - 1)),
    }
    return render(request, "counter/client.html", context)


@require_POST
def client_note(request: StudioRequest, pk: int) -> HttpResponse:
    """One more line of notes, saved as soon as its field is left."""
    shown = entry_of_its_own(pk)
    note = " ".join(request.POST.get("note", "").replace("\0", "").split())
    notes = "\n".join(part for part in (shown.notes.rstrip(), note) if part)
    if note and len(notes) > MOST_NOTES:
        messages.error(request, f"The notes are full: {MOST_NOTES} letters. Edit them first.")
    elif note:
        try:
            change_client(client=shown, facts={"notes": notes}, by=request.user)
        except GoneError as gone:
            messages.error(request, str(gone))
        else:
            say(request, "Note saved.")
    return redirect("client", shown.pk)
