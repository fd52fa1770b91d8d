"""The first page: find, take in, and the day at the bench."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from jobs.planning.day import GUESSES, day_sheet
from jobs.planning.reading import read_book
from studio.shop import clock
from studio.shop.http import StudioRequest


@require_GET
def today(request: StudioRequest) -> HttpResponse:
    reading = read_book(request.studio, until=clock.today(), waiting=True)
    shown = {
        "sheet": day_sheet(reading, request.user),
        "guesses": GUESSES,
        "idle": reading.book.idle,
    }
    return render(request, "counter/today.html", shown)
