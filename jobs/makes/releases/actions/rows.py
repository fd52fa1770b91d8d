"""What is written down on a release, row by row: testers, errata, costs."""

from typing import Any, TypeVar

from django.db import transaction

from jobs.makes.models import Cost, Erratum, Release, Sale, Tester
from jobs.makes.releases.actions.releases import locked

Row = TypeVar("Row", Tester, Erratum, Cost)


@transaction.atomic
def write_row(kind: type[Row], *, release: Release, **facts: Any) -> Row:
    """One more row with these facts. The same facts sent twice are one row."""
    told = {"release": locked(release), **facts}
    return kind.objects.filter(**told).first() or kind.objects.create(**told)


@transaction.atomic
def change_row(row: Row, **facts: Any) -> Row:
    """Write these facts on the row instead of what they were."""
    for field, value in facts.items():
        setattr(row, field, value)
    row.save(update_fields=list(facts))
    return row


@transaction.atomic
def take_row_off(row: Tester | Erratum | Cost | Sale) -> None:
    """It was written by mistake. Taken off twice, it is gone all the same."""
    type(row).objects.filter(pk=row.pk).delete()
