"""The first page: find, take in, and what the day holds at the counter."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from studio.counter.queries import at_a_glance
from studio.shop.http import StudioRequest


@require_GET
def today(request: StudioRequest) -> HttpResponse:
    return render(request, "counter/today.html", {"glance": at_a_glance()})
