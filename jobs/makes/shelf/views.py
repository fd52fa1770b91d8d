"""The shelf, a cloth on it and its card; cloth is cut, put back, washed, measured, given away."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.http import Http404, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from jobs.makes.ideas.actions import mean_cloth, spare_cloth
from jobs.makes.lengths import length_unit
from jobs.makes.models import Cloth, Make
from jobs.makes.shelf import actions, forms, queries
from jobs.makes.shelf.documents import CARDS, swatch_cards, title
from jobs.makes.shelf.forms import CutForm, MeanForm, NewClothForm, ShelfClothForm, ShelfForm
from jobs.makes.shelf.queries import open_makes
from jobs.makes.shelf.uses import uses_of_cloth
from jobs.makes.tables import MoveTable
from jobs.makes.undo import back_from, done, take_back
from studio.shop.http import StudioRequest, go_back, sent
from studio.shop.models import Entry
from studio.shop.paper import show_pdf
from studio.shop.tables import show_page
from studio.shop.together import OpenCard, edit_card

FORM = require_http_methods(["GET", "POST"])


@require_GET
def shelf(request: StudioRequest) -> HttpResponse:
    form = ShelfForm(request.GET, studio=request.studio)
    cloths = queries.list_cloth(form.chosen())
    page = queries.shelf_page(cloths, request.GET.get("page"))
    shown = {
        "form": form,
        "page": page,
        "shelf": queries.shelf_shares(page),
        "years": queries.cloth_years(),
        "length_unit": length_unit(request.studio),
    }
    return render(request, "makes/shelf/shelf.html", shown)


@require_GET
def cloth(request: StudioRequest, pk: int) -> HttpResponse:
    return _page(request, queries.cloth_or_404(pk))


def _page(request: StudioRequest, cloth: Cloth, **forms: Any) -> HttpResponse:
    shares = queries.shares_of([cloth])[cloth.pk]
    shown = {
        "cloth": cloth,
        "shares": shares,
        "moves": queries.cloth_moves(cloth),
        "uses": uses_of_cloth(cloth, shares),
        "papers": CARDS,
        "cut_form": CutForm(cloth=cloth, studio=request.studio),
        "mean_form": MeanForm(cloth=cloth, studio=request.studio),
    }
    return render(request, "makes/shelf/cloth.html", shown | forms)


@FORM
def new(request: StudioRequest) -> HttpResponse:
    """``make`` of the address is what it was bought for, ``name`` what it is."""
    asked = request.GET.get("make", "")
    make = open_makes().filter(pk=asked).first() if asked.isdecimal() else None
    initial = {"name": request.GET.get("name", "")}
    form = NewClothForm(
        sent(request),
        request.FILES or None,
        studio=request.studio,
        money=request.user.is_owner,
        initial=initial | (NewClothForm.asked_for(make) if make else {}),
    )
    if not form.is_valid():
        return render(request, "makes/shelf/new.html", {"form": form, "make": make})
    given = {name: form.cleaned_data[name] for name in ("length", "form_key", "swatch", "make")}
    try:
        cloth, entry = actions.add_cloth(facts=form.facts(), by=request.user, **given)
    except actions.ShelfError as wrong:
        form.add_error(wrong.field or None, str(wrong))
        return render(request, "makes/shelf/new.html", {"form": form})
    return done(request, entry, cloth.get_absolute_url())


@FORM
def edit(request: StudioRequest, pk: int) -> HttpResponse:
    cloth = get_object_or_404(Cloth, pk=pk)

    def form_of(data: QueryDict | None, row: Cloth) -> ShelfClothForm:
        files, money = request.FILES if data else None, request.user.is_owner
        return ShelfClothForm(data, files, instance=row, studio=request.studio, money=money)

    def save(card: OpenCard) -> Entry | None:
        swatch = card.form.cleaned_data["swatch"]
        return actions.change_cloth(
            cloth=cloth, facts=card.form.facts(), swatch=swatch, by=request.user
        )

    card = edit_card(request, cloth, form_of, save)
    if card.saved:
        return done(request, card.entry, cloth.get_absolute_url())
    return render(request, "makes/shelf/edit.html", {"cloth": cloth, "form": card.form})


@require_POST
def mean(request: StudioRequest, pk: int) -> HttpResponse:
    """The cloth is meant for a make."""
    cloth = queries.cloth_or_404(pk)
    form = MeanForm(request.POST, cloth=cloth, studio=request.studio)
    if not form.is_valid():
        return _page(request, cloth, mean_form=form)
    entry = mean_cloth(cloth=cloth, by=request.user, **form.cleaned_data)
    return done(request, entry, cloth.get_absolute_url())


@require_POST
def spare(request: StudioRequest, pk: int, make: int) -> HttpResponse:
    """It is free again."""
    cloth = get_object_or_404(Cloth, pk=pk)
    entry = spare_cloth(make=get_object_or_404(Make, pk=make), cloth=cloth, by=request.user)
    return done(request, entry, go_back(request, cloth).url)


@require_GET
def card(request: StudioRequest, pk: int) -> HttpResponse:
    """``paper`` is one of ``CARDS``, else A6. On A4 and Letter the newest others fill the page."""
    page = request.GET.get("paper", "")
    page = page if page in CARDS else "A6"
    cloths = queries.card_and_newest(queries.cloth_or_404(pk), CARDS[page])
    return show_pdf(title(cloths), swatch_cards(cloths, request.studio, page=page))


@dataclass(frozen=True)
class StepPage:
    """A step with a cloth: its form, its action, and what its page and its button say."""

    form: type[forms.LengthForm]
    act: Callable[..., Entry | None]
    title: str
    button: str


STEPS = {
    "cut": StepPage(forms.CutForm, actions.cut, "Cut {}", "Cut it"),
    "back": StepPage(forms.BackForm, actions.put_back, "Put back {}", "Put it back"),
    "wash": StepPage(forms.WashForm, actions.wash, "Washed: {}", "It is washed"),
    "measure": StepPage(
        forms.RemeasureForm, actions.measure_again, "Measure {} again", "This is there"
    ),
    "more": StepPage(forms.MoreForm, actions.bring_more, "More of {}", "Save"),
    "give": StepPage(forms.GiveForm, actions.give_away, "Give away {}", "Give it away"),
}


@FORM
def step(request: StudioRequest, pk: int, verb: str) -> HttpResponse:
    cloth, page = get_object_or_404(Cloth, pk=pk), STEPS[verb]
    asked = {"length": request.GET["length"]} if "length" in request.GET else None
    more = {"money": request.user.is_owner} if page.form is forms.MoreForm else {}
    form = page.form(sent(request), cloth=cloth, studio=request.studio, initial=asked, **more)
    if form.is_valid():
        try:
            entry = page.act(cloth=cloth, by=request.user, **form.facts())
        except actions.ShelfError as wrong:
            form.add_error(wrong.field or None, str(wrong))
        else:
            undo = reverse("cloth-undo", args=[entry.pk]) if entry else ""
            aside = queries.left_of(cloth)
            return done(request, entry, cloth.get_absolute_url(), undo=undo, aside=aside)
    shown = {"cloth": cloth, "form": form, "title": page.title.format(cloth), "button": page.button}
    return render(request, "makes/shelf/step.html", shown)


@require_POST
def undo(request: StudioRequest, pk: int) -> HttpResponse:
    """Take back what the entry ``pk`` of the history tells of."""
    entry = take_back(request, pk)
    return back_from(request, entry, queries.cloth_of(entry) or "cloth-list")


@require_GET
def year(request: StudioRequest, year: int) -> HttpResponse:
    """The rows behind what came in and went out in a year."""
    if not 1900 <= year <= 9999:
        raise Http404
    way = request.GET.get("way", "")
    table = MoveTable(queries.year_moves(year, way), studio=request.studio)
    show_page(table, request)
    shown = {
        "year": year,
        "way": way,
        "table": table,
        "sums": next((row for row in queries.cloth_years() if row.year == year), None),
        "heading": queries.way_heading(way),
        "length_unit": length_unit(request.studio),
    }
    return render(request, "makes/shelf/year.html", shown)
