"""Hems: marked and ready to cut, and how long one takes by its size."""

from collections import defaultdict
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from fractions import Fraction
from typing import Any

from django import forms
from django.contrib import messages
from django.db.models import Sum
from django.http import HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from clients.fields import HeelField, LengthField, storable, unit_of
from clients.fit.lengths import Length, show_length
from clients.fit.minutes import FEWEST, Guess, SizeLine, TimedHem, hem_size, size_line
from jobs.planning import actions
from jobs.planning.models import BenchTime
from jobs.pricing.models import WorkOrder
from jobs.tickets.actions import TicketError, note_heel
from jobs.tickets.heels import other_shoes
from jobs.tickets.models import FitSum, Garment, Line
from studio.shop.forms import StudioFormMixin
from studio.shop.http import StudioRequest, sent
from studio.shop.models import Profile
from studio.shop.money import round_half_up

RECENT = 400
"""Sums that are looked at, newest first: how one sewed long years ago says little about today."""


@dataclass(frozen=True)
class TimedHems:
    """What the timed hems teach. ``line`` is None where they teach nothing that can be checked."""

    hems: int
    line: SizeLine | None

    @property
    def enough(self) -> bool:
        return self.hems >= FEWEST

    @property
    def believed(self) -> bool:
        return self.line is not None and self.line.believed

    @property
    def off_by_size(self) -> int:
        """Whole minutes by which a hem guessed from the others is off."""
        return round_half_up(self.line.error) if self.line else 0

    @property
    def off_by_median(self) -> int:
        return round_half_up(self.line.median_error) if self.line else 0

    def guess(self, size: Fraction) -> Guess | None:
        """Minutes for a hem of this size; None unless the line is believed there."""
        return self.line.guess(size) if self.line and self.line.believed else None


def timed_hems() -> list[TimedHem]:
    """Finished hems with a measured edge and bench time, for one piece each. Three queries.

    A sum speaks of the operation it was put on, else of the one hem that its garment has. Of
    several sums for one operation the latest counts.
    """
    sums = list(FitSum.objects.filter(edge_mm__gt=0, layers__gt=0).order_by("-pk")[:RECENT])
    done: dict[int, list[Line]] = defaultdict(list)
    for line in Line.objects.filter(
        garment__in={fit_sum.garment_id for fit_sum in sums}, removed_at=None, done_at__isnull=False
    ):
        done[line.garment_id].append(line)
    sizes: dict[Line, Fraction] = {}
    for fit_sum in sums:
        hem = _hem_of(fit_sum, done[fit_sum.garment_id])
        if hem and fit_sum.edge_mm and fit_sum.layers:
            sizes.setdefault(hem, hem_size(fit_sum.edge_mm, fit_sum.layers))
    times = BenchTime.objects.filter(line__in=sizes, minutes__gt=0).order_by()
    took = dict(times.values_list("line").annotate(total=Sum("minutes")))
    return [
        TimedHem(size, Fraction(took[line.pk], line.quantity))
        for line, size in sizes.items()
        if line.pk in took
    ]


def _hem_of(fit_sum: FitSum, done: list[Line]) -> Line | None:
    """Which of the garment's finished operations the sum was for."""
    if fit_sum.line_id:
        return next((line for line in done if line.pk == fit_sum.line_id), None)
    hems = [line for line in done if line.work_order == WorkOrder.HEM]
    return hems[0] if len(hems) == 1 else None


def what_hems_teach() -> TimedHems:
    """Three queries."""
    hems = timed_hems()
    return TimedHems(len(hems), size_line(hems))


LONGEST_EDGE = 10_000  # mm, as of any length


class HemSizeForm(StudioFormMixin, forms.Form):
    length = LengthField(
        label="Edge all round",
        error_messages={"required": "Write how long the edge is, such as 240 cm."},
    )
    layers = forms.IntegerField(
        label="Layers",
        min_value=1,
        max_value=20,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
    )

    @classmethod
    def of_query(cls, query: QueryDict, studio: Profile) -> "HemSizeForm":
        """The form as asked for; ``edge``, in mm from another page, is shown in the studio's unit.

        Nothing asked is an empty form.
        """
        facts = {"length": query.get("length", ""), "layers": query.get("layers", "1")}
        if (edge := query.get("edge", "")) and not facts["length"]:
            facts["length"] = _shown_edge(edge, studio)
        return cls(facts if query else None, studio=studio, initial={"layers": 1})


def _shown_edge(edge: str, studio: Profile) -> str:
    """The edge in the studio's unit; as it came where it is no length in mm."""
    try:
        mm = Decimal(edge)
    except InvalidOperation:
        return edge
    unit = unit_of(studio)
    return f"{show_length(mm, unit)} {unit}" if mm.is_finite() and 0 < mm <= LONGEST_EDGE else edge


@require_safe
def hem_minutes(request: StudioRequest) -> HttpResponse:
    """A page with the form; for htmx only the answer, which is empty where there is none.

    ``?edge=4200&layers=3`` is an edge of 4200 mm; ``?length=`` is as typed in the form.
    """
    form = HemSizeForm.of_query(request.GET, request.studio)
    known = what_hems_teach()
    guess = None
    if form.is_valid():
        guess = known.guess(hem_size(form.cleaned_data["length"].mm, form.cleaned_data["layers"]))
    shown = {"form": form, "known": known, "guess": guess, "fewest": FEWEST}
    template = "planning/_hem_minutes.html" if request.htmx else "planning/hem_minutes.html"
    return render(request, template, shown)


class HeelForm(StudioFormMixin, forms.Form):
    """The heel height of today's shoes, needed before this hem is cut.

    Where it is known already, it is told only when the shoes are other ones. ``marked_at`` says
    at which of two heights the hem was marked.
    """

    heel = HeelField(
        label="Heel height of the shoes",
        error_messages={"required": "Write the heel height first: this hem is worn with them."},
    )
    marked_at = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, garment: Garment, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if garment.heel_typed:
            self.fields["heel"].required = False
            self.fields["heel"].label = "Heel height today, if the shoes are others"
        self.fields["marked_at"].initial = garment.heel_typed

    def clean_heel(self) -> Length | None:
        return storable(self.cleaned_data["heel"], Garment, "heel_typed")


@require_http_methods(["GET", "POST"])
def ready_to_cut(request: StudioRequest, pk: int) -> HttpResponse:
    """The hem is marked. Heel heights are asked for first, and other shoes are confirmed."""
    line = get_object_or_404(Line.objects.select_related("garment__ticket__client"), pk=pk)
    garment = line.garment
    form = HeelForm(sent(request), studio=request.studio, garment=garment)
    if request.method == "POST" and form.is_valid():
        try:
            if heel := form.cleaned_data["heel"]:
                note_heel(
                    garment=garment, heel_mm=heel.mm, heel_typed=heel.with_unit, by=request.user
                )
            actions.ready_to_cut(
                line=line, by=request.user, marked_at=form.cleaned_data["marked_at"]
            )
        except (TicketError, actions.PlanError) as wrong:
            messages.error(request, str(wrong))
        return redirect(garment.ticket)
    shown = {"line": line, "form": form, "other_shoes": other_shoes(garment)}
    return render(request, "planning/ready_to_cut.html", shown)
