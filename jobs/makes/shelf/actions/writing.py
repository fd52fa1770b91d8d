"""How every move is written: one at a time on one cloth, once however often it is sent."""

from collections.abc import Callable
from decimal import Decimal
from uuid import UUID

from django.db import transaction

from jobs.makes.lengths import show_cloth
from jobs.makes.models import Cloth, ClothMove, Make
from jobs.makes.shelf.errors import ShelfError
from studio.shop import clock
from studio.shop.models import User

MOST_MM = Decimal(500_000)  # what one length on the shelf can grow to


def locked(cloth: Cloth) -> Cloth:
    """The cloth read again and held until the transaction ends."""
    return Cloth.objects.select_for_update().get(pk=cloth.pk)


def once(cloth: Cloth, form_key: UUID, act: Callable[[Cloth], ClothMove | None]) -> Cloth:
    """Do ``act`` on the locked cloth, unless a move of this ``form_key`` is there already."""
    with transaction.atomic():
        cloth = locked(cloth)
        if not ClothMove.objects.filter(form_key=form_key).exists():
            act(cloth)
        return cloth


def move(
    cloth: Cloth,
    *,
    why: str,
    mm: Decimal,
    typed: str,
    by: User,
    form_key: UUID,
    make: Make | None = None,
) -> ClothMove:
    """Add ``mm`` (below zero takes away) to what is left of a locked cloth, and write it down.

    A cloth of which nothing is left has left the shelf; one that comes back lies there again.
    Raises ShelfError for more than there is.
    """
    left = cloth.left_mm + mm
    if left < 0:
        raise ShelfError(f"There is {show_cloth(cloth.left_mm, cloth.unit)} left.")
    if left > MOST_MM:
        raise ShelfError(f"No length here is over {MOST_MM // 1000} metres.")
    cloth.left_mm = left
    cloth.gone_at = None if left else cloth.gone_at or clock.now()
    cloth.save(update_fields=["left_mm", "gone_at"])
    return ClothMove.objects.create(
        cloth=cloth, make=make, why=why, mm=mm, typed=typed, day=clock.today(), by=by,
        form_key=form_key,
    )  # fmt: skip


def taken(cloth: Cloth, mm: Decimal) -> Decimal:
    """``mm``, or all that is left where the page shows both as the same length.

    A page rounds to a sixteenth of an inch or a millimetre; what it shows can be cut.
    """
    same = show_cloth(mm, cloth.unit) == show_cloth(cloth.left_mm, cloth.unit)
    return cloth.left_mm if same else mm
