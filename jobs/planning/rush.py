"""A job wanted for a day: what happens if it is taken, what is asked for it, and those declined."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from itertools import islice
from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from jobs.planning import actions
from jobs.planning.honest_date import WeekAnswer, ask_week, hangs_until
from jobs.planning.models import Declined
from jobs.planning.plan.at_risk import excess, promises_at_risk
from jobs.planning.plan.promises import AskedOperation, asked_for
from jobs.planning.plan.rush import DayCost, MovedWork, TimeUntil, cost, time_until
from jobs.planning.plan.workload import Job
from jobs.planning.queries import StudioWeek, read_garments
from jobs.pricing.models import FittingPlace, GarmentKind, Operation, PriceRules
from jobs.pricing.quote import Item, TaxMode, Terms, price_line
from studio.shop import clock
from studio.shop.forms import HoursField, MoneyField, StudioFormMixin, day_input
from studio.shop.http import StudioRequest
from studio.shop.locales import show_day
from studio.shop.look.bars import Bar, Part
from studio.shop.may import Tick
from studio.shop.models import Profile

LENGTHS = (15, 30, 45, 60, 90, 120, 150, 180, 240, 300, 360, 480, 600, 720, 960)
"""Minutes offered where it is asked whether there is time; any others are asked on the page."""
DAYS = 15
"""Open days offered there."""
AHEAD = 2
"""The one chosen there before anybody says otherwise: so many open days from the first."""


@dataclass(frozen=True)
class Whose:
    """A garment by whose it is and what it is, where that is known; of a ticket it is the first."""

    client: str
    garment: str


@dataclass(frozen=True)
class Moved:
    """What moves for the asked job, and whose it is; None where it is own sewing."""

    work: MovedWork
    whose: Whose | None


@dataclass(frozen=True)
class RushAnswer:
    """What the week says to a job wanted for ``day``; ``closed`` where the studio is shut then.

    ``until`` is the time there is, None where there never is any. ``at_risk`` are the promises that
    do not hold as it is, ``before`` those that come first where the day is too full.
    """

    answer: WeekAnswer
    day: date
    cost: DayCost
    closed: bool
    until: TimeUntil | None = None
    moved: tuple[Moved, ...] = ()
    at_risk: tuple[Whose, ...] = ()
    before: tuple[Whose, ...] = ()

    @property
    def minutes(self) -> int:
        return self.answer.promises.asked.minutes

    @property
    def verdict(self) -> str:
        """``yes``, ``own`` where only the owner's hours have room, ``no``; "" if never."""
        if not (self.answer.known and self.until):
            return ""
        if self.closed or not self.cost.possible:
            return "no"
        if not self.needs_rush:
            return "yes"
        return "no" if self.cost.late or self.answer.verdict(self.day) == "full" else "own"

    @property
    def sooner(self) -> date | None:
        """An earlier day than the asked one that would do as well, where there is one."""
        kept = self.answer.honest.kept
        return kept if kept and kept < self.day else None

    @property
    def chance(self) -> int | None:
        """In how many of ten cases the work is done by the day, where that is known."""
        percent = self.answer.likely.curve.get(self.day)
        return None if percent is None else percent // 10

    @property
    def bar(self) -> Bar | None:
        """The time there is, with a mark where the asked job ends."""
        if not self.until:
            return None
        parts = [
            Part("free", self.until.untouched),
            Part("clients", self.until.moving),
            Part("own", self.until.own),
        ]
        size = self.minutes if self.minutes > self.until.all else 0
        return Bar(parts, size=size, must=self.minutes, must_words="Asked", about="Time there is")

    @property
    def hours(self) -> str:
        """What is asked, as an address has it."""
        return _written(self.minutes)

    @property
    def needs_rush(self) -> bool:
        """Whether anybody gives way for the day."""
        return self.answer.verdict(self.day) != "kept" and not self.cost.free


@dataclass(frozen=True)
class Fee:
    """Minor units: ``total`` is ``amount`` with the rush on it."""

    amount: int
    fee: int
    percent: Decimal

    @property
    def total(self) -> int:
        return self.amount + self.fee


