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


# For who gives it, what a helper sees and what she does: a short word on each, and an example, in
# which ``{money}`` is an amount.
TOLD = {
    "sees": [
        (Tick.PRICES, "on pages, messages, papers", "{money}"),
        (Tick.MEASURES, "sheets, and sums that start from them", "waist 72"),
        (Tick.HEALTH, "what a sheet says of it", "wool itches"),
    ],
    "does": [
        (Tick.AGREED, "at once; else it waits for your yes", "4 → 6 cm"),
        (Tick.DRAWER, "at pick-up, into a drawer she counts", "{money} paid"),
        (Tick.MERGE, "two entries become one", "Ann + Anne"),
        (Tick.FILES, "clients and measures as files", "clients.csv"),
    ],
}

EVERYTHING = frozenset(tick.value for tick in Tick)
# What every helper could do before there were ticks, but for the notes on health.
USUAL = (Tick.MEASURES, Tick.MERGE, Tick.FILES)


def usual_ticks() -> list[str]:
    return [tick.value for tick in USUAL]


def held(ticks: Iterable[str], *, owner: bool) -> frozenset[str]:
    """The ticks that count: a name that the program no longer has gives nothing."""
    return EVERYTHING if owner else EVERYTHING.intersection(ticks)
