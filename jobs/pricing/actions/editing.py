"""Rows of the price list: added at the end, moved up and down, removed or withdrawn."""

from django.db import transaction
from django.db.models import ProtectedError, QuerySet

from jobs.pricing.models import GarmentKind, Operation, PriceRules, Surcharge

Entry = GarmentKind | Operation | Surcharge


def peers(entry: Entry) -> QuerySet:
    """The entries that ``entry`` stands among."""
    if isinstance(entry, Operation):
        return Operation.objects.filter(garment_kind=entry.garment_kind_id)
    return type(entry).objects.all()


def keep(*, entry: Entry) -> None:
    """Save an entry; a new one comes last among its peers."""
    with transaction.atomic():
        if entry.pk is None:
            places = peers(entry).values_list("position", flat=True)
            entry.position = max(places, default=0) + 1
        entry.save()


def move(*, entry: Entry, step: int) -> None:
    """One place up (``step`` -1) or down (1); at the end of the row nothing changes."""
    with transaction.atomic():
        row = list(peers(entry).select_for_update())
        place = row.index(entry)
        if 0 <= place + step < len(row):
            row.insert(place + step, row.pop(place))
        for position, peer in enumerate(row, 1):
            peer.position = position
        type(entry).objects.bulk_update(row, ["position"])


def remove(*, entry: Entry) -> bool:
    """Take an entry off the list; whether it is gone.

    One that a ticket still names is only no longer offered. A kind of garment takes its
    operations with it, all or none.
    """
    try:
        with transaction.atomic():
            if isinstance(entry, GarmentKind):
                entry.operations.all().delete()
            type(entry).objects.get(pk=entry.pk).delete()
    except ProtectedError:
        type(entry).objects.filter(pk=entry.pk).update(active=False)
        return False
    return True


def keep_rules(*, rules: PriceRules) -> None:
    with transaction.atomic():
        rules.save()
