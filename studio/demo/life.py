"""What happens to one demo ticket between its drop-off and today."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from random import Random
from typing import Any
from uuid import UUID

from clients.models import Client
from jobs.billing import actions as billing
from jobs.billing.queries import balance
from jobs.planning import actions as planning
from jobs.pricing.models import GarmentKind, Measure, Operation
from jobs.tickets import actions, photos
from jobs.tickets.draft import GarmentDraft, LineDraft, TicketDraft
from jobs.tickets.models import Ticket
from jobs.tickets.quoting import freeze_surcharge
from studio.demo.catalogue import Catalogue
from studio.demo.drawing import CLOTHS, photograph
from studio.shop import clock
from studio.shop.models import Profile, User
from studio.shop.taxes import tax_for

CONDITIONS = ("", "", "", "small mark near the left pocket", "one button missing", "hem worn thin")
THINGS = ("", "", "", "belt", "shoes", "spare buttons in a bag")
EVENTS = ("a wedding", "a christening", "an interview", "the choir's concert", "a school dance")
REASONS = ("chose another dress", "moved away", "cloth too far gone")


def weekday(moment: datetime, *, back: bool = False) -> datetime:
    """The moment itself, or the same hour on the nearest day on which the studio is open."""
    while clock.local(moment).weekday() > 4:
        moment += timedelta(days=-1 if back else 1)
    return moment


@dataclass
class Life:
    """Everything the demo needs to lead tickets through their days."""

    studio: Profile
    owner: User
    helper: User
    catalogue: Catalogue
    dice: Random
    now: datetime

    def lead(self, client: Client, received: datetime) -> Iterator[datetime]:
        """Receive a ticket and bring it as far as it would be by now.

        Yields the moment of each step before taking it, so that the steps of many tickets can be
        taken in the order of time.
        """
        yield received
        ticket = self._receive(client, received)
        if self.dice.random() < 0.35:
            self._pay(ticket, max(ticket.gross * 3 // 10, 1), "deposit")
        age = (self.now - received).days
        if self.dice.random() < 0.05 and age > 2:
            yield self._by(weekday(received + timedelta(days=1)))
            actions.cancel(ticket=ticket, why=self.dice.choice(REASONS), by=self.owner)
            return
        if self.dice.random() < 0.1 and age > 5:
            yield from self._wait(ticket, weekday(received + timedelta(days=1)))
        yield from self._work(ticket, received)

    def bring(self, client: Client, operation: Operation) -> Ticket:
        """One garment comes in now for this one thing, promised for the usual day."""
        day, key = clock.today(), self.key()
        garment = self._piece(operation.garment_kind, [operation], day, key)
        garment.lines[0].surcharges = []
        draft = TicketDraft(
            garments=[garment],
            promise_at=self._promise(day, self.studio.lead_days),
            form_key=key,
        )
        return actions.receive(client=client, draft=draft, studio=self.studio, by=self.owner)

    def _work(self, ticket: Ticket, received: datetime) -> Iterator[datetime]:
        """Sew a day or so before the promise; the client comes a few days after it."""
        ready = weekday(
            ticket.promise_at - timedelta(hours=self.dice.choice([2, 5, 22, 28])), back=True
        )
        if ready > self.now:
            begun = ready - timedelta(days=2) < self.now and self.dice.random() < 0.7
            if begun and self.now - received > timedelta(hours=3):
                yield self._by(self.now - timedelta(hours=2))
                self._begin(ticket)
            return
        yield self._by(max(ready, received + timedelta(hours=1)))
        actions.tick_all(ticket=ticket, by=self.dice.choice([self.owner, self.helper]))
        actions.mark_ready(ticket=ticket, by=self.owner)
        if self.dice.random() < 0.4:
            billing.issue_invoice(
                ticket=ticket, by=self.owner, studio=self.studio, form_key=self.key()
            )
        days = self.dice.choice([0, 0, 1, 1, 2, 3, 5, 9])
        collected = weekday(ticket.promise_at + timedelta(days=days))
        if collected < self.now and self.dice.random() < 0.93:
            yield collected
            self._collect(ticket)

    def _begin(self, ticket: Ticket) -> None:
        lines = actions.open_lines(ticket)
        actions.start(ticket=ticket, by=self.owner)
        if len(lines) > 1:
            actions.tick(line=lines[0], by=self.owner)

    def _collect(self, ticket: Ticket) -> None:
        owed = balance(ticket)
        if owed > 0 and self.dice.random() < 0.95:
            self._pay(ticket, owed, "balance")
        garments = list(ticket.garments.filter(removed_at=None))
        worn = [garment for garment in garments if self.dice.random() < 0.5]
        actions.hand_over(ticket=ticket, garments=garments, tried_on=worn, by=self.owner)

    def _pay(self, ticket: Ticket, amount: int, kind: str) -> None:
        billing.record_payment(
            ticket=ticket,
            amount=amount,
            method=self.dice.choices(["cash", "card", "transfer"], [4, 5, 1])[0],
            kind=kind,
            by=self.owner,
            studio=self.studio,
            form_key=self.key(),
        )

    def _wait(self, ticket: Ticket, since: datetime) -> Iterator[datetime]:
        """It waits for two days or over a weekend, and the promise with it."""
        what = self.dice.choice(["part", "client", "washing"])
        line = actions.open_lines(ticket)[0]
        yield since
        wait = planning.hold(line=line, what=what, question="", expected=None, by=self.owner)
        yield weekday(since + timedelta(days=2))
        planning.end_wait(wait=wait, studio=self.studio, by=self.owner)
        ticket.refresh_from_db()

    def _receive(self, client: Client, received: datetime) -> Ticket:
        day = clock.local(received).date()
        key = self.key()
        pieces = self.dice.choices([1, 2, 3, 5], [70, 20, 8, 2])[0]
        event = self.dice.choice(EVENTS) if self.dice.random() < 0.2 else ""
        lead = self.studio.lead_days + self.dice.choice([-3, -1, 0, 0, 0, 2, 7])
        rush = self.dice.random() < 0.06
        promise = self._promise(day, 2 if rush else lead)
        draft = TicketDraft(
            garments=[self._garment(day, key) for _ in range(pieces)],
            promise_at=promise,
            wanted_by=clock.local(promise).date() + timedelta(days=3) if event else None,
            event=event,
            rush_percent=self.catalogue.rules.rush_percent if rush else Decimal(0),
            form_key=key,
        )
        taker = self.dice.choices([self.owner, self.helper], [4, 1])[0]
        return actions.receive(client=client, draft=draft, studio=self.studio, by=taker)

    def _garment(self, day: date, key: UUID) -> GarmentDraft:
        return self._piece(*self.catalogue.draw(self.dice), day, key)

    def _piece(
        self, kind: GarmentKind, operations: list[Operation], day: date, key: UUID
    ) -> GarmentDraft:
        colour = self.dice.choice(list(CLOTHS))
        wear = "new" if self.dice.random() < 0.2 else "worn"
        pictures = []
        if self.dice.random() < 0.3:
            upload = photograph(kind.name, colour, self.dice)
            pictures = [photos.keep(upload, form_key=key).pk]
        return GarmentDraft(
            kind_name=kind.name,
            kind_id=kind.pk,
            colour=colour,
            condition=self.dice.choice(CONDITIONS),
            washed=self.dice.choice(["", "yes", "yes", "no"]),
            worn=wear,
            things_left=self.dice.choice(THINGS),
            photos=pictures,
            lines=[self._line(operation, wear, day) for operation in operations],
        )

    def _line(self, operation: Operation, wear: str, day: date) -> LineDraft:
        extra = self.dice.random() < 0.25
        millimetres = Decimal(self.dice.randrange(10, 95, 5))
        pinned: dict[str, Any] = {}
        if operation.takes_amount:
            pinned = {
                "amount_mm": millimetres,
                "amount_typed": f"{millimetres / 10:g} cm",
                "basis": operation.usual_basis or "each",
                "measure": operation.usual_measure or Measure.TAKE_OFF,
            }
        return LineDraft(
            name=operation.name,
            unit_price=operation.price,
            minutes_each=operation.minutes,
            surcharges=[freeze_surcharge(self.dice.choice(self.catalogue.surcharges))]
            if extra and self.catalogue.surcharges
            else [],
            tax=tax_for(self.studio, wear, day),
            fitting_first=operation.fitting_first,
            work_order=operation.work_order,
            stitch=operation.stitch,
            operation_id=operation.pk,
            **pinned,
        )

    def _promise(self, day: date, days: int) -> datetime:
        wanted = day + timedelta(days=max(days, 1))
        while wanted.weekday() > 4:
            wanted += timedelta(days=1)
        return clock.at(wanted, self.studio.promise_time or time(17))

    def _by(self, moment: datetime) -> datetime:
        """That moment, or just now where it has not come yet."""
        return min(moment, self.now)

    def key(self) -> UUID:
        return UUID(int=self.dice.getrandbits(128), version=4)
