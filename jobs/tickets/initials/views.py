"""What was agreed, shown to the client, who puts initials under it. It shows prices."""

from django.contrib import messages
from django.http import FileResponse, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from jobs.tickets.documents.facts import ticket_facts
from jobs.tickets.errors import TicketError
from jobs.tickets.initials.actions import give_initials
from jobs.tickets.initials.forms import InitialsForm, first_letters
from jobs.tickets.models import Agreement, Initials
from studio.shop.http import StudioRequest, absolute, owner_only, sent


@owner_only
@require_http_methods(["GET", "POST"])
def agreement_initials(request: StudioRequest, number: str, version: int) -> HttpResponse:
    """Initials under one version: a form for the current one, else what was given."""
    agreements = Agreement.objects.select_related("ticket__client", "initials__by")
    agreement = get_object_or_404(agreements, version=version, ticket__number=number.upper())
    ticket = agreement.ticket
    letters = first_letters(agreement.data["client"]["name"])
    form = InitialsForm(sent(request), initial={"letters": letters})
    if request.method == "POST" and form.is_valid():
        said = form.cleaned_data
        try:
            give_initials(
                agreement=agreement,
                way=said["way"],
                letters=said["letters"],
                ink=said["ink"],
                by=request.user,
            )
        except TicketError as wrong:
            messages.error(request, str(wrong))
        return redirect(ticket)
    address = absolute(request, ticket.get_absolute_url())
    told = {
        "ticket": ticket,
        "agreement": agreement,
        "agreed": ticket_facts(agreement.data, address=address),
        "form": form,
        "current": ticket.is_open and version == ticket.version,
    }
    return render(request, "tickets/initials/initials.html", told)


@owner_only
@require_GET
def drawn_initials(request: StudioRequest, pk: int) -> FileResponse:
    """The ink of initials that were given on the glass."""
    given = get_object_or_404(Initials.objects.exclude(file=""), pk=pk)
    response = FileResponse(given.file.open("rb"), content_type="image/png")
    response.headers["Cache-Control"] = "private, max-age=86400, immutable"
    return response
