"""Reads a slate: binds the forms, makes the draft, and prices it."""

from contextlib import suppress
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any, TypeVar
from uuid import UUID, uuid4

from django.db.models import Q
from django.utils.datastructures import MultiValueDict

from clients.cautions import cautions_for
from jobs.counter.dropoff.catalogue import Catalogue
from jobs.counter.dropoff.drafting import (
    draft_garment,
    draft_line,
    draft_ticket,
    line_of,
    rush_percent,
)
from jobs.counter.dropoff.forms import CounterForm, GarmentForm, LineForm, TicketForm, WhoForm
from jobs.counter.dropoff.reading import ReadGarment, Reading, ReadLine, Standing
from jobs.counter.dropoff.slate import GarmentSlate, LineSlate, Slate, garment_prefix, line_prefix
from jobs.pricing.quote import QuoteError
from jobs.tickets.cautions import tax_place
from jobs.tickets.draft import LineDraft
from jobs.tickets.models import Photo
from jobs.tickets.quoting import freeze_surcharge, freeze_terms, quote_lines
from studio.shop.models import Profile
from studio.shop.money import format_plain

SomeForm = TypeVar("SomeForm", bound=CounterForm)
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


@dataclass
class Reader:
    """What reading needs besides the slate."""

    studio: Profile
    catalogue: Catalogue
    sees_money: bool
    standing: Standing | None = None
    photos: dict[str, Photo] = field(default_factory=dict)
    data: MultiValueDict = field(default_factory=MultiValueDict)

    def garments(self, slate: Slate) -> list[ReadGarment]:
        """What was brought, and what is to be done on it."""
        self.data = slate.flat()
        key = form_key(slate, self.standing)
        self.photos = kept_photos(slate, key, self.standing)
        garments = [self._garment(row, index) for index, row in enumerate(slate.garments)]
        if not self.standing:
            here = [garment for garment in garments if not garment.gone]
            for garment, letter in zip(here, LETTERS, strict=False):
                garment.letter = letter
        return garments

    def read(self, slate: Slate, garments: list[ReadGarment]) -> Reading:
        """The whole, with its price. What holds for all garments may have changed since them."""
        self.data = slate.flat()
        old = self.standing.draft if self.standing else None
        rush = rush_percent(self.catalogue.rules, old)
        ticket = self._form(TicketForm, changes=old is not None, rush=rush)
        draft = draft_ticket(
            ticket.cleaned_data,
            garments=[garment.draft for garment in garments if not garment.gone],
            rush=rush,
            old=old,
            form_key=form_key(slate, self.standing),
            sees_money=self.sees_money,
        )
        reading = Reading(self._form(WhoForm), ticket, garments, draft)
        self._price(reading, rush)
        return reading

    def _form(self, kind: type[SomeForm], prefix: str | None = None, **facts: Any) -> SomeForm:
        form = kind(
            self.data, prefix=prefix, studio=self.studio, sees_money=self.sees_money, **facts
        )
        form.full_clean()
        return form

    def _garment(self, row: GarmentSlate, index: int) -> ReadGarment:
        prefix, kind_pk = garment_prefix(index), row.typed.text("kind")
        old = self.standing.garment(row.typed.text("pk")) if self.standing else None
        kind = self.catalogue.kinds.get(kind_pk)
        form = self._form(GarmentForm, prefix, named_by_hand=not (old or kind))
        wear = form.cleaned_data.get("worn") or "worn"
        same_wear = old is not None and old.worn == wear
        lines = [
            self._line(line, index, place, wear=wear, keeps_tax=same_wear)
            for place, line in enumerate(row.lines)
        ]
        cautions = cautions_for(
            concern=kind.concern if kind else "",
            works=[line.draft.name for line in lines if not line.gone],
            new=wear == "new",
            taxed_at=tax_place(self.studio),
        )
        photos = [self.photos[pk] for pk in row.typed.get("photos", []) if pk in self.photos]
        draft = draft_garment(
            form.cleaned_data,
            kind=kind,
            old=old,
            lines=[line.draft for line in lines if not line.gone],
            photos=[photo.pk for photo in photos],
        )
        return ReadGarment(
            index=index,
            prefix=prefix,
            typed=row.typed,
            form=form,
            draft=draft,
            letter=self.standing.letters.get(draft.pk or 0, "") if self.standing else "",
            lines=lines,
            offered=self.catalogue.offered(kind_pk),
            photos=photos,
            wrong_pictures=row.wrong_pictures,
            cautions=cautions,
            read=[one.key for one in cautions if one.key in row.typed.get("read", [])],
        )

    def _line(
        self, row: LineSlate, garment: int, index: int, *, wear: str, keeps_tax: bool
    ) -> ReadLine:
        prefix = line_prefix(garment, index)
        old = self.standing.line(row.typed.text("pk")) if self.standing else None
        work = self.catalogue.operations.get(row.typed.text("operation"))
        start = old or (line_of(work) if work else LineDraft(name="", unit_price=0))
        surcharges = {s.name: freeze_surcharge(s) for s in self.catalogue.surcharges}
        surcharges |= {facts["name"]: facts for facts in start.surcharges}
        form = self._form(
            LineForm,
            prefix,
            surcharges=list(surcharges),
            named_by_hand=not start.name,
            usual_price=format_plain(start.unit_price, self.studio.currency) if start.name else "",
            usual_minutes=start.minutes_each,
        )
        tax = start.tax if keeps_tax and old else self.catalogue.taxes[wear]
        return ReadLine(
            index=index,
            prefix=prefix,
            typed=row.typed,
            form=form,
            draft=draft_line(form.cleaned_data, start, tax=tax, surcharges=surcharges),
            asks_amount=work is None or work.takes_amount or bool(row.typed.text("amount")),
        )

    def _price(self, reading: Reading, rush: Decimal) -> None:
        """Price what there is, line by line, and the whole, and what a rush comes to."""
        lines = [line for garment in reading.standing for line in garment.standing_lines]
        reading.trouble = self.catalogue.tax_trouble if lines else ""
        if not lines or reading.trouble:
            return
        terms = (
            self.standing.ticket.terms
            if self.standing
            else freeze_terms(self.studio, self.catalogue.rules)
        )
        drafts = [line.draft for line in lines]
        try:
            reading.quote = quote_lines(reading.draft, drafts, terms)
        except QuoteError as wrong:
            reading.trouble = str(wrong)
            return
        for line, quoted in zip(lines, reading.quote.lines, strict=True):
            line.quoted = quoted
        with suppress(QuoteError):
            calm, hurried = (
                quote_lines(replace(reading.draft, rush_percent=percent), drafts, terms).gross
                for percent in (Decimal(0), rush)
            )
            reading.rush_fee = hurried - calm


def form_key(slate: Slate, standing: Standing | None) -> UUID:
    """The key that makes a double click one ticket; a key that is none is given anew."""
    if standing:
        return standing.draft.form_key
    try:
        return UUID(slate.typed.text("form_key"))
    except ValueError:
        fresh = uuid4()
        slate.typed.put(form_key=fresh)
        return fresh


def kept_photos(slate: Slate, key: UUID, standing: Standing | None) -> dict[str, Photo]:
    """The photographs that this form may show: its own, and those of the ticket it changes."""
    named = {pk for garment in slate.garments for pk in garment.typed.get("photos", [])}
    known = [int(pk) for pk in named if pk.isdecimal() and len(pk) < 19]
    mine = Q(form_key=key)
    if standing:
        mine |= Q(garment__ticket=standing.ticket)
    return {str(photo.pk): photo for photo in Photo.objects.filter(mine, pk__in=known)}
