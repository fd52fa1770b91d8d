"""What a step changed on a make, small enough to travel with the page that offers to undo it."""

import json
from collections.abc import Iterable
from dataclasses import asdict, dataclass, field
from typing import Any, cast

from django.core import signing
from django.core.serializers.json import DjangoJSONEncoder
from django.db.models import Field

from jobs.makes.models import Make

SALT = "jobs.makes.step"
DAY = 24 * 3600


@dataclass(frozen=True)
class Step:
    """``before`` and ``after`` hold what changed, by field, as JSON carries it.

    ``pictures`` are ids; ``cloths`` are the lengths meant for it, each with the id of its cloth, mm
    as text and what was typed. ``added`` means that the make itself came with this step. ``aside``
    is what follows from it and is said with it, but not when it is undone.
    """

    make: int
    words: str
    before: dict[str, Any] = field(default_factory=dict)
    after: dict[str, Any] = field(default_factory=dict)
    added: bool = False
    aside: str = ""

    @property
    def changed(self) -> bool:
        return self.added or self.before != self.after

    def sealed(self) -> str:
        return signing.dumps(asdict(self), salt=SALT, compress=True)


def unsealed(text: str) -> Step:
    """The step of a day at most. Raises ``signing.BadSignature`` for anything else."""
    return Step(**signing.loads(text, salt=SALT, max_age=DAY))


def column(name: str) -> Field:
    """The field of a make that holds ``name`` in its own row."""
    return cast("Field", Make._meta.get_field(name))  # noqa: SLF001 -- Django's documented way


def look(make: Make, names: Iterable[str]) -> dict[str, Any]:
    """The fields ``names`` as JSON carries them there and back."""
    values: dict[str, Any] = {}
    for name in names:
        if name == "pictures":
            values[name] = sorted(make.pictures.values_list("pk", flat=True))
        elif name == "cloths":
            plans = make.cloth_plans.order_by("pk").values_list("cloth", "mm", "typed")
            values[name] = [list(plan) for plan in plans]
        else:
            values[name] = getattr(make, column(name).attname)
    return json.loads(json.dumps(values, cls=DjangoJSONEncoder))
