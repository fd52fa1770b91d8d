"""How far each release is: its stages, the hours on them, and what they come to."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Count, F, Q, QuerySet, Sum
from django.http import Http404

from jobs.makes.break_even import BreakEven, Facts, MissingFactsError, break_even
from jobs.makes.models import Release, Stage
from jobs.makes.releases.queries import Sums, sums_of
from jobs.planning.models import BenchTime
from studio.shop.models import User


@dataclass(frozen=True)
class StageHours:
    """A stage with its minutes ``spent``; ``place`` counts from 0 and one of them is ``last``.

    ``running`` says that one's own clock runs for it.
    """

    stage: Stage
    spent: int
    place: int
    last: bool
    running: bool = False

    @property
    def done(self) -> bool:
        return self.stage.done_at is not None

    @property
    def to_go(self) -> int:
        """What is left of the guess: nothing once it is done or took longer."""
        return 0 if self.done else max(0, self.stage.minutes - self.spent)


@dataclass(frozen=True)
class Money:
    """``found``, or what is ``missing`` to find it."""

    sums: Sums
    found: BreakEven | None = None
    missing: tuple[str, ...] = ()


@dataclass
class Desk:
    """``money`` is there for the owner only."""

    release: Release
    stages: list[StageHours]
    money: Money | None = None

    @property
    def spent(self) -> int:
        return sum(one.spent for one in self.stages)

    @property
    def to_go(self) -> int:
        return sum(one.to_go for one in self.stages)

    @property
    def done(self) -> int:
        return sum(one.done for one in self.stages)

    @property
    def now_at(self) -> Stage | None:
        """The first stage that is not done."""
        return next((one.stage for one in self.stages if not one.done), None)

    @property
    def unguessed(self) -> int:
        """Stages to come of which nobody has said how long they take."""
        return sum(not one.done and not one.stage.minutes for one in self.stages)


def desks(*, away: bool = False, money: bool = False) -> list[Desk]:
    """All releases, those to come first, or all that were put away.

    Three queries; two more with ``money``.
    """
    releases = Release.objects.filter(put_away_at__isnull=not away).order_by(
        F("published_on").desc(nulls_first=True), F("target_on").asc(nulls_last=True), "name"
    )
    return _read(releases, money=money)


def desk_or_404(pk: int, *, money: bool = False, by: User | None = None) -> Desk:
    """One release, in as many queries as ``desks``; its picture comes along."""
    found = _read(Release.objects.filter(pk=pk).select_related("picture"), money=money, by=by)
    if not found:
        raise Http404
    return found[0]


def _read(releases: QuerySet[Release], *, money: bool, by: User | None = None) -> list[Desk]:
    rows = list(releases.prefetch_related("stages"))
    spent = minutes_by_stage(rows, by)
    found = []
    for release in rows:
        stages = list(release.stages.all())
        hours = [
            StageHours(stage, minutes, place, last=place == len(stages) - 1, running=bool(running))
            for place, stage in enumerate(stages)
            for minutes, running in [spent.get(stage.pk, (0, 0))]
        ]
        found.append(Desk(release, hours))
    if money:
        sums = sums_of(rows)
        for desk in found:
            desk.money = _money(desk, sums[desk.release.pk])
    return found


def minutes_by_stage(
    releases: Iterable[Release], by: User | None = None
) -> dict[int, tuple[int, int]]:
    """Minutes spent, and whether the clock of ``by`` runs, by key of the stage. One query.

    A clock that still runs adds no minutes.
    """
    times = BenchTime.objects.filter(stage__release__in=[release.pk for release in releases])
    mine = Q(minutes=None, by=by)
    rows = (
        times.order_by()
        .values_list("stage")
        .annotate(total=Sum("minutes"), running=Count("pk", filter=mine))
    )
    return {stage: (total or 0, running) for stage, total, running in rows}


def _money(desk: Desk, sums: Sums) -> Money:
    release = desk.release
    facts = Facts(
        price=release.price,
        fee_percent=release.fee_percent,
        fee_amount=release.fee_amount,
        rate=release.rate,
        minutes_spent=desk.spent,
        minutes_to_go=desk.to_go,
        costs=sums.costs,
        earned=sums.earned,
    )
    try:
        return Money(sums, found=break_even(facts))
    except MissingFactsError as refused:
        return Money(sums, missing=tuple(refused.missing))
