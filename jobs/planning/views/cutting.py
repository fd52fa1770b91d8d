"""A hem is marked and may be cut."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from jobs.planning import actions
from jobs.planning.small_forms import HeelForm
from jobs.tickets.actions import TicketError, note_heel
from jobs.tickets.amounts import with_unit
from jobs.tickets.heels import other_shoes
from jobs.tickets.models import Line
from studio.shop.http import StudioRequest, sent


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
                    garment=garment, heel_mm=heel.mm, heel_typed=with_unit(heel), by=request.user
                )
            actions.ready_to_cut(
                line=line, by=request.user, marked_at=form.cleaned_data["marked_at"]
            )
        except (TicketError, actions.PlanError) as wrong:
            messages.error(request, str(wrong))
        return redirect(garment.ticket)
    told = {"line": line, "form": form, "other_shoes": other_shoes(garment)}
    return render(request, "planning/ready_to_cut.html", told)
