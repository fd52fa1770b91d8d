"""Numbers without gaps: given inside the transaction that needs them, or not at all."""

from django.db import connection

from studio.shop import clock
from studio.shop.models import NumberSeries


def lock(key: str) -> NumberSeries:
    """The series' row, held until the transaction ends.

    PostgreSQL locks the row. SQLite's transactions are IMMEDIATE, so the whole file is already
    this writer's own.
    """
    return NumberSeries.objects.select_for_update().get_or_create(key=key)[0]


def take_number(key: str) -> int:
    """The next number of the series ``key``: 1, 2, 3, ... without gap or twin.

    A rolled back transaction gives its number back. Raises RuntimeError outside a transaction,
    ``clock.ClockError`` where the clock lies behind what was saved.
    """
    if not connection.in_atomic_block:
        raise RuntimeError("A number is given only inside the transaction that uses it.")
    clock.trust()
    series = lock(key)
    series.last += 1
    series.save(update_fields=["last"])
    return series.last


def year_number(prefix: str, year: int) -> str:
    """The next number of a yearly series, such as ``26-0143`` for prefix ``""``."""
    number = take_number(f"{prefix}{year:04d}")
    return f"{prefix}{year % 100:02d}-{number:04d}"
