"""The first page of an empty database. Once there is a studio, it is gone."""

from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.debug import sensitive_post_parameters

from jobs.counter.first_run import CountryForm, FirstRun
from studio.shop import territory
from studio.shop.actions import AlreadySetUpError


@login_not_required
@sensitive_post_parameters()
def setup(request: HttpRequest) -> HttpResponse:
    """First the country, then everything else on one page. A second sending changes nothing."""
    if request.method == "POST":
        return _open(request)
    if request.studio:  # type: ignore[attr-defined]
        raise Http404
    chosen = request.GET.get("country", "")
    if chosen in territory.countries():
        return _ask(request, FirstRun(chosen))
    guess = territory.country_of(request.headers.get("Accept-Language", ""))
    form = CountryForm({"country": chosen} if chosen else None, initial={"country": guess})
    return render(request, "counter/setup_country.html", {"form": form})


def _open(request: HttpRequest) -> HttpResponse:
    if request.studio:  # type: ignore[attr-defined]
        return redirect("today")
    country = request.POST.get("country", "")
    if country not in territory.countries():
        return redirect("setup")
    first_run = FirstRun(country, request.POST)
    if not first_run.is_valid():
        return _ask(request, first_run)
    try:
        owner = first_run.open_studio()
    except AlreadySetUpError:
        return redirect("today")
    login(request, owner)
    return redirect("today")


def _ask(request: HttpRequest, first_run: FirstRun) -> HttpResponse:
    return render(request, "counter/setup.html", {"run": first_run})