def ask_rush(studio: Profile, pieces: Iterable[AskedOperation], day: date) -> RushAnswer:
    """The week with and without these pieces of work, promised for the usual hour of ``day``."""
    answer = ask_week(studio, asked_for(pieces), ready_by=studio.promise_time)
    week, promises = answer.week, answer.promises
    asked = RushAnswer(answer, day, cost(promises, day), answer.is_closed(day))
    if week.book.idle or not answer.known:
        return asked
    until, due = time_until(promises, day), promises.due_bucket(day)
    inside = 0 <= due < len(promises.capacity)
    reason = promises.reason(due) if inside and answer.verdict(day) == "full" else None
    risks = promises_at_risk(
        week.book, studio.promise_time, week.hours.is_open, 0, overfull=bool(excess(week.book))
    )
    late = list(dict.fromkeys(risk.job for risk in risks if risk.job))
    before = reason.jobs if reason else ()
    kinds = _kinds_of([*late, *before, *(move.job for move in until.moved if move.job)])

    def whose(job: Job, garment: str = "") -> Whose:
        letter = garment or min((work.garment for work in job.works), default="")
        return Whose(job.client, kinds.get((job.ticket, letter), ""))

    return replace(
        asked,
        until=until,
        moved=tuple(
            Moved(move, whose(move.job, move.garment) if move.job else None) for move in until.moved
        ),
        at_risk=tuple(map(whose, late)),
        before=tuple(map(whose, before)),
    )


def _kinds_of(jobs: Iterable[Job]) -> dict[tuple[str, str], str]:
    """What the garments of these tickets are, by ticket and letter. One query, or none."""
    lines = {work.line for job in jobs for work in job.works}
    rows = read_garments(lines) if lines else []
    return {(row.ticket, row.letter): row.kind for row in rows}


def _written(minutes: int) -> str:
    return f"{minutes // 60}:{minutes % 60:02d}"


@dataclass(frozen=True)
class TimeQuestion:
    """What can be chosen where it is asked whether there is time: how long, and by which day."""

    days: tuple[date, ...]

    @property
    def lengths(self) -> list[tuple[str, int]]:
        """Each as an address has it, and its minutes."""
        return [(_written(minutes), minutes) for minutes in LENGTHS]

    @property
    def usual(self) -> date:
        return self.days[min(AHEAD, len(self.days) - 1)]


def time_question(week: StudioWeek, studio: Profile) -> TimeQuestion | None:
    """None where there is no bench time, so that nothing can be asked."""
    bench = week.book.bench
    first = 0 if clock.at(bench.today, studio.promise_time) > bench.now else 1
    days = (bench.today + timedelta(days=ahead) for ahead in range(first, 60))
    open_days = tuple(islice(filter(week.hours.is_open, days), DAYS))
    return TimeQuestion(open_days) if open_days and not week.book.idle else None


def pieces_of(works: Iterable[Operation], minutes: int, before: int | None) -> list[AskedOperation]:
    """The operations as listed, and other work of ``minutes``.

    ``before`` of them come before a fitting; None where that work needs none. Those of the list
    that need one come after it.
    """
    pieces = [
        AskedOperation(
            work.name,
            work.minutes,
            work.fitting_first,
            work.fitting_place == FittingPlace.BEFORE,
            hangs_until(work.hang_days),
        )
        for work in works
    ]
    if before is not None:
        pieces.append(AskedOperation("", before, before=True))
        pieces.append(AskedOperation("", minutes - before, after=True))
    elif minutes:
        pieces.append(AskedOperation("", minutes))
    return pieces


def rush_fee(amount: int, studio: Profile) -> Fee:
    """What a rush adds to work of ``amount``, as the price list rounds it. One query."""
    rules = PriceRules.load()
    terms = Terms(
        currency=studio.currency,
        tax_mode=TaxMode(studio.tax_mode),
        rounding_step=rules.rounding_step,
        rush_percent=rules.rush_percent,
    )
    price = price_line(Item("", "", amount), terms).price
    return Fee(amount, price - amount, rules.rush_percent)


