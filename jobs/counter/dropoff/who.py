"""Whose garments these are: one box that finds a client, and what they brought last."""

from dataclasses import dataclass
from functools import cached_property

from django import forms
from django.db.models import OuterRef, Subquery
from django.urls import reverse_lazy

from clients.models import Client
from clients.queries import alike, find_clients
from jobs.counter.dropoff.desk import MOST_ALIKE, AnyValues, CounterForm, hidden, keys, text, words
from jobs.tickets.actions.agree import draft_of
from jobs.tickets.models import State, Ticket
from jobs.tickets.quoting import TicketDraft


@dataclass(frozen=True)
class ClientMatch:
    """A client who may be meant, and the newest of their tickets that came to something."""

    client: Client
    last: Ticket | None

    @property
    def again(self) -> str:
        """What bringing the same again would be: ``Trousers, hem take off 4 cm, each leg``."""
        garments = (
            [row for row in self.last.garments.all() if not row.removed_at] if self.last else []
        )
        lines = [
            f"{garment.kind_name}, {line.name[:1].lower()}{line.name[1:]} {line.pinned}"
            for garment in garments
            if not garment.removed_at
            for line in garment.lines.all()
            if not line.removed_at
        ]
        more = f" and {len(lines) - 1} more" if len(lines) > 1 else ""
        return lines[0].strip() + more if lines else ""


def matches_of(typed: str) -> list[ClientMatch]:
    """The clients that what was typed may mean. Four queries more than to find them."""
    clients = find_clients(typed)
    if not clients:
        return []
    theirs = Ticket.objects.filter(client=OuterRef("pk")).exclude(state=State.CANCELLED)
    newest = theirs.order_by("-received_at", "-pk").values("pk")[:1]
    rows = Client.objects.filter(pk__in=[client.pk for client in clients])
    last = dict(rows.values_list("pk", Subquery(newest)))
    tickets = Ticket.objects.whole().in_bulk([pk for pk in last.values() if pk])
    return [ClientMatch(client, tickets.get(last[client.pk])) for client in clients]


# While somebody types, matching clients appear below the box.
AS_TYPED = {
    "hx-get": reverse_lazy("drop-off-clients"),
    "hx-trigger": "input delay:250ms",
    "hx-target": "#matches",
    "hx-swap": "innerHTML",
    "hx-sync": "this:replace",
}


class WhoForm(CounterForm):
    """Whose garments these are: one box that finds a client, and two fields that make one."""

    client, new, seen = hidden(), hidden(), AnyValues(required=False)
    q = forms.CharField(
        label="Name or phone", max_length=200, required=False,
        widget=text("search", type="search", **AS_TYPED),
    )  # fmt: skip
    new_name = words(Client, "name", "Name")
    new_phone = words(Client, "phone", "Phone", "tel")

    @cached_property
    def chosen(self) -> Client | None:
        pks = keys([self.typed("client")])
        return Client.objects.present().filter(pk__in=pks).first() if pks else None

    @property
    def makes_one(self) -> bool:
        return bool(self.typed("new")) and self.chosen is None

    @cached_property
    def alike(self) -> list[Client]:
        """Clients with the new one's phone or name."""
        return list(alike(self.typed("new_name"), self.typed("new_phone"))[:MOST_ALIKE])

    @property
    def facts(self) -> dict[str, str]:
        """What a new client is made of."""
        return {name: self.answers.get(f"new_{name}", "") for name in ("name", "phone")}

    @property
    def asked_about(self) -> list[int]:
        """The keys of those alike that the page has shown before."""
        return keys(self.answers.get("seen", []))

    @cached_property
    def matches(self) -> list[ClientMatch]:
        return matches_of(self.typed("q"))

    @cached_property
    def last(self) -> TicketDraft | None:
        """The chosen client's last ticket that came to something, as a draft."""
        tickets = Ticket.objects.filter(client=self.chosen).exclude(state=State.CANCELLED)
        last = tickets.order_by("-received_at", "-pk").first() if self.chosen else None
        return draft_of(last) if last else None
