"""One entry of the price list: a kind of garment, an operation, a surcharge."""

from typing import cast

from django.contrib import messages
from django.forms import ModelForm
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from jobs.pricing import actions
from jobs.pricing.actions import Entry
from jobs.pricing.forms import KindForm, OperationForm, SurchargeForm
from jobs.pricing.models import GarmentKind, Operation, Surcharge
from studio.shop.http import StudioRequest, owner_only


def place_of(entry: Entry) -> str:
    """The address where the entry stands among its peers."""
    if isinstance(entry, Operation):
        return reverse("price-kind", args=[entry.garment_kind_id])
    return reverse("prices")


def _edit(
    request: StudioRequest,
    form: ModelForm,
    title: str,
    template: str = "pricing/form.html",
    **more: object,
) -> HttpResponse:
    if request.method == "POST" and form.is_valid():
        actions.keep(entry=form.instance)
        messages.success(request, f"“{form.instance.name}” saved.")
        return redirect(place_of(form.instance))
    return render(request, template, {"form": form, "title": title} | more)


@owner_only
def kind_new(request: StudioRequest) -> HttpResponse:
    return _edit(request, KindForm(request.POST or None), "A new kind of garment")


@owner_only
def kind(request: StudioRequest, pk: int) -> HttpResponse:
    """Name a kind of garment and put its operations in order."""
    found = get_object_or_404(GarmentKind, pk=pk)
    title, operations = found.name, Operation.objects.filter(garment_kind=pk)
    form = KindForm(request.POST or None, instance=found)
    return _edit(request, form, title, "pricing/kind.html", kind_pk=pk, operations=operations)


@owner_only
def operation_new(request: StudioRequest, pk: int) -> HttpResponse:
    entry = Operation(garment_kind=get_object_or_404(GarmentKind, pk=pk))
    form = OperationForm(request.POST or None, instance=entry, studio=request.studio)
    return _edit(request, form, f"{entry.garment_kind.name}: a new operation")


@owner_only
def operation(request: StudioRequest, pk: int) -> HttpResponse:
    entry = get_object_or_404(Operation.objects.select_related("garment_kind"), pk=pk)
    title = str(entry)
    form = OperationForm(request.POST or None, instance=entry, studio=request.studio)
    remove = reverse("price-operation-remove", args=[pk])
    return _edit(request, form, title, remove=remove)


@owner_only
def surcharge_new(request: StudioRequest) -> HttpResponse:
    form = SurchargeForm(request.POST or None, studio=request.studio)
    return _edit(request, form, "A new surcharge")


@owner_only
def surcharge(request: StudioRequest, pk: int) -> HttpResponse:
    entry = get_object_or_404(Surcharge, pk=pk)
    title = entry.name
    form = SurchargeForm(request.POST or None, instance=entry, studio=request.studio)
    return _edit(request, form, title, remove=reverse("price-surcharge-remove", args=[pk]))


@owner_only
@require_POST
def move(request: StudioRequest, pk: int, model: type[Entry]) -> HttpResponse:
    entry = cast("Entry", get_object_or_404(model, pk=pk))
    actions.move(entry=entry, step=-1 if request.POST.get("way") == "up" else 1)
    return redirect(f"{place_of(entry)}#{model.__name__.lower()}-{pk}")


@owner_only
@require_POST
def remove(request: StudioRequest, pk: int, model: type[Entry]) -> HttpResponse:
    entry = cast("Entry", get_object_or_404(model, pk=pk))
    if actions.remove(entry=entry):
        messages.success(request, f"“{entry.name}” is off the list.")
    else:
        messages.success(request, f"“{entry.name}” is no longer offered; tickets still name it.")
    return redirect(place_of(entry))
