"""Which two ideas to choose between, and what is wanted most."""

from collections import Counter

from django.db.models import Max, Prefetch, Q, QuerySet

from jobs.makes.lookback.actions import LOOKED_AT
from jobs.makes.models import ClothPlan, Look, Make, Pair

MOST_WANTED = 7

Two = tuple[Make, Make]


def next_two(passed: int) -> Two | None:
    """Two of the cards that were kept and not yet held against each other.

    ``passed`` pairs were left undecided and are stepped over. Cards that are far apart in the
    list come late, so that each pair shows two other cards than the one before.
    """
    kept = list(_kept())
    chosen = {frozenset(pair) for pair in Pair.objects.values_list("rather", "other").order_by()}
    open_pairs = [
        (make, other)
        for apart in range(1, len(kept))
        for make, other in zip(kept, kept[apart:], strict=False)
        if frozenset((make.pk, other.pk)) not in chosen
    ]
    return open_pairs[passed] if passed < len(open_pairs) else None


def most_wanted() -> list[Make]:
    """The few that were chosen most often over others, of those that still hang there."""
    pairs = Pair.objects.filter(rather__state__in=LOOKED_AT, other__state__in=LOOKED_AT).order_by()
    wanted: Counter[int] = Counter()
    for rather, other in pairs.values_list("rather", "other"):
        wanted[rather] += 1
        wanted[other] -= 1
    first = [pk for pk, lead in wanted.most_common(MOST_WANTED) if lead > 0]
    makes = Make.objects.in_bulk(first)
    return [makes[pk] for pk in first]


def _kept() -> QuerySet[Make]:
    """Cards of which the owner last said: keep."""
    valid = {"looks__undone_at": None}
    last = Max("looks__at", filter=Q(**valid))
    last_kept = Max("looks__at", filter=Q(**valid, looks__answer=Look.Answer.KEEP))
    looked = _hanging().annotate(last=last, last_kept=last_kept)
    return looked.filter(last__isnull=False, last=last_kept).order_by("pk")


def _hanging() -> QuerySet[Make]:
    plans = Prefetch("cloth_plans", ClothPlan.objects.select_related("cloth__swatch"))
    return (
        Make.objects.filter(state__in=LOOKED_AT)
        .select_related("pattern")
        .prefetch_related("pictures", plans)
    )
