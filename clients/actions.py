"""The verbs of this room: take a client on, change what is known, make two entries one."""

from collections.abc import Collection, Iterator, Mapping

from django.db import transaction
from django.db.models import ManyToOneRel

from clients import verbs
from clients.files import Verdict, match
from clients.models import Client
from clients.queries import alike
from studio.shop import history
from studio.shop.files import Row
from studio.shop.history import record
from studio.shop.models import Entry, User
from studio.shop.numbers import lock

MOST_SHOWN = 8


class AlikeError(Exception):
    """Entries with this name or number are there already, and nobody has looked at them."""

    def __init__(self, clients: list[Client]) -> None:
        self.clients = clients
        super().__init__("A client with this name or phone number is there already.")


def add_client(*, facts: Mapping[str, str], by: User, seen: Collection[int] = ()) -> Client:
    """A new entry. Sent twice, the second finds the first and refuses.

    ``seen`` are the keys of the clients that were looked at and are somebody else. Raises
    AlikeError if there are others with the same name or phone number.
    """
    client = Client(**facts)
    with record(verbs.ADD, about=client, by=by) as step:
        lock("clients")
        others = alike(client.name, client.phone).exclude(pk__in=seen)
        if unseen := list(others[:MOST_SHOWN]):
            raise AlikeError(unseen)
        client.save()
        step.add(client)
    return client


def change_client(*, client: Client, facts: Mapping[str, str], by: User) -> Client:
    """Other facts; what was agreed and invoiced keeps the old ones.

    Raises GoneError where the entry was merged away or erased.
    """
    with transaction.atomic():
        client = client.locked()
        differing = [name for name, value in facts.items() if getattr(client, name) != value]
        labels = [str(getattr(Client, name).field.verbose_name) for name in differing]
        with record(verbs.CHANGE, about=client, by=by, facts=labels) as step:
            step.keep(client)
            _set(client, facts)
    return client


class MergeError(Exception):
    """Why two entries cannot become one, or not be parted again."""


def merge(*, keep: Client, other: Client, by: User, facts: Mapping[str, str]) -> Entry:
    """Everything that belongs to ``other`` moves to ``keep``, whose facts become ``facts``.

    Rows of other rooms are found through the database's own relations. ``other`` stays as an
    empty entry that leads to ``keep``. Sent twice, the second changes nothing. Gives the entry of
    the history that tells of it. Raises MergeError.
    """
    with transaction.atomic():
        both = _locked(keep.pk, other.pk)
        kept, gone = both[keep.pk], both[other.pk]
        if gone.merged_into_id == kept.pk:
            return history.of(gone).filter(verb=verbs.MERGE.key, undone_at=None)[0]
        _check(kept, gone)
        with record(verbs.MERGE, about=(kept, gone), by=by, gone=gone.name) as step:
            step.keep(kept, gone)
            for relation in _relations():
                column = relation.field.name
                # Rows are named by the managers that leave none of them out.
                rows = relation.related_model._base_manager.filter(**{column: gone})  # noqa: SLF001
                step.keep(rows)
                rows.update(**{column: kept})
            _set(kept, facts)
            _set(gone, {"merged_into": kept})
        assert step.entry is not None  # noqa: S101 -- the entry that goes has changed
        return step.entry


def unmerge(*, entry: Entry, by: User) -> tuple[Client, Client]:
    """What the merge moved and changed goes back, exactly; gives who was kept and who is back.

    Merges into one entry are undone from the last. Sent twice, the second changes nothing.
    Raises MergeError, also where something of it was changed since.
    """
    with transaction.atomic():
        entry = Entry.objects.select_for_update().get(pk=entry.pk)
        keys = list(entry.subjects.order_by("pk").values_list("row", flat=True))
        both = _locked(*keys)
        kept, gone = (both[key] for key in keys)
        if entry.undone_at:
            return kept, gone
        if kept.erased_at or gone.erased_at:
            raise MergeError("One of the two was erased since.")
        if kept.merged_into_id or kept.last_merge != entry:
            raise MergeError("There was another merge since. Undo that one first.")
        try:
            history.undo(entry=entry, by=by)
        except history.HistoryError as error:
            raise MergeError(str(error)) from error
        return kept, gone


def _locked(*keys: int) -> dict[int, Client]:
    return Client.objects.select_for_update().order_by("pk").in_bulk(keys)


def _check(kept: Client, gone: Client) -> None:
    if kept == gone:
        raise MergeError("These are the same entry.")
    for client in (kept, gone):
        if client.merged_into_id or client.erased_at:
            raise MergeError(f"{client} is no longer an entry of its own.")


def _relations() -> Iterator[ManyToOneRel]:
    """Every column of any table that names a client, such as that of tickets.

    The tables between many and many are among them.
    """
    relations = Client._meta.get_fields(include_hidden=True)  # noqa: SLF001 -- documented by Django
    yield from (relation for relation in relations if isinstance(relation, ManyToOneRel))


def _set(client: Client, values: Mapping[str, object]) -> None:
    for name, value in values.items():
        setattr(client, name, value)
    if values:
        client.save(update_fields=[*values])


def import_clients(*, rows: list[Row], by: User, anyway: Collection[int] = ()) -> tuple[int, int]:
    """Add who is new, fill in what was not known of who is here; all of it or nothing.

    How many were added, and how many completed. Who only resembles somebody is left out, unless
    the line is in ``anyway``. Sent twice, the second finds everybody here.
    """
    with transaction.atomic():
        lock("clients")
        matches = match(rows, anyway)
        gaps = [
            (matched.client, matched.gaps) for matched in matches if matched.client and matched.gaps
        ]
        added = [
            Client(**matched.row.cells) for matched in matches if matched.verdict == Verdict.NEW
        ]
        for client in added:
            client.fill_keys()
        Client.objects.bulk_create(added, batch_size=500)
        if added:
            history.note(verbs.IMPORT, about=added, by=by)
        known = [client for client, _ in gaps]
        with record(verbs.COMPLETE, about=known, by=by) as step:
            step.keep(*known)
            for client, facts in gaps:
                _set(client, facts)
        return len(added), len(gaps)
