"""A ticket comes in, what was agreed on it changes, and the client puts initials under it."""

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import asdict
from datetime import datetime, time
from decimal import Decimal
from typing import Any
from uuid import uuid4

from django.db import IntegrityError, transaction

from clients.models import Client, GoneError
from jobs.pricing.models import Operation, PriceRules
from jobs.pricing.quote import Quote
from jobs.tickets import quoting, verbs
from jobs.tickets.actions import pads
from jobs.tickets.actions.lock import TicketError, locked
from jobs.tickets.actions.messages import open_client_page
from jobs.tickets.agreements import Delta, agreement_data, deltas, describe_delta, latest_agreement
from jobs.tickets.facts import DRAFTED
from jobs.tickets.fit.answers import Pin
from jobs.tickets.heels import HEEL_FIELDS, set_heel
from jobs.tickets.models import (
    Agreement,
    AskedChange,
    FitSum,
    Garment,
    Initials,
    Line,
    Photo,
    Ticket,
)
from jobs.tickets.quoting import GarmentDraft, LineDraft, TicketDraft
from studio.shop import clock
from studio.shop.history import Change, Step, note, record
from studio.shop.may import Tick
from studio.shop.models import Profile, User
from studio.shop.numbers import year_number
from studio.shop.stored.files import FilePiece, atomic_with_files, save_with_file

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def receive(*, client: Client, draft: TicketDraft, studio: Profile, by: User) -> Ticket:
    """Make a ticket of a drop-off; the same ``draft.form_key`` twice gives the same ticket.

    Raises TicketError, ``jobs.pricing.quote.QuoteError`` or ``AmbiguousAmountError``.
    """
    _check(draft)
    try:
        with transaction.atomic():
            if made := Ticket.objects.filter(form_key=draft.form_key).first():
                return made
            return _receive(client.locked(), draft, studio, by)
    except GoneError as wrong:
        raise TicketError(str(wrong)) from wrong
    except IntegrityError:
        # The other half of a double click was quicker; its ticket is the one.
        if made := Ticket.objects.filter(form_key=draft.form_key).first():
            return made
        raise


def _receive(client: Client, draft: TicketDraft, studio: Profile, by: User) -> Ticket:
    on_pad = pads.take(draft.number) if draft.number else None
    ticket = Ticket(
        number=on_pad.number if on_pad else year_number("", clock.today().year),
        client=client,
        received_at=_received_at(draft),
        received_by=by,
        form_key=draft.form_key,
        currency=studio.currency,
        terms=quoting.freeze_terms(studio, PriceRules.load()),
    )
    quote = _write_terms(ticket, draft)
    ticket.save()
    if on_pad:
        pads.used(on_pad, ticket)
    for index, garment in enumerate(draft.garments):
        _write_garment(ticket, garment, _letter(index))
    agree(ticket, quote, studio, by, reason="", delta="")
    from_pad = {"pad": True} if on_pad else {}
    note(verbs.RECEIVED, about=ticket, by=by, pieces=len(draft.garments), **from_pad)
    if studio.page_address and not on_pad:
        open_client_page(ticket=ticket, by=by)
    return ticket


def _received_at(draft: TicketDraft) -> datetime:
    """Now; of a paper ticket of a day that is over, the noon of that day. Raises TicketError."""
    day, today = draft.received_on, clock.today()
    if not draft.number or day is None or day == today:
        return clock.now()
    if day > today:
        raise TicketError("A ticket cannot be taken in on a day to come.")
    return clock.at(day, time(12))


def change(*, ticket: Ticket, draft: TicketDraft, studio: Profile, by: User, reason: str) -> Ticket:
    """Agree something new: lines, prices, dates. Makes a version; nothing changed makes none.

    What changed without being printed, such as a note, makes no version, but an entry.
    """
    with agreed_anew(ticket, draft, studio, by, reason) as (changed, _):
        return changed


