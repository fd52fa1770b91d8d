"""A job wanted for a day: what happens if it is taken, what is asked for it, and those declined."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
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
from jobs.planning.plan.promises import AskedOperation, asked_for
from jobs.planning.plan.rush import DayCost, cost
from jobs.pricing.models import FittingPlace, GarmentKind, Operation, PriceRules
from jobs.pricing.quote import Item, TaxMode, Terms, price_line
from studio.shop import clock
from studio.shop.forms import HoursField, MoneyField, StudioFormMixin, day_input
from studio.shop.http import StudioRequest
from studio.shop.locales import show_day
from studio.shop.models import Profile


@dataclass(frozen=True)
class RushAnswer:
    """What the week says to a job wanted for ``day``; ``closed`` where the studio is shut then."""

    answer: WeekAnswer
    day: date
    cost: DayCost
    closed: bool

    @property
    def minutes(self) -> int:
        return self.answer.promises.asked.minutes

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
    hours = answer.week.hours
    closed = bool(hours.shifts) and not hours.is_open(day)
    return RushAnswer(answer, day, cost(answer.promises, day), closed)


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
        self, *args: Any, kinds: Iterable[GarmentKind], sees_money: bool, **kwargs: Any
    ) -> None:
        super().__init__(*args, use_required_attribute=False, **kwargs)
        self.listed = {str(work.pk): work for kind in kinds for work in kind.operations.all()}
        self.fields["works"] = forms.MultipleChoiceField(
            label="Work from the price list",
            required=False,
            choices=[(pk, work.name) for pk, work in self.listed.items()],
        )
        if not sees_money:
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
    kinds, sees_money = list(GarmentKind.objects.on_offer()), request.user.is_owner
    data = request.POST if request.method == "POST" else request.GET
    form = RushForm(data or None, studio=request.studio, kinds=kinds, sees_money=sees_money)
    refusal = DeclineForm(request.POST or None)
    context: dict[str, Any] = {"form": form, "kinds": kinds, "refusal": refusal}
    if form.is_valid():
        facts = form.cleaned_data
        pieces = pieces_of(facts["works"], facts["hours"] or 0, facts["before"])
        if refusal.is_valid():
            minutes = sum(piece.minutes for piece in pieces)
            return _decline(request, facts["day"], minutes, refusal.cleaned_data["note"])
        context["asked"] = ask_rush(request.studio, pieces, facts["day"])
        if sees_money and form.price:
            context["fee"] = rush_fee(form.price, request.studio)
    context["declined"] = Declined.objects.select_related("by")[:RECENT]
    return render(request, "planning/rush.html", context)


def _decline(request: StudioRequest, day: date, minutes: int, note: str) -> HttpResponse:
    actions.decline(wanted_by=day, minutes=minutes, note=note, by=request.user)
    shown = show_day(day, request.studio.locale, year=False)
    messages.success(request, f"Declined for {shown}.")
    return redirect("rush")
