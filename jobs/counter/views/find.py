"""The one box that finds a ticket or a client."""

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET

from jobs.counter import finding
from studio.shop.http import StudioRequest


@require_GET
def find(request: StudioRequest) -> HttpResponse:
    """Straight to the ticket when only one can be meant; while typing, only the list."""
    found = finding.find(request.GET.get("q", "")[:200])
    if request.htmx:
        return render(request, "counter/_found.html", {"found": found})
    if only := found.only:
        return redirect(only)
    # With results there, the cursor waits on the first of them for another Enter.
    return render(request, "counter/find.html", {"found": found, "land": bool(found.typed)})
