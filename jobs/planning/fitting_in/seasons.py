"""The season of a day, by whole months as people speak of them."""

from datetime import date

from jobs.makes.models import Make

SEASONS = [Make.Season.WINTER, Make.Season.SPRING, Make.Season.SUMMER, Make.Season.AUTUMN]
SOUTHERN = frozenset({"AR", "AU", "BO", "BR", "BW", "CL", "FJ", "LS", "MG", "MU", "MZ", "NA", "NZ",
    "PE", "PY", "RE", "SZ", "UY", "VU", "WS", "ZA", "ZM", "ZW"})  # fmt: skip
"""Countries that lie wholly or mostly south of the equator (common knowledge)."""


def season_of(day: date, country: str) -> Make.Season:
    """December to February is winter in the north and summer in the south, and so on."""
    quarter = day.month % 12 // 3
    return SEASONS[(quarter + 2) % 4 if country in SOUTHERN else quarter]
