"""Clients out to a file, and in from one."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_http_methods, require_safe

from clients import actions
from clients.csvfile import HEADINGS, client_rows
from clients.forms import ImportForm
from clients.holding import NotHeldError, hold, release
from clients.incoming import read_file
from clients.models import Client
from clients.sorting import sort_out
from clients.vcard import write_cards
from studio.shop import clock
from studio.shop.csvfile import csv_response
from studio.shop.http import StudioRequest
from studio.shop.textfile import UnreadableFileError


@require_safe
def clients_csv(request: StudioRequest) -> HttpResponse:
    rows = client_rows(Client.objects.present())
    return csv_response(rows, list(HEADINGS), f"clients-{clock.today()}.csv")


@require_safe
def clients_vcf(request: StudioRequest) -> HttpResponse:
    name = f"clients-{clock.today()}.vcf"
    return HttpResponse(
        write_cards(Client.objects.present()),
        content_type="text/vcard; charset=utf-8",
        headers={"Content-Disposition": content_disposition_header(True, name)},
    )


@require_http_methods(["GET", "HEAD", "POST"])
def clients_import(request: StudioRequest) -> HttpResponse:
    """Choose a file, look at what would happen, then do it: the third step sends what was held."""
    if "held" in request.POST:
        return _take_in(request)
    form = ImportForm(request.POST, request.FILES) if request.method == "POST" else ImportForm()
    if form.is_valid():
        try:
            return _preview(request, form)
        except UnreadableFileError as error:
            form.add_error("file", str(error))
    return render(request, "clients/import.html", {"form": form, "headings": HEADINGS})


def _preview(request: StudioRequest, form: ImportForm) -> HttpResponse:
    reading = read_file(form.cleaned_data["file"])
    sorted_out = sort_out(reading.right)
    context = {"reading": reading, "sorted": sorted_out, "held": hold(reading.right)}
    return render(request, "clients/import_preview.html", context)


def _take_in(request: StudioRequest) -> HttpResponse:
    anyway = {
        int(line) for line in request.POST.getlist("anyway") if line.isdecimal() and len(line) < 10
    }
    try:
        taken = actions.take_in(entries=release(request.POST["held"]), anyway=anyway)
    except NotHeldError as error:
        messages.error(request, str(error))
        return redirect("clients-import")
    messages.success(
        request, f"{taken.added} new, {taken.completed} completed, {taken.left_out} left out."
    )
    return redirect("clients")
