"""Two entries of one client side by side, and what will stand, before they become one."""

from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.db.models import prefetch_related_objects
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from clients.actions import MergeError, merge
from clients.forms import FindForm, MergeForm
from clients.models import Client
from clients.queries import after_merge, entry_of_its_own, may_be_the_same
from jobs.billing.queries import with_balances
from jobs.counter.client import Glance, glance
from jobs.tickets.models import Garment
from jobs.tickets.queries import ticket_list
from studio.shop.http import StudioRequest, ticked
from studio.shop.may import Tick
from studio.shop.models import Profile

PICTURES = 6
MOST_TICKETS = 4


@dataclass(frozen=True)
class Side:
    """One of the two entries: whoever knows the clothes and the figure knows who it is.

    ``to_pay`` and ``back`` are minor units, None for who may not see money.
    """

    client: Client
    heading: str
    tickets: list[Any]
    garments: list[Garment]
    sheets: int
    glance: Glance | None
    to_pay: int | None = None
    back: int | None = None

    @property
    def latest(self) -> list[Any]:
        return self.tickets[:MOST_TICKETS]


def side(client: Client, heading: str, studio: Profile, *, money: bool) -> Side:
    """Seven queries, however much the client has."""
    rows = ticket_list().filter(client=client)
    tickets: list[Any] = list(with_balances(rows) if money else rows)
    worn = Garment.objects.filter(ticket__client=client, removed_at=None).select_related("ticket")
    garments = worn.prefetch_related("lines", "photos").order_by("-ticket__received_at", "-pk")
    sums: dict[str, int] = {}
    if money:
        sums = {
            "to_pay": sum(max(ticket.balance, 0) for ticket in tickets),
            "back": sum(max(-ticket.balance, 0) for ticket in tickets),
        }
    return Side(
        client, heading, tickets, list(garments[:PICTURES]), client.sheets.count(),
        glance(client, studio), **sums,
    )  # fmt: skip


@ticked(Tick.MERGE)
@require_http_methods(["GET", "HEAD", "POST"])
def client_merge(request: StudioRequest, pk: int) -> HttpResponse:
    """Chosen and sent, the two are one; ``look`` only shows what would stand."""
    keep = entry_of_its_own(pk)
    if keep.pk != pk:
        return redirect("client-merge", keep.pk)
    chosen = request.POST.get("other") or request.GET.get("other", "")
    if not (chosen.isdecimal() and len(chosen) < 19):
        return _choose(request, keep)
    other = get_object_or_404(Client, pk=chosen)
    prefetch_related_objects([keep, other], "contacts")
    money = request.user.may(Tick.PRICES)
    sides = [
        side(keep, "Stays", request.studio, money=money),
        side(other, "Goes into it", request.studio, money=money),
    ]
    # An entry without anything was made in passing: the other one says it better.
    bare = not (sides[0].tickets or sides[0].sheets) and (sides[1].tickets or sides[1].sheets)
    form = MergeForm(request.POST or None, keep=keep, other=other, first=other if bare else keep)
    good = request.method == "POST" and form.is_valid()
    if good and request.POST.get("intent") != "look":
        try:
            merge(keep=keep, other=other, by=request.user, facts=form.facts())
        except MergeError as error:
            messages.error(request, str(error))
        else:
            messages.success(request, "The two are one entry now. It can be undone below.")
        return redirect("client", keep.pk)
    context = {
        "client": keep,
        "other": other,
        "form": form,
        "sides": sides,
        "after": after_merge(keep, other, form.facts() if good else form.usual_facts()),
        "tickets": sum(len(each.tickets) for each in sides),
        "sheets": sum(each.sheets for each in sides),
    }
    return render(request, "counter/two_entries.html", context)


def _choose(request: StudioRequest, keep: Client) -> HttpResponse:
    form = FindForm(request.GET)
    text = form.cleaned_data["q"] if form.is_valid() else ""
    context = {"client": keep, "form": form, "text": text, "found": may_be_the_same(keep, text)}
    return render(request, "clients/client_merge_choose.html", context)
