"""A hem is marked and may be cut."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from jobs.planning import actions
from jobs.planning.small_forms import HeelForm
from jobs.tickets.actions import TicketError, note_heel
from jobs.tickets.amounts import with_unit
from jobs.tickets.models import Line
from studio.shop.http import StudioRequest, sent


@require_http_methods(["GET", "POST"])
def ready_to_cut(request: StudioRequest, pk: int) -> HttpResponse:
    """The hem is marked. Where the heel height is not known yet, it is asked for first."""
    line = get_object_or_404(Line.objects.select_related("garment__ticket__client"), pk=pk)
    garment = line.garment
    form = HeelForm(sent(request), studio=request.studio)
    if garment.heel_typed:
        del form.fields["heel"]
    if request.method == "POST" and form.is_valid():
        try:
            if heel := form.cleaned_data.get("heel"):
                note_heel(
                    garment=garment, heel_mm=heel.mm, heel_typed=with_unit(heel), by=request.user
                )
                garment.refresh_from_db()
            actions.ready_to_cut(line=line, by=request.user)
        except (TicketError, actions.PlanError) as wrong:
            messages.error(request, str(wrong))
        return redirect(garment.ticket)
    return render(request, "planning/ready_to_cut.html", {"line": line, "form": form})
