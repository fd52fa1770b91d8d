"""The one way in which a make is changed: under a lock, with what is needed to undo it."""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from jobs.makes.ideas.steps import Step, look
from jobs.makes.models import ClothPlan, Make, Picture

Meant = tuple[int, Decimal | str | None, str]
"""Cloth meant for a make: its id, how much of it in mm, and how that was typed."""


def locked(pk: int) -> Make:
    """The make as it is now; nobody else changes it in this transaction."""
    return Make.objects.select_for_update().get(pk=pk)


def change(
    make: Make,
    said: str,
    /,
    *,
    pictures: Iterable[Picture] | None = None,
    cloths: Iterable[Meant] | None = None,
    aside: str = "",
    **fields: Any,
) -> Step:
    """Set ``fields`` of a locked make, and its ``pictures`` and ``cloths`` if they are given."""
    given = {"pictures": pictures, "cloths": cloths}
    names = [*fields, *(name for name, told in given.items() if told is not None)]
    before = look(make, names)
    for name, value in fields.items():
        setattr(make, name, value)
    make.save(update_fields=list(fields))
    if pictures is not None:
        make.pictures.set(pictures)
    if cloths is not None:
        make.cloth_plans.all().delete()
        ClothPlan.objects.bulk_create(
            ClothPlan(make=make, cloth_id=pk, mm=mm, typed=typed) for pk, mm, typed in cloths
        )
    return Step(make.pk, said, before, look(make, names), aside=aside)


def unchanged(make: Make, words: str) -> Step:
    """The step was taken before; sending it again changes nothing."""
    return Step(make.pk, words)
