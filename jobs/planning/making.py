"""Minutes at the bench by make: the owner's own sewing, and what of it runs just now."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Sum

from jobs.makes.models import Make, State
from jobs.planning.models import BenchTime
from studio.shop.models import User


@dataclass(frozen=True)
class MakeTime:
    """Minutes ``spent`` on a make, and since when somebody's own clock runs for it.

    ``open`` says that it can be sewn: it is not put away.
    """

    spent: int
    since: datetime | None
    open: bool


def make_time(make: Make, by: User) -> MakeTime:
    """Two queries."""
    running = BenchTime.objects.filter(make=make, by=by, minutes=None).first()
    spent = minutes_of([make.pk]).get(make.pk, 0)
    put_away = make.state in (State.FINISHED, State.LET_GO)
    return MakeTime(spent, running.started_at if running else None, open=not put_away)


def minutes_of(makes: Iterable[int]) -> dict[int, int]:
    """Minutes by key of the make, in one query. A clock that still runs does not count."""
    times = BenchTime.objects.filter(make__in=makes, minutes__isnull=False)
    return dict(times.order_by().values_list("make").annotate(total=Sum("minutes")))
