"""Two entries of one person: choosing the other, choosing the facts, and undoing it."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from clients import actions
from clients.forms import FindForm
from clients.merge_form import MergeForm
from clients.models import Client, ClientMerge
from clients.queries import entry_of_its_own, may_be_the_same
from studio.shop.http import StudioRequest


@require_http_methods(["GET", "HEAD", "POST"])
def client_merge(request: StudioRequest, pk: int) -> HttpResponse:
    keep = entry_of_its_own(pk)
    if keep.pk != pk:
        return redirect("client-merge", keep.pk)
    chosen = request.POST.get("other") or request.GET.get("other", "")
    if not (chosen.isdecimal() and len(chosen) < 19):
        return _choose(request, keep)
    other = get_object_or_404(Client, pk=chosen)
    form = MergeForm(request.POST or None, keep=keep, other=other)
    if request.method == "POST" and form.is_valid():
        try:
            actions.merge(keep=keep, other=other, by=request.user, facts=form.facts())
        except actions.MergeError as error:
            messages.error(request, str(error))
        else:
            messages.success(request, "The two are one entry now. It can be undone below.")
        return redirect("client", keep.pk)
    context = {"client": keep, "other": other, "form": form}
    return render(request, "clients/client_merge.html", context)


def _choose(request: StudioRequest, keep: Client) -> HttpResponse:
    form = FindForm(request.GET)
    text = form.cleaned_data["q"] if form.is_valid() else ""
    context = {"client": keep, "form": form, "text": text, "found": may_be_the_same(keep, text)}
    return render(request, "clients/client_merge_choose.html", context)


@require_POST
def client_unmerge(request: StudioRequest, pk: int) -> HttpResponse:
    merged = get_object_or_404(ClientMerge, pk=pk)
    try:
        merged = actions.unmerge(merged=merged)
    except actions.MergeError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, f"{merged.gone} is an entry of its own again.")
    return redirect("client", merged.kept_id)
