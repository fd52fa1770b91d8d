"""Two entries of one person become one; and the way back."""

from collections.abc import Iterator, Mapping

from django.apps import apps
from django.db import models, transaction

from clients.models import Client, ClientMerge
from studio.shop import clock
from studio.shop.models import User


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
