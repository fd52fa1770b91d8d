"""The price list and its house rules, each entry of it, and the list to start from."""

from typing import cast

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from jobs.pricing import actions
from jobs.pricing.actions import PriceEntry
from jobs.pricing.files import (
    OPERATION_HEADINGS,
    SURCHARGE_HEADINGS,
    operation_cells,
    plan_import,
    read_list,
    surcharge_cells,
)
from jobs.pricing.forms import (
    HourForm,
    KindForm,
    OperationForm,
    OrderForm,
    PriceRulesForm,
    SurchargeForm,
)
from jobs.pricing.models import GarmentKind, Operation, PriceRules, Surcharge
from studio.shop import history
from studio.shop.files import Row, csv_response
from studio.shop.forms import ModelForm
from studio.shop.history.pages import changes_page, undo_step
from studio.shop.http import StudioRequest, owner_only
from studio.shop.imports import Import, import_page


@require_safe
def prices(request: StudioRequest) -> HttpResponse:
    """The owner sees everything, a helper what is offered, without money."""
    kinds, surcharges = GarmentKind.objects, Surcharge.objects.all()
    if request.user.is_owner:
        shown = {"kinds": kinds.whole(), "surcharges": surcharges, "rules": PriceRules.load()}
    else:
        shown = {"kinds": kinds.on_offer(), "surcharges": surcharges.filter(active=True)}
    return render(request, "pricing/prices.html", shown)


@owner_only
def rules(request: StudioRequest) -> HttpResponse:
    form = PriceRulesForm(request.POST or None, instance=PriceRules.load(), studio=request.studio)
    if request.method == "POST" and form.is_valid():
        actions.save_rules(rules=form.instance, by=request.user)
        messages.success(request, "House rules: saved. Tickets that were agreed keep theirs.")
        return redirect("prices")
    return render(request, "pricing/form.html", {"form": form, "title": "House rules"})


@owner_only
def order(request: StudioRequest) -> HttpResponse:
    """The order of work of the whole list in one table."""
    form = OrderForm(request.POST or None, operations=Operation.objects.all())
    if request.method == "POST" and form.is_valid():
        count = actions.place_work(places=form.places, by=request.user)
        messages.success(request, f"Order of work: {count} operations moved.")
        return redirect("price-order")
    return render(request, "pricing/order.html", {"form": form})


@owner_only
def start(request: StudioRequest) -> HttpResponse:
    """An empty list is filled; another one gets its prices reckoned anew from the minutes."""
    form = HourForm(
        request.POST or None, studio=request.studio, initial={"hour": actions.STARTING_HOUR}
    )
    if request.method == "POST" and form.is_valid():
        hour = form.cleaned_data["hour"]
        count = actions.load_starting_list(hour=hour, by=request.user)
        count = count or actions.recalculate_prices(
            hour=hour, currency=request.studio.currency, by=request.user
        )
        messages.success(
            request, f"{count} prices calculated from their minutes. Look through them."
        )
        return redirect("prices")
    empty = not GarmentKind.objects.exists()
    return render(request, "pricing/start.html", {"form": form, "empty": empty})


def place_of(entry: PriceEntry) -> str:
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
        actions.save_entry(entry=form.instance, by=request.user)
        messages.success(request, f"“{form.instance.name}” saved.")
        return redirect(place_of(form.instance))
    return render(request, template, {"form": form, "title": title} | more)


@owner_only
def kind_new(request: StudioRequest) -> HttpResponse:
    return _edit(request, KindForm(request.POST or None), "A new kind of garment")


@owner_only
def kind(request: StudioRequest, pk: int) -> HttpResponse:
    """Name a kind of garment and put its operations in order."""
    entry = get_object_or_404(GarmentKind, pk=pk)
    title, operations = entry.name, Operation.objects.filter(garment_kind=pk)
    form = KindForm(request.POST or None, instance=entry)
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
def move(request: StudioRequest, pk: int, model: type[PriceEntry]) -> HttpResponse:
    entry = cast("PriceEntry", get_object_or_404(model, pk=pk))
    step = -1 if request.POST.get("way") == "up" else 1
    actions.move_entry(entry=entry, step=step, by=request.user)
    return redirect(f"{place_of(entry)}#{model.__name__.lower()}-{pk}")


@owner_only
@require_POST
def remove(request: StudioRequest, pk: int, model: type[PriceEntry]) -> HttpResponse:
    entry = cast("PriceEntry", get_object_or_404(model, pk=pk))
    if actions.remove_entry(entry=entry, by=request.user):
        messages.success(request, f"“{entry.name}” is off the list.")
    else:
        messages.success(request, f"“{entry.name}” is no longer offered; tickets still name it.")
    return redirect(place_of(entry))


@owner_only
@require_safe
def changes(request: StudioRequest) -> HttpResponse:
    """What was done to the list, latest first."""
    entries = history.of(actions.list_itself())
    title = "Changes to the price list"
    return changes_page(request, entries, title=title, back="prices", undo_at="price-undo")


@owner_only
@require_POST
def undo(request: StudioRequest) -> HttpResponse:
    return undo_step(request, history.of(actions.list_itself()), back="price-changes")


@owner_only
@require_safe
def prices_csv(request: StudioRequest) -> HttpResponse:
    listed = Operation.objects.select_related("garment_kind")
    rows = [operation_cells(operation, request.studio.currency) for operation in listed]
    return csv_response(rows, OPERATION_HEADINGS, "prices.csv")


@owner_only
@require_safe
def surcharges_csv(request: StudioRequest) -> HttpResponse:
    listed = Surcharge.objects.all()
    rows = [surcharge_cells(surcharge, request.studio.currency) for surcharge in listed]
    return csv_response(rows, SURCHARGE_HEADINGS, "surcharges.csv")


@owner_only
@require_http_methods(["GET", "HEAD", "POST"])
def import_list(request: StudioRequest) -> HttpResponse:
    studio, by = request.studio, request.user

    def take(rows: list[Row]) -> str:
        plan = actions.import_list(rows=rows, studio=studio, by=by)
        return f"{len(plan.new)} new, {len(plan.changed)} changed."

    return import_page(
        request,
        Import(
            owner="price list",
            page="pricing/import.html",
            preview="pricing/import.html",
            done=reverse("prices"),
            read=lambda text: read_list(text, studio),
            compare=lambda rows: {"plan": plan_import(rows, studio) if rows else None},
            take=take,
            label="The CSV file",
            whole=True,
        ),
    )
