"""The price list and its house rules, each entry of it, and the list to start from."""

from typing import Any, cast
from urllib.parse import urlsplit

from django.contrib import messages
from django.forms import BaseForm
from django.http import HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from jobs.pricing import actions, verbs
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
    PlaceForm,
    PriceRulesForm,
    SurchargeForm,
)
from jobs.pricing.models import GarmentKind, Operation, PriceRules, Surcharge
from jobs.pricing.queries import price_sections
from studio.shop import history
from studio.shop.doors.logins import fresh_password_for_file
from studio.shop.files import Row, csv_response
from studio.shop.forms import ModelForm
from studio.shop.history.pages import changes_page, undo_step
from studio.shop.http import StudioRequest, go_back, owner_only, say
from studio.shop.imports import Import, import_page
from studio.shop.models import Entry
from studio.shop.together import OpenCard, edit_card, last_entry


@require_safe
def prices(request: StudioRequest) -> HttpResponse:
    return _list(request)


def _list(request: StudioRequest, **more: object) -> HttpResponse:
    """The owner sees everything, a helper what is offered, without money.

    An ``open`` form stands in the place of its row, or after the rows of its kind.
    """
    kinds, surcharges = GarmentKind.objects, Surcharge.objects.all()
    if request.user.is_owner:
        more = {"since": last_entry(actions.list_itself())} | more
        more |= {"rules": PriceRules.load()}
        listed = kinds.whole()
    else:
        listed, surcharges = kinds.on_offer(), surcharges.filter(active=True)
    # A row that was refused stands in the list as it was when the row was opened.
    asked = QueryDict(urlsplit(request.POST.get("back", "")).query) or request.GET
    typed, only = asked.get("q", "").strip()[:80], asked.get("only", "")
    sections = price_sections(listed, surcharges, typed, only)
    more |= {"sections": sections, "typed": typed, "chosen": only}
    more["count"] = sum(len(section.rows) for section in sections)
    more["offered"] = sum(section.offered for section in sections if section.kind)
    more["surcharges"] = sections[-1].offered
    return render(request, "pricing/prices.html", more)


@owner_only
def rules(request: StudioRequest) -> HttpResponse:
    def form_of(data: QueryDict | None, row: PriceRules) -> PriceRulesForm:
        return PriceRulesForm(data, instance=row, studio=request.studio)

    def save(card: OpenCard) -> Entry | None:
        return actions.save_rules(rules=card.form.instance, by=request.user)

    card = edit_card(request, PriceRules.load(), form_of, save)
    if card.saved:
        words = "House rules: saved. Tickets that were agreed keep theirs."
        _said(request, words, card.entry, reverse("prices"))
        return redirect("prices")
    return render(request, "pricing/form.html", {"form": card.form, "title": "House rules"})


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
    """The address where the entry stands on the list."""
    return f"{reverse('prices')}#{type(entry).__name__.lower()}-{entry.pk}"


def _said(request: StudioRequest, words: str, entry: Entry | None, place: str) -> None:
    """The notice of a step, with its way back to ``place``."""
    if entry:
        say(request, words, undo=reverse("price-undo"), entry=entry.pk, back=place)
    else:
        say(request, words)


def _saved(request: StudioRequest, form: ModelForm) -> HttpResponse | None:
    """Back to where the list stood, once the form of a new entry is good."""
    if request.method != "POST" or not form.is_valid():
        return None
    return _back(request, form.instance, actions.save_entry(entry=form.instance, by=request.user))


def _back(request: StudioRequest, entry: PriceEntry, step: Entry | None) -> HttpResponse:
    back = go_back(request, place_of(entry))
    _said(request, f"“{entry.name}” saved.", step, back.url)
    return back


def _card(
    request: StudioRequest, entry: PriceEntry, form: type[ModelForm], **facts: Any
) -> OpenCard:
    """The form of an entry that is on the list, saved if it is good."""

    def save(card: OpenCard) -> Entry | None:
        return actions.save_entry(entry=card.form.instance, by=request.user)

    return edit_card(request, entry, lambda data, row: form(data, instance=row, **facts), save)


