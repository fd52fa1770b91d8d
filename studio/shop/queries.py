"""What the studio's own pages read."""

from django.db.models import QuerySet

from studio.shop import clock
from studio.shop.models import DayOff


def coming_days_off() -> QuerySet[DayOff]:
    """Closed days from today on, the next one first."""
    return DayOff.objects.filter(day__gte=clock.today())
