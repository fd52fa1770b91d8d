"""The sitting: one picture, one question, a few large answers; left and gone on with at will."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_GET, require_http_methods

from jobs.makes import verbs
from jobs.makes.ideas.actions import MakeError
from jobs.makes.ideas.queries import face_of, freed_by
from jobs.makes.lookback.actions import answer as answer_idea
from jobs.makes.models import Judgement, Look, Make, Sitting
from jobs.makes.undo import message_of
from jobs.makes.year import actions
from jobs.makes.year.gaps import gaps_page
from jobs.makes.year.seasons import Name, season, season_of, seasons_of
from jobs.makes.year.sitting import (
    Act,
    Queue,
    asked_about,
    dropped_in,
    ideas_queue,
    judgements_of,
    made_queue,
    outcome,
    plan_queue,
    round_since,
    stamp,
    whys,
)
from studio.shop import clock
from studio.shop.http import StudioRequest
from studio.shop.models import Entry

MOST_WHYS = 8


class JudgementForm(forms.Form):
    """``also`` is a why of the owner's own; ``go`` is the button that goes on."""

    answer = forms.TypedChoiceField(
        choices=Judgement.Verdict.choices, coerce=Judgement.Verdict, required=False
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
        choices=[(key, key) for key in ("keep", "unsure", "rest", "let_go")],
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
        queue = _queue(request, Round(sat, act, sat.begun_at))
        if queue and queue.at(None) is not None:
            return redirect("sitting-act", sat.year, act.value)
    return redirect("sitting-end", sat.year)


@require_GET
def gaps(_request: StudioRequest) -> HttpResponse:
    """What is lacking has a page of its own; earlier it stood in the sitting alone."""
    return redirect("gaps")


@dataclass(frozen=True)
class Round:
    """An act of a sitting. Ideas can be looked through anew, from a later moment ``since``."""

    sitting: Sitting
    act: Act
    since: datetime

    @property
    def anew(self) -> bool:
        return self.since > self.sitting.begun_at

    def address(self, key: int | None = None) -> str:
        since = stamp(self.since) if self.anew else None
        asked = ({"at": key} if key else {}) | ({"since": since} if since else {})
        address = _address(self.sitting, self.act)
        return f"{address}?{urlencode(asked)}" if asked else address

    def onward(self) -> str:
        """Where it goes on when all is answered."""
        if self.anew:
            return reverse("sitting-end", args=[self.sitting.year])
        return _following(self.sitting, self.act)


@require_http_methods(["GET", "POST"])
def act(request: StudioRequest, year: int, act: str) -> HttpResponse:
    """One thing of an act; ``at`` is which. A POST answers it, and the page stays or goes on."""
    sat = _sat(request, year)
    if act not in list(Act):
        raise Http404
    if act == Act.GAPS:
        facts = _frame(sat, Act.GAPS) | {"share": 1000}
        return gaps_page(request, "makes/sitting/gaps.html", **facts)
    stamped = request.GET.get("since", "") if act == Act.IDEAS else ""
    turn = Round(sat, Act(act), round_since(sat, stamped))
    queue = _queue(request, turn)
    asked = request.GET.get("at", "")
    key = queue.at(int(asked) if asked.isdecimal() and len(asked) < 10 else None) if queue else None
    if queue is None or key is None:
        return redirect(turn.onward())
    make = asked_about(key)
    if request.method != "POST":
        return render(request, f"makes/sitting/{act}.html", _shown(request, turn, queue, make))
    stays, entry = _answered(request, turn, make)
    if stays:
        return redirect(turn.address(key))
    if entry and entry.verb == verbs.ANSWER[Look.Answer.LET_GO].key:
        said = message_of(request, entry, back=turn.address(key), aside=freed_by(entry))
        messages.success(request, said)
    after = queue.after(key)
    return redirect(turn.address(after) if after else turn.onward())


def _answered(request: StudioRequest, turn: Round, make: Make) -> tuple[bool, Entry | None]:
    """Take the answer down. Whether the page stays: a new answer waits for a why; and the entry."""
    sat, entry = turn.sitting, None
    try:
        if turn.act == Act.MADE:
            return _judged(request, sat, make), None
        if turn.act == Act.IDEAS:
            idea = LookForm(request.POST)
            if idea.is_valid() and idea.cleaned_data["answer"]:
                facts = {"words": idea.cleaned_data["words"], "since": turn.since}
                answer = idea.cleaned_data["answer"]
                entry = answer_idea(make=make, answer=answer, by=request.user, **facts)
            return False, entry
        plan = PlanForm(request.POST)
        if plan.is_valid() and (to := plan.cleaned_data["to"]):
            winter = request.studio.winter_begins
            when = season(sat.year + 1, Name(to), winter) if to != "some-time" else None
            actions.hope(thing=make, to=when, by=request.user)
    except MakeError as wrong:
        messages.error(request, str(wrong))
        return True, None
    return False, None


def _judged(request: StudioRequest, sat: Sitting, make: Make) -> bool:
    form = JudgementForm(request.POST, known=whys())
    standing = judgements_of(sat).filter(make=make).first()
    if not form.is_valid():
        return True
    answer = form.cleaned_data["answer"] or (
        Judgement.Verdict(standing.answer) if standing else None
    )
    if answer is None:
        return False
    facts = {"whys": form.reasons(), "words": form.cleaned_data["words"]}
    actions.judge(make=make, answer=answer, sitting=sat, by=request.user, **facts)
    fresh = standing is None or standing.answer != answer
    return bool(form.cleaned_data["answer"]) and fresh


def _shown(request: StudioRequest, turn: Round, queue: Queue, make: Make) -> dict[str, Any]:
    """What the page of one thing is told."""
    sat, act = turn.sitting, turn.act
    facts = {
        **_frame(sat, act),
        "make": make,
        "picture": face_of(make),
        "place": queue.place(make.pk),
        "many": len(queue.keys),
        "share": round(1000 * queue.place(make.pk) / len(queue.keys)),
        "back": (before := queue.before(make.pk)) and turn.address(before),
        "next": (after := queue.after(make.pk)) and turn.address(after),
    }
    if act == Act.MADE:
        judgements = list(make.judgements.all())
        ours = [row for row in judgements if row.sitting and row.sitting.year == sat.year]
        facts["said"] = ours[0] if ours else None
        facts["earlier"] = [row for row in judgements if row not in ours]
        facts["whys"] = whys()
    elif act == Act.IDEAS:
        looks = [look for look in make.looks.all() if look.at >= turn.since]
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
        "dropped": dropped_in(sat),
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


def _queue(request: StudioRequest, turn: Round) -> Queue | None:
    sat, act = turn.sitting, turn.act
    if act == Act.MADE:
        return made_queue(sat, seasons_of(sat.year, request.studio.winter_begins))
    if act == Act.IDEAS:
        return ideas_queue(turn.since)
    return plan_queue(sat) if act == Act.PLAN else None


def _frame(sat: Sitting, act: Act | None) -> dict[str, Any]:
    names = {"made": "Made", "ideas": "Ideas", "gaps": "Gaps", "plan": str(sat.year + 1)}
    return {
        "sitting": sat,
        "acts": [(names[each], _address(sat, each), each == act) for each in Act],
        "onward": _following(sat, act) if act else "",
    }


def _address(sat: Sitting, act: Act) -> str:
    return reverse("sitting-act", args=[sat.year, act.value])


def _following(sat: Sitting, act: str) -> str:
    """The act after this one, at last the end."""
    acts = list(Act)
    place = acts.index(Act(act)) + 1
    if place < len(acts):
        return _address(sat, acts[place])
    return reverse("sitting-end", args=[sat.year])
