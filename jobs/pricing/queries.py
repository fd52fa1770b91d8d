"""What pages read of the price list, in a number of queries that does not grow with it."""

from django.db.models import Prefetch

from jobs.pricing.models import GarmentKind, Operation


def counter_list() -> list[GarmentKind]:
    """What the counter offers, in the list's order.

    ``kind.operations.all()`` holds the operations on offer without asking the database again.
    """
    offered = Prefetch("operations", Operation.objects.filter(active=True))
    return list(GarmentKind.objects.filter(active=True).prefetch_related(offered))


def whole_list() -> list[GarmentKind]:
    """Everything that was ever on the list, also what is no longer offered."""
    return list(GarmentKind.objects.prefetch_related("operations"))
