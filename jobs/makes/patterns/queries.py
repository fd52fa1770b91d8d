"""What pages read of the drawer."""

from dataclasses import dataclass

from django.core.paginator import Page, Paginator
from django.db.models import Count, Exists, F, OuterRef, Prefetch, Q, QuerySet
from django.shortcuts import get_object_or_404

from clients.fit import FitError
from clients.fit.cloth import ClothNeed as Sum
from clients.fit.cloth import cloth_needed
from jobs.makes.matching import Printed, ShelfLength, asked_of
from jobs.makes.models import Cloth, Make, MakeState, Need, Pattern, PatternVersion, Release
from studio.shop.tables import PER_PAGE
from studio.shop.text import fold

TABLE = Prefetch("needs", Need.objects.order_by("pk"))
"""It stands as it was written: S, M, L and 8, 10, 12 sort no other way."""


OWN = Exists(Release.objects.filter(pattern=OuterRef("pk")))
"""Whether the studio releases it."""


def unreleased(maker: str) -> list[Pattern]:
    """Patterns in the drawer that ``maker`` drafted, and that are on no way to sale. One query."""
    rows = Pattern.objects.filter(gone_at=None, releases=None).exclude(maker="")
    mine = fold(maker)
    return [row for row in rows.select_related("picture") if fold(row.maker) == mine]


def drawer(text: str = "", *, gone: bool = False) -> QuerySet[Pattern]:
    """The patterns in which every word of ``text`` stands, whatever its accents and case."""
    made = Count("makes", filter=Q(makes__state=MakeState.FINISHED))
    patterns = Pattern.objects.filter(gone_at__isnull=not gone).annotate(made=made, own=OWN)
    for word in fold(text).split():
        patterns = patterns.filter(key__contains=word)
    return patterns.select_related("picture").prefetch_related(TABLE).order_by("key", "pk")


def drawer_page(patterns: QuerySet[Pattern], number: str | None) -> Page[Pattern]:
    """A page of envelopes; one that is none is the first, one after the last is the last."""
    return Paginator(patterns, PER_PAGE).get_page(number)


def pattern_or_404(pk: int) -> Pattern:
    carried = Prefetch("versions", PatternVersion.objects.select_related("make__face"))
    patterns = Pattern.objects.annotate(own=OWN).select_related("picture")
    patterns = patterns.prefetch_related(TABLE, carried)
    return get_object_or_404(patterns, pk=pk)


def makes_of(pattern: Pattern) -> QuerySet[Make]:
    """What was sewn from it or is meant to be: under way and planned ahead of what is made."""
    sewn = Q(pattern=pattern) | Q(further_patterns__pattern=pattern)
    shown = Make.objects.filter(sewn).exclude(state=MakeState.LET_GO).distinct()
    shown = shown.select_related("pattern").prefetch_related(
        "further_patterns__pattern", "versions"
    )
    return shown.order_by(F("finished_on").desc(nulls_first=True), "-started_at", "-pk")


def kind_names(pattern: Pattern) -> list[str]:
    """The kinds of cloth it is meant for, in words; none is any."""
    return [kind.label for kind in Cloth.Kind if kind in pattern.kinds]


@dataclass(frozen=True)
class PatternUse:
    """A pattern that a make is sewn from. ``standing`` is what was carried into it from the make.

    Whoever reads several makes prefetches ``further_patterns__pattern`` and ``versions``.
    """

    pattern: Pattern
    size: str
    changes: str
    standing: PatternVersion | None = None

    @property
    def to_carry(self) -> bool:
        """Whether there is a change that does not stand in the pattern yet."""
        words = self.changes.strip()
        return bool(words) and (self.standing is None or self.standing.words != words)


def uses_of(make: Make) -> list[PatternUse]:
    """The patterns of a make, its first one first."""
    rows: list[tuple[Pattern, str, str]] = []
    if make.pattern:
        rows.append((make.pattern, make.size, make.changes))
    rows += [(row.pattern, row.size, row.changes) for row in make.further_patterns.all()]
    standing = {row.pattern_id: row for row in make.versions.all() if row.taken_out_at is None}
    return [PatternUse(*row, standing.get(row[0].pk)) for row in rows]


@dataclass(frozen=True)
class Converted:
    """A row of the envelope's table, and what it comes to at the other width; None: it cannot.

    ``printed`` says that the other width is the row's own, so that nothing had to be converted.
    """

    need: Need
    at_other: Sum | None
    printed: bool = False


def at_width(pattern: Pattern, other: ShelfLength | None) -> list[Converted]:
    """The table for cloth that is there, with what it will still shrink."""
    needs = pattern.needs.all()
    if not other:
        return [Converted(need, None) for need in needs]
    return [
        Converted(need, _sum(pattern, need, other), need.width_mm == other.usable) for need in needs
    ]


def _sum(pattern: Pattern, need: Need, other: ShelfLength) -> Sum | None:
    asked = asked_of(Printed(need.width_mm, need.length_mm), other, widest=pattern.widest_mm)
    try:
        return cloth_needed(asked, step="1/8 yd" if need.unit == Cloth.Unit.YARD else "5 cm")
    except FitError:
        return None
