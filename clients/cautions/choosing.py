"""Which cautions a garment calls for: by its kind, and by what is to be done with it."""

import re
from collections.abc import Iterable

from clients.cautions.caution import Caution
from clients.cautions.cords import CORD_HINT, CORDS
from clients.cautions.night import NIGHT
from clients.cautions.protective import FLAME, LIFE, PROTECTIVE
from clients.cautions.tax import TaxPlace, new_garment

BY_CONCERN = {
    "child_night": (NIGHT, CORDS),
    "child": (CORDS,),
    "protective": (PROTECTIVE,),
    "flame": (FLAME,),
    "life": (LIFE,),
}
"""Keys are the values of ``jobs.pricing.models.Concern``."""
SAFETY = {caution.key: caution for group in BY_CONCERN.values() for caution in group}
CORD_WORDS = re.compile(r"\b(draw-?strings?|draw-?cords?|cords?)\b", re.IGNORECASE)


def cautions_for(
    *, concern: str, works: Iterable[str] = (), new: bool = False, taxed_at: TaxPlace | None = None
) -> list[Caution]:
    """The cautions of one garment, those about safety first.

    ``concern`` is that of its kind, or empty; ``works`` are the names of what is to be done, in
    which a cord only gives a hint, since a name cannot tell who will wear it. ``new`` is a garment
    that was never worn, and ``taxed_at`` where the studio charges tax, None where it does not.
    """
    found = list(BY_CONCERN.get(concern, ()))
    if not found and any(CORD_WORDS.search(work) for work in works):
        found.append(CORD_HINT)
    if new and taxed_at:
        found.append(new_garment(taxed_at))
    return found
