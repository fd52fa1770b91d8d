"""What there is to remember: the studio's lines and the owner's own, kept apart."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import time
from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db.models import Model, Q, QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from jobs.makes.models import Cloth, Gap, Make, MakeState, Release
from jobs.planning import actions
from jobs.planning.actions.todo import Hook
from jobs.planning.models import Todo
from jobs.planning.own.shopping import BUY, shopping
from jobs.tickets.models import Ticket
from studio.shop import clock
from studio.shop.history.pages import undo_step
from studio.shop.http import StudioRequest, go_back, owner_only, say
from studio.shop.models import Entry, User
from studio.shop.text import fold

NUMBER = re.compile(r"(?<![\w-])\d{2}-\d{4,6}(?![\w-])")
AT_AN_END = re.compile(rf"^{NUMBER.pattern}[\s:,]+|[\s:,]+{NUMBER.pattern}\.?$")
MOST_IN_ONE_LIST = 12
"""Lines of a side above which they are grouped by what they hang on."""
SESSION = "todo_side"
HINTS = {
    Todo.Side.STUDIO: "With the number of a ticket, or the name of a make, cloth or release, it "
    "hangs on that.",
    Todo.Side.MINE: "With the name of a make, cloth or release it hangs on that.",
    Todo.Side.BUY: "Also what is typed elsewhere and begins with “buy”.",
}


LABELS = {
    Todo.Side.STUDIO: "For the studio",
    Todo.Side.MINE: "For myself",
    Todo.Side.BUY: "Something to buy",
}


class TodoForm(forms.Form):
    """A line; the field's label is for screen readers, for it says the same inside the field."""

    words = forms.CharField(label="What", max_length=200)

    def __init__(self, *args: Any, label: str = "What", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["words"].label = label
        self.fields["words"].widget.attrs |= {"placeholder": label, "autocomplete": "off"}


@dataclass(frozen=True)
class Group:
    """Lines that hang on the same; ``thing`` is None of those that hang on nothing."""

    thing: Hook | None
    lines: list[Todo] = field(default_factory=list)


@dataclass(frozen=True)
class TodoSide:
    """One of the two lists: in groups where there are many, else all in one."""

    side: Todo.Side
    lines: list[Todo]
    form: forms.Form
    hint: str

    @property
    def open(self) -> int:
        return sum(line.done_at is None for line in self.lines)

    @property
    def grouped(self) -> bool:
        return len(self.lines) > MOST_IN_ONE_LIST

    @property
    def groups(self) -> list[Group]:
        """What hangs on nothing comes last."""
        if not self.grouped:
            return [Group(None, self.lines)]
        groups: dict[Hook | None, Group] = {}
        for line in self.lines:
            groups.setdefault(line.hangs_on, Group(line.hangs_on)).lines.append(line)
        return sorted(groups.values(), key=lambda group: group.thing is None)


def lines_of_today() -> QuerySet[Todo]:
    """Those that are open, and those that were done today."""
    midnight = clock.at(clock.today(), time.min)
    return Todo.objects.filter(Q(done_at=None) | Q(done_at__gte=midnight)).select_related(
        "ticket", "make__face", "cloth__swatch", "release__picture", "gap"
    )


def open_in_the_studio() -> list[Todo]:
    """The studio's open lines, with their tickets. One query."""
    lines = Todo.objects.filter(done_at=None, side=Todo.Side.STUDIO)
    return list(lines.select_related("ticket"))


def hook_in(words: str) -> Hook | None:
    """What the words name: a ticket by its number, else a make, cloth, release or gap by its name.

    Case, accents and spaces do not matter; the longest name wins, then makes before cloth before
    releases. What is finished, used up or put away is named no more.
    """
    for number in NUMBER.findall(words):
        if ticket := Ticket.objects.filter(number=number).first():
            return ticket
    text = f" {_bare(words)} "
    best: tuple[int, type[Model], int] | None = None
    for model, pk, name in _names():
        key = _bare(name)
        if key and f" {key} " in text and (best is None or len(key) > best[0]):
            best = len(key), model, pk
    return best[1]._base_manager.get(pk=best[2]) if best else None  # type: ignore[return-value]  # noqa: SLF001 -- documented by Django


def _bare(words: str) -> str:
    return " ".join(re.findall(r"\w+", fold(words)))


def _names() -> Iterator[tuple[type[Model], int, str]]:
    over = [MakeState.FINISHED, MakeState.LET_GO]
    for pk, name in Make.objects.exclude(state__in=over).values_list("pk", "words"):
        yield Make, pk, name
    for pk, name in Cloth.objects.filter(gone_at=None).values_list("pk", "name"):
        yield Cloth, pk, name
    for pk, name in Release.objects.filter(put_away_at=None).values_list("pk", "name"):
        yield Release, pk, name
    for pk, name in Gap.objects.filter(filled=None, dropped_at=None).values_list("pk", "words"):
        yield Gap, pk, name


def sides_of(user: User) -> list[Todo.Side]:
    """The owner's own lines, and what they buy, are nobody else's to see."""
    return list(Todo.Side) if user.is_owner else [Todo.Side.STUDIO]


def side_of(words: str, side: Todo.Side, user: User) -> tuple[str, Todo.Side]:
    """Where a line belongs that is typed on a side, and what then is left to say."""
    if user.is_owner and not NUMBER.search(words) and (begins := BUY.match(words)):
        return words[begins.end() :] or words, Todo.Side.BUY
    return words, side


@require_http_methods(["GET", "POST"])
def todo(request: StudioRequest) -> HttpResponse:
    """The lists; on a phone the one that was chosen last."""
    sides = sides_of(request.user)
    chosen = request.POST.get("side") or request.GET.get("side") or request.session.get(SESSION)
    current = next((side for side in sides if side == chosen), None)
    if request.method == "POST" and current is None:
        raise PermissionDenied("Only the owner may open this page.")
    current = current or Todo.Side.STUDIO
    if request.session.get(SESSION, Todo.Side.STUDIO) != current:
        request.session[SESSION] = current.value
    posted = {side: request.method == "POST" and side == current for side in sides}
    forms_of = {
        side: TodoForm(
            request.POST if posted[side] else None, label=LABELS[side], auto_id=f"{side.value}_%s"
        )
        for side in sides
    }
    form = forms_of[current]
    if form.is_valid() and _added(request, form, current):
        return redirect("todo")
    lines = list(lines_of_today().filter(side__in=sides))
    lists = [
        TodoSide(side, [line for line in lines if line.side == side], forms_of[side], HINTS[side])
        for side in sides
    ]
    context: dict[str, Any] = {"lists": lists, "current": current}
    if request.user.is_owner:
        context["shopping"] = shopping(lists.pop().lines)
        context["buy_form"], context["buy_hint"] = forms_of[Todo.Side.BUY], HINTS[Todo.Side.BUY]
    return render(request, "planning/todo.html", context)


def _added(request: StudioRequest, form: TodoForm, side: Todo.Side) -> bool:
    words, side = side_of(" ".join(form.cleaned_data["words"].split()), side, request.user)
    hook = hook_in(words)
    if isinstance(hook, Ticket):
        words = AT_AN_END.sub("", words) or words
    try:
        entry = actions.add_todo(words=words, side=side, on=hook, by=request.user)
    except actions.PlanError as wrong:
        form.add_error("words", str(wrong))
        return False
    if entry:
        number = hook.number if isinstance(hook, Ticket) else hook
        to = "Added to what to buy" if side == Todo.Side.BUY else "Added"
        message = f"{to}: {words}. It hangs on {number}." if hook else f"{to}: {words}"
        say(request, message, undo=reverse("todo-undo"), entry=entry.pk)
    return True


def _line(request: StudioRequest, pk: int) -> Todo:
    return get_object_or_404(Todo, pk=pk, side__in=sides_of(request.user))


@require_POST
def tick(request: StudioRequest, pk: int) -> HttpResponse:
    """Done, or with an empty ``done`` not after all."""
    line = _line(request, pk)
    actions.tick_todo(line=line, done=bool(request.POST.get("done")), by=request.user)
    return go_back(request, f"{reverse('todo')}#line-{line.pk}")


@require_POST
def first(request: StudioRequest, pk: int) -> HttpResponse:
    actions.put_todo_first(line=_line(request, pk), by=request.user)
    return redirect("todo")


@require_POST
@owner_only
def move(request: StudioRequest, pk: int) -> HttpResponse:
    """To what is to buy, or back from there."""
    line = _line(request, pk)
    side = next((side for side in Todo.Side if side == request.POST.get("side")), None)
    if side:
        try:
            entry = actions.move_todo(line=line, side=side, by=request.user)
        except actions.PlanError as wrong:
            messages.error(request, str(wrong))
        else:
            if entry:
                undo = reverse("todo-undo")
                say(request, f"{side.label}: {line}", undo=undo, entry=entry.pk)
    return redirect("todo")


@require_POST
def remove(request: StudioRequest, pk: int) -> HttpResponse:
    line = _line(request, pk)
    entry = actions.remove_todo(line=line, by=request.user)
    if entry:
        say(request, f"Removed: {line}", undo=reverse("todo-undo"), entry=entry.pk)
    return redirect("todo")


@require_POST
@owner_only
def from_gap(request: StudioRequest, pk: int) -> HttpResponse:
    """Something that was missing is to be thought of; once while it stands there."""
    gap = get_object_or_404(Gap, pk=pk)
    side = Todo.Side.BUY if request.POST.get("side") == Todo.Side.BUY else Todo.Side.MINE
    entry = actions.add_todo(words=gap.words, side=side, on=gap, by=request.user)
    if entry:
        say(request, f"On the to-do: {gap}", undo=reverse("todo-undo"), entry=entry.pk)
    else:
        say(request, f"It is on the to-do already: {gap}")
    return go_back(request, "todo")


@require_POST
def undo(request: StudioRequest) -> HttpResponse:
    """Each takes back their own steps: those of the owner's lines are nobody else's."""
    entries = Entry.objects.filter(verb__startswith="todo.", by=request.user)
    return undo_step(request, entries, back="todo")
