"""Minutes of a hem by its size, learnt from the hems that were measured and timed."""

from collections import defaultdict
from dataclasses import dataclass
from fractions import Fraction

from django.db.models import Sum

from clients.fit.minutes import FEWEST, Guess, SizeLine, TimedHem, hem_size, size_line
from jobs.planning.models import BenchTime
from jobs.pricing.models import WorkOrder
from jobs.tickets.models import FitSum, Line
from studio.shop.money import round_half_up

ROWS = 400
"""Sums that are looked at, newest first: how one sewed long years ago says little about today."""


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
    """Finished hems with a measured edge and bench time, for one piece each. Three queries.

    A sum speaks of the operation it was put on, else of the one hem that its garment has. Of
    several sums for one operation the latest counts.
    """
    sums = list(FitSum.objects.filter(edge_mm__gt=0, layers__gt=0).order_by("-pk")[:ROWS])
    done: dict[int, list[Line]] = defaultdict(list)
    for line in Line.objects.filter(
        garment__in={one.garment_id for one in sums}, removed_at=None, done_at__isnull=False
    ):
        done[line.garment_id].append(line)
    sizes: dict[Line, Fraction] = {}
    for one in sums:
        hem = _hem_of(one, done[one.garment_id])
        if hem and one.edge_mm and one.layers:
            sizes.setdefault(hem, hem_size(one.edge_mm, one.layers))
    times = BenchTime.objects.filter(line__in=sizes, minutes__gt=0).order_by()
    took = dict(times.values_list("line").annotate(total=Sum("minutes")))
    return [
        TimedHem(size, Fraction(took[line.pk], line.quantity))
        for line, size in sizes.items()
        if line.pk in took
    ]


def _hem_of(one: FitSum, done: list[Line]) -> Line | None:
    """Which of the garment's finished operations the sum was for."""
    if one.line_id:
        return next((line for line in done if line.pk == one.line_id), None)
    hems = [line for line in done if line.work_order == WorkOrder.HEM]
    return hems[0] if len(hems) == 1 else None


def learnt() -> Learnt:
    """Three queries."""
    hems = timed_hems()
    return Learnt(len(hems), size_line(hems))
