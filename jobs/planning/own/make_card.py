"""The card of a make: a stack of pictures, and on its back all that is known, with its hours."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import uuid4

from django.db.models import prefetch_related_objects
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from clients.fields import unit_of
from jobs.makes.by_sheet import by_sheet
from jobs.makes.ideas import queries
from jobs.makes.ideas.actions import NOT_PUT_AWAY
from jobs.makes.ideas.card import CutClothForm, seasons_to_come, texts_form
from jobs.makes.ideas.forms import HEATS, FinishForm, MorePicturesForm
from jobs.makes.lengths import show_cloth
from jobs.makes.models import Make, Picture, Pile
from jobs.makes.patterns.queries import uses_of
from jobs.makes.tables import FATES
from jobs.makes.wall.queries import Tile
from jobs.planning import actions
from jobs.planning.bench_time import guesses_of, minutes_of
from jobs.planning.clock import GUESSES
from jobs.planning.models import BenchTime, Todo
from jobs.planning.own.shopping import notions_for
from jobs.planning.todo import TodoForm, lines_of_today, side_of, sides_of
from studio.shop.clock import now
from studio.shop.http import StudioRequest, say
from studio.shop.look.bars import percent
from studio.shop.models import User
from studio.shop.together import OpenCard


@dataclass(frozen=True)
class MakeTime:
    """Minutes ``spent`` on a make, and since when somebody's own clock runs for it.

    ``open`` says that it can be sewn: it is not put away.
    """

    spent: int
    since: datetime | None
    open: bool

    @property
    def running(self) -> int:
        """Whole minutes of the clock that runs."""
        return int((now() - self.since).total_seconds() // 60) if self.since else 0


def make_time(make: Make, by: User) -> MakeTime:
    """Two queries."""
    running = BenchTime.objects.filter(make=make, by=by, minutes=None).first()
    spent = minutes_of([make.pk]).get(make.pk, 0)
    return MakeTime(spent, running.started_at if running else None, open=make.state in NOT_PUT_AWAY)


@dataclass(frozen=True)
class HoursBeside:
    """Minutes ``spent`` beside the ``guess``, as widths of a bar as long as the longer of them."""

    spent: int
    guess: int

    @property
    def sewn(self) -> str:
        return percent(self.spent / max(self.spent, self.guess))

    @property
    def guessed(self) -> str:
        return percent(self.guess / max(self.spent, self.guess))


def todo_of(make: Make, by: User) -> list[Todo]:
    """The open lines that hang on it, and those done today, as far as one may see them."""
    return list(lines_of_today().filter(make=make, side__in=sides_of(by)))


def front_of(make: Make, asked: str) -> Picture | None:
    """The picture that was asked for by its key, else the face."""
    chosen = (picture for picture in make.pictures.all() if str(picture.pk) == asked)
    return next(chosen, None) or queries.face_of(make)


@require_GET
def make(request: StudioRequest, pk: int) -> HttpResponse:
    card = queries.make_or_404(pk)
    prefetch_related_objects([card], "bought")
    front = front_of(card, request.GET.get("picture", ""))
    time, guess, cloths = (
        make_time(card, request.user),
        guesses_of([card]).get(pk),
        queries.cloths_of(card),
    )
    lying = {row.pile_id for row in card.pile_places.all()}
    earlier, sheet = queries.sewn_before(card), by_sheet([card], by=request.user).get(pk)
    stack, owner = queries.stack_of(card, front), request.user.is_owner
    texts = OpenCard(request, card, lambda data, row: texts_form(request, row, data)).form
    shown: dict[str, Any] = {
        "make": card,
        "front": front,
        "face": queries.face_of(card),
        "stack": stack,
        "earlier": earlier,
        "earlier_face": earlier and queries.face_of(earlier),
        "step": next((step for step in stack if step.current), None),
        "drawn_as": Tile(card, front, None).drawn_as,
        "texts": texts,
        "time": time,
        "guess": guess,
        "sheet": sheet,
        "sizes": sheet.sizes(unit_of(request.studio)) if sheet else [],
        "bar": HoursBeside(time.spent, guess.minutes) if guess else None,
        "guesses": GUESSES,
        "now": now(),
        "cloths": cloths,
        "uses": uses_of(card),
        "notions": notions_for(card),
        "lines": todo_of(card, request.user),
        "piles": [(pile, pile.pk in lying) for pile in Pile.objects.all()] if time.open else [],
        "hope": next(iter(card.hopes.all()), None),
        "judgements": card.judgements.all(),
        "heats": HEATS,
        "fates": FATES,
        "picture_form": MorePicturesForm(),
        "steps": Picture.Step,
        "form_key": uuid4(),
    }
    if time.open:
        to_cut = [row for row in cloths if row.plan and row.cloth.gone_at is None]
        shown |= {
            "seasons": seasons_to_come(request.studio),
            "to_cut": to_cut,
            "cut_form": cut_form(request, to_cut),
            "finish_form": FinishForm(cloths=cloths, studio=request.studio),
        }
    if owner:
        shown["cost"] = queries.cost_of(card, cloths)
    return render(request, "planning/make/card.html", shown)


def cut_form(request: StudioRequest, to_cut: list[queries.ClothOfMake]) -> CutClothForm | None:
    """For the cloth of which most is to be cut, with what will be used; None without one."""
    if not to_cut:
        return None
    row = max(to_cut, key=lambda row: row.rest or 0)
    used = show_cloth(row.rest, row.cloth.unit) if row.rest else ""
    initial = {"cloth": row.cloth.pk, "length": used}
    return CutClothForm(initial=initial, studio=request.studio, auto_id="cut_%s")


@require_GET
def make_clock(_request: StudioRequest, pk: int) -> HttpResponse:
    """The clock stands on the card; earlier it had a page of its own."""
    return redirect(f"{reverse('make', args=[pk])}#hours")


@require_POST
def add_todo(request: StudioRequest, pk: int) -> HttpResponse:
    """A line that hangs on the make: the owner's own, of a helper the studio's."""
    card, form = get_object_or_404(Make, pk=pk), TodoForm(request.POST)
    if form.is_valid():
        own = Todo.Side.MINE if request.user.is_owner else Todo.Side.STUDIO
        words, side = side_of(" ".join(form.cleaned_data["words"].split()), own, request.user)
        entry = actions.add_todo(words=words, side=side, on=card, by=request.user)
        if entry:
            say(request, f"Added: {words}", undo=reverse("todo-undo"), entry=entry.pk)
    return redirect(f"{card.get_absolute_url()}#todo")