@contextmanager
def agreed_anew(
    ticket: Ticket, draft: TicketDraft, studio: Profile, by: User, reason: str
) -> Iterator[tuple[Ticket, Step]]:
    """As ``change``; what the block keeps in the step is recorded, and undone, with it."""
    _check(draft)
    with record(verbs.EDITED, about=ticket, by=by, fields=[]) as step:
        ticket = locked(ticket)
        if not ticket.is_open:
            raise TicketError(f"Ticket {ticket.number} is {ticket.get_state_display().lower()}.")
        step.keep(
            ticket,
            Garment.objects.filter(ticket=ticket),
            Line.objects.filter(garment__ticket=ticket),
            Photo.objects.filter(form_key=ticket.form_key),
        )
        old = latest_agreement(ticket).data
        quote = _write_terms(ticket, draft)
        _write_garments(ticket, draft)
        fresh = agreement_data(ticket, garments_with_lines(ticket), quote, studio)
        ticket.save()
        if delta := deltas(old, fresh):
            step.verb, step.parameters = verbs.AGREED, {"delta": delta, "reason": reason}
            _next_version(ticket)
            agree(ticket, quote, studio, by, reason=reason, delta=describe_delta(old, fresh))
        else:
            step.parameters["fields"] = _changed_fields(step.changes())
        yield ticket, step


@transaction.atomic
def move_promise(
    *, ticket: Ticket, promise_at: datetime, studio: Profile, by: User, reason: str
) -> Ticket:
    """Promise another day and time; all else stays as agreed."""
    ticket = locked(ticket)
    draft = draft_of(ticket)
    draft.promise_at = promise_at
    return change(ticket=ticket, draft=draft, studio=studio, by=by, reason=reason)


def ask_change(
    *,
    ticket: Ticket,
    delta: Sequence[Delta],
    by: User,
    form: str = "",
    promise_at: datetime | None = None,
    pin: dict[str, Any] | None = None,
    reason: str = "",
) -> AskedChange:
    """Keep what ``by`` would change as a question. Raises TicketError where one stands already."""
    with record(verbs.ASKED, about=ticket, by=by, delta=delta) as step:
        ticket = locked(ticket)
        if not ticket.is_open:
            raise TicketError(f"Ticket {ticket.number} is {ticket.get_state_display().lower()}.")
        if AskedChange.objects.filter(ticket=ticket, accepted=None).exists():
            raise TicketError("A change is asked already: the owner answers that first.")
        asked = AskedChange.objects.create(
            ticket=ticket, by=by, at=clock.now(), delta=delta, form=form, promise_at=promise_at,
            pin=pin or {}, reason=reason[:300],
        )  # fmt: skip
        step.add(asked)
    return asked


class _OnlyAskedError(Exception):
    """Takes back what was changed to see what it would come to."""


@transaction.atomic
def ask_amount(
    *,
    line: Line,
    pin: Pin,
    studio: Profile,
    by: User,
    reason: str = "",
    kept: FitSum | None = None,
) -> AskedChange | None:
    """Ask for another amount of a line, of the sum ``kept`` if it is one; None where it is that.

    Raises TicketError as agreeing does, and where a question stands already.
    """
    delta: list[Delta] = []
    with suppress(_OnlyAskedError), amount_agreed(line, pin, studio, by, reason) as (held, step):
        was, delta = held.pinned, step.parameters.get("delta", [])
        raise _OnlyAskedError
    if not delta:
        return None
    asked = {"line": line.pk, "was": was, "sum": kept and kept.pk}
    return ask_change(
        ticket=line.garment.ticket, delta=delta, by=by, reason=reason,
        pin=asked | {name: str(value) for name, value in asdict(pin).items()},
    )  # fmt: skip


def agree_to_amount(*, asked: AskedChange, studio: Profile, by: User) -> None:
    """The amount that was asked for counts. Raises TicketError where the line is another since."""
    facts = asked.pin
    here = Line.objects.select_related("garment__ticket")
    line = here.filter(pk=facts["line"], garment__ticket=asked.ticket).first()
    if line is None:
        raise TicketError("This work is no longer on the garment.")
    if line.pinned != facts["was"]:
        raise TicketError(f"It does not fit any more: {line.name} is {line.pinned} by now.")
    pin = Pin(Decimal(facts["mm"]), facts["amount_typed"], facts["measure"], facts["basis"])
    with amount_agreed(line, pin, studio, by, asked.reason) as (held, step):
        if kept := FitSum.objects.filter(pk=facts["sum"]).first():
            step.keep(kept)
            kept.line, kept.applied_at = held, clock.now()
            kept.save(update_fields=["line", "applied_at"])


