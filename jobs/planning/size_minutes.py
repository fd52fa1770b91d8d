"""Minutes of a hem by its size, learnt from the hems that were measured and timed."""

from dataclasses import dataclass
from fractions import Fraction

from django.db.models import Sum

from clients.fit.minutes import FEWEST, Guess, SizeLine, TimedHem, hem_size, size_line
from jobs.planning.models import BenchTime
from jobs.tickets.models import FitSum
from studio.shop.money import round_half_up

ROWS = 400
"""Hems that are looked at, newest first: how one sewed long years ago says little about today."""


@dataclass(frozen=True)
class Learnt:
    """What the timed hems teach. ``line`` is None where they teach nothing that can be checked."""

    hems: int
    line: SizeLine | None

    @property
    def enough(self) -> bool:
        return self.hems >= FEWEST

    @property
    def believed(self) -> bool:
        return self.line is not None and self.line.believed

    @property
    def off_by_size(self) -> int:
        """Whole minutes by which a hem guessed from the others is off."""
        return round_half_up(self.line.error) if self.line else 0

    @property
    def off_by_median(self) -> int:
        return round_half_up(self.line.median_error) if self.line else 0

    def guess(self, size: Fraction) -> Guess | None:
        """Minutes for a hem of this size; None unless the line is believed there."""
        return self.line.guess(size) if self.line and self.line.believed else None


def timed_hems() -> list[TimedHem]:
    """Finished hems with a measured edge and bench time, for one piece each. Two queries.

    Of several sums for one operation the latest counts.
    """
    sums = FitSum.objects.filter(
        line__done_at__isnull=False, line__removed_at=None, edge_mm__gt=0, layers__gt=0
    )
    found = sums.select_related("line").order_by("-line__done_at", "-line", "-pk")[:ROWS]
    latest: dict[int, tuple[Fraction, int]] = {}
    for row in found:
        if row.line and row.edge_mm and row.layers:
            size = hem_size(row.edge_mm, row.layers)
            latest.setdefault(row.line.pk, (size, row.line.quantity))
    times = BenchTime.objects.filter(line__in=latest, minutes__gt=0).order_by()
    took = dict(times.values_list("line").annotate(total=Sum("minutes")))
    return [
        TimedHem(size, Fraction(took[line], quantity))
        for line, (size, quantity) in latest.items()
        if line in took
    ]


def learnt() -> Learnt:
    """Two queries."""
    hems = timed_hems()
    return Learnt(len(hems), size_line(hems))
