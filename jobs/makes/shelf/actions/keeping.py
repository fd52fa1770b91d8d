"""New cloth, and what is known of it."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.db import IntegrityError, transaction

from jobs.makes import pictures
from jobs.makes.lengths import ClothLength
from jobs.makes.models import Cloth, ClothMove
from jobs.makes.shelf.actions.writing import locked, move
from studio.shop.models import User
from studio.shop.pictures import Picture

FACTS = (
    "name", "kind", "fibre", "colour", "width_mm", "width_typed", "washed", "shrink_along",
    "shrink_across", "one_way", "repeat_mm", "repeat_typed", "care", "price", "place", "bought_on",
    "note",
)  # fmt: skip


def add_cloth(
    *,
    facts: Mapping[str, Any],
    length: ClothLength,
    by: User,
    form_key: UUID,
    swatch: Picture | None = None,
) -> Cloth:
    """Cloth comes on the shelf; ``facts`` are values of ``FACTS``. Sent twice, it is one.

    It came in on the day it was bought, or today where nobody says.
    """
    try:
        with transaction.atomic():
            if made := _made(form_key):
                return made
            cloth = Cloth(**facts, unit=length.unit, left_mm=0)
            cloth.swatch = pictures.keep(swatch) if swatch else None
            cloth.save()
            came = move(
                cloth, why=ClothMove.Why.BOUGHT, mm=length.mm, typed=length.typed, by=by,
                form_key=form_key,
            )  # fmt: skip
            _date(came, cloth)
            return cloth
    except IntegrityError:
        # The other half of a double click was quicker; its cloth is the one.
        if made := _made(form_key):
            return made
        raise


def change_cloth(*, cloth: Cloth, facts: Mapping[str, Any], swatch: Picture | None = None) -> Cloth:
    """Other facts; how much is left only changes by moves.

    The day on which it came in follows the day it was bought.
    """
    with transaction.atomic():
        cloth = locked(cloth)
        for name, value in facts.items():
            setattr(cloth, name, value)
        changed = [*facts]
        if swatch:
            cloth.swatch = pictures.keep(swatch)
            changed.append("swatch")
        cloth.save(update_fields=changed)
        if came := cloth.moves.filter(why=ClothMove.Why.BOUGHT).order_by("pk").first():
            _date(came, cloth)
        return cloth


def _made(form_key: UUID) -> Cloth | None:
    return Cloth.objects.filter(moves__form_key=form_key).first()


def _date(came: ClothMove, cloth: Cloth) -> None:
    """Where the cloth was bought earlier than it was entered, that is the day it came in."""
    if cloth.bought_on and came.day != cloth.bought_on:
        came.day = cloth.bought_on
        came.save(update_fields=["day"])