def lapse_question(ticket: Ticket, step: Step, by: User) -> None:
    """A question that nobody answered ends with its ticket; it stands again when that is undone."""
    if asked := AskedChange.objects.filter(ticket=ticket, accepted=None).first():
        step.keep(asked)
        asked.accepted, asked.answered_at = False, clock.now()
        asked.save(update_fields=["accepted", "answered_at"])
        note(verbs.LAPSED, about=ticket, by=by, delta=asked.delta)


def is_asked(line: Line, by: User) -> bool:
    """Whether another amount of this line is a question to the owner from ``by``."""
    agreed = line.amount_mm is not None and not line.measure_later
    return agreed and not by.may(Tick.AGREED)


def answer_change(*, asked: AskedChange, accepted: bool, by: User) -> AskedChange:
    """The owner's yes or no. Who says yes carries it out in the same transaction.

    Raises TicketError where it is answered or taken back.
    """
    verb = verbs.ACCEPTED if accepted else verbs.REFUSED
    with record(verb, about=asked.ticket, by=by, delta=asked.delta) as step:
        locked(asked.ticket)
        still = AskedChange.objects.filter(pk=asked.pk, accepted=None).first()
        if still is None:
            raise TicketError("This is answered already.")
        step.keep(asked := still)
        asked.accepted, asked.answered_at, asked.answered_by = accepted, clock.now(), by
        asked.save()
    return asked


@contextmanager
def amount_agreed(
    line: Line, pin: Pin, studio: Profile, by: User, reason: str
) -> Iterator[tuple[Line, Step]]:
    """The amount of a line that is still to be done, agreed anew; see ``agreed_anew``."""
    with transaction.atomic():
        ticket = locked(line.garment.ticket)
        draft = draft_of(ticket)
        drafted = next((other for other in draft.lines if other.pk == line.pk), None)
        if drafted is None:
            raise TicketError("This work is no longer on the garment.")
        line = Line.objects.select_related("garment").get(pk=line.pk)
        if line.done_at:
            raise TicketError(f"{line.name} is done already.")
        drafted.amount_mm, drafted.amount_typed = pin.mm, pin.amount_typed
        drafted.measure, drafted.basis, drafted.measure_later = pin.measure, pin.basis, False
        with agreed_anew(ticket, draft, studio, by, reason) as (_, step):
            yield line, step


def measure(*, line: Line, pin: Pin, studio: Profile, by: User) -> Ticket:
    """Give the amount of work that was to be measured later. Makes a version.

    The same again changes nothing. Raises TicketError when the ticket is closed or the line is
    done or no longer there, and ``AmbiguousAmountError``.
    """
    with amount_agreed(line, pin, studio, by, reason="") as (held, step):
        if step.verb is verbs.AGREED:
            facts = {"letter": held.garment.letter, "name": held.name, "amount": pin.words}
            step.verb, step.parameters = verbs.MEASURED, facts
    return line.garment.ticket


def draft_of(ticket: Ticket) -> TicketDraft:
    """The draft that would leave ``ticket`` as it is: what the change page starts from."""
    garments = [
        GarmentDraft(
            kind_id=garment.kind_id,
            kind_name=garment.kind_name,
            noted={name: getattr(garment, name) for name in DRAFTED},
            photos=[photo.pk for photo in garment.photos.all()],
            pk=garment.pk,
            lines=[
                LineDraft(**{name: getattr(line, name) for name in LINE_FIELDS}, pk=line.pk)
                for line in lines
            ],
        )
        for garment, lines in garments_with_lines(ticket)
    ]
    return TicketDraft(
        garments=garments,
        **{name: getattr(ticket, name) for name in TICKET_FIELDS},
        form_key=ticket.form_key,
    )


