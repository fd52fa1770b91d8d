"""The pinned amount in words: never without *total / each side* and *finished / take off*."""

from typing import Protocol

from jobs.pricing.models import Basis, Measure


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
