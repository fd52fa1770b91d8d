"""What is known at the counter before a word is read, loaded once for the whole page."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db.models import Q
from django.http import QueryDict

from clients.cautions.garments import TaxPlace
from jobs.pricing.models import GarmentKind, Operation, PriceRules, Surcharge
from jobs.tickets.draft import GarmentDraft, LineDraft, TicketDraft
from jobs.tickets.fit.cloth_ends import Ends
from jobs.tickets.models import Photo, Ticket
from jobs.tickets.quoting import freeze_surcharges, freeze_terms, tax_place
from studio.shop import clock
from studio.shop.http import StudioRequest
from studio.shop.models import Profile
from studio.shop.taxes import TaxError, TaxFacts, tax_for


@dataclass(frozen=True)
class StandingTicket:
    """The ticket that is being changed, as it stands; ``letters`` by the garment's key."""

    ticket: Ticket
    draft: TicketDraft
    letters: dict[int, str]

    def garment(self, pk: str) -> GarmentDraft | None:
        return next((row for row in self.draft.garments if str(row.pk) == pk), None)

    def cloth_ends(self, pk: int) -> Ends:
        """What that garment remembers of where its cloth ends."""
        ends: dict[int, Ends] = {
            garment.pk: garment.cloth_ends for garment in self.ticket.garments.all()
        }
        return ends.get(pk, {})

    def line(self, pk: str) -> LineDraft | None:
        return next((row for row in self.draft.lines if str(row.pk) == pk), None)


@dataclass(frozen=True)
class DropOffDesk:
    """Keys are text, as pages post them.

    ``operations`` holds those of the list and any other that the form still names. ``surcharges``
    by name, ``terms`` and ``taxes`` are frozen as a ticket keeps them. ``photos`` are those that
    this form may show: its own, and those of the ticket it changes.
    """

    studio: Profile
    sees_money: bool
    standing: StandingTicket | None
    form_key: UUID
    now: datetime
    today: date
    kinds: dict[str, GarmentKind]
    operations: dict[str, Operation]
    surcharges: dict[str, dict[str, Any]]
    terms: dict[str, Any]
    rush_percent: Decimal
    taxes: dict[str, TaxFacts | None]
    tax_trouble: str
    taxed_at: TaxPlace | None
    photos: dict[str, Photo]


def load(
    request: StudioRequest, data: QueryDict, form_key: UUID, standing: StandingTicket | None
) -> DropOffDesk:
    """Read everything in a number of queries that does not grow with the form."""
    studio, rules, today = request.studio, PriceRules.load(), clock.today()
    kinds = {str(kind.pk): kind for kind in GarmentKind.objects.on_offer()}
    works = {str(work.pk): work for kind in kinds.values() for work in kind.operations.all()}
    # Operations taken off the list while the form lay open.
    unlisted = Operation.objects.in_bulk(keys(_named(data, "operation") - works.keys()))
    works |= {str(pk): work for pk, work in unlisted.items()}
    mine = Q(form_key=form_key)
    if standing:
        mine |= Q(garment__ticket=standing.ticket)
    photos = Photo.objects.filter(mine, pk__in=keys(_named(data, "photos")))
    taxes: dict[str, TaxFacts | None] = {}
    trouble = ""
    for wear in ("worn", "new"):
        try:
            taxes[wear] = tax_for(studio, wear, today)
        except TaxError as wrong:
            taxes[wear], trouble = None, str(wrong)
    return DropOffDesk(
        studio=studio,
        sees_money=request.user.is_owner,
        standing=standing,
        form_key=form_key,
        now=clock.now(),
        today=today,
        kinds=kinds,
        operations=works,
        surcharges=freeze_surcharges(Surcharge.objects.filter(active=True)),
        terms=standing.ticket.terms if standing else freeze_terms(studio, rules),
        # A rush that was agreed keeps its percentage.
        rush_percent=(standing.draft.rush_percent if standing else None) or rules.rush_percent,
        taxes=taxes,
        tax_trouble=trouble,
        taxed_at=tax_place(studio),
        photos={str(photo.pk): photo for photo in photos},
    )


def keys(values: Iterable[str]) -> list[int]:
    """Those of the posted values that can be a row's key."""
    return [int(value) for value in values if value.isdecimal() and len(value) < 19]


def _named(data: QueryDict, field: str) -> set[str]:
    """What the rows of the form name in this field."""
    lists = (values for name, values in data.lists() if name.endswith(f"-{field}"))
    return {value for values in lists for value in values}


def row_numbers(data: Iterable[str], prefix: str) -> list[int]:
    """The numbers of the rows that these field names speak of, ``g0-colour`` under ``g`` of 0."""
    row = re.compile(rf"{re.escape(prefix)}(\d{{1,3}})-", re.ASCII)
    return sorted({int(found[1]) for name in data if (found := row.match(name))})


def write(data: QueryDict, prefix: str = "", **values: Any) -> None:
    """Put values into the fields of the form with this prefix: one as text, or a list of them."""
    for name, value in values.items():
        texts = value if isinstance(value, list) else [str(value)]
        data.setlist(f"{prefix}-{name}" if prefix else name, texts)
