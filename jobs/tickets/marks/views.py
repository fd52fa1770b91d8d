"""A photograph with its marks: place one by a tap or by numbers, take one away."""

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from jobs.tickets.errors import TicketError
from jobs.tickets.marks.actions import place_mark, remove_mark
from jobs.tickets.marks.forms import MarkForm
from jobs.tickets.marks.queries import marked_photo
from jobs.tickets.models import Mark, Photo
from studio.shop.http import StudioRequest, sent


@require_http_methods(["GET", "POST"])
def photo_marks(request: StudioRequest, pk: int) -> HttpResponse:
    photos = Photo.objects.select_related("garment__ticket")
    photo = get_object_or_404(photos, pk=pk)
    if (garment := photo.garment) is None:
        raise Http404("This photograph belongs to no ticket yet.")
    form = MarkForm(sent(request), photo=photo)
    if request.method == "POST" and form.is_valid():
        across, down = form.cleaned_data["place"]
        try:
            place_mark(
                photo=photo,
                across=across,
                down=down,
                words=form.cleaned_data["words"],
                by=request.user,
            )
        except TicketError as wrong:
            messages.error(request, str(wrong))
        return redirect("photo-marks", pk)
    told = {
        "photo": photo,
        "garment": garment,
        "ticket": garment.ticket,
        "form": form,
        "marked": marked_photo(photo, pending=form.place),
    }
    return render(request, "tickets/marks/photo_marks.html", told)


@require_POST
def mark_remove(request: StudioRequest, pk: int) -> HttpResponse:
    mark = get_object_or_404(Mark.objects.select_related("photo__garment__ticket"), pk=pk)
    try:
        remove_mark(mark=mark, by=request.user)
    except TicketError as wrong:
        messages.error(request, str(wrong))
    return redirect("photo-marks", mark.photo_id)
