"""What is kept of a client, all of it in one file, and the page that erases it."""

from typing import Any

from django import forms
from django.contrib import messages
from django.http import FileResponse, HttpResponse
from django.shortcuts import redirect, render
from django.utils.text import slugify
from django.views.decorators.http import require_http_methods, require_safe

from clients.models import Client, name_key
from clients.queries import live_client
from jobs.counter.privacy import actions, queries
from jobs.counter.privacy.actions import EraseError
from jobs.counter.privacy.archive import write_archive
from studio.shop import clock
from studio.shop.doors.logins import fresh_password, fresh_password_for_file
from studio.shop.http import StudioRequest, owner_only


class EraseForm(forms.Form):
    """The client's name, typed once more; capitals, accents and blanks do not matter."""

    name = forms.CharField(
        label="Name of the client", max_length=200,
        help_text="Type it as it stands above. What is erased does not come back.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )  # fmt: skip

    def __init__(self, *args: Any, client: Client, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.client = client

    def clean_name(self) -> str:
        typed: str = self.cleaned_data["name"]
        if name_key(typed) != self.client.name_key:
            raise forms.ValidationError(f"That is not “{self.client.name}”.")
        return typed


@owner_only
@require_safe
def client_privacy(request: StudioRequest, pk: int) -> HttpResponse:
    client = live_client(pk)
    if client.pk != pk:
        return redirect("client-privacy", client.pk)
    context = {"client": client, "kept": queries.kept_of(client)}
    return render(request, "counter/privacy/kept.html", context)


@owner_only
@fresh_password_for_file
@require_safe
def client_export(request: StudioRequest, pk: int) -> FileResponse:
    client = live_client(pk)
    name = f"{slugify(client.name) or 'client'}-{clock.today()}.zip"
    archive = write_archive(client, request.studio)
    return FileResponse(archive, as_attachment=True, filename=name, content_type="application/zip")


@owner_only
@fresh_password
@require_http_methods(["GET", "HEAD", "POST"])
def client_erase(request: StudioRequest, pk: int) -> HttpResponse:
    client = live_client(pk)
    if client.pk != pk:
        return redirect("client-erase", client.pk)
    if client.erased_at:
        messages.info(request, "This client is erased.")
        return redirect("client", client.pk)
    form = EraseForm(request.POST or None, client=client)
    if request.method == "POST" and form.is_valid():
        try:
            actions.erase(client=client, studio=request.studio, by=request.user)
        except EraseError as wrong:
            form.add_error(None, wrong.reasons)
        else:
            messages.success(request, "The client is erased. Invoices and receipts stay.")
            return redirect("client", client.pk)
    return _ask(request, client, form)


def _ask(request: StudioRequest, client: Client, form: EraseForm) -> HttpResponse:
    context = {
        "client": client,
        "form": form,
        "kept": queries.kept_of(client),
        "hindrances": queries.hindrances(client, request.studio),
        "never_invoiced": queries.never_invoiced(client),
        "mentions": queries.mentions(client),
    }
    return render(request, "counter/privacy/erase.html", context)
