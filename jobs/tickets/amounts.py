"""The pinned amount in words: never without *total / each* and *finished / take off*."""

from typing import Protocol

from django.core.exceptions import ValidationError
from django.db.models import Model

from clients.fit.lengths import Length
from jobs.pricing.models import Basis, Measure

NOT_MEASURED = "not measured"


class Pinned(Protocol):
    amount_typed: str
    basis: str
    measure: str


class Typed(Protocol):
    """A length as ``clients.fit.lengths`` parsed it: the text and the unit it was read in."""

    @property
    def typed(self) -> str: ...

    @property
    def unit(self) -> str: ...


class AmbiguousAmountError(ValueError):
    """An amount that does not say what it measures. ``field`` is ``basis`` or ``measure``."""

    def __init__(self, field: str, message: str) -> None:
        super().__init__(message)
        self.field = field


def check_amount(pinned: Pinned) -> None:
    """Refuse an amount that two people could read differently."""
    if not pinned.amount_typed:
        return
    if pinned.measure not in Measure.values:
        raise AmbiguousAmountError("measure", "Say whether this is finished, take off or let out.")
    if pinned.basis not in Basis.values:
        raise AmbiguousAmountError("basis", "Say whether this is in total or on each side.")


def describe_amount(pinned: Pinned) -> str:
    """``take off 4.5 cm, each side``; empty when nothing was pinned."""
    if not pinned.amount_typed:
        return ""
    measure, basis = Measure(pinned.measure).label, Basis(pinned.basis).label
    return f"{measure.lower()} {pinned.amount_typed}, {basis.lower()}"


def with_unit(length: Typed) -> str:
    """What was typed, with its unit: it reads the same when the studio changes units."""
    typed = length.typed.strip()
    return typed if typed[-1:].isalpha() or typed[-1:] in '"″' else f"{typed} {length.unit}"


def longest(model: type[Model], name: str) -> int:
    """How many letters the model's column holds."""
    column = model._meta.get_field(name)  # noqa: SLF001 -- Django's documented way
    return getattr(column, "max_length", None) or 0


def storable(length: Length | None, model: type[Model], name: str) -> Length | None:
    """The length, unless it is too long to keep as it was typed, with its unit."""
    if length and len(with_unit(length)) > longest(model, name):
        raise ValidationError("Write this shorter, such as 12.5 cm or 4 7/8 in.", code="long")
    return length
