"""The clock that runs for whoever looks, on every page and for no further query.

The one query that each page makes for its user says as well which bench time of theirs still runs;
only while one does is that read too.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.contrib.auth.backends import ModelBackend
from django.core.exceptions import PermissionDenied
from django.db.models import OuterRef, Subquery
from django.http import HttpRequest

from jobs.planning.models import BenchTime, is_forgotten
from studio.shop import clock
from studio.shop.models import User


class UserWithClock(ModelBackend):
    """Logs in by name and password as Django does; a user comes with ``clock``, the key of the
    bench time that runs, or None."""

    def authenticate(
        self,
        request: HttpRequest | None,
        username: str | None = None,
        password: str | None = None,
        **credentials: Any,
    ) -> User | None:
        """Raises PermissionDenied for a wrong login, so that no other backend hashes it again."""
        user = super().authenticate(request, username, password, **credentials)
        if user is None:
            raise PermissionDenied
        return user

    def get_user(self, user_id: int) -> User | None:
        times = BenchTime.objects.filter(by=OuterRef("pk"), minutes=None).order_by()
        users = User.objects.annotate(clock=Subquery(times.values("pk")))
        user = next(iter(users.filter(pk=user_id)), None)
        return user if user and self.user_can_authenticate(user) else None


@dataclass(frozen=True)
class RunningTime:
    """The bench time that runs, since when and for how many minutes."""

    time: BenchTime
    minutes: int
    forgotten: bool

    @property
    def since(self) -> datetime:
        return self.time.started_at


def running_time(user: Any) -> RunningTime | None:
    """One query where a clock runs, none where none does."""
    if not getattr(user, "is_authenticated", False):
        return None
    times = BenchTime.objects.filter(by=user, minutes=None)
    if hasattr(user, "clock"):
        if user.clock is None:
            return None
        times = times.filter(pk=user.clock)
    time = times.select_related("line__garment__ticket__client", "make", "stage__release").first()
    if time is None:
        return None
    now = clock.now()
    gone = max(timedelta(), now - time.started_at) // timedelta(minutes=1)
    return RunningTime(time, gone, is_forgotten(time.started_at, now))
