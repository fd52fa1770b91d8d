"""How the slate looks before anybody has typed: blank, as last time, or as the ticket stands."""

from collections.abc import Iterable
from uuid import uuid4

from jobs.counter.dropoff.catalogue import Catalogue
from jobs.counter.dropoff.condition import take_apart
from jobs.counter.dropoff.intents import add_garment, add_line, listed_line
from jobs.counter.dropoff.slate import GarmentSlate, LineSlate, Slate, Typed
from jobs.tickets.draft import GarmentDraft, LineDraft, TicketDraft
from studio.shop import clock
from studio.shop.models import Profile
from studio.shop.money import format_plain
from studio.shop.taxes import plain_percent
from studio.shop.week import Week, first_working_day


def blank(studio: Profile, week: Week) -> Slate:
    """Nothing brought yet; promised for the first working day after the usual lead time."""
    slate = Slate(focus="id_q")
    slate.typed.put(
        form_key=uuid4(),
        promise_day=first_working_day(studio.lead_days, week).isoformat(),
        promise_time=f"{studio.promise_time:%H:%M}",
    )
    return slate


def bring(slate: Slate, works: Iterable[str], catalogue: Catalogue) -> None:
    """Operations that a link names, each kind of garment once. What is not offered is left out."""
    places: dict[str, str] = {}
    for work in works:
        operation = catalogue.operations.get(work)
        kind = str(operation.garment_kind_id) if operation else ""
        if kind not in catalogue.kinds:
            continue
        if kind not in places:
            places[kind] = str(len(slate.garments))
            add_garment(slate, kind, catalogue, free=False)
        add_line(slate, places[kind], work, catalogue, free=False)
    slate.focus = "id_q"


def again(slate: Slate, last: TicketDraft, catalogue: Catalogue) -> None:
    """The garments and operations of last time, at the list's prices of today.

    What the list no longer offers is left out.
    """
    offered = {surcharge.name for surcharge in catalogue.surcharges}
    for garment in last.garments:
        kind = str(garment.kind_id or "")
        lines = []
        for line in garment.lines:
            work = str(line.operation_id or "")
            if kind not in catalogue.kinds or work not in catalogue.operations:
                continue
            typed = listed_line(work, catalogue)
            typed.put(quantity=line.quantity, amount=line.amount_typed)
            typed["surcharges"] = [s["name"] for s in line.surcharges if s["name"] in offered]
            if line.amount_typed:
                typed.put(basis=line.basis, measure=line.measure)
            lines.append(LineSlate(typed))
        if lines:
            slate.garments.append(GarmentSlate(Typed(kind=[kind], worn=["worn"]), lines))
    slate.focus = "save"


def of_draft(draft: TicketDraft, studio: Profile) -> Slate:
    """The slate that reads back as ``draft``: the change page starts from it."""
    promise = clock.local(draft.promise_at)
    slate = Slate(garments=[_garment(garment) for garment in draft.garments])
    slate.typed.put(
        form_key=draft.form_key,
        promise_day=promise.date().isoformat(),
        promise_time=f"{promise:%H:%M}",
        wanted_by=draft.wanted_by.isoformat() if draft.wanted_by else "",
        event=draft.event,
        note=draft.note,
        rush="on" if draft.rush_percent else "",
        discount_percent=plain_percent(draft.discount_percent) if draft.discount_percent else "",
        discount_amount=_money(draft.discount_amount or None, studio),
        deposit=_money(draft.deposit, studio),
    )
    return slate


def _garment(draft: GarmentDraft) -> GarmentSlate:
    marks, condition = take_apart(draft.condition)
    typed = Typed(photos=[str(pk) for pk in draft.photos], marks=marks)
    typed.put(
        pk=draft.pk,
        kind=draft.kind_id or "",
        kind_name=draft.kind_name,
        colour=draft.colour,
        description=draft.description,
        condition=condition,
        washed=draft.washed,
        worn=draft.worn,
        things_left=draft.things_left,
        heel=draft.heel_typed,
        fibre=draft.fibre,
        iron=draft.iron,
    )
    return GarmentSlate(typed, [LineSlate(_line(line)) for line in draft.lines])


def _line(draft: LineDraft) -> Typed:
    typed = Typed(surcharges=[surcharge["name"] for surcharge in draft.surcharges])
    typed.put(
        pk=draft.pk,
        operation=draft.operation_id or "",
        name=draft.name,
        quantity=draft.quantity,
        amount=draft.amount_typed,
        basis=draft.basis,
        measure=draft.measure,
        note=draft.note,
    )
    return typed


def _money(minor: int | None, studio: Profile) -> str:
    return "" if minor is None else format_plain(minor, studio.currency)
