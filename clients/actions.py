"""The verbs of this room: take a client on, change what is known, make two entries one."""

from collections.abc import Collection, Iterator, Mapping

from django.apps import apps
from django.db import models, transaction

from clients.files import Verdict, match
from clients.models import Client, ClientMerge
from clients.queries import alike
from studio.shop import clock
from studio.shop.files import Row
from studio.shop.models import User
from studio.shop.numbers import lock


class GoneError(Exception):
    """The entry was merged into another or erased meanwhile."""


def held(client: Client) -> Client:
    """The client read again and held until the transaction ends. Raises GoneError."""
    found = Client.objects.select_for_update().get(pk=client.pk)
    if found.merged_into_id or found.erased_at:
        raise GoneError("This client's entry is no longer in use. Choose the client again.")
    return found


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


class MergeError(Exception):
    """Why two entries cannot become one, or not be parted again."""


def merge(*, keep: Client, other: Client, by: User, facts: Mapping[str, str]) -> ClientMerge:
    """Everything that belongs to ``other`` moves to ``keep``, whose facts become ``facts``.

    Rows of other rooms are found through the database's own relations. ``other`` stays as an
    empty entry that leads to ``keep``. Sent twice, the second changes nothing. Raises MergeError.
    """
    with transaction.atomic():
        held = Client.objects.select_for_update().order_by("pk").in_bulk([keep.pk, other.pk])
        kept, gone = held[keep.pk], held[other.pk]
        if gone.merged_into_id == kept.pk:
            return kept.merges.filter(gone=gone, undone_at=None).latest("pk")
        _check(kept, gone)
        moved = {key: _move(key, gone, kept) for key in _relations()}
        changed = {
            name: {"before": getattr(kept, name), "after": value}
            for name, value in facts.items()
            if getattr(kept, name) != value
        }
        _set(kept, {name: fact["after"] for name, fact in changed.items()})
        _set(gone, {"merged_into": kept})
        return ClientMerge.objects.create(
            kept=kept,
            gone=gone,
            moved={key: rows for key, rows in moved.items() if rows},
            facts=changed,
            by=by,
            at=clock.now(),
        )


def unmerge(*, merged: ClientMerge) -> ClientMerge:
    """What the merge moved goes back; what came later, or was changed by hand since, stays.

    Merges into one entry are undone from the last. Sent twice, the second changes nothing.
    Raises MergeError.
    """
    with transaction.atomic():
        undone = ClientMerge.objects.select_for_update().get(pk=merged.pk)
        held = (
            Client.objects.select_for_update()
            .order_by("pk")
            .in_bulk([undone.kept_id, undone.gone_id])
        )
        kept, gone = held[undone.kept_id], held[undone.gone_id]
        if undone.undone_at:
            return undone
        if kept.merged_into_id or kept.last_merge != undone:
            raise MergeError("There was another merge since. Undo that one first.")
        if kept.erased_at or gone.erased_at:
            raise MergeError("One of the two was erased since.")
        for key, rows in undone.moved.items():
            _move(key, kept, gone, rows)
        still = {
            name: fact["before"]
            for name, fact in undone.facts.items()
            if getattr(kept, name) == fact["after"]
        }
        _set(kept, still)
        _set(gone, {"merged_into": None})
        undone.undone_at = clock.now()
        undone.save(update_fields=["undone_at"])
        return undone


def _check(kept: Client, gone: Client) -> None:
    if kept == gone:
        raise MergeError("These are the same entry.")
    for client in (kept, gone):
        if client.merged_into_id or client.erased_at:
            raise MergeError(f"{client} is no longer an entry of its own.")


def _relations() -> Iterator[str]:
    """Every column of any table that names a client, such as ``tickets.Ticket.client``.

    The tables between many and many are among them. Merges themselves stay where they are.
    """
    relations = Client._meta.get_fields(include_hidden=True)  # noqa: SLF001 -- documented by Django
    for relation in relations:
        if isinstance(relation, models.ManyToOneRel) and relation.related_model is not ClientMerge:
            yield str(relation.field)


def _move(key: str, source: Client, target: Client, only: list | None = None) -> list:
    """Rows of ``source`` go to ``target``; gives their primary keys."""
    label, _, field = key.rpartition(".")
    model = apps.get_model(label)
    rows = model._base_manager.filter(**{field: source})  # noqa: SLF001 -- documented by Django
    if only is not None:
        rows = rows.filter(pk__in=only)
    keys = list(rows.values_list("pk", flat=True))
    rows.filter(pk__in=keys).update(**{field: target})
    return keys


def _set(client: Client, values: Mapping[str, object]) -> None:
    for name, value in values.items():
        setattr(client, name, value)
    if values:
        client.save(update_fields=[*values])


def import_clients(*, rows: list[Row], anyway: Collection[int] = ()) -> tuple[int, int]:
    """Add who is new, fill in what was not known of who is here; all of it or nothing.

    How many were added, and how many completed. Who only resembles somebody is left out, unless
    the line is in ``anyway``. Sent twice, the second finds everybody here.
    """
    with transaction.atomic():
        lock("clients")
        added, completed = [], 0
        for found in match(rows, anyway):
            if found.verdict == Verdict.NEW:
                client = Client(**found.row.cells)
                client.fill_keys()
                added.append(client)
            elif found.client and found.gaps:
                _set(found.client, found.gaps)
                completed += 1
        Client.objects.bulk_create(added, batch_size=500)
        return len(added), completed
