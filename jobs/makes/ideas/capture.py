"""How an idea comes in: pictures, a drawing, a few words, or what a phone shares with the program.

A phone's share menu sends to ``share`` without a token, for no page of ours has been open. So that
address does nothing but hold what came in the session of whoever is logged in: the owner sees it on
a page of ours, which has its token, and only sending that makes an idea. The session's cookie is
``SameSite=Lax``, so a form of another site comes without it and is led to the login; browsers also
say where a request comes from, and one from another site is refused (403).
"""

from typing import Any

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.templatetags.static import static
from django.urls import reverse
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from jobs.makes import verbs
from jobs.makes.ideas import actions
from jobs.makes.ideas.actions import LOOSE, MakeError
from jobs.makes.ideas.forms import DrawnForm
from jobs.makes.models import Cloth, Make, Picture
from jobs.makes.pictures import PicturesField
from jobs.makes.undo import done, take_back
from jobs.makes.wall.actions import arrange
from jobs.makes.wall.forms import AreaField
from studio.shop import history
from studio.shop.http import StudioRequest

SHARED = "shared"
OURS = {"", "none", "same-origin"}
"""What a browser says of where a request comes from (Fetch Metadata): nothing, by hand, or here."""


class KeptForm(forms.Form):
    """What is said of an idea right after it was kept. All of it can wait."""

    words = forms.CharField(max_length=120, required=False)
    to = AreaField(required=False)
    cloth = forms.ModelChoiceField(Cloth.objects.filter(gone_at=None), required=False)


@require_POST
def kept(request: StudioRequest, pk: int) -> HttpResponse:
    make = get_object_or_404(Make, pk=pk)
    if "undo" in request.POST:
        entry = history.of(make).filter(verb=verbs.ADD_IDEA.key).first()
        take_back(request, entry.pk if entry else None)
        return redirect("own")
    if "part" in request.POST:
        return done(request, actions.part_pictures(make=make, by=request.user), reverse("own"))
    form = KeptForm(request.POST)
    if not form.is_valid():
        messages.error(request, str(next(iter(form.errors.values()))[0]))
        return redirect(f"{reverse('own')}?kept={pk}")
    sent, by = form.cleaned_data, request.user
    try:
        with transaction.atomic():
            entry = actions.describe(make=make, words=sent["words"], by=by)
            if sent["to"]:
                entry = arrange(make=make, to=sent["to"], source=LOOSE, by=by) or entry
            if sent["cloth"]:
                cloth = sent["cloth"]
                entry = actions.mean_cloth(make=make, cloth=cloth, length=None, by=by) or entry
    except MakeError as wrong:
        messages.error(request, str(wrong))
        return redirect("own")
    return done(request, entry, reverse("own"))


@require_GET
def draw(request: StudioRequest) -> HttpResponse:
    """An empty sheet for a new idea."""
    form = DrawnForm(initial={"words": request.GET.get("words", "")[:120]})
    return render(request, "makes/ideas/draw.html", {"form": form})


@require_http_methods(["GET", "POST"])
def draw_on(request: StudioRequest, pk: int, picture: int | None = None) -> HttpResponse:
    """A picture of a make to draw on: a photograph gets a sketch beside it, a sketch goes on.

    Without a picture it is an empty sheet.
    """
    make = get_object_or_404(Make, pk=pk)
    # Sent twice, the sketch was taken down by the first time already.
    hung = make.pictures if request.method == "GET" else Picture.objects
    row = None if picture is None else get_object_or_404(hung, pk=picture)
    form = DrawnForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        sent = form.cleaned_data
        if not sent["sketch"]:
            return redirect(make)
        facts = {"sketch": sent["sketch"], "form_key": sent["form_key"], "by": request.user}
        if row is None:
            entry = actions.add_pictures(make=make, **facts)
        else:
            entry = actions.draw_on(make=make, picture=row, **facts)
        return done(request, entry, make.get_absolute_url())
    shown: dict[str, Any] = {"form": form, "make": make, "picture": row}
    return render(request, "makes/ideas/draw.html", shown)


class ShareForm(forms.Form):
    """What a phone's share menu sends; the names are those of the manifest."""

    title = forms.CharField(max_length=300, required=False)
    text = forms.CharField(max_length=3000, required=False)
    url = forms.CharField(max_length=600, required=False)
    photos = PicturesField(required=False)


@csrf_exempt
@require_http_methods(["GET", "POST"])
def share(request: StudioRequest) -> HttpResponse:
    """Hold what was shared, and show it, so that the owner may keep it."""
    if request.method == "GET":
        return redirect("idea-new")
    if request.headers.get("Sec-Fetch-Site", "") not in OURS:
        raise PermissionDenied("Another site may not send pictures here.")
    form = ShareForm(request.POST, request.FILES)
    form.full_clean()
    sent = form.cleaned_data
    for wrong in form.errors.values():
        messages.error(request, str(wrong[0]))
    rows = actions.keep_pictures(photos=sent.get("photos", []))
    note = "\n".join(filter(None, [sent.get("text"), sent.get("url")]))
    words = sent.get("title", "")
    held = request.session.get(SHARED, {}).get("held", [])
    request.session[SHARED] = {
        "words": words[:120],
        "note": note if len(words) <= 120 else f"{words}\n{note}",
        "held": [*held, *(row.pk for row in rows)],
    }
    return redirect("idea-new")


def shared(request: StudioRequest) -> tuple[dict[str, str], list[Picture]]:
    """What was shared and is not kept yet: the fields of a card, and the pictures."""
    facts = request.session.get(SHARED, {})
    fields = {name: facts[name] for name in ("words", "note") if facts.get(name)}
    return fields, list(Picture.objects.filter(pk__in=facts.get("held", [])))


@login_not_required
@require_GET
def manifest(request: HttpRequest) -> JsonResponse:
    """The web app manifest (W3C), with which a phone offers the program among its own.

    It is the same for everybody and says nothing of the studio.
    """
    icon = {"src": static("studio/icon.svg"), "sizes": "any", "type": "image/svg+xml"}
    named = {"title": "title", "text": "text", "url": "url"}
    files = [{"name": "photos", "accept": ["image/*"]}]
    facts = {
        "name": "Sewing studio",
        "short_name": "Studio",
        "id": reverse("today"),
        "start_url": reverse("today"),
        "display": "standalone",
        "background_color": "#f7f2e8",
        "theme_color": "#f7f2e8",
        "icons": [icon],
        "share_target": {
            "action": reverse("idea-share"),
            "method": "POST",
            "enctype": "multipart/form-data",
            "params": named | {"files": files},
        },
    }
    return JsonResponse(facts, content_type="application/manifest+json")
