"""Many clients at once, from a file."""

from collections.abc import Collection
from dataclasses import dataclass

from django.db import transaction

from clients.entries import Entry
from clients.models import Client
from clients.sorting import Verdict, sort_out
from studio.shop.numbers import lock


@dataclass(frozen=True)
class Taken:
    """How many entries became clients, completed one, or were left out."""

    added: int
    completed: int
    left_out: int


def take_in(*, entries: list[Entry], anyway: Collection[int] = ()) -> Taken:
    """Add who is new, fill in what was not known of who is here; all of it or nothing.

    Who only resembles somebody is left out, unless the line is in ``anyway``. Sent twice, the
    second finds everybody here.
    """
    with transaction.atomic():
        lock("clients")
        added, completed = [], 0
        for found in sort_out(entries, anyway):
            if found.verdict == Verdict.NEW:
                client = Client(**found.entry.facts)
                client.fill_keys()
                added.append(client)
            elif found.client and found.gaps:
                _complete(found.client, found.gaps)
                completed += 1
        Client.objects.bulk_create(added, batch_size=500)
        return Taken(len(added), completed, len(entries) - len(added) - completed)


def _complete(client: Client, gaps: dict[str, str]) -> None:
    for name, value in gaps.items():
        setattr(client, name, value)
    client.save(update_fields=[*gaps])
