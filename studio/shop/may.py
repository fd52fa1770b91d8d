"""What a helper may do: one tick for each thing. The owner may do everything.

Views ask ``user.may(Tick.HEALTH)`` or stand behind ``http.ticked``; templates ask
``"health" in user.ticks_held``. Nobody asks in another way what a tick decides.
"""

from collections.abc import Iterable

from django.db.models import TextChoices


class Tick(TextChoices):
    PRICES = "prices", "See prices"
    MEASURES = "measures", "Measures"
    HEALTH = "health", "Notes on health"
    AGREED = "agreed", "Change what is agreed"
    DRAWER = "drawer", "Take money"
    MERGE = "merge", "Merge clients"
    FILES = "files", "Take lists out"


# A short word on each, for who gives it.
SAYS = {
    Tick.PRICES: "what work costs and what is to pay, on pages and papers",
    Tick.MEASURES: "opens and takes sheets",
    Tick.HEALTH: "reads what a sheet says of health",
    Tick.AGREED: "new amounts count at once, not as a question",
    Tick.DRAWER: "at pick-up, and sees no sum but that",
    Tick.MERGE: "makes one of two entries",
    Tick.FILES: "clients and measures as files",
}

EVERYTHING = frozenset(tick.value for tick in Tick)
# What every helper could do before there were ticks, but for the notes on health.
USUAL = (Tick.MEASURES, Tick.MERGE, Tick.FILES)


def usual_ticks() -> list[str]:
    return [tick.value for tick in USUAL]


def held(ticks: Iterable[str], *, owner: bool) -> frozenset[str]:
    """The ticks that count: a name that the program no longer has gives nothing."""
    return EVERYTHING if owner else EVERYTHING.intersection(ticks)
