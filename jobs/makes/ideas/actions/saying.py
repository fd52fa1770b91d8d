"""What the owner says of a make: how much it excites, what became of it, anything else."""

from typing import Any

from django.db import transaction

from jobs.makes.ideas.actions.changing import change, locked
from jobs.makes.ideas.errors import MakeError
from jobs.makes.ideas.steps import Step
from jobs.makes.models import Fate, Make, State


@transaction.atomic
def set_heat(*, make: Make, heat: int | None) -> Step:
    """From 1 to 5; None says nothing of it."""
    make = locked(make.pk)
    return change(make, f"How much it excites now: {make.words}", heat=heat)


@transaction.atomic
def set_fate(*, make: Make, fate: Fate) -> Step:
    """What became of a finished make. Raises MakeError."""
    make = locked(make.pk)
    if make.state != State.FINISHED:
        raise MakeError("What becomes of it is said once it is finished.")
    return change(make, f"{Fate(fate).label}: {make.words}", fate=fate)


@transaction.atomic
def describe(*, make: Make, **fields: Any) -> Step:
    """Anything that is written on the card. Fields that stay the same are left alone."""
    make = locked(make.pk)
    new = {name: value for name, value in fields.items() if getattr(make, name) != value}
    return change(make, f"Changed: {fields.get('words', make.words)}", **new)
