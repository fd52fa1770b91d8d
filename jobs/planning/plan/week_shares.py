"""What a usual week is made of: the hours of each day for clients, for the owner, and not sewn."""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Shares:
    """Minutes of a day or of a week; the three parts are the whole."""

    clients: int
    own: int
    lost: int

    @property
    def minutes(self) -> int:
        return self.clients + self.own + self.lost

    def __add__(self, other: "Shares") -> "Shares":
        parts = (self.clients + other.clients, self.own + other.own, self.lost + other.lost)
        return Shares(*parts)


def week_shares(days: Sequence[int], own_percent: int, lost_percent: int) -> list[Shares]:
    """The bench minutes of each day in its parts, each rounded to whole minutes.

    Lost is what the plan does not count on, a day at a time; own sewing is the share of the whole
    week's bench, laid out day by day so that the days add up to it, as far as there is time left.
    """
    shares, bench, laid = [], 0, 0
    for minutes in days:
        bench += minutes
        left = minutes * (100 - lost_percent) // 100
        own = min(left, bench * own_percent // 100 - laid)
        laid += own
        shares.append(Shares(left - own, own, minutes - left))
    return shares
