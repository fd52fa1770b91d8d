"""What the clock says of an operation, for the price list."""

from django import template

from jobs.planning.bench_time import ClockSays, clock_on
from jobs.pricing.models import Operation

register = template.Library()


@register.simple_tag
def clock_says(operation: Operation) -> ClockSays | None:
    """``{% clock_says operation as clock %}``: nothing before enough of them were timed."""
    return clock_on(operation.pk)