def garments_with_lines(ticket: Ticket) -> list[tuple[Garment, list[Line]]]:
    """The garments still on the ticket, each with its lines in the order of work."""
    garments = ticket.garments.filter(removed_at=None).prefetch_related("lines", "photos")
    return [
        (garment, [line for line in garment.lines.all() if line.removed_at is None])
        for garment in garments
    ]


TICKET_FIELDS = [
    "promise_at", "wanted_by", "event", "note", "rush_percent", "discount_percent",
    "discount_amount", "deposit",
]  # fmt: skip
LINE_FIELDS = [
    "operation_id", "name", "unit_price", "quantity", "minutes_each", "surcharges", "tax",
    "amount_mm", "amount_typed", "basis", "measure", "measure_later", "note", "fitting_first",
    "fitting_place", "hang_days", "work_order", "stitch",
]  # fmt: skip


def _check(draft: TicketDraft) -> None:
    if not draft.garments:
        raise TicketError("Add at least one garment.")
    for garment in draft.garments:
        if not garment.lines:
            raise TicketError(f"Say what is to be done on the {garment.kind_name.lower()}.")
    for line in draft.lines:
        line.check_amount()
    if silent := _unmeasured(draft.lines):
        raise TicketError(f"{silent.name}: say how far, or that it is measured later.")


def _unmeasured(lines: Iterable[LineDraft]) -> LineDraft | None:
    """The first that asks how far, and would come in or be left without an amount in silence."""
    bare = [line for line in lines if not (line.amount_typed or line.measure_later)]
    works = {line.operation_id for line in bare if line.operation_id and not line.pk}
    asking = works and set(
        Operation.objects.filter(pk__in=works, takes_amount=True).values_list("pk", flat=True)
    )
    kept = {line.pk for line in bare if line.operation_id and line.pk}
    losing = kept and set(
        Line.objects.filter(pk__in=kept, operation__takes_amount=True)
        .exclude(amount_typed="")
        .values_list("pk", flat=True)
    )
    silent = (
        line for line in bare if (line.pk in losing if line.pk else line.operation_id in asking)
    )
    return next(silent, None)


def _write_terms(ticket: Ticket, draft: TicketDraft) -> Quote:
    """Copy the draft's dates and terms, and what its quote comes to, onto the ticket."""
    for garment in draft.garments:
        garment.lines.sort(key=lambda line: line.work_order)
    quote = quoting.quote_lines(draft, draft.lines, ticket.terms)
    for name in TICKET_FIELDS:
        if name != "deposit":
            setattr(ticket, name, getattr(draft, name))
    ticket.deposit = quote.deposit
    ticket.net, ticket.tax, ticket.gross = quote.net, quote.tax, quote.gross
    ticket.minutes = quote.minutes
    return quote


def _write_garments(ticket: Ticket, draft: TicketDraft) -> None:
    """Make the ticket's garments those of the draft; what is gone keeps its row and letter."""
    kept = {garment.pk for garment in draft.garments if garment.pk}
    gone = ticket.garments.filter(removed_at=None).exclude(pk__in=kept)
    gone.update(removed_at=clock.now())
    used = ticket.garments.count()
    for garment in draft.garments:
        letter = "" if garment.pk else _letter(used)
        used += not garment.pk
        _write_garment(ticket, garment, letter)


def _write_garment(ticket: Ticket, draft: GarmentDraft, letter: str) -> None:
    facts: dict[str, Any] = {"kind_id": draft.kind_id, "kind_name": draft.kind_name, **draft.noted}
    if draft.pk:
        garment = ticket.garments.get(pk=draft.pk)
        set_heel(garment, facts["heel_mm"], facts["heel_typed"])
        for name, value in facts.items():
            setattr(garment, name, value)
        garment.save(update_fields={*facts, *HEEL_FIELDS})
        kept = {line.pk for line in draft.lines if line.pk}
        gone = garment.lines.filter(removed_at=None).exclude(pk__in=kept)
        gone.update(removed_at=clock.now())
    else:
        garment = Garment.objects.create(ticket=ticket, letter=letter, **facts)
    for line in draft.lines:
        _write_line(garment, line)
    if draft.photos:
        mine = Photo.objects.filter(pk__in=draft.photos, garment=None, form_key=ticket.form_key)
        mine.update(garment=garment)


