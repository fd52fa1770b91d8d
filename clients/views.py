"""The pages of clients. A client's own page is the counter's: rooms meet there."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse, HttpResponseBase, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from clients import actions, verbs
from clients.files import client_table
from clients.forms import (
    USUAL_LABELS,
    ClientForm,
    ContactRows,
    FindForm,
    contact_rows,
)
from clients.models import Client, Contact, GoneError
from clients.queries import (
    entry_of_its_own,
    find_clients,
    household_of,
    list_clients,
    take_apart,
)
from clients.tables import ClientTable
from clients.vcard import write_cards
from studio.shop import clock, history
from studio.shop.doors.logins import fresh_password_for_file
from studio.shop.files import csv_response, file_response
from studio.shop.http import StudioRequest, go_back, say, ticked
from studio.shop.may import Tick
from studio.shop.models import Entry, EntrySubject
from studio.shop.tables import initials, show_page
from studio.shop.together import OpenCard, edit_card


@require_safe
def clients(request: StudioRequest) -> HttpResponse:
    form = FindForm(request.GET)
    text = form.cleaned_data["q"] if form.is_valid() else ""
    table = ClientTable(list_clients(text), studio=request.studio)
    show_page(table, request)
    long = table.paginator.num_pages > 1 and not text and not table.order_by
    letters = initials(Client.objects.present(), "name_key") if long else []
    context = {"form": form, "table": table, "text": text, "letters": letters}
    return render(request, "clients/clients.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def client_new(request: StudioRequest) -> HttpResponse:
    form = ClientForm(request.POST or None, initial=_typed(request.GET.get("typed", "")))
    more = contact_rows(request.POST or None)
    others: list[Client] = []
    if request.method == "POST" and form.is_valid() and more.is_valid():
        seen = [int(pk) for pk in request.POST.getlist("seen") if pk.isdecimal() and len(pk) < 19]
        try:
            made = actions.add_client(
                facts=form.cleaned_data, by=request.user, seen=seen, contacts=more.contacts or ()
            )
        except actions.AlikeError as alike:
            others = alike.clients
        else:
            messages.success(request, f"{made} is on the list.")
            return redirect("client", made.pk)
    return render(
        request, "clients/client_new.html", {"form": form, "found": others, **_rows(more)}
    )


@require_http_methods(["GET", "HEAD", "POST"])
def client_edit(request: StudioRequest, pk: int) -> HttpResponse:
    client = entry_of_its_own(pk)
    if client.pk != pk:
        return redirect(reverse("client-edit", args=[client.pk], query=request.GET))

    def save(card: OpenCard) -> None:
        try:
            actions.change_client(
                client=client, facts=card.form.cleaned_data, by=request.user,
                contacts=card.table.contacts,
            )  # fmt: skip
        except GoneError as gone:
            card.form.add_error(None, str(gone))

    def form_of(data: QueryDict | None, row: Client) -> ClientForm:
        return ClientForm(data, instance=row)

    card = edit_card(
        request, client, form_of, save, table_of=contact_rows, table_name="More ways to reach"
    )
    if card.saved:
        messages.success(request, "Saved.")
        return go_back(request, reverse("client", args=[client.pk]))
    context = {"form": card.form, "client": client, **_rows(card.table)}
    return render(request, "clients/client_edit.html", context)


def _rows(more: ContactRows) -> dict[str, Any]:
    return {"more": more, "labels": USUAL_LABELS}


@require_POST
def contact_first(request: StudioRequest, pk: int) -> HttpResponse:
    """One of the other phones, e-mails or addresses is the first, which papers use."""
    contact = get_object_or_404(Contact.objects.select_related("client"), pk=pk)
    client = contact.client
    if request.POST.get("value") != str(contact):
        messages.error(request, "This was changed meanwhile. Look again.")
    else:
        try:
            actions.prefer(contact=contact, by=request.user)
        except GoneError as gone:
            messages.error(request, str(gone))
        else:
            undo = reverse("client-undo", args=[history.of(client)[0].pk])
            say(request, f"First now: {contact}.", undo=undo)
    return redirect("client", client.pk)


@require_http_methods(["GET", "HEAD", "POST"])
def client_household(request: StudioRequest, pk: int) -> HttpResponse:
    """Who belongs together, who answers for them, and a search for one more."""
    client = entry_of_its_own(pk)
    if request.method == "POST":
        verb, _, chosen = request.POST.get("intent", "").partition(":")
        other = entry_of_its_own(int(chosen)) if chosen.isdecimal() and len(chosen) < 19 else client
        try:
            if verb == "join":
                actions.join_household(client=other, other=client, by=request.user)
            elif verb == "leave":
                actions.leave_household(client=other, by=request.user)
            elif verb == "answers":
                actions.answer_for_household(client=other, by=request.user)
        except (GoneError, actions.HouseholdError) as error:
            messages.error(request, str(error))
        else:
            messages.success(request, "Saved.")
        return redirect("client-household", client.pk)
    form = FindForm(request.GET)
    text = form.cleaned_data["q"] if form.is_valid() else ""
    members = household_of(client)
    here = {member.pk for member in members} | {client.pk}
    others = [other for other in find_clients(text, 12) if other.pk not in here] if text else []
    context = {"client": client, "members": members, "form": form, "text": text, "found": others}
    return render(request, "clients/household.html", context)


def _typed(text: str) -> dict[str, str]:
    """What was looked for and not found is where a new entry begins."""
    words, number = take_apart(text)
    return {"phone": text.strip()} if number and not words else {"name": text.strip()}


@ticked(Tick.MERGE)
@require_POST
def client_unmerge(request: StudioRequest, pk: int) -> HttpResponse:
    entry = get_object_or_404(Entry, pk=pk, verb=verbs.MERGE.key)
    try:
        _, gone = actions.unmerge(entry=entry, by=request.user)
    except actions.MergeError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, f"{gone} is an entry of its own again.")
    return redirect("client", _about(entry))


@require_POST
def client_undo(request: StudioRequest, pk: int) -> HttpResponseBase:
    """Take back what was done to a client or a sheet."""
    about_clients = EntrySubject.objects.filter(label="clients.client").values("entry")
    entry = get_object_or_404(Entry, pk=pk, pk__in=about_clients)
    if entry.verb == verbs.MERGE.key:
        return client_unmerge(request, pk)
    if entry.verb in {verbs.TAKE.key, verbs.CORRECT.key} and not request.user.may(Tick.MEASURES):
        raise PermissionDenied("The owner has not ticked this for you: Measures.")
    about = _about(entry)
    try:
        history.undo(entry=entry, by=request.user)
    except history.HistoryError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, "Undone.")
    return (
        redirect("client", about)
        if Client.objects.filter(pk=about).exists()
        else redirect("clients")
    )


def _about(entry: Entry) -> int:
    """The client on whose page the entry is read; of a merge, the one that was kept."""
    return entry.subjects.filter(label="clients.client").order_by("pk")[0].row


@ticked(Tick.FILES)
@fresh_password_for_file
@require_safe
def clients_csv(request: StudioRequest) -> HttpResponse:
    headings, rows = client_table(list(Client.objects.present().prefetch_related("contacts")))
    return csv_response(rows, headings, f"clients-{clock.today()}.csv")


@ticked(Tick.FILES)
@fresh_password_for_file
@require_safe
def clients_vcf(request: StudioRequest) -> HttpResponse:
    cards = write_cards(Client.objects.present().prefetch_related("contacts"))
    return file_response(cards, "text/vcard; charset=utf-8", f"clients-{clock.today()}.vcf")
