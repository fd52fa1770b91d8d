"""The sitting: one picture, one question, a few large answers; left and gone on with at will."""

from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from jobs.makes.ideas.actions import MakeError
from jobs.makes.ideas.queries import face_of
from jobs.makes.lookback.actions import answer as answer_idea
from jobs.makes.models import Judgement, Look, Make, Sitting
from jobs.makes.year import actions
from jobs.makes.year.gaps import gaps_page
from jobs.makes.year.seasons import Name, season, season_of, seasons_of
from jobs.makes.year.sitting import (
    Act,
    Queue,
    asked_about,
    ideas_queue,
    judgements_of,
    made_queue,
    outcome,
    plan_queue,
    whys,
)
from studio.shop import clock
from studio.shop.http import StudioRequest

MOST_WHYS = 8


class JudgementForm(forms.Form):
    """``also`` is a why of the owner's own; ``go`` is the button that goes on."""

    answer = forms.TypedChoiceField(
        choices=Judgement.Answer.choices, coerce=Judgement.Answer, required=False
    )
    also = forms.CharField(max_length=40, required=False)
    words = forms.CharField(max_length=200, required=False)

    def __init__(self, *args: Any, known: list[str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["whys"] = forms.MultipleChoiceField(
            choices=[(why, why) for why in known], required=False
        )

    def reasons(self) -> list[str]:
        also = self.cleaned_data["also"]
        return [*self.cleaned_data["whys"], *([also] if also else [])][:MOST_WHYS]


class LookForm(forms.Form):
    answer = forms.TypedChoiceField(
        choices=[(key, key) for key in ("keep", "rest", "let_go")],
        coerce=Look.Answer, required=False,
    )  # fmt: skip
    words = forms.CharField(max_length=200, required=False)


class PlanForm(forms.Form):
    to = forms.TypedChoiceField(
        choices=[("some-time", ""), *((name.value, "") for name in Name)], required=False
    )


@require_GET
def sitting(request: StudioRequest, year: int | None = None) -> HttpResponse:
    """To the first act of the year that has a question open; this year's unless it is said."""
    sat = _sat(request, year)
    for act in Act:
        queue = _queue(request, sat, act)
        if queue and queue.at(None) is not None:
            return redirect("sitting-act", sat.year, act.value)
    return redirect("sitting-end", sat.year)


@require_GET
def gaps(_request: StudioRequest) -> HttpResponse:
    """What is lacking has a page of its own; earlier it stood in the sitting alone."""
    return redirect("gaps")


@require_http_methods(["GET", "POST"])
def act(request: StudioRequest, year: int, act: str) -> HttpResponse:
    """One thing of an act; ``at`` is which. A POST answers it, and the page stays or goes on."""
    sat = _sat(request, year)
    if act not in list(Act):
        raise Http404
    if act == Act.GAPS:
        facts = _frame(sat, Act.GAPS) | {"share": 1000}
        return gaps_page(request, "makes/sitting/gaps.html", **facts)
    queue = _queue(request, sat, Act(act))
    asked = request.GET.get("at", "")
    key = queue.at(int(asked) if asked.isdecimal() and len(asked) < 10 else None) if queue else None
    if queue is None or key is None:
        return redirect(_following(sat, Act(act)))
    make = asked_about(key)
    if request.method == "POST":
        stays = _answered(request, sat, Act(act), make)
        after = queue.after(key)
        if stays:
            return redirect(_address(sat, Act(act), key))
        return redirect(_address(sat, Act(act), after) if after else _following(sat, Act(act)))
    return render(request, f"makes/sitting/{act}.html", _shown(request, sat, Act(act), queue, make))


def _answered(request: StudioRequest, sat: Sitting, act: Act, make: Make) -> bool:
    """Take the answer down. Whether the page stays: a new answer waits for a why."""
    try:
        if act == Act.MADE:
            return _judged(request, sat, make)
        if act == Act.IDEAS:
            idea = LookForm(request.POST)
            if idea.is_valid() and idea.cleaned_data["answer"]:
                facts = {"words": idea.cleaned_data["words"], "since": sat.begun_at}
                answer_idea(make=make, answer=idea.cleaned_data["answer"], by=request.user, **facts)
            return False
        plan = PlanForm(request.POST)
        if plan.is_valid() and (to := plan.cleaned_data["to"]):
            winter = request.studio.winter_begins
            when = season(sat.year + 1, Name(to), winter) if to != "some-time" else None
            actions.hope(thing=make, to=when, by=request.user)
    except MakeError as wrong:
        messages.error(request, str(wrong))
        return True
    return False


def _judged(request: StudioRequest, sat: Sitting, make: Make) -> bool:
    form = JudgementForm(request.POST, known=whys())
    standing = judgements_of(sat).filter(make=make).first()
    if not form.is_valid():
        return True
    answer = form.cleaned_data["answer"] or (
        Judgement.Answer(standing.answer) if standing else None
    )
    if answer is None:
        return False
    facts = {"whys": form.reasons(), "words": form.cleaned_data["words"]}
    actions.judge(make=make, answer=answer, sitting=sat, by=request.user, **facts)
    fresh = standing is None or standing.answer != answer
    return bool(form.cleaned_data["answer"]) and fresh


def _shown(
    request: StudioRequest, sat: Sitting, act: Act, queue: Queue, make: Make
) -> dict[str, Any]:
    """What the page of one thing is told."""
    facts = {
        **_frame(sat, act),
        "make": make,
        "picture": face_of(make),
        "place": queue.place(make.pk),
        "many": len(queue.keys),
        "share": round(1000 * queue.place(make.pk) / len(queue.keys)),
        "back": (before := queue.before(make.pk)) and _address(sat, act, before),
        "next": (after := queue.after(make.pk)) and _address(sat, act, after),
    }
    if act == Act.MADE:
        judgements = list(make.judgements.all())
        ours = [row for row in judgements if row.sitting and row.sitting.year == sat.year]
        facts["said"] = ours[0] if ours else None
        facts["earlier"] = [row for row in judgements if row not in ours]
        facts["whys"] = whys()
    elif act == Act.IDEAS:
        looks = [look for look in make.looks.all() if look.at >= sat.begun_at]
        facts["said"] = looks[0] if looks else None
    else:
        winter = request.studio.winter_begins
        facts["seasons"] = seasons_of(sat.year + 1, winter)
        standing = [hope for hope in make.hopes.all() if hope.until is None]
        facts["said"] = next((hope for hope in standing if hope.year == sat.year + 1), None)
    return facts


@require_http_methods(["GET", "POST"])
def end(request: StudioRequest, year: int) -> HttpResponse:
    """What the year came to. Reaching it ends the sitting; it can be opened again."""
    sat = _sat(request, year)
    if request.method == "POST":
        actions.get_up(sitting=sat)
        return redirect("sitting-end", sat.year)
    winter = request.studio.winter_begins
    rows = judgements_of(sat).select_related("make__face").prefetch_related("make__pictures")
    facts = {
        **_frame(sat, None),
        "outcome": outcome(sat, winter),
        "judged": [(row, face_of(row.make)) for row in rows.order_by("make__finished_on", "make")],
        "journal": sat.year <= clock.today().year,
    }
    return render(request, "makes/sitting/end.html", facts)


def _sat(request: StudioRequest, year: int | None) -> Sitting:
    this_year = season_of(clock.today(), request.studio.winter_begins).year
    year = year or this_year
    if not 2000 <= year <= this_year:
        raise Http404("Nobody can sit down with this year yet.")
    if request.method == "POST":
        return actions.sit_down(year=year)
    begun = Sitting.objects.filter(year=year).first()
    return begun or Sitting(year=year, begun_at=clock.now())


def _queue(request: StudioRequest, sat: Sitting, act: Act) -> Queue | None:
    if act == Act.MADE:
        return made_queue(sat, seasons_of(sat.year, request.studio.winter_begins))
    return {Act.IDEAS: ideas_queue, Act.PLAN: plan_queue}[act](sat) if act != Act.GAPS else None


def _frame(sat: Sitting, act: Act | None) -> dict[str, Any]:
    names = {"made": "Made", "ideas": "Ideas", "gaps": "Gaps", "plan": str(sat.year + 1)}
    return {
        "sitting": sat,
        "acts": [(names[each], _address(sat, each), each == act) for each in Act],
        "onward": _following(sat, act) if act else "",
    }


def _address(sat: Sitting, act: Act, key: int | None = None) -> str:
    address = reverse("sitting-act", args=[sat.year, act.value])
    return f"{address}?at={key}" if key else address


def _following(sat: Sitting, act: Act) -> str:
    """The act after this one, at last the end."""
    acts = list(Act)
    place = acts.index(act) + 1
    if place < len(acts):
        return _address(sat, acts[place])
    return reverse("sitting-end", args=[sat.year])
