"""A client's sheets out to a file, and in from one."""

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from clients.actions import GoneError
from clients.holding import NotHeldError, hold, release
from clients.models import Client
from clients.queries import entry_of_its_own
from clients.sheets.actions import SheetError
from clients.sheets.csvfile import FACTS, headings, sheet_rows
from clients.sheets.incoming import read_file, sort_out
from clients.sheets.queries import sheets_of
from clients.sheets.taking_in import take_in
from studio.shop import clock
from studio.shop.csvfile import csv_response
from studio.shop.http import StudioRequest
from studio.shop.textfile import UnreadableFileError


class FileForm(forms.Form):
    file = forms.FileField(
        label="A table (.csv)",
        widget=forms.FileInput(attrs={"accept": ".csv,.txt,text/csv"}),
        error_messages={"required": "Choose a file.", "empty": "The file is empty."},
    )


@require_safe
def sheets_csv(request: StudioRequest, pk: int) -> HttpResponse:
    client = entry_of_its_own(pk)
    found = sheets_of(client)
    name = f"measures-{client.pk}-{clock.today()}.csv"
    return csv_response(sheet_rows(found), headings(found), name)


@require_http_methods(["GET", "HEAD", "POST"])
def sheets_import(request: StudioRequest, pk: int) -> HttpResponse:
    """Choose a file, look at what would happen, then do it: the third step sends what was held."""
    client = entry_of_its_own(pk)
    if client.pk != pk:
        return redirect("sheets-import", client.pk)
    if "held" in request.POST:
        return _take_in(request, client)
    form = FileForm(request.POST, request.FILES) if request.method == "POST" else FileForm()
    if form.is_valid():
        try:
            return _preview(request, client, form)
        except UnreadableFileError as error:
            form.add_error("file", str(error))
    context = {"client": client, "form": form, "headings": FACTS.values()}
    return render(request, "clients/sheets/import.html", context)


def _preview(request: StudioRequest, client: Client, form: FileForm) -> HttpResponse:
    reading = read_file(form.cleaned_data["file"], client=client, studio=request.studio)
    found = sort_out(reading.right, client=client, studio=request.studio)
    context = {
        "client": client,
        "reading": reading,
        "found": found,
        "new": sum(not one.here for one in found),
        "held": hold(reading.right),
    }
    return render(request, "clients/sheets/import_preview.html", context)


def _take_in(request: StudioRequest, client: Client) -> HttpResponse:
    try:
        entries = release(request.POST["held"])
        if any(entry.facts.get("client") != str(client.pk) for entry in entries):
            raise NotHeldError("That was another client's file. Choose the file again.")
        taken = take_in(client=client, by=request.user, studio=request.studio, entries=entries)
    except (NotHeldError, GoneError, SheetError) as error:
        messages.error(request, str(error))
        return redirect("sheets-import", client.pk)
    messages.success(request, f"{taken.added} new, {taken.here} here already.")
    return redirect("sheets", client.pk)
