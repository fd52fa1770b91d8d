"""Makes, patterns and cloth as the matcher takes them. The queries do not grow with the rows."""

from collections import defaultdict
from dataclasses import dataclass, field

from django.db.models import Prefetch

from jobs.makes.matching import Length, Printed, Wish
from jobs.makes.models import Cloth, ClothPlan, Make, Pattern, State
from jobs.planning.fitting_in.seasons import season_of
from jobs.planning.making import minutes_of
from studio.shop import clock

TO_BEGIN = [State.IDEA, State.LINED_UP]
OPEN = [*TO_BEGIN, State.UNDER_WAY]


@dataclass(frozen=True)
class Stock:
    """``makes`` are those not begun, ``patterns`` those in the drawer, ``lengths`` what lies there.

    ``promised`` are the plans by cloth and ``linked`` the pairs (pattern, cloth) of open makes.
    """

    cloths: dict[int, Cloth]
    makes: dict[str, Make]
    patterns: dict[str, Pattern]
    lengths: list[Length]
    make_wishes: list[Wish]
    pattern_wishes: list[Wish]
    promised: dict[int, list[ClothPlan]] = field(default_factory=dict)
    linked: frozenset[tuple[int, int]] = frozenset()


def read_stock(country: str) -> Stock:
    """Six queries."""
    cloths = {one.pk: one for one in Cloth.objects.filter(gone_at=None, left_mm__gt=0)}
    patterns = list(Pattern.objects.filter(gone_at=None).prefetch_related("needs"))
    plans = ClothPlan.objects.filter(cloth__gone_at=None)
    rows = list(
        Make.objects.filter(state__in=OPEN).prefetch_related(Prefetch("cloth_plans", plans))
    )
    by_pk = {one.pk: one for one in patterns}
    to_begin = [one for one in rows if one.state in TO_BEGIN]
    spent = minutes_of(one.pk for one in to_begin)
    season = season_of(clock.today(), country)
    promised: dict[int, list[ClothPlan]] = defaultdict(list)
    for make in rows:
        for plan in make.cloth_plans.all():
            plan.make = make
            promised[plan.cloth_id].append(plan)
    return Stock(
        cloths=cloths,
        makes={f"make-{one.pk}": one for one in to_begin},
        patterns={f"pattern-{one.pk}": one for one in patterns},
        lengths=[one.as_length() for one in cloths.values()],
        make_wishes=[
            make_wish(one, by_pk.get(one.pattern_id or 0), spent.get(one.pk, 0), season)
            for one in to_begin
        ],
        pattern_wishes=[pattern_wish(one) for one in patterns],
        promised=promised,
        linked=frozenset(
            (make.pattern_id, plan.cloth_id)
            for make in rows
            if make.pattern_id
            for plan in make.cloth_plans.all()
        ),
    )


def pattern_wish(pattern: Pattern) -> Wish:
    return Wish(
        id=f"pattern-{pattern.pk}",
        printed=printed(pattern),
        widest=pattern.widest_mm,
        minutes=pattern.minutes,
        stops=pattern.stops,
        kinds=frozenset(pattern.kinds),
    )


def printed(pattern: Pattern) -> tuple[Printed, ...]:
    """What it asks for in the size that is cut; in all its sizes where nobody said which.

    Of several sizes at one width the largest counts, so that it is enough for whichever is cut.
    """
    needs = list(pattern.needs.all())
    cut = [one for one in needs if pattern.size and one.size in ("", pattern.size)]
    lengths = defaultdict(list)
    for one in cut or needs:
        lengths[one.width_mm].append(one.length_mm)
    return tuple(Printed(width, max(lengths[width])) for width in sorted(lengths))


def make_wish(make: Make, pattern: Pattern | None, spent: int, season: Make.Season) -> Wish:
    """The make with what its pattern says; what is written on its own card goes first."""
    guess = make.minutes or (pattern.minutes if pattern else None)
    return Wish(
        id=f"make-{make.pk}",
        printed=printed(pattern) if pattern else (),
        widest=pattern.widest_mm if pattern else None,
        minutes=None if guess is None else max(0, guess - spent),
        stops=pattern.stops if pattern else True,
        kinds=frozenset(pattern.kinds) if pattern else frozenset(),
        meant={plan.cloth_id: plan.mm for plan in make.cloth_plans.all()},
        heat=make.heat or 0,
        out_of_season=1 if not make.season else 0 if make.season == season else 2,
    )
