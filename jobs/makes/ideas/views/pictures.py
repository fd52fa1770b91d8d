"""A picture by itself."""

from django.http import FileResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_GET

from jobs.makes import pictures
from jobs.makes.models import Picture
from studio.shop.http import StudioRequest


@require_GET
def picture(request: StudioRequest, pk: int) -> FileResponse:
    return pictures.show(get_object_or_404(Picture, pk=pk))
