"""The look back: one card, three answers, the next card; and two cards to choose between."""

from django.contrib import messages
from django.core import signing
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from jobs.makes.ideas.errors import MakeError
from jobs.makes.ideas.queries import newest_picture
from jobs.makes.ideas.steps import unsealed
from jobs.makes.lookback import actions, queries
from jobs.makes.lookback.forms import AnswerForm, PairForm, PassedForm, SittingForm, stamp
from jobs.makes.models import Look, Make
from studio.shop.http import StudioRequest

SALT = "jobs.makes.look"
DAY = 24 * 3600


@require_GET
def look_back(request: StudioRequest) -> HttpResponse:
    """The next card of the sitting that the address names, else the first of a new one."""
    form = SittingForm(request.GET)
    form.is_valid()
    since = form.began()
    make = queries.next_card(since, first=form.cleaned_data.get("first"))
    if make is None:
        told = {"let_go": queries.let_go_in(since)}
        return render(request, "makes/lookback/done.html", told)
    shown = {"make": make, "picture": newest_picture(make), "since": stamp(since)}
    return render(request, "makes/lookback/card.html", shown)


@require_POST
def answer(request: StudioRequest, pk: int) -> HttpResponse:
    make = get_object_or_404(Make, pk=pk)
    form = AnswerForm(request.POST)
    if not form.is_valid():
        messages.error(request, "Answer with one of the three buttons.")
        return _next(SittingForm(request.POST))
    try:
        said = actions.answer(make=make, answer=form.cleaned_data["answer"], since=form.began())
    except MakeError as wrong:
        messages.error(request, str(wrong))
        return _next(form)
    if said.new:
        step = said.step and said.step.sealed()
        sealed = signing.dumps({"look": said.look.pk, "step": step}, salt=SALT)
        told = {"said": said, "sealed": sealed, "since": stamp(form.began())}
        messages.success(request, render_to_string("makes/lookback/_said.html", told, request))
    return _next(form)


@require_POST
def undo(request: StudioRequest) -> HttpResponse:
    """The last answer is taken back, and its card is shown again."""
    form = SittingForm(request.POST)
    try:
        told = signing.loads(request.POST.get("said", ""), salt=SALT, max_age=DAY)
    except signing.BadSignature:
        messages.error(request, "This can be taken back no more.")
        return _next(form)
    look = get_object_or_404(Look, pk=told["look"])
    try:
        actions.take_back(look=look, step=told["step"] and unsealed(told["step"]))
    except MakeError as wrong:
        messages.error(request, str(wrong))
        return _next(form)
    return _next(form, first=look.make_id)


@require_http_methods(["GET", "POST"])
def pairs(request: StudioRequest) -> HttpResponse:
    """Rather this, rather that, or neither."""
    if request.method == "POST":
        return _chosen(request)
    form = PassedForm(request.GET)
    passed = (form.is_valid() and form.cleaned_data["passed"]) or 0
    two = [(make, newest_picture(make)) for make in queries.next_two(passed) or ()]
    told = {"two": two, "passed": passed, "wanted": queries.most_wanted()}
    return render(request, "makes/lookback/pairs.html", told)


def _chosen(request: StudioRequest) -> HttpResponse:
    form = PairForm(request.POST)
    if not form.is_valid():
        messages.error(request, "Choose one of the two, or neither.")
        return redirect("look-back-pairs")
    told = form.cleaned_data
    passed = told["passed"] or 0
    if told["rather"] is None:
        passed += 1
    else:
        two = [told["one"], told["other"]]
        rather, other = two if told["rather"] == two[0].pk else reversed(two)
        actions.choose(rather=rather, other=other)
    return redirect(f"{reverse('look-back-pairs')}?passed={passed}")


def _next(form: SittingForm, **more: int) -> HttpResponse:
    form.is_valid()
    return redirect(f"{reverse('look-back')}?{urlencode({'since': stamp(form.began()), **more})}")
