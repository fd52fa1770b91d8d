"""The first page: find, take in, and the day at the bench."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from jobs.planning.clock import GUESSES
from jobs.planning.queries import read_week
from jobs.planning.today import day_sheet
from studio.shop import clock
from studio.shop.http import StudioRequest


@require_GET
def today(request: StudioRequest) -> HttpResponse:
    week = read_week(request.studio, until=clock.today())
    shown = {"sheet": day_sheet(week, request.user), "guesses": GUESSES, "idle": week.book.idle}
    return render(request, "counter/today.html", shown)
