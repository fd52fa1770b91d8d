"""Cloth that is there, as the sums take it."""

from datetime import date
from decimal import Decimal

from jobs.makes.matching import Length
from jobs.makes.models import Cloth
from studio.shop import clock


def length_of(cloth: Cloth) -> Length:
    return Length(
        id=cloth.pk,
        kind=cloth.kind,
        width=cloth.width_mm,
        left=cloth.left_mm,
        since=since(cloth),
        washed=cloth.washed,
        shrink_along=cloth.shrink_along,
        shrink_across=cloth.shrink_across,
        one_way=cloth.one_way,
        repeat=cloth.repeat_mm or Length.repeat,
    )


def since(cloth: Cloth) -> date:
    """When it was bought, else when it was written down."""
    return cloth.bought_on or clock.local(cloth.added_at).date()


def of_width(width: Decimal) -> Length:
    """Cloth of which nothing is known but its width in mm."""
    return Length(id=0, kind="", width=width, left=Decimal(0), since=date.min)
