"""Releases of the studio's own patterns: their stages, the hours on them, and what they come to."""

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from math import gcd
from typing import Any

from django import forms
from django.db.models import Count, F, Prefetch, Q, QuerySet, Sum
from django.forms import BoundField
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from jobs.makes.break_even import BreakEven, Facts, MissingFactsError, break_even, curve
from jobs.makes.models import Release, Stage, Tester
from jobs.makes.patterns.queries import unreleased
from jobs.makes.releases.forms import BelongsForm, GuessesForm
from jobs.makes.releases.queries import Sums, last_first_year, sums_of
from jobs.makes.wall.queries import tiles_of
from jobs.planning import actions
from jobs.planning.models import BenchTime
from studio.shop import clock
from studio.shop.forms import HoursField, MoneyField, StudioFormMixin, day_input
from studio.shop.history import of, undoable
from studio.shop.history.pages import undo_step
from studio.shop.http import StudioRequest, sent
from studio.shop.look.bars import Point, Trend
from studio.shop.models import Profile, User
from studio.shop.money import format_money


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


MONTHLY = (10, 20, 40)
"""Copies a month, to say how long a release takes to pay for itself."""


@dataclass(frozen=True)
class ReleaseMoney:
    """When the release breaks even, or which facts are ``missing`` to say so.

    ``curve`` are prices with the copies that break even; ``price`` is the one that is tried, that
    of the release unless another was asked.
    """

    sums: Sums
    break_even: BreakEven | None = None
    missing: tuple[str, ...] = ()
    curve: tuple[tuple[int, int], ...] = ()
    price: int | None = None

    @property
    def lowest(self) -> int:
        return self.curve[0][0] if self.curve else 0

    @property
    def highest(self) -> int:
        return self.curve[-1][0] if self.curve else 0

    @property
    def step(self) -> int:
        """Of the prices that can be tried, so that the release's own is one of them."""
        return gcd(*(price for price, _ in self.curve)) if self.curve else 1

    @property
    def months(self) -> list[tuple[int, str]]:
        """Copies a month, and how long until those that break even are sold, such as 5 y 3 m."""
        copies = self.break_even.copies if self.break_even else None
        return [(each, in_years(-(-copies // each))) for each in MONTHLY] if copies else []

    def chart(self, studio: Profile) -> Trend | None:
        """Copies by price, with the price that is tried marked."""
        if len(self.curve) < 2 or self.price not in dict(self.curve):
            return None
        points = [
            Point(price, copies, words, copies_in_words(copies))
            for price, copies in self.curve
            for words in [format_money(price, studio.currency, studio.locale)]
        ]
        place = [price for price, _ in self.curve].index(self.price)
        tried = points[place]
        return Trend(points, f"{tried.shown} break even at {tried.name}", marked=place)


def in_years(months: int) -> str:
    years, rest = divmod(months, 12)
    return " ".join([f"{years} y"] * bool(years) + [f"{rest} m"] * bool(rest or not years))


def copies_in_words(copies: int) -> str:
    return f"{copies} {'copy' if copies == 1 else 'copies'}"


@dataclass(frozen=True)
class SizeTested:
    """A size of the pattern: ``answered``, ``sent`` or ``open``, and whoever sews it."""

    size: str
    state: str
    testers: tuple[Tester, ...] = ()


RANGE = re.compile(r"(\d+)\s*(?:-|\u2013|to)\s*(\d+)")
STEP = 2
"""Between the sizes of a range that is told by its ends (European and most other numbering)."""


def sizes_of(text: str) -> list[str]:
    """``34-40`` is 34, 36, 38 and 40; other sizes stand as they are, each once."""
    sizes: list[str] = []
    for first, last in RANGE.findall(text):
        sizes += [str(size) for size in range(int(first), min(int(last), 999) + 1, STEP)]
    sizes += re.findall(r"[^\s,;/]+", RANGE.sub(" ", text))
    return list(dict.fromkeys(sizes))[:MOST_SIZES]


MOST_SIZES = 40


def sizes_tested(release: Release, testers: Iterable[Tester]) -> list[SizeTested]:
    """Every size of the release in its order, then those that somebody sews beside them."""
    text = release.sizes or (release.pattern.sizes if release.pattern else "")
    by_size: dict[str, list[Tester]] = {size: [] for size in sizes_of(text)}
    for tester in testers:
        if tester.size:
            by_size.setdefault(tester.size, []).append(tester)
    return [SizeTested(size, _tested(rows), tuple(rows)) for size, rows in by_size.items()]


def _tested(testers: list[Tester]) -> str:
    if any(tester.back_on for tester in testers):
        return "answered"
    return "sent" if any(tester.sent_on for tester in testers) else "open"


@dataclass
class ReleaseDesk:
    """``money`` is there for the owner only."""

    release: Release
    stages: list[StageHours]
    money: ReleaseMoney | None = None

    @property
    def testers(self) -> list[Tester]:
        return list(self.release.testers.all())

    @property
    def answered(self) -> int:
        return sum(tester.back_on is not None for tester in self.testers)

    @property
    def spent(self) -> int:
        return sum(hours.spent for hours in self.stages)

    @property
    def to_go(self) -> int:
        return sum(hours.to_go for hours in self.stages)

    @property
    def guessed(self) -> int:
        return sum(hours.stage.minutes for hours in self.stages)

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

    Four queries; two more with ``money``.
    """
    releases = Release.objects.filter(put_away_at__isnull=not away).select_related("picture")
    releases = releases.prefetch_related("testers").order_by(
        F("published_on").desc(nulls_first=True), F("target_on").asc(nulls_last=True), "name"
    )
    return _read(releases, money=money)


def desk_or_404(
    pk: int, *, money: bool = False, by: User | None = None, price: int | None = None
) -> ReleaseDesk:
    """One release, in as many queries as ``desks``; its pictures and its pattern come along.

    ``price`` is tried instead of its own.
    """
    releases = Release.objects.filter(pk=pk).select_related("picture", "pattern__picture")
    desks = _read(releases, money=money, by=by, price=price)
    if not desks:
        raise Http404
    return desks[0]


def _read(
    releases: QuerySet[Release],
    *,
    money: bool,
    by: User | None = None,
    price: int | None = None,
) -> list[ReleaseDesk]:
    stages_shown = Prefetch("stages", Stage.objects.select_related("picture"))
    rows = list(releases.prefetch_related(stages_shown))
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
            desk.money = _money(desk, sums[desk.release.pk], price)
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


def _money(desk: ReleaseDesk, sums: Sums, price: int | None = None) -> ReleaseMoney:
    release = desk.release
    price = price or release.price
    facts = Facts(
        price=price,
        fee_percent=release.fee_percent,
        fee_amount=release.fee_amount,
        rate=release.rate,
        minutes_spent=desk.spent,
        minutes_to_go=desk.to_go,
        costs=sums.costs,
        earned=sums.earned,
    )
    try:
        answer = break_even(facts)
        prices = curve(replace(facts, price=release.price), tried=price)
        return ReleaseMoney(sums, break_even=answer, curve=tuple(prices), price=price)
    except MissingFactsError as refused:
        return ReleaseMoney(sums, missing=tuple(refused.missing))


class PriceForm(StudioFormMixin, forms.Form):
    """A price to try."""

    price = MoneyField(required=False)


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


SHOWN_TIMES = 10


@require_GET
def releases(request: StudioRequest) -> HttpResponse:
    away = "away" in request.GET
    rows = desks(away=away, money=request.user.is_owner)
    shown = {
        "away": away,
        "desks": rows,
        "coming": sum(desk.release.published_on is None for desk in rows),
        "on_sale": sum(desk.release.published_on is not None for desk in rows),
        "drafts": [] if away else unreleased(request.studio.name),
    }
    return render(request, "planning/releases/releases.html", shown)


@require_GET
def release(request: StudioRequest, pk: int) -> HttpResponse:
    owner, form = request.user.is_owner, PriceForm(request.GET, studio=request.studio)
    price = form.cleaned_data["price"] if form.is_valid() else None
    desk = desk_or_404(pk, money=owner, by=request.user, price=price)
    testers = list(desk.release.testers.all())
    sizes = sizes_tested(desk.release, testers)
    shown: dict[str, Any] = {
        "desk": desk,
        "release": desk.release,
        "focus": _focus(desk.stages, request.GET.get("at", ""), request.GET.get("did", "")),
        "testers": testers,
        "sizes": sizes,
        "open_sizes": [size.size for size in sizes if size.state == "open"],
        "rows": guess_rows(desk),
        "samples": tiles_of(desk.release.samples.all()),
        "photos": desk.release.pictures.all(),
        "belongs_form": BelongsForm(),
        "errata": desk.release.errata.all(),
    }
    if owner:
        shown |= {"costs": desk.release.costs.all(), "last": last_first_year(desk.release)}
        shown["curve"] = desk.money.chart(request.studio) if desk.money else None
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


@dataclass(frozen=True)
class GuessRow:
    """A stage with its hours and the fields of its guess and its tick."""

    hours: StageHours
    guess: BoundField
    done: BoundField


def guess_rows(desk: ReleaseDesk) -> list[GuessRow]:
    form = GuessesForm(stages=[hours.stage for hours in desk.stages])
    return [
        GuessRow(hours, form[f"stage-{hours.stage.pk}"], form[f"done-{hours.stage.pk}"])
        for hours in desk.stages
    ]


def _focus(stages: list[StageHours], at: str, did: str) -> tuple[int, str]:
    """Stage and button that were pressed last; at its end, the other button is at hand."""
    for hours in stages:
        if str(hours.stage.pk) == at:
            if hours.place == 0:
                return hours.stage.pk, "down"
            return hours.stage.pk, "up" if hours.last or did == "up" else "down"
    return 0, ""
