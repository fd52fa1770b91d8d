"""The list of clients, a new one, and what is known of one."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from clients import actions
from clients.finding import take_apart
from clients.forms import ClientForm, FindForm
from clients.models import Client
from clients.queries import entry_of_its_own, list_clients
from clients.tables import ClientTable
from studio.shop.http import StudioRequest
from studio.shop.paging import show_page


@require_safe
def clients(request: StudioRequest) -> HttpResponse:
    form = FindForm(request.GET)
    text = form.cleaned_data["q"] if form.is_valid() else ""
    table = ClientTable(list_clients(text))
    show_page(table, request)
    context = {"form": form, "table": table, "text": text}
    return render(request, "clients/clients.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def client_new(request: StudioRequest) -> HttpResponse:
    form = ClientForm(request.POST or None, initial=_typed(request.GET.get("typed", "")))
    found: list[Client] = []
    if request.method == "POST" and form.is_valid():
        seen = [int(pk) for pk in request.POST.getlist("seen") if pk.isdecimal() and len(pk) < 19]
        try:
            made = actions.add_client(facts=form.cleaned_data, seen=seen)
        except actions.AlikeError as alike:
            found = alike.found
        else:
            messages.success(request, f"{made} is on the list.")
            return redirect("client", made.pk)
    return render(request, "clients/client_new.html", {"form": form, "found": found})


@require_http_methods(["GET", "HEAD", "POST"])
def client_edit(request: StudioRequest, pk: int) -> HttpResponse:
    client = entry_of_its_own(pk)
    if client.pk != pk:
        return redirect("client-edit", client.pk)
    form = ClientForm(request.POST or None, instance=client)
    if request.method == "POST" and form.is_valid():
        try:
            actions.change_client(client=client, facts=form.cleaned_data)
        except actions.GoneError as gone:
            form.add_error(None, str(gone))
        else:
            messages.success(request, "Saved.")
            return redirect("client", client.pk)
    return render(request, "clients/client_edit.html", {"form": form, "client": client})


def _typed(text: str) -> dict[str, str]:
    """What was looked for and not found is where a new entry begins."""
    words, number = take_apart(text)
    return {"phone": text.strip()} if number and not words else {"name": text.strip()}
