"""How long a hem of this size takes, asked by whoever knows its edge."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from clients.fit.minutes import FEWEST, hem_size
from jobs.planning.size_forms import HemSizeForm
from jobs.planning.size_minutes import learnt
from studio.shop.http import StudioRequest


@require_safe
def hem_minutes(request: StudioRequest) -> HttpResponse:
    """A page with the form; for htmx only the answer, which is empty where there is none.

    ``?edge=4200&layers=3`` is an edge of 4200 mm; ``?length=`` is as typed in the form.
    """
    form = HemSizeForm.of_query(request.GET, request.studio)
    known = learnt()
    guess = None
    if form.is_valid():
        guess = known.guess(hem_size(form.cleaned_data["length"].mm, form.cleaned_data["layers"]))
    told = {"form": form, "known": known, "guess": guess, "fewest": FEWEST}
    template = "planning/_hem_minutes.html" if request.htmx else "planning/hem_minutes.html"
    return render(request, template, told)
