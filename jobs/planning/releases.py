"""Releases of the studio's own patterns: their stages, the hours on them, and what they come to."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django import forms
from django.db.models import Count, F, Q, QuerySet, Sum
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from jobs.makes.break_even import BreakEven, Facts, MissingFactsError, break_even
from jobs.makes.models import Release, Stage
from jobs.makes.releases.queries import Sums, last_first_year, sums_of
from jobs.planning import actions
from jobs.planning.models import BenchTime
from studio.shop import clock, tables
from studio.shop.forms import HoursField, day_input
from studio.shop.history import of, undoable
from studio.shop.history.pages import undo_step
from studio.shop.http import StudioRequest, sent
from studio.shop.models import User
from studio.shop.tables import show_page


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
class ReleaseMoney:
    """When the release breaks even, or which facts are ``missing`` to say so."""

    sums: Sums
    break_even: BreakEven | None = None
    missing: tuple[str, ...] = ()


@dataclass
class ReleaseDesk:
    """``money`` is there for the owner only."""

    release: Release
    stages: list[StageHours]
    money: ReleaseMoney | None = None

    @property
    def spent(self) -> int:
        return sum(hours.spent for hours in self.stages)

    @property
    def to_go(self) -> int:
        return sum(hours.to_go for hours in self.stages)

    @property
    def done(self) -> int:
        return sum(hours.done for hours in self.stages)

    @property
    def now_at(self) -> Stage | None:
        """The first stage that is not done."""
        return next((hours.stage for hours in self.stages if not hours.done), None)

    @property
    def unguessed(self) -> int:
        """Stages to come of which nobody has said how long they take."""
        return sum(not hours.done and not hours.stage.minutes for hours in self.stages)


def desks(*, away: bool = False, money: bool = False) -> list[ReleaseDesk]:
    """All releases, those to come first, or all that were put away.

    Three queries; two more with ``money``.
    """
    releases = Release.objects.filter(put_away_at__isnull=not away).order_by(
        F("published_on").desc(nulls_first=True), F("target_on").asc(nulls_last=True), "name"
    )
    return _read(releases, money=money)


def desk_or_404(pk: int, *, money: bool = False, by: User | None = None) -> ReleaseDesk:
    """One release, in as many queries as ``desks``; its picture comes along."""
    desks = _read(Release.objects.filter(pk=pk).select_related("picture"), money=money, by=by)
    if not desks:
        raise Http404
    return desks[0]


def _read(releases: QuerySet[Release], *, money: bool, by: User | None = None) -> list[ReleaseDesk]:
    rows = list(releases.prefetch_related("stages"))
    spent = minutes_by_stage(rows, by)
    desks = []
    for release in rows:
        stages = list(release.stages.all())
        hours = [
            StageHours(stage, minutes, place, last=place == len(stages) - 1, running=bool(running))
            for place, stage in enumerate(stages)
            for minutes, running in [spent.get(stage.pk, (0, 0))]
        ]
        desks.append(ReleaseDesk(release, hours))
    if money:
        sums = sums_of(rows)
        for desk in desks:
            desk.money = _money(desk, sums[desk.release.pk])
    return desks


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


def _money(desk: ReleaseDesk, sums: Sums) -> ReleaseMoney:
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
        return ReleaseMoney(sums, break_even=break_even(facts))
    except MissingFactsError as refused:
        return ReleaseMoney(sums, missing=tuple(refused.missing))


class StageTimeForm(forms.Form):
    """``at`` is when the form was opened, so that the same sending twice is once."""

    minutes = HoursField(label="Hours", help_text="Such as 1:30, or 0:20 for twenty minutes.")
    day = forms.DateField(widget=day_input(), initial=clock.today)
    at = forms.DateTimeField(
        widget=forms.HiddenInput, initial=lambda: clock.now().isoformat(), required=False
    )

    def clean(self) -> dict[str, Any]:
        """``until`` is the moment of the day at which the form was opened."""
        facts = super().clean() or {}
        if "day" in facts:
            at: datetime = clock.local(facts.get("at") or clock.now())
            facts["until"] = clock.at(facts["day"], at.time())
        return facts


NOW_AT = (
    "{% load studio %}{% if record.release.published_on %}"
    "Published {% day record.release.published_on %}"
    "{% elif record.now_at %}{{ record.now_at }}{% else %}All stages done{% endif %}"
)
TO_GO = (
    "{% if value.break_even.copies_to_go != None %}{{ value.break_even.copies_to_go }}{% endif %}"
)


class ReleaseTable(tables.StudioTable):
    """Desks; ``hide`` names the columns that this reader does not see."""

    lead, named = "release", ("done", "spent", "to_go", "target", "copies", "copies_to_go")

    release = tables.Column(linkify=lambda record: record.release.get_absolute_url())
    now_at = tables.TemplateColumn(NOW_AT, verbose_name="Now at", empty_values=())
    done = tables.TemplateColumn(
        "{{ record.done }} of {{ record.stages|length }}", verbose_name="Stages done"
    )
    spent = tables.MinutesColumn("Hours in")
    to_go = tables.MinutesColumn("Hours to go")
    target = tables.DayColumn("Hoped for by", accessor="release__target_on", default="")
    copies = tables.NumberColumn("Copies sold", accessor="money__sums__copies")
    copies_to_go = tables.TemplateColumn(
        TO_GO, accessor="money", verbose_name="To break even", attrs=tables.NUM
    )

    class Meta:
        orderable = False
        empty_text = "No pattern on its way just now."


MONEY = ("copies", "copies_to_go")
SHOWN_TIMES = 10


@require_GET
def releases(request: StudioRequest) -> HttpResponse:
    away, owner = "away" in request.GET, request.user.is_owner
    table = ReleaseTable(
        desks(away=away, money=owner), studio=request.studio, hide=() if owner else MONEY
    )
    show_page(table, request)
    return render(request, "planning/releases/releases.html", {"table": table, "away": away})


@require_GET
def release(request: StudioRequest, pk: int) -> HttpResponse:
    owner = request.user.is_owner
    desk = desk_or_404(pk, money=owner, by=request.user)
    shown: dict[str, Any] = {
        "desk": desk,
        "release": desk.release,
        "focus": _focus(desk.stages, request.GET.get("at", ""), request.GET.get("did", "")),
        "testers": desk.release.testers.all(),
        "errata": desk.release.errata.all(),
    }
    if owner:
        shown |= {"costs": desk.release.costs.all(), "last": last_first_year(desk.release)}
    return render(request, "planning/releases/release.html", shown)


@require_http_methods(["GET", "POST"])
def stage_minutes(request: StudioRequest, pk: int) -> HttpResponse:
    stage = get_object_or_404(Stage.objects.select_related("release"), pk=pk)
    if request.POST.get("save") == "undo":
        return undo_step(request, of(stage), back=request.path)
    form = StageTimeForm(sent(request))
    if form.is_valid():
        facts = form.cleaned_data
        try:
            actions.log_time(
                line=None,
                stage=stage,
                purpose=BenchTime.Purpose.RELEASE,
                minutes=facts["minutes"],
                by=request.user,
                until=facts["until"],
            )
        except actions.PlanError as wrong:
            form.add_error("minutes", str(wrong))
        else:
            return redirect(f"{stage.release.get_absolute_url()}#stage-{pk}")
    times = stage.bench_times.filter(minutes__isnull=False)[:SHOWN_TIMES]
    shown = {
        "form": form,
        "stage": stage,
        "times": times,
        "last_step": undoable(of(stage)[:SHOWN_TIMES], request.user),
    }
    return render(request, "planning/releases/minutes.html", shown)


@require_POST
def minutes_off(request: StudioRequest, pk: int) -> HttpResponse:
    times = BenchTime.objects.filter(stage__isnull=False, minutes__isnull=False)
    time = get_object_or_404(times, pk=pk)
    actions.take_minutes_off(time=time, by=request.user)
    return redirect("stage-minutes", time.stage_id)


def _focus(stages: list[StageHours], at: str, did: str) -> tuple[int, str]:
    """Stage and button that were pressed last; at its end, the other button is at hand."""
    for hours in stages:
        if str(hours.stage.pk) == at:
            if hours.place == 0:
                return hours.stage.pk, "down"
            return hours.stage.pk, "up" if hours.last or did == "up" else "down"
    return 0, ""
