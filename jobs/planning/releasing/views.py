"""Releases with the hours spent on them."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from jobs.makes.models import Stage
from jobs.makes.releases.queries import last_first_year
from jobs.planning import actions
from jobs.planning.models import BenchTime
from jobs.planning.releasing.actions import take_minutes_off
from jobs.planning.releasing.desk import StageHours, desk_or_404, desks
from jobs.planning.releasing.forms import StageTimeForm
from jobs.planning.releasing.tables import ReleaseTable
from studio.shop.http import StudioRequest, sent
from studio.shop.tables import show_page

MONEY = ("copies", "copies_to_go")
SHOWN_TIMES = 10


@require_GET
def releases(request: StudioRequest) -> HttpResponse:
    away, owner = "away" in request.GET, request.user.is_owner
    table = ReleaseTable(
        desks(away=away, money=owner), studio=request.studio, hide=() if owner else MONEY
    )
    show_page(table, request)
    return render(request, "planning/releasing/releases.html", {"table": table, "away": away})


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
    return render(request, "planning/releasing/release.html", shown)


@require_http_methods(["GET", "POST"])
def stage_minutes(request: StudioRequest, pk: int) -> HttpResponse:
    stage = get_object_or_404(Stage.objects.select_related("release"), pk=pk)
    form = StageTimeForm(sent(request))
    if form.is_valid():
        told = form.cleaned_data
        try:
            actions.log_time(
                line=None,
                stage=stage,
                purpose=BenchTime.Purpose.RELEASE,
                minutes=told["minutes"],
                by=request.user,
                until=told["until"],
            )
        except actions.PlanError as wrong:
            form.add_error("minutes", str(wrong))
        else:
            return redirect(f"{stage.release.get_absolute_url()}#stage-{pk}")
    times = stage.bench_times.filter(minutes__isnull=False)[:SHOWN_TIMES]
    shown = {"form": form, "stage": stage, "times": times}
    return render(request, "planning/releasing/minutes.html", shown)


@require_POST
def minutes_off(request: StudioRequest, pk: int) -> HttpResponse:
    times = BenchTime.objects.filter(stage__isnull=False, minutes__isnull=False)
    time = get_object_or_404(times, pk=pk)
    take_minutes_off(time=time)
    return redirect("stage-minutes", time.stage_id)


def _focus(stages: list[StageHours], at: str, did: str) -> tuple[int, str]:
    """Stage and button that were pressed last; at its end, the other button is at hand."""
    for one in stages:
        if str(one.stage.pk) == at:
            if one.place == 0:
                return one.stage.pk, "down"
            return one.stage.pk, "up" if one.last or did == "up" else "down"
    return 0, ""
