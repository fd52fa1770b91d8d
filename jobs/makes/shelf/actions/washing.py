"""Cloth is washed, and what it lost is kept for the next time."""

from dataclasses import dataclass
from decimal import Decimal
from uuid import UUID

from jobs.makes.lengths import ClothLength
from jobs.makes.models import Cloth, ClothMove
from jobs.makes.shelf.actions.writing import move, once
from jobs.makes.shelf.errors import ShelfError
from studio.shop.models import User
from studio.shop.money import exact, round_half_up

MOST_PERCENT = 50


@dataclass(frozen=True)
class Washed:
    """What was measured before and after, along the length and, where both are known, across it.

    ``whole`` says that all of the cloth was washed; otherwise a piece of it was, as a trial.
    """

    before: ClothLength
    after: ClothLength
    width_before: ClothLength | None = None
    width_after: ClothLength | None = None
    whole: bool = True


def wash(*, cloth: Cloth, washed: Washed, by: User, form_key: UUID) -> Cloth:
    """Keep the shrinkage; if all of it was washed, it is as long and wide as it is now.

    The first wash counts: a later one shortens the cloth and leaves the shrinkage as it was. A
    trial is forgotten once all of it is washed. Raises ShelfError where half of it
    would be gone.
    """
    along = shrinkage(washed.before, washed.after, "after")
    across = None
    if washed.width_before and washed.width_after:
        across = shrinkage(washed.width_before, washed.width_after, "width_after")

    def act(held: Cloth) -> ClothMove | None:
        if not held.left_mm:
            raise ShelfError("There is nothing left of it.", "after")
        if not held.washed:
            held.shrink_along = along
            held.shrink_across = held.shrink_across if across is None else across
        if washed.whole:
            _as_it_is_now(held, washed)
        held.save(
            update_fields=["shrink_along", "shrink_across", "washed", "width_mm", "width_typed"]
        )
        if not washed.whole:
            return None
        off = washed.after.mm - held.left_mm
        typed = washed.after.typed
        return move(held, why=ClothMove.Why.WASHED, mm=off, typed=typed, by=by, form_key=form_key)

    return once(cloth, form_key, act)


def shrinkage(before: ClothLength, after: ClothLength, field: str) -> Decimal:
    """Per cent of ``before`` that is gone, to a tenth; 0 for what grew. Raises ShelfError."""
    lost = (exact(before.mm) - exact(after.mm)) / exact(before.mm) * 100
    if lost >= MOST_PERCENT:
        raise ShelfError("Half of it would be gone. Look at both measures again.", field)
    return Decimal(round_half_up(max(lost, 0 * lost) * 10)).scaleb(-1)


def _as_it_is_now(held: Cloth, washed: Washed) -> None:
    held.washed = True
    if washed.width_after:
        held.width_mm, held.width_typed = washed.width_after.mm, washed.width_after.typed