def _write_line(garment: Garment, draft: LineDraft) -> None:
    facts = asdict(draft)
    pk = facts.pop("pk")
    if pk is None:
        Line.objects.create(garment=garment, **facts)
    else:
        garment.lines.filter(pk=pk, removed_at=None).update(**facts)


def agree_as_it_stands(ticket: Ticket, studio: Profile, by: User | None, *, undone: str) -> None:
    """Write onto the ticket what its rows come to; with what was ``undone`` as a new version."""
    garments = garments_with_lines(ticket)
    lines = [line for _, lines in garments for line in lines]
    quote = quoting.quote_lines(ticket, lines, ticket.terms)
    ticket.net, ticket.tax, ticket.gross = quote.net, quote.tax, quote.gross
    ticket.minutes = quote.minutes
    ticket.save(update_fields=["net", "tax", "gross", "minutes"])
    if undone and by:
        _next_version(ticket)
        agree(ticket, quote, studio, by, reason="Undone", delta=f"undone: {undone}")


def _next_version(ticket: Ticket) -> None:
    ticket.version += 1
    ticket.save(update_fields=["version"])


def _changed_fields(changes: Iterable[Change]) -> list[tuple[str, str, list[str]]]:
    """Each row that changed: what it is in words, its kind, and which fields."""
    rows = []
    for change in changes:
        kind = change.label.rpartition(".")[2]
        names = sorted(change.names - change.derived)
        if kind in verbs.CARRIERS and names:
            rows.append((_row_words(kind, change.pk), kind, names))
    return rows


def _row_words(kind: str, pk: int) -> str:
    if kind == "garment":
        return Garment.objects.get(pk=pk).letter
    if kind == "line":
        line = Line.objects.select_related("garment").get(pk=pk)
        return f"{line.garment.letter} {line.name}"
    return ""


def agree(
    ticket: Ticket, quote: Quote, studio: Profile, by: User, *, reason: str, delta: str
) -> Agreement:
    return Agreement.objects.create(
        ticket=ticket,
        version=ticket.version,
        agreed_at=clock.now(),
        agreed_by=by,
        reason=reason[:300],
        delta=delta[:300],
        data=agreement_data(ticket, garments_with_lines(ticket), quote, studio),
    )


def _letter(index: int) -> str:
    """A, B, ... Z, AA, AB, ..."""
    first, second = divmod(index, len(LETTERS))
    return (LETTERS[first - 1] if first else "") + LETTERS[second]


def give_initials(
    *, agreement: Agreement, way: str, letters: str, by: User, ink: bytes = b""
) -> Initials:
    """The client's initials under the current version. ``ink`` is the PNG drawn on the glass.

    Given once they stay: asked again they are those that were given first. Raises TicketError for
    a version that is not the current one, on a closed ticket, without letters, and on the glass
    without ink.
    """
    initials = Initials(agreement=agreement, by=by)
    piece = FilePiece(initials.file, f"{uuid4().hex}.png", ink)
    with atomic_with_files(*[piece] if ink else []):
        ticket = locked(agreement.ticket)
        if given := Initials.objects.filter(agreement=agreement).first():
            return given
        if not ticket.is_open:
            raise TicketError(f"Ticket {ticket.number} is {ticket.get_state_display().lower()}.")
        if agreement.version != ticket.version:
            raise TicketError(
                f"Version {ticket.version} has been agreed since. Look at that first."
            )
        letters = letters.strip()
        if not letters:
            raise TicketError("Write the client's initials.")
        way = Initials.Medium(way)
        if (way == Initials.Medium.GLASS) != bool(ink):
            raise TicketError("Initials on screen are drawn, those on paper are not.")
        initials.way, initials.letters, initials.at = way, letters, clock.now()
        if ink:
            save_with_file(piece)
        else:
            initials.save()
        facts = {"version": agreement.version, "way": way.label, "letters": letters}
        note(verbs.INITIALLED, about=ticket, by=by, **facts)
        return initials