FURTHEST = timedelta(days=730)


class RushForm(StudioFormMixin, forms.Form):
    """How much work, for which day, and for how much. A helper is not asked about money.

    Cleans ``works`` to the operations chosen, ``before`` to None where no fitting is needed.
    """

    day = forms.DateField(
        label="Wanted on",
        widget=day_input(),
        error_messages={"required": "Say for which day it is wanted."},
    )
    hours = HoursField(week=True, label="Bench hours", help_text="3, or 2:30, or 0:45")
    before = HoursField(
        week=True, label="Of these before a fitting", help_text="Empty if no fitting is needed."
    )
    amount = MoneyField(label="What it costs without rush", required=False)

    def __init__(
        self, *args: Any, kinds: Iterable[GarmentKind], sees_prices: bool, **kwargs: Any
    ) -> None:
        super().__init__(*args, use_required_attribute=False, **kwargs)
        self.listed = {str(work.pk): work for kind in kinds for work in kind.operations.all()}
        self.fields["works"] = forms.MultipleChoiceField(
            label="Work from the price list",
            required=False,
            choices=[(pk, work.name) for pk, work in self.listed.items()],
        )
        if not sees_prices:
            del self.fields["amount"]

    def clean_day(self) -> date:
        day: date = self.cleaned_data["day"]
        if day < clock.today():
            raise ValidationError("This day is over. Choose today or a later day.")
        if day > clock.today() + FURTHEST:
            raise ValidationError("This is more than two years away.")
        return day

    def clean_works(self) -> list[Operation]:
        return [self.listed[pk] for pk in self.cleaned_data["works"]]

    def clean(self) -> dict[str, Any]:
        facts = self.cleaned_data
        hours, before = facts.get("hours"), facts.get("before")
        if not hours and not facts.get("works") and not self.errors:
            self.add_error("hours", "Say how long it takes, or choose the work below.")
        if before is not None and before > (hours or 0):
            self.add_error("before", "This is more than the bench hours.")
        return facts

    @property
    def price(self) -> int:
        """What was typed, else what the chosen work costs by the list."""
        typed: int | None = self.cleaned_data.get("amount")
        return sum(work.price for work in self.cleaned_data["works"]) if typed is None else typed


class DeclineForm(forms.Form):
    note = forms.CharField(
        label="Why not", max_length=300, required=False, widget=forms.TextInput()
    )


RECENT = 20


@require_http_methods(["GET", "POST"])
def rush(request: StudioRequest) -> HttpResponse:
    """``?day=2026-12-01&hours=3`` asks; the same sent as a form declines it."""
    kinds, sees_prices = list(GarmentKind.objects.on_offer()), request.user.may(Tick.PRICES)
    data = request.POST if request.method == "POST" else request.GET
    form = RushForm(data or None, studio=request.studio, kinds=kinds, sees_prices=sees_prices)
    refusal = DeclineForm(request.POST or None)
    context: dict[str, Any] = {"form": form, "kinds": kinds, "refusal": refusal}
    if form.is_valid():
        facts = form.cleaned_data
        pieces = pieces_of(facts["works"], facts["hours"] or 0, facts["before"])
        if refusal.is_valid():
            minutes = sum(piece.minutes for piece in pieces)
            return _decline(request, facts["day"], minutes, refusal.cleaned_data["note"])
        context["asked"] = ask_rush(request.studio, pieces, facts["day"])
        if sees_prices and form.price:
            context["fee"] = rush_fee(form.price, request.studio)
    if request.htmx and request.htmx.target == "time-answer":
        return render(request, "planning/_time_answer.html", context)
    context["declined"] = Declined.objects.select_related("by")[:RECENT]
    return render(request, "planning/rush.html", context)


def _decline(request: StudioRequest, day: date, minutes: int, note: str) -> HttpResponse:
    actions.decline(wanted_by=day, minutes=minutes, note=note, by=request.user)
    shown = show_day(day, request.studio.locale, year=False)
    messages.success(request, f"Declined for {shown}.")
    return redirect("rush")
