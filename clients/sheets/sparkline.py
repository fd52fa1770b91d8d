"""A measure's course as a small line; the same in words for who does not see it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from studio.shop.money import exact, round_half_up

WIDE, HIGH, EDGE = 120, 32, 4  # units of the picture, and what is kept free around the line


@dataclass(frozen=True)
class Sparkline:
    """The corners of the line and its last point, in whole units from the upper left."""

    points: tuple[tuple[int, int], ...]

    @property
    def line(self) -> str:
        return " ".join(f"{x},{y}" for x, y in self.points)

    @property
    def last(self) -> tuple[int, int]:
        return self.points[-1]


def sparkline(points: Sequence[tuple[date, Decimal]]) -> Sparkline:
    """Days to the right, millimetres upwards, both as wide as there is room; at least one point."""
    days = [day.toordinal() for day, _ in points]
    sizes = [exact(mm) for _, mm in points]
    span, rise = days[-1] - days[0], max(sizes) - min(sizes)
    room, height = WIDE - 2 * EDGE, HIGH - 2 * EDGE
    return Sparkline(
        tuple(
            (
                EDGE + (round_half_up(exact(day - days[0]) * room / span) if span else room),
                EDGE + (round_half_up((max(sizes) - mm) * height / rise) if rise else height // 2),
            )
            for day, mm in zip(days, sizes, strict=True)
        )
    )
