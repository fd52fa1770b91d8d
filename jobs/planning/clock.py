"""The bench clock: one tap to start, one to stop, or an honest guess afterwards."""

from collections.abc import Callable, Iterator
from typing import Any, TypeVar

from django import forms
from django.contrib import messages
from django.db.models import Model, QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from jobs.makes.ideas.actions import MakeError
from jobs.makes.models import Make, MakeState, Pattern, Stage
from jobs.planning import actions
from jobs.planning.bench_time import learned_minutes, minutes_of
from jobs.planning.models import BenchTime
from jobs.tickets.actions import TicketError
from jobs.tickets.models import Line
from jobs.tickets.views import say_step
from studio.shop.http import StudioRequest, go_back
from studio.shop.locales import show_minutes

GUESSES = (5, 10, 15, 20, 30, 45, 60)
"""Minutes offered for work that was done without the clock."""
LINES = Line.objects.select_related("garment__ticket")

Row = TypeVar("Row", bound=Model)
Result = TypeVar("Result")


class StartForm(forms.Form):
    """An operation, a make, a stage of a release, or a purpose of one's own."""

    line = forms.IntegerField(required=False, min_value=1)
    make = forms.IntegerField(required=False, min_value=1)
    stage = forms.IntegerField(required=False, min_value=1)
    purpose = forms.ChoiceField(choices=BenchTime.Purpose, required=False)

    def clean(self) -> dict[str, Any]:
        """What is worked on says what for; it is one thing at a time."""
        facts = super().clean() or {}
        if sum(bool(facts.get(name)) for name in ("line", "make", "stage")) > 1:
            raise forms.ValidationError("The clock runs for one thing at a time.")
        if facts.get("make"):
            facts["purpose"] = BenchTime.Purpose.OWN
        elif facts.get("stage"):
            facts["purpose"] = BenchTime.Purpose.RELEASE
        elif facts.get("line") or not facts.get("purpose"):
            facts["purpose"] = BenchTime.Purpose.CLIENT
        return facts


class StopForm(forms.Form):
    minutes = forms.IntegerField(
        required=False,
        min_value=0,
        error_messages={
            "invalid": "Write the minutes as a number.",
            "min_value": "Write minutes from 0 up.",
        },
    )
    done = forms.BooleanField(required=False)


def _minutes() -> forms.IntegerField:
    """Minutes of one sitting, or none."""
    between = f"Write minutes between 1 and {actions.LONGEST_SITTING}."
    wrong = {
        "invalid": "Write the minutes as a whole number.",
        "min_value": between,
        "max_value": between,
    }
    return forms.IntegerField(
        required=False, min_value=1, max_value=actions.LONGEST_SITTING, error_messages=wrong
    )


class CatchUpForm(forms.Form):
    """Minutes by operation, and of own sewing until ``at``, on a ``make`` or on none.

    They are offered ones, or others typed: of operation 12 in ``line-12`` and ``typed-12``.
    """

    own = _minutes()
    own_typed = _minutes()
    make = forms.IntegerField(required=False, min_value=1)
    at = forms.DateTimeField(required=False)

    def clean(self) -> dict[str, Any]:
        facts = super().clean() or {}
        facts["own"] = facts.get("own_typed") or facts.get("own")
        facts["lines"] = dict(self._lines("line-")) | dict(self._lines("typed-"))
        return facts

    def _lines(self, prefix: str) -> Iterator[tuple[int, int]]:
        each = _minutes()
        for name, value in self.data.items():
            key = name.removeprefix(prefix)
            if name.startswith(prefix) and key.isdecimal():
                try:
                    minutes = each.clean(value)
                except forms.ValidationError as wrong:
                    self.add_error(None, wrong)
                else:
                    if minutes:
                        yield int(key), minutes


@require_POST
def start(request: StudioRequest) -> HttpResponse:
    """Work begins on an operation, a make, a stage of a release, or own sewing at large."""
    form = StartForm(request.POST)
    if form.is_valid():
        facts = form.cleaned_data
        line = _named(LINES, facts["line"])
        make = _named(Make.objects.all(), facts["make"])
        stage = _named(Stage.objects.all(), facts["stage"])
        _try(
            request,
            lambda: actions.start_clock(
                line=line, make=make, stage=stage, purpose=facts["purpose"], by=request.user
            ),
        )
    return go_back(request, "today")


@require_POST
def stop(request: StudioRequest) -> HttpResponse:
    """Work stops; with ``done`` its operation is ticked as well."""
    form = StopForm(request.POST)
    if not form.is_valid():
        _complain(request, form)
        return go_back(request, "today")
    verb = actions.finish_work if form.cleaned_data["done"] else actions.stop_clock
    time = _try(request, lambda: verb(by=request.user, minutes=form.cleaned_data["minutes"]))
    if time:
        words = f"{_what(time)}: {show_minutes(time.minutes or 0)}."
        if verb is actions.finish_work and time.line:
            say_step(request, time.line.garment.ticket, words, back=reverse("today"))
        else:
            messages.success(request, words)
    return go_back(request, "today")


@require_POST
def catch_up(request: StudioRequest) -> HttpResponse:
    """About so many minutes, for what was done without the clock."""
    form = CatchUpForm(request.POST)
    if not form.is_valid():
        _complain(request, form)
        return go_back(request, "today")
    facts, by = form.cleaned_data, request.user
    if noted := _try(request, lambda: actions.catch_up(minutes=facts["lines"], by=by)):
        operations = "operation" if noted == 1 else "operations"
        messages.success(request, f"Minutes of {noted} {operations} written down.")
    if minutes := facts["own"]:
        make = _named(Make.objects.all(), facts["make"])
        time = _try(
            request,
            lambda: actions.log_time(
                line=None,
                purpose=BenchTime.Purpose.OWN,
                minutes=minutes,
                make=make,
                by=by,
                until=facts["at"],
            ),
        )
        if time:
            what = make or "own sewing"
            messages.success(request, f"{show_minutes(minutes)} of {what} written down.")
    return go_back(request, "today")


@require_GET
def pattern_hours(request: StudioRequest, pk: int) -> HttpResponse:
    """What a pattern takes, learned from its makes: a part of its page, or a page by itself."""
    pattern = get_object_or_404(Pattern, pk=pk)
    learned = learned_minutes([pk]).get(pk)
    makes = pattern.makes.filter(state=MakeState.FINISHED, further_patterns=None)
    spent = {} if request.htmx else minutes_of(make.pk for make in makes)
    took = [(make, spent[make.pk]) for make in makes.order_by("finished_on") if make.pk in spent]
    page = "planning/_pattern_hours.html" if request.htmx else "planning/pattern_hours.html"
    return render(request, page, {"pattern": pattern, "learned": learned, "took": took})


def _named(rows: QuerySet[Row], pk: int | None) -> Row | None:
    """The row with this key, None where none is named. Raises Http404."""
    return get_object_or_404(rows, pk=pk) if pk else None


def _what(time: BenchTime) -> str:
    if time.line is None:
        named = time.make or (time.stage and f"{time.stage.release}, {time.stage}")
        return str(named or time.get_purpose_display())
    return f"{time.line.garment.ticket.number} {time.line.garment.letter} {time.line.name}"


def _complain(request: StudioRequest, form: forms.Form) -> None:
    for wrong in form.errors.values():
        messages.error(request, str(wrong[0]))


def _try(request: StudioRequest, act: Callable[[], Result]) -> Result | None:
    """What the act gives; None with a message when it could not be done."""
    try:
        return act()
    except (actions.PlanError, MakeError, TicketError) as wrong:
        messages.error(request, str(wrong))
    return None
