"""The one way in which a make is changed: under a lock, with what is needed to undo it."""

from collections.abc import Iterable
from typing import Any

from jobs.makes.ideas.steps import Step, look
from jobs.makes.models import Make, Picture


def locked(pk: int) -> Make:
    """The make as it is now; nobody else changes it in this transaction."""
    return Make.objects.select_for_update().get(pk=pk)


def change(
    make: Make, said: str, /, *, pictures: Iterable[Picture] | None = None, **fields: Any
) -> Step:
    """Set ``fields`` of a locked make, and its ``pictures`` if they are given."""
    names = [*fields, *(["pictures"] if pictures is not None else [])]
    before = look(make, names)
    for name, value in fields.items():
        setattr(make, name, value)
    make.save(update_fields=list(fields))
    if pictures is not None:
        make.pictures.set(pictures)
    return Step(make.pk, said, before, look(make, names))


def unchanged(make: Make, words: str) -> Step:
    """The step was taken before; sending it again changes nothing."""
    return Step(make.pk, words)
