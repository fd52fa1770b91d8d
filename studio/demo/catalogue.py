"""What demo clients bring, drawn from the starting price list."""

from dataclasses import dataclass
from random import Random

from jobs.pricing.models import Concern, GarmentKind, Operation, PriceRules, Surcharge

RARE = [Concern.CHILD_NIGHT, Concern.PROTECTIVE, Concern.FLAME, Concern.LIFE]
"""Kinds that come once in a while, and never by chance in the demo."""


@dataclass(frozen=True)
class Catalogue:
    """The price list in memory: operations by kind of garment, surcharges, house rules."""

    operations: dict[GarmentKind, list[Operation]]
    surcharges: list[Surcharge]
    rules: PriceRules

    @classmethod
    def read(cls) -> "Catalogue":
        operations: dict[GarmentKind, list[Operation]] = {}
        offered = Operation.objects.filter(active=True).select_related("garment_kind")
        for operation in offered.exclude(garment_kind__concern__in=RARE):
            operations.setdefault(operation.garment_kind, []).append(operation)
        return cls(operations, list(Surcharge.objects.filter(active=True)), PriceRules.load())

    def draw(self, dice: Random) -> tuple[GarmentKind, list[Operation]]:
        """A garment and one or two operations on it; the first kinds of the list come most."""
        kinds = list(self.operations)
        weights = [len(kinds) - index + 2 for index in range(len(kinds))]
        kind = dice.choices(kinds, weights)[0]
        operations = self.operations[kind]
        count = min(len(operations), dice.choices([1, 2, 3], [70, 25, 5])[0])
        return kind, dice.sample(operations, count)
