"""The wall: its page, where cards are put, and what is done with several at once."""

from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from jobs.makes.ideas import actions as ideas
from jobs.makes.ideas.actions import MakeError
from jobs.makes.models import Make, MakeState, Pile
from jobs.makes.undo import done
from jobs.makes.wall import actions, queries
from jobs.makes.wall.actions import Area
from jobs.makes.wall.forms import ArrangeForm, PileForm, TidyForm, TrayForm, coming_seasons
from jobs.makes.wall.queries import FIRST_LOOSE, area_key
from jobs.makes.year.actions import hope
from studio.shop.history import sentence
from studio.shop.http import StudioRequest, go_back, say
from studio.shop.models import Entry

MOST_LOOSE = 10_000
SAMPLES = [
    ("Dress", "rose"),
    ("Skirt", "rust"),
    ("Blouse", "sky"),
    ("Trousers", "moss"),
    ("Coat", "indigo"),
    ("Bag", "mustard"),
    ("Shirt", "teal"),
    ("Jumper", "plum"),
]
"""What hangs on an empty wall, as decoration: garments and colours."""


@require_GET
def wall(request: StudioRequest) -> HttpResponse:
    """What hangs there; with ``q`` whatever is found in own sewing."""
    asked = request.GET
    shown: dict[str, Any] = {
        "wanted": asked.get("q", "").strip()[:200],
        "large": asked.get("size") == "large",
    }
    if shown["wanted"]:
        shown["found"] = queries.find(shown["wanted"])
        return render(request, "makes/wall/found.html", shown)
    tidy = "tidy" in asked
    shown |= {"show": asked.get("show", ""), "opened": asked.get("open", ""), "tidy": tidy}
    loose = _whole(asked.get("loose"), FIRST_LOOSE)
    shown["wall"] = sheet = queries.wall(
        show=shown["show"],
        opened=shown["opened"],
        loose=MOST_LOOSE if tidy else loose,
        closed=not tidy,
    )
    kept = _whole(asked.get("kept"), 0)
    shown |= {
        "tray": queries.tray(),
        "more": loose + FIRST_LOOSE,
        "first_loose": FIRST_LOOSE,
        "kept": sheet.tiles.get(kept),
        "seasons": coming_seasons(request.studio) if tidy else [],
        "samples": SAMPLES if sheet.empty else (),
    }
    return render(request, "makes/wall/wall.html", shown)


def _whole(typed: str | None, default: int) -> int:
    return int(typed) if typed and typed.isdecimal() and len(typed) < 10 else default


@require_POST
def arrange(request: StudioRequest) -> JsonResponse:
    """One card to another place: what is said of it, and the entry where more than order changed.

    Refused is what cannot be, with a reason (409).
    """
    form = ArrangeForm(request.POST)
    if not form.is_valid():
        return _refused("This card or its place is not there any more.")
    sent = form.cleaned_data
    try:
        entry = actions.arrange(by=request.user, **sent)
    except MakeError as wrong:
        return _refused(str(wrong))
    return JsonResponse(_answer(request, entry) | {"area": area_key(sent["to"])})


@require_POST
def give(request: StudioRequest) -> JsonResponse:
    """Cloth or a pattern from the tray is meant for a card."""
    form = TrayForm(request.POST)
    if not form.is_valid():
        return _refused("This card or this cloth is not there any more.")
    sent = form.cleaned_data
    make, entry = sent["make"], None
    if sent["cloth"]:
        if make.cloth_plans.filter(cloth=sent["cloth"]).exists():
            return JsonResponse({"said": f"{sent['cloth']} is meant for {make} already."})
        entry = ideas.mean_cloth(make=make, cloth=sent["cloth"], length=None, by=request.user)
    elif sent["pattern"]:
        entry = ideas.use_pattern(make=make, pattern=sent["pattern"], by=request.user)
    return JsonResponse(_answer(request, entry))


def _answer(request: StudioRequest, entry: Entry | None) -> dict[str, Any]:
    if entry is None:
        return {"said": ""}
    return {"said": sentence(entry, request.studio.locale), "entry": entry.pk}


def _refused(words: str) -> JsonResponse:
    return JsonResponse({"said": words}, status=409)


