"""The ways of taking a number that the rush hour tries."""

from django.db import transaction

from studio.shop.models import NumberSeries
from studio.shop.numbers import take_number
from tests.studio.shop.rush_hour import Job


def guarded(job: Job, turn: int) -> int:
    """As every action of the program does."""
    with transaction.atomic():
        return take_number(job.key)


def unguarded(job: Job, turn: int) -> int:
    """The same reading and writing without a transaction around them and without a lock.

    The workers meet between the two, so that what could happen does happen.
    """
    series = NumberSeries.objects.get(key=job.key)
    job.meet(f"turn {turn}")
    series.last += 1
    series.save(update_fields=["last"])
    return series.last
