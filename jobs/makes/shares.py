"""What of a cloth was cut, what is meant and what is free. Plain data, no Django.

Lengths are mm as exact decimals; the sums are exact. O(plans) for a cloth.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal

NONE = Decimal(0)


@dataclass(frozen=True)
class Meant:
    """A plan of a make that is neither finished nor let go: ``mm`` of the cloth in all.

    None where nobody said how much. ``cut`` was cut for the make already, less what was put back.
    """

    make: int
    mm: Decimal | None = None
    cut: Decimal = NONE

    @property
    def rest(self) -> Decimal | None:
        """What is still to be cut; None where nobody said and nothing was cut."""
        if self.mm is None and self.cut <= 0:
            return None
        return max(NONE, (self.mm or NONE) - max(NONE, self.cut))


@dataclass(frozen=True)
class ClothShares:
    """``there`` = ``cut`` + ``meant`` + ``free``: what came in less what went otherwise.

    ``short`` is by how much more is meant than is left; nothing is free then. ``aside`` says what
    each make has of what is meant, those served first whose plans were given first.
    """

    cut: Decimal = NONE
    meant: Decimal = NONE
    free: Decimal = NONE
    short: Decimal = NONE
    aside: Mapping[int, Decimal] = field(default_factory=dict)
    plans: tuple[Meant, ...] = ()

    @property
    def there(self) -> Decimal:
        return self.cut + self.meant + self.free

    @property
    def reach(self) -> Decimal:
        """As long as the cloth would have to be."""
        return self.there + self.short

    @property
    def beyond(self) -> bool:
        return self.short > 0

    def rest(self, make: int) -> Decimal | None:
        """What is still to be cut for a make, as ``Meant`` says."""
        return next((plan.rest for plan in self.plans if plan.make == make), None)

    def lacks(self, make: int) -> Decimal:
        """By how much what is left falls short of what is still to be cut for a make."""
        return (self.rest(make) or NONE) - self.aside.get(make, NONE)


def share_out(left: Decimal, cut: Decimal, plans: Iterable[Meant]) -> ClothShares:
    """Divide a cloth of which ``left`` lies there and ``cut`` was cut, less what was put back.

    More put back than was cut had gone otherwise and is there again: nothing is cut then.
    """
    plans, over, short = tuple(plans), left, NONE
    aside: dict[int, Decimal] = {}
    for plan in plans:
        wanted = plan.rest or NONE
        aside[plan.make] = min(wanted, over)
        over -= aside[plan.make]
        short += wanted - aside[plan.make]
    return ClothShares(max(NONE, cut), left - over, over, short, aside, plans)
