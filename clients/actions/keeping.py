"""A new client, and what is known of one."""

from collections.abc import Collection, Mapping

from django.db import transaction

from clients.actions.locking import held
from clients.models import Client
from clients.queries import alike
from studio.shop.numbers import lock

MOST_SHOWN = 8


class AlikeError(Exception):
    """Entries with this name or number are there already, and nobody has looked at them."""

    def __init__(self, found: list[Client]) -> None:
        self.found = found
        super().__init__("A client with this name or phone number is there already.")


def add_client(*, facts: Mapping[str, str], seen: Collection[int] = ()) -> Client:
    """A new entry. Sent twice, the second finds the first and refuses.

    ``seen`` are the keys of the clients that were looked at and are somebody else. Raises
    AlikeError if there are others with the same name or phone number.
    """
    with transaction.atomic():
        lock("clients")
        found = alike(facts["name"], facts.get("phone", ""))
        if unseen := list(found.exclude(pk__in=seen)[:MOST_SHOWN]):
            raise AlikeError(unseen)
        return Client.objects.create(**facts)


def change_client(*, client: Client, facts: Mapping[str, str]) -> Client:
    """Other facts; what was agreed and invoiced keeps the old ones.

    Raises GoneError where the entry was merged away or erased.
    """
    with transaction.atomic():
        client = held(client)
        for name, value in facts.items():
            setattr(client, name, value)
        client.save(update_fields=[*facts])
    return client
