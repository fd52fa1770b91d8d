"""From what the forms read to the plain draft that becomes a ticket.

Only fields that could be read are used; the others leave what the price list or the standing
ticket says, so that the running total is there while something is still wrong.
"""

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from jobs.counter.dropoff.condition import put_together
from jobs.pricing.models import GarmentKind, Operation, PriceRules
from jobs.tickets.amounts import with_unit
from jobs.tickets.draft import GarmentDraft, LineDraft, TicketDraft
from studio.shop import clock

Said = dict[str, Any]
Surcharges = dict[str, dict[str, Any]]


def line_of(operation: Operation) -> LineDraft:
    """One piece of this work as the price list has it today."""
    return LineDraft(
        name=operation.name,
        unit_price=operation.price,
        minutes_each=operation.minutes,
        fitting_first=operation.fitting_first,
        work_order=operation.work_order,
        stitch=operation.stitch,
        operation_id=operation.pk,
    )


def draft_line(
    said: Said, start: LineDraft, *, tax: Mapping[str, Any] | None, surcharges: Surcharges
) -> LineDraft:
    """``start`` is the list's line, the standing one, or a blank one for work done to order."""
    length = said.get("amount")
    price, minutes = said.get("price"), said.get("minutes")
    return replace(
        start,
        name=start.name or said.get("name", ""),
        unit_price=start.unit_price if price is None else price,
        minutes_each=start.minutes_each if minutes is None else minutes,
        quantity=said.get("quantity") or 1,
        surcharges=[surcharges[name] for name in said.get("surcharges", [])],
        tax=dict(tax) if tax else None,
        amount_mm=length.mm if length else None,
        amount_typed=with_unit(length) if length else "",
        basis=said.get("basis", ""),
        measure=said.get("measure", ""),
        note=said.get("note", ""),
    )


def draft_garment(
    said: Said,
    *,
    kind: GarmentKind | None,
    old: GarmentDraft | None,
    lines: list[LineDraft],
    photos: list[int],
) -> GarmentDraft:
    heel = said.get("heel")
    start = old or GarmentDraft(
        kind_name=kind.name if kind else said.get("kind_name", ""),
        kind_id=kind.pk if kind else None,
        lines=[],
    )
    return replace(
        start,
        lines=lines,
        colour=said.get("colour", ""),
        description=said.get("description", ""),
        condition=put_together(said.get("marks", []), said.get("condition", "")),
        washed=said.get("washed", ""),
        worn=said.get("worn") or "worn",
        things_left=said.get("things_left", ""),
        heel_mm=heel.mm if heel else None,
        heel_typed=with_unit(heel) if heel else "",
        fibre=said.get("fibre", ""),
        iron=said.get("iron", ""),
        photos=photos,
    )


def draft_ticket(
    said: Said,
    *,
    garments: list[GarmentDraft],
    rush: Decimal,
    old: TicketDraft | None,
    form_key: UUID,
    sees_money: bool,
) -> TicketDraft:
    """A helper's draft keeps whatever was agreed about money."""
    draft = TicketDraft(
        garments=garments,
        promise_at=promised(said, old) or clock.now(),
        wanted_by=said.get("wanted_by"),
        event=said.get("event", ""),
        note=said.get("note", ""),
        rush_percent=rush if said.get("rush") else Decimal(0),
        form_key=form_key,
    )
    if sees_money:
        draft.discount_percent = said.get("discount_percent") or Decimal(0)
        draft.discount_amount = said.get("discount_amount") or 0
        draft.deposit = said.get("deposit")
    elif old:
        draft.discount_percent = old.discount_percent
        draft.discount_amount = old.discount_amount
        draft.deposit = old.deposit
    return draft


def promised(said: Said, old: TicketDraft | None) -> datetime | None:
    """The moment that day and time make; None while either is missing.

    The page shows whole minutes: a promise that was left as it stood stays to the second.
    """
    day, hour = said.get("promise_day"), said.get("promise_time")
    if day is None or hour is None:
        return None
    moment = clock.at(day, hour)
    stands = old is not None and moment == old.promise_at.replace(second=0, microsecond=0)
    return old.promise_at if old and stands else moment


def rush_percent(rules: PriceRules, old: TicketDraft | None) -> Decimal:
    """A rush that was agreed keeps its percentage."""
    return (old.rush_percent if old else Decimal(0)) or rules.rush_percent