@require_POST
def tidy(request: StudioRequest) -> HttpResponse:
    """What was ticked, all of it or nothing."""
    form = TidyForm(request.POST, studio=request.studio)
    back = f"{reverse('own')}?tidy=1"
    if not form.is_valid():
        messages.error(request, str(next(iter(form.errors.values()))[0]))
        return redirect(back)
    try:
        with transaction.atomic():
            entries = _tidied(form.cleaned_data, request)
    except MakeError as wrong:
        messages.error(request, str(wrong))
        return redirect(back)
    cards = len({make.pk for make, _ in form.cleaned_data["pick"]})
    words = f"{cards} {'picture' if cards == 1 else 'pictures'} {_whither(form.cleaned_data)}."
    fields = "&".join(f"entry={entry.pk}" for entry in entries)
    say(request, words, undo=f"{reverse('own-undo')}?{fields}" if fields else "")
    return redirect(back)


NOW = {
    MakeState.IDEA: "now loose",
    MakeState.LINED_UP: "now planned next",
    MakeState.UNDER_WAY: "now under way",
    MakeState.RESTING: "now resting",
}


def _whither(sent: dict[str, Any]) -> str:
    """Where the ticked pictures are now, in a few words."""
    if sent["do"] == "rest":
        return NOW[MakeState.RESTING]
    if sent["do"] == "let_go":
        return "let go"
    if to := sent["new_pile"] or sent["to"]:
        return NOW[to] if isinstance(to, MakeState) else f"now in {to}"
    return f"now hoped for in {sent['season']}" if sent["season"] else "tidied"


def _tidied(sent: dict[str, Any], request: StudioRequest) -> list[Entry]:
    by, entries = request.user, list[Entry | None]()
    to: Area | None = sent["to"]
    if sent["new_pile"]:
        to, entry = actions.add_pile(name=sent["new_pile"], by=by)
        entries.append(entry)
    for make, source in reversed(sent["pick"]) if sent["do"] == "top" else sent["pick"]:
        area = source or MakeState(make.state)
        if to:
            facts = {"source": source, "also": sent["also"]}
            entries.append(actions.arrange(make=make, to=to, by=by, **facts))
            area = to
        if sent["cloth"] and not make.cloth_plans.filter(cloth=sent["cloth"]).exists():
            cloth = sent["cloth"]
            entries.append(ideas.mean_cloth(make=make, cloth=cloth, length=None, by=by))
        if sent["season"]:
            entries.append(hope(thing=make, to=sent["season"], by=by))
        entries.append(_one(sent["do"], make, area, request))
    return [entry for entry in entries if entry]


def _one(do: str, make: Make, area: Area, request: StudioRequest) -> Entry | None:
    if do == "rest":
        return actions.arrange(make=make, to=MakeState.RESTING, by=request.user)
    if do == "let_go":
        return ideas.let_go(make=make, by=request.user)
    if do == "top":
        return actions.to_the_top(make=make, area=area, by=request.user)
    return None


@require_POST
def pile_new(request: StudioRequest) -> HttpResponse:
    form = PileForm(request.POST)
    if not form.is_valid():
        messages.error(request, "Give the pile a name.")
        return redirect("own")
    pile, entry = actions.add_pile(name=form.cleaned_data["name"], by=request.user)
    if entry is None:
        messages.info(request, f"{pile} is there already.")
    key = area_key(pile)
    return done(request, entry, f"{reverse('own')}?open={key}#area-{key}")


@require_POST
def pile_edit(request: StudioRequest, pk: int) -> HttpResponse:
    """Another name, another place among the piles, or away with it."""
    pile = get_object_or_404(Pile, pk=pk)
    if "remove" in request.POST:
        return done(request, actions.remove_pile(pile=pile, by=request.user), reverse("own"))
    if "first" in request.POST:
        actions.arrange_pile(pile=pile, before=Pile.objects.first())
        return go_back(request, "own")
    form = PileForm(request.POST)
    if not form.is_valid():
        messages.error(request, "Give the pile a name.")
        return redirect("own")
    name = form.cleaned_data["name"]
    return done(request, actions.rename_pile(pile=pile, name=name, by=request.user), reverse("own"))
