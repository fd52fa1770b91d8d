"""What makes and patterns ask of cloth and hours, for the sums of ``jobs.makes.matching``."""

from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from jobs.makes.lengths import as_cut
from jobs.makes.matching import Printed, Wish, needed
from jobs.makes.models import Cloth, Make, MakeState, Need, Pattern
from jobs.makes.shares import ClothShares
from studio.shop.money import exact


@dataclass(frozen=True)
class ClothMeant:
    """``mm`` of cloth that a make shall take in all: said by the owner, or ``guessed``.

    None where it has cloth, and neither the owner nor its pattern says how much.
    """

    mm: Decimal | None
    guessed: bool = False


def cloth_meant(make: Make) -> ClothMeant | None:
    """What was said of the cloth meant for it, else what its pattern asks of the first of that.

    None where no cloth is meant for it. Asks for ``cloth_plans`` with their cloth, and for
    ``pattern__needs``.
    """
    plans = list(make.cloth_plans.all())
    if said := [plan.mm for plan in plans if plan.mm is not None]:
        return ClothMeant(sum(said, Decimal(0)))
    asked = asked_by_pattern(make, plans[0].cloth) if plans else None
    return ClothMeant(asked, guessed=asked is not None) if plans else None


def asked_by_pattern(make: Make, cloth: Cloth) -> Decimal | None:
    """Mm of this cloth that the pattern of a make asks for, rounded up to what is cut; None where
    it has none, or that does not say.
    """
    if make.pattern is None:
        return None
    takes = needed(Wish(id="", printed=printed(make.pattern, make.size)), cloth.as_length())
    return None if takes is None else as_cut(takes, cloth.unit)


def with_cloth(wish: Wish, make: Make, shares: dict[int, ClothShares]) -> Wish:
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


def cut_of(takes: Fraction, room: Fraction | Decimal, cloth: Cloth) -> Decimal:
    """Mm rounded up to what is cut, but to no more than the ``room`` where that is enough."""
    cut = as_cut(takes, cloth.unit)
    left = Decimal(room.numerator) / room.denominator if isinstance(room, Fraction) else room
    return left if exact(takes) <= exact(left) < exact(cut) else cut


def pattern_wish(pattern: Pattern, minutes: int | None = None) -> Wish:
    """``minutes`` are what it takes, None where nobody knows."""
    return Wish(
        id=f"pattern-{pattern.pk}",
        printed=printed(pattern),
        widest=pattern.widest_mm,
        minutes=minutes,
        stops=pattern.stops,
        kinds=frozenset(pattern.kinds),
    )


def needs_of(pattern: Pattern, size: str = "") -> list[Need]:
    """What it asks for in ``size``, else in the size that is cut; in all where nobody said which.

    One of each width, the narrowest first. Of several sizes at one width the largest counts, so
    that it is enough for whichever is cut.
    """
    needs, size = list(pattern.needs.all()), size or pattern.size
    cut = [need for need in needs if size and need.size in {"", size}]
    longest: dict[Decimal, Need] = {}
    for need in sorted(cut or needs, key=lambda need: need.length_mm):
        longest[need.width_mm] = need
    return [longest[width] for width in sorted(longest)]


def printed(pattern: Pattern, size: str = "") -> tuple[Printed, ...]:
    return tuple(Printed(need.width_mm, need.length_mm) for need in needs_of(pattern, size))


def make_wish(make: Make, minutes: int | None = None, season: str = "") -> Wish:
    """The make with what its pattern says. ``minutes`` are still to be sewn, None if nobody knows;
    ``season`` is the one that it is now.
    """
    pattern = make.pattern
    return Wish(
        id=f"make-{make.pk}",
        printed=printed(pattern, make.size) if pattern else (),
        widest=pattern.widest_mm if pattern else None,
        minutes=minutes,
        stops=pattern.stops if pattern else True,
        kinds=frozenset(pattern.kinds) if pattern else frozenset(),
        heat=make.heat or 0,
        out_of_season=1 if not make.season else 0 if make.season == season else 2,
    )
