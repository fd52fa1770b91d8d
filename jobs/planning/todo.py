"""What there is to remember: the studio's lines and the owner's own, kept apart; what to buy."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import time

from django import forms
from django.core.exceptions import PermissionDenied
from django.db.models import Model, Prefetch, Q, QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from jobs.makes.models import Cloth, FurtherPattern, Gap, Make, MakeState, Release
from jobs.planning import actions
from jobs.planning.actions.todo import Hook
from jobs.planning.models import Todo
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
}


class TodoForm(forms.Form):
    words = forms.CharField(label="What", max_length=200)


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


@dataclass(frozen=True)
class Notion:
    words: str
    bought: bool


@dataclass(frozen=True)
class Shopping:
    """What the pattern of a make asks for beside cloth, as far as it is not here since before."""

    make: Make
    notions: list[Notion]


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


def notions_of(text: str) -> list[str]:
    """One a line; where there is only one line, between its commas. Each once."""
    lines = [line for line in text.splitlines() if line.strip()]
    parts = lines if len(lines) > 1 else re.split(r"[,;]", text)
    words: dict[str, str] = {}
    for part in parts:
        if notion := part.strip(" \t-•,;"):
            words.setdefault(fold(notion), notion)
    return list(words.values())


def to_buy() -> list[Shopping]:
    """For makes under way, then for those planned next. Three queries."""
    makes = (
        Make.objects.filter(state__in=[MakeState.UNDER_WAY, MakeState.LINED_UP])
        .select_related("pattern", "face")
        .prefetch_related("bought", FURTHER)
        .order_by("-state", "place", "-pk")
    )
    lists = [Shopping(make, list(_still_to_buy(make))) for make in makes]
    return [shopping for shopping in lists if shopping.notions]


FURTHER = Prefetch("further_patterns", FurtherPattern.objects.select_related("pattern"))


def notions_for(make: Make) -> list[Notion]:
    """What all the patterns of a make ask for, each once."""
    here = {row.key for row in make.bought.all()}
    patterns = [make.pattern, *(row.pattern for row in make.further_patterns.all())]
    asked: dict[str, str] = {}
    for pattern in patterns:
        for words in notions_of(pattern.notions if pattern else ""):
            asked.setdefault(fold(words), words)
    return [Notion(words, bought=key in here) for key, words in asked.items()]


def _still_to_buy(make: Make) -> Iterator[Notion]:
    """What was bought before today is left out."""
    today = {row.key for row in make.bought.all() if clock.local(row.at).date() == clock.today()}
    for notion in notions_for(make):
        if not notion.bought or fold(notion.words) in today:
            yield notion


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
    """The owner's own lines are nobody else's to see."""
    return [Todo.Side.STUDIO, Todo.Side.MINE] if user.is_owner else [Todo.Side.STUDIO]


@require_http_methods(["GET", "POST"])
def todo(request: StudioRequest) -> HttpResponse:
    """Both lists; on a phone the one that was chosen last."""
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
        side: TodoForm(request.POST if posted[side] else None, auto_id=f"{side.value}_%s")
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
    context = {"lists": lists, "current": current}
    context |= {"shopping": to_buy() if request.user.is_owner else []}
    return render(request, "planning/todo.html", context)


def _added(request: StudioRequest, form: TodoForm, side: Todo.Side) -> bool:
    words = " ".join(form.cleaned_data["words"].split())
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
        message = f"Added: {words}. It hangs on {number}." if hook else f"Added: {words}"
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
    entry = actions.add_todo(words=gap.words, side=Todo.Side.MINE, on=gap, by=request.user)
    if entry:
        say(request, f"On the to-do: {gap}", undo=reverse("todo-undo"), entry=entry.pk)
    else:
        say(request, f"It is on the to-do already: {gap}")
    return go_back(request, "todo")


@require_POST
@owner_only
def bought(request: StudioRequest, pk: int) -> HttpResponse:
    """A notion of this make's patterns, or with an empty ``done`` not after all."""
    make = get_object_or_404(Make.objects.select_related("pattern"), pk=pk)
    notion = request.POST.get("notion", "")
    if notion in [asked.words for asked in notions_for(make)]:
        done = bool(request.POST.get("done"))
        actions.buy(make=make, notion=notion, bought=done, by=request.user)
    return go_back(request, f"{reverse('todo')}#buy-{make.pk}")


@require_POST
def undo(request: StudioRequest) -> HttpResponse:
    """Each takes back their own steps: those of the owner's lines are nobody else's."""
    entries = Entry.objects.filter(verb__startswith="todo.", by=request.user)
    return undo_step(request, entries, back="todo")
