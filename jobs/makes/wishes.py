"""What makes and patterns ask of cloth and hours, for the sums of ``jobs.makes.matching``."""

from collections import defaultdict
from dataclasses import replace
from datetime import date
from decimal import Decimal

from jobs.makes.matching import Printed, Wish
from jobs.makes.models import Make, MakeState, Pattern
from jobs.makes.shares import Shares

SEASONS = [Make.Season.WINTER, Make.Season.SPRING, Make.Season.SUMMER, Make.Season.AUTUMN]
SOUTHERN = frozenset({"AR", "AU", "BO", "BR", "BW", "CL", "FJ", "LS", "MG", "MU", "MZ", "NA", "NZ",
    "PE", "PY", "RE", "SZ", "UY", "VU", "WS", "ZA", "ZM", "ZW"})  # fmt: skip
"""Countries that lie wholly or mostly south of the equator (common knowledge)."""


def season_of(day: date, country: str) -> Make.Season:
    """December to February is winter in the north and summer in the south, and so on."""
    quarter = day.month % 12 // 3
    return SEASONS[(quarter + 2) % 4 if country in SOUTHERN else quarter]


def with_cloth(wish: Wish, make: Make, shares: dict[int, Shares]) -> Wish:
    """The wish with what is still to be cut of each cloth meant for it, and what it has of it.

    Of a make under way what nobody said is cut; cloth that is used up is meant for it no longer
    where something is still to be cut.
    """
    under_way = make.state == MakeState.UNDER_WAY
    rests: dict[int, Decimal | None] = {}
    for plan in make.cloth_plans.all():
        share = shares[plan.cloth_id]
        rest = share.rest(make.pk)
        rest = Decimal(0) if under_way and rest is None else rest
        if share.meant + share.free or rest == 0 or under_way:
            rests[plan.cloth_id] = rest
    aside = {pk: shares[pk].aside[make.pk] for pk in rests}
    if under_way:
        wish = replace(wish, printed=(), widest=None, kinds=frozenset(), stops=True)
    return replace(wish, meant=rests, aside=aside)


def pattern_wish(pattern: Pattern) -> Wish:
    return Wish(
        id=f"pattern-{pattern.pk}",
        printed=printed(pattern),
        widest=pattern.widest_mm,
        minutes=pattern.minutes,
        stops=pattern.stops,
        kinds=frozenset(pattern.kinds),
    )


def printed(pattern: Pattern, size: str = "") -> tuple[Printed, ...]:
    """What it asks for in ``size``, else in the size that is cut; in all where nobody said which.

    Of several sizes at one width the largest counts, so that it is enough for whichever is cut.
    """
    needs, size = list(pattern.needs.all()), size or pattern.size
    cut = [need for need in needs if size and need.size in {"", size}]
    lengths = defaultdict(list)
    for need in cut or needs:
        lengths[need.width_mm].append(need.length_mm)
    return tuple(Printed(width, max(lengths[width])) for width in sorted(lengths))


def make_wish(make: Make, pattern: Pattern | None, spent: int, season: Make.Season) -> Wish:
    """The make with what its pattern says; what is written on its own card goes first."""
    guess = make.minutes or (pattern.minutes if pattern else None)
    return Wish(
        id=f"make-{make.pk}",
        printed=printed(pattern, make.size) if pattern else (),
        widest=pattern.widest_mm if pattern else None,
        minutes=None if guess is None else max(0, guess - spent),
        stops=pattern.stops if pattern else True,
        kinds=frozenset(pattern.kinds) if pattern else frozenset(),
        heat=make.heat or 0,
        out_of_season=1 if not make.season else 0 if make.season == season else 2,
    )
