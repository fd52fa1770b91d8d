"""Whose garments these are: one box that finds a client or makes one."""

from dataclasses import dataclass, field

from clients.models import Client
from clients.queries import alike, find_clients
from jobs.counter.dropoff.slate import Slate
from jobs.counter.dropoff.typed_client import split_typed
from jobs.tickets.actions.receiving import draft_of
from jobs.tickets.draft import TicketDraft
from jobs.tickets.models import State

MOST_ALIKE = 8
FIRST_KIND = "first-kind"


@dataclass
class Who:
    """``matches`` answer the box; ``alike`` are clients with the new one's phone or name.

    ``seen`` are the keys of those that the page had asked about before.
    """

    chosen: Client | None = None
    making: bool = False
    typed: str = ""
    matches: list[Client] = field(default_factory=list)
    alike: list[Client] = field(default_factory=list)
    seen: list[int] = field(default_factory=list)
    last: TicketDraft | None = None


def apply(slate: Slate, intent: str) -> None:
    """Choose, make, or choose again."""
    verb, _, arg = intent.partition(":")
    if verb == "client" and arg.isdecimal():
        choose(slate, arg)
    elif verb in {"enter", "find"} and slate.typed.text("q").strip():
        found = find_clients(slate.typed.text("q"))
        if len(found) == 1:
            choose(slate, str(found[0].pk))
        else:
            slate.focus = "first-match" if found else "new-client"
    elif verb == "new-client":
        begin_new(slate)
    elif verb == "other-client":
        slate.typed.put(client="", new="")
        slate.focus = "id_q"


def choose(slate: Slate, pk: str) -> None:
    slate.typed.put(client=pk, new="", q="")
    slate.focus = FIRST_KIND


def begin_new(slate: Slate) -> None:
    """What was typed goes where it fits; the cursor goes to what is still missing."""
    name, phone = split_typed(slate.typed.text("q"))
    slate.typed.put(client="", new="yes", new_name=name, new_phone=phone)
    missing = "id_new_name" if not name else "id_new_phone" if not phone else FIRST_KIND
    slate.focus = missing


def look(slate: Slate) -> Who:
    """What the page shows of the client, in a number of queries that does not grow."""
    pk, making = slate.typed.text("client"), bool(slate.typed.text("new"))
    if pk.isdecimal() and len(pk) < 19:
        chosen = Client.objects.present().filter(pk=pk).first()
        if chosen:
            return Who(chosen=chosen, last=last_time(chosen))
    if making:
        name, phone = slate.typed.text("new_name"), slate.typed.text("new_phone")
        seen = [int(pk) for pk in slate.typed.get("seen", []) if pk.isdecimal() and len(pk) < 19]
        return Who(making=True, alike=list(alike(name, phone)[:MOST_ALIKE]), seen=seen)
    typed = slate.typed.text("q")
    return Who(typed=typed, matches=find_clients(typed))


def last_time(client: Client) -> TicketDraft | None:
    """The client's last ticket that came to something, as a draft."""
    tickets = client.tickets.exclude(state=State.CANCELLED)
    last = tickets.order_by("-received_at", "-pk").first()
    return draft_of(last) if last else None