def _open_row(request: StudioRequest, form: BaseForm) -> HttpResponse:
    """The form in the place of its row: of the whole list, or alone where a script asks for it."""
    if request.htmx:
        return render(request, "pricing/_open_row.html", {"open": form})
    return _list(request, open=form)


@owner_only
def kind_new(request: StudioRequest) -> HttpResponse:
    form = KindForm(request.POST or None)
    context = {"form": form, "title": "A new kind of garment"}
    return _saved(request, form) or render(request, "pricing/form.html", context)


@owner_only
def kind(request: StudioRequest, pk: int) -> HttpResponse:
    entry = get_object_or_404(GarmentKind, pk=pk)
    title = entry.name
    card = _card(request, entry, KindForm)
    if card.saved:
        return _back(request, card.form.instance, card.entry)
    context = {"form": card.form, "title": title, "kind_pk": pk}
    return render(request, "pricing/kind.html", context)


@owner_only
def operation_new(request: StudioRequest, pk: int) -> HttpResponse:
    entry = Operation(garment_kind=get_object_or_404(GarmentKind, pk=pk))
    form = OperationForm(request.POST or None, instance=entry, studio=request.studio)
    return _saved(request, form) or _open_row(request, form)


@owner_only
def operation(request: StudioRequest, pk: int) -> HttpResponse:
    entry = get_object_or_404(Operation.objects.select_related("garment_kind"), pk=pk)
    card = _card(request, entry, OperationForm, studio=request.studio)
    if card.saved:
        return _back(request, card.form.instance, card.entry)
    return _open_row(request, card.form)


@owner_only
def surcharge_new(request: StudioRequest) -> HttpResponse:
    form = SurchargeForm(request.POST or None, studio=request.studio)
    context = {"form": form, "title": "A new surcharge"}
    return _saved(request, form) or render(request, "pricing/form.html", context)


@owner_only
def surcharge(request: StudioRequest, pk: int) -> HttpResponse:
    entry = get_object_or_404(Surcharge, pk=pk)
    title = entry.name
    card = _card(request, entry, SurchargeForm, studio=request.studio)
    if card.saved:
        return _back(request, card.form.instance, card.entry)
    context = {"form": card.form, "title": title, "surcharge": pk}
    return render(request, "pricing/form.html", context)


@owner_only
@require_POST
def move(request: StudioRequest, pk: int, model: type[PriceEntry]) -> HttpResponse:
    """Up or down by one place (``way``), or by so many (``places``, below 0 for up)."""
    entry = cast("PriceEntry", get_object_or_404(model, pk=pk))
    form = PlaceForm(request.POST)
    place = place_of(entry)
    if form.is_valid():
        since = form.cleaned_data["since"]
        try:
            moved = actions.move_entry(entry=entry, step=form.step, by=request.user, since=since)
        except actions.MovedError as wrong:
            messages.warning(request, str(wrong))
        else:
            if moved:
                _said(request, f"“{entry.name}” moved.", moved, place)
    return redirect(place)


@owner_only
@require_POST
def remove(request: StudioRequest, pk: int, model: type[PriceEntry]) -> HttpResponse:
    entry = cast("PriceEntry", get_object_or_404(model, pk=pk))
    place = place_of(entry)
    step = actions.remove_entry(entry=entry, by=request.user)
    gone = step is None or step.verb == verbs.REMOVED.key
    end = "is off the list" if gone else "is no longer offered; tickets still name it"
    _said(request, f"“{entry.name}” {end}.", step, place)
    return redirect("prices" if gone else place)


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
@fresh_password_for_file
@require_safe
def prices_csv(request: StudioRequest) -> HttpResponse:
    listed = Operation.objects.select_related("garment_kind")
    rows = [operation_cells(operation, request.studio.currency) for operation in listed]
    return csv_response(rows, OPERATION_HEADINGS, "prices.csv")


@owner_only
@fresh_password_for_file
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
