"""Hours on a stage that were written down by mistake."""

from django.db import transaction

from jobs.planning.models import BenchTime


@transaction.atomic
def take_minutes_off(*, time: BenchTime) -> None:
    """Minutes of a stage that were none. Taken off twice, they are gone all the same.

    Those of client work, and a clock that still runs, stay as they are.
    """
    BenchTime.objects.filter(pk=time.pk, stage__isnull=False, minutes__isnull=False).delete()
