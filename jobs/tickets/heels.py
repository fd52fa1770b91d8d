"""The heel height a garment is worn with: a hem marked in other shoes is spoilt."""

from decimal import Decimal

from jobs.tickets.models import Garment
from studio.shop import clock

HEEL_FIELDS = ["heel_mm", "heel_typed", "heel_was", "heel_changed_at"]
NEAR = Decimal(2)
"""Millimetres by which two readings of one heel may differ: 7 cm and 2 3/4 in (common practice)."""


def set_heel(garment: Garment, heel_mm: Decimal | None, heel_typed: str) -> None:
    """Write the heel height onto ``garment``, which is not saved here.

    Where another was known, ``heel_was`` keeps it, and from ``heel_changed_at`` on no hem counts
    as marked until it is marked anew.
    """
    if garment.heel_typed and not _same(garment, heel_mm, heel_typed):
        garment.heel_was, garment.heel_changed_at = garment.heel_typed, clock.now()
    garment.heel_mm, garment.heel_typed = heel_mm, heel_typed


def other_shoes(garment: Garment) -> str:
    """The sentence on hems that were pinned in other shoes; empty when there were none."""
    if not (garment.heel_changed_at and garment.heel_typed):
        return ""
    return (
        f"The heel height for {garment.letter} was {garment.heel_was}, now it is "
        f"{garment.heel_typed}: this hem is not ready to cut until it is marked in these shoes."
    )


def _same(garment: Garment, heel_mm: Decimal | None, heel_typed: str) -> bool:
    if garment.heel_mm is None or heel_mm is None:
        return garment.heel_typed == heel_typed
    return abs(garment.heel_mm - heel_mm) <= NEAR
