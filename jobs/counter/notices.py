"""Papers of the studio itself: what hangs on the wall, is handed out, or lies in a drawer in case.

Price list, day-end sheet, how to measure, cautions, and who is to be told if the owner cannot work.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from typing import Any

from django.conf import settings
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils.dateparse import parse_date
from django.utils.text import Truncator
from django.views.decorators.http import require_safe

from clients.cautions.garments import PUBLISHED
from clients.sheets.figure import figures
from clients.sheets.queries import all_measures
from jobs.billing.cash import counted_on, drawers_of
from jobs.billing.models import Invoice
from jobs.billing.queries import taken_on
from jobs.billing.sealed_book import last_seal
from jobs.counter.doors import Door
from jobs.counter.rail import by_place, tickets_here
from jobs.pricing.models import Operation, Surcharge
from jobs.tickets.models import State, Ticket
from jobs.tickets.queries import voided_on
from studio.shop import clock, paper
from studio.shop.http import StudioRequest, owner_only, ticked
from studio.shop.locales import show_day
from studio.shop.may import Tick
from studio.shop.models import Profile
from studio.shop.money import format_money
from studio.shop.paper import Document, code_png, show_pdf
from studio.shop.paper.printers import sheet_of, size_of

PRICE_SETTINGS = 3  # ways to set the price list, see paper-list.css
PRICE_LETTERS = (8, 10, 12, 16, 20)  # letters that a column of prices has room for, likewise
ON_A_PAGE = 25  # garments of the list for the day on which the owner cannot work


@require_safe
def notices(request: StudioRequest) -> HttpResponse:
    """What can be printed beside the papers of tickets; what shows prices for who sees them."""
    doors = [
        Door("Evening list", "What should hang here, to tick off", "paper-rack", "print"),
        Door(
            "How to measure", "Every measure on the figure, for the wall", "paper-measures", "print"
        ),
        Door("Cautions", "What can hurt whoever wears it", "paper-cautions", "print"),
    ]
    if request.user.may(Tick.PRICES):
        doors = [
            Door("Price list", "For the wall", "paper-prices", "print"),
            Door("Price list, folded", "To hand out", "paper-prices-folded", "print"),
            *doors,
        ]
    if request.user.is_owner:
        doors = [
            *doors[:2],
            Door("Pads of paper tickets", "For a day without power", "pads", "print"),
            Door("If I cannot work", "Whose, what, when, to pay", "paper-in-case", "print"),
            Door("Day-end sheet", "Today's cash, to sign", "paper-day-end", "print"),
            *doors[2:],
        ]
    return render(request, "counter/notices.html", {"doors": doors})


def _shown(
    studio: Profile, name: str, template: str, *, page: str = "", **context: Any
) -> HttpResponse:
    document = lay_out(studio, name, template, page=page, **context)
    return show_pdf(name, paper.write([document], title=name))


def lay_out(
    studio: Profile,
    name: str,
    template: str,
    *,
    page: str = "",
    pictures: Mapping[str, bytes] | None = None,
    sheet: str = "list",
    **context: Any,
) -> Document:
    """One of these papers on the studio's sheet, with the time of printing."""
    return paper.lay_out_snug(
        f"counter/papers/{template}.html",
        {"studio": studio, "printed_at": clock.now(), **context},
        title=name,
        language=studio.language_tag,
        page=page or size_of(studio, "lists"),
        pictures=pictures,
        sheet=sheet,
    )


@dataclass(frozen=True)
class PricedKind:
    name: str
    work: list[Operation]


def price_facts(studio: Profile) -> dict[str, Any]:
    """What is offered, by garment, and a code to the studio if it has an address. Two queries."""
    work = Operation.objects.filter(active=True, garment_kind__active=True)
    by_kind = groupby(work.select_related("garment_kind"), key=lambda row: row.garment_kind)
    kinds = [PricedKind(kind.name, list(rows)) for kind, rows in by_kind]
    prices = (row.price for kind in kinds for row in kind.work)
    shown = (len(format_money(price, studio.currency, studio.locale)) for price in prices)
    longest = min(max(shown, default=0), PRICE_LETTERS[-1] - 1)
    address = settings.ADDRESS
    return {
        "kinds": kinds,
        "letters": next(room for room in PRICE_LETTERS if room > longest),
        "surcharges": list(Surcharge.objects.filter(active=True)),
        "address": address,
        "pictures": {"code": code_png(f"{address}/")} if address else {},
    }


@ticked(Tick.PRICES)
@require_safe
def price_list(request: StudioRequest, *, folded: bool = False) -> HttpResponse:
    """For the wall; or on one sheet that is folded to A5, with the studio's name outside."""
    laid = lay_out_prices(request.studio, folded=folded)
    return show_pdf("Price list", paper.write([laid], title="Price list"))


