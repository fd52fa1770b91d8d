"""Taking back a step, instead of asking "are you sure" before each."""

from functools import partial
from typing import Any

from django.db import transaction
from django.db.models import ProtectedError

from jobs.makes.ideas.actions.changing import change, locked
from jobs.makes.ideas.errors import MakeError
from jobs.makes.ideas.steps import Step, column, look
from jobs.makes.models import Make

CHANGED_SINCE = "It was changed since, so this cannot be undone any more."


@transaction.atomic
def undo(*, step: Step) -> str:
    """Make it as it was before ``step``, and say so. Sent twice it is undone once.

    Raises MakeError if what the step changed was changed again since. Its place on the wall may
    have changed: other cards push it about.
    """
    said = f"Undone. {step.words}"
    if not Make.objects.filter(pk=step.make).exists():
        if step.added:
            return said
        raise MakeError("It is not there any more.")
    make = locked(step.make)
    now = look(make, step.after)
    if step.added:
        if now != step.after:
            raise MakeError(CHANGED_SINCE)
        _remove(make)
        return said
    if _but_place(now) == _but_place(step.before):
        return said
    if _but_place(now) != _but_place(step.after):
        raise MakeError(CHANGED_SINCE)
    change(make, said, **dict(_read(name, value) for name, value in step.before.items()))
    return said


def _remove(make: Make) -> None:
    pictures = list(make.pictures.all())
    try:
        with transaction.atomic():
            make.delete()
    except ProtectedError:
        raise MakeError("Work or cloth is booked on it already. Let it go instead.") from None
    for picture in pictures:
        picture.delete()
        transaction.on_commit(partial(picture.file.delete, save=False))


def _but_place(values: dict) -> dict:
    return {name: value for name, value in values.items() if name != "place"}


def _read(name: str, value: Any) -> tuple[str, Any]:
    """The attribute of a make and its value, as JSON carried them."""
    if name in ("pictures", "cloths"):
        return name, value
    return column(name).attname, column(name).to_python(value)