def lay_out_prices(studio: Profile, *, folded: bool) -> Document:
    """The most readable way that fits on one side, inside of the fold; else with fewest pages."""
    facts = {**price_facts(studio), "folded": folded}
    page, least = (_folded(studio), 2) if folded else ("", 1)
    ways = []
    for how in range(PRICE_SETTINGS):
        laid = lay_out(studio, "Price list", "prices", page=page, how=how, **facts)
        if len(laid.pages) == least:
            return laid
        ways.append(laid)
    return min(ways, key=lambda laid: len(laid.pages))


def _folded(studio: Profile) -> str:
    return "Letter-folded" if sheet_of(studio) == "Letter" else "A4-folded"


def day_facts(day: date) -> dict[str, Any]:
    """What was taken and counted on a day, and the numbers from the first to the last."""
    counted, takings = counted_on(day), taken_on(day)
    invoices = Invoice.objects.filter(issued_on=day).order_by("pk")
    begins, ends = clock.days(day, day)
    tickets = Ticket.objects.filter(received_at__gte=begins, received_at__lt=ends)
    return {
        "day": day,
        "seal": last_seal(ends),
        "takings": takings,
        "boxes": [one for one in counted if one.count.drawer_of is None],
        "drawers": drawers_of(takings.drawers, counted),
        "receipts": _from_to([payment.number for payment in takings.payments]),
        "tickets": _from_to(list(tickets.values_list("number", flat=True))),
        "void": voided_on(day),
        "invoices": _from_to(list(invoices.values_list("number", flat=True))),
    }


def _from_to(numbers: list[str]) -> tuple[str, str, int] | None:
    return (min(numbers), max(numbers), len(numbers)) if numbers else None


@owner_only
@require_safe
def day_end(request: StudioRequest) -> HttpResponse:
    """The day-end sheet to sign: today's, or that of ``day`` in the address."""
    try:
        day = parse_date(request.GET.get("day", "")) or clock.today()
    except ValueError:
        raise Http404 from None
    name = f"Day-end sheet {show_day(day, request.studio.locale)}"
    return _shown(request.studio, name, "day_end", **day_facts(day))


@dataclass(frozen=True)
class HungGarment:
    """One garment that is here, in as many letters as its row of the list holds.

    ``first`` of its ticket tells what is to pay for all of it.
    """

    ticket: Any
    letter: str
    first: bool
    words: str
    hangs: str
    client: str
    phone: str
    event: str

    @property
    def back(self) -> int:
        """What its ticket has to give back, in minor units."""
        balance: int = self.ticket.balance
        return max(-balance, 0)


def garments_here(*order: str) -> list[HungGarment]:
    """What has not gone to its owner, by the day it is promised for unless another ``order`` is
    given. Two queries."""
    return [
        HungGarment(
            ticket=ticket,
            letter=garment.letter,
            first=place == 0,
            words=_short(", ".join(filter(None, (garment.kind_name, garment.colour))), 34),
            hangs=_short(garment.hangs, 24),
            client=_short(ticket.client.name, 30),
            phone=_short(ticket.client.phone, 20),
            event=_short(ticket.event, 24),
        )
        for ticket in tickets_here(*order)
        for place, garment in enumerate(ticket.garments.all())
    ]


def _short(text: str, most: int) -> str:
    return Truncator(text).chars(most)


@owner_only
@require_safe
def in_case(request: StudioRequest) -> HttpResponse:
    """Who is to be called if the owner cannot work, and what hangs here of theirs, 25 a page.

    What was cancelled comes last.
    """
    rows = sorted(garments_here(), key=lambda row: row.ticket.state == State.CANCELLED)
    pages = [rows[at : at + ON_A_PAGE] for at in range(0, len(rows), ON_A_PAGE)] or [[]]
    return _shown(request.studio, "If I cannot work", "in_case", pages=pages, count=len(rows))


@require_safe
def rack(request: StudioRequest) -> HttpResponse:
    """Every garment that should hang here, by place and number, to tick off; no money."""
    rows = garments_here("pk")
    parts = by_place(rows, request.studio)
    return _shown(request.studio, "Evening list", "rack", parts=parts, count=len(rows))


@require_safe
def measures(request: StudioRequest) -> HttpResponse:
    shown = [measure for measure in all_measures().values() if not measure.retired]
    return _shown(request.studio, "How to measure", "measures", measures=shown, figures=figures())


@require_safe
def cautions(request: StudioRequest) -> HttpResponse:
    told = [caution for caution, _ in PUBLISHED]
    return _shown(request.studio, "Cautions", "cautions", cautions=told)
