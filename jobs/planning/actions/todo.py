"""To-do lines, and the notions that are bought. Who may do what is the page's to ask."""

from django.db import transaction
from django.db.models import Max, Min, Model

from jobs.makes.models import Cloth, Gap, Make, Release
from jobs.planning import verbs
from jobs.planning.actions.week import PlanError
from jobs.planning.models import Bought, Todo
from jobs.tickets.models import Ticket
from studio.shop import clock
from studio.shop.history import record
from studio.shop.models import Entry, User
from studio.shop.text import fold

Hook = Ticket | Make | Cloth | Release | Gap
"""What a line can hang on."""
FIELDS: dict[type[Model], str] = {
    Ticket: "ticket", Make: "make", Cloth: "cloth", Release: "release", Gap: "gap",
}  # fmt: skip


@transaction.atomic
def add_todo(*, words: str, side: str, on: Hook | None = None, by: User) -> Entry | None:
    """A new line at the foot of its side. The same words, still open there, are not added twice.

    Raises PlanError for a ticket among the owner's own lines.
    """
    if isinstance(on, Ticket) and side == Todo.Side.MINE:
        raise PlanError(f"{on.number} is a ticket: add this to Studio.", "words")
    hook = {name: on if isinstance(on, model) else None for model, name in FIELDS.items()}
    if Todo.objects.filter(words=words, side=side, done_at=None, **hook).exists():
        return None
    last = Todo.objects.filter(side=side).aggregate(last=Max("place"))["last"]
    line = Todo.objects.create(
        words=words, side=side, place=(last or 0) + 1, added_at=clock.now(), **hook
    )
    with record(verbs.TODO_ADDED, about=_about(line), by=by, words=words) as step:
        step.add(line)
    return step.entry


@transaction.atomic
def tick_todo(*, line: Todo, done: bool, by: User) -> Entry | None:
    """It is done, or is not after all. Twice is once."""
    line = Todo.objects.select_for_update(of=("self",)).get(pk=line.pk)
    if (line.done_at is not None) == done:
        return None
    verb = verbs.TODO_DONE if done else verbs.TODO_OPEN
    with record(verb, about=_about(line), by=by, words=line.words) as step:
        step.keep(line)
        line.done_at = clock.now() if done else None
        line.save(update_fields=["done_at"])
    return step.entry


@transaction.atomic
def put_todo_first(*, line: Todo, by: User) -> Entry | None:
    """It stands ahead of all others of its side."""
    line = Todo.objects.select_for_update(of=("self",)).get(pk=line.pk)
    others = Todo.objects.filter(side=line.side).exclude(pk=line.pk)
    least = others.aggregate(least=Min("place"))["least"]
    if least is None or line.place < least:
        return None
    with record(verbs.TODO_FIRST, about=_about(line), by=by, words=line.words) as step:
        step.keep(line)
        line.place = least - 1
        line.save(update_fields=["place"])
    return step.entry


@transaction.atomic
def move_todo(*, line: Todo, side: Todo.Side, by: User) -> Entry | None:
    """To the foot of another side. Raises PlanError for a ticket among the owner's own lines."""
    line = Todo.objects.select_for_update(of=("self",)).get(pk=line.pk)
    if line.side == side:
        return None
    if line.ticket and side == Todo.Side.MINE:
        raise PlanError(f"{line.ticket} is a ticket: it stays with the studio.")
    last = Todo.objects.filter(side=side).aggregate(last=Max("place"))["last"]
    facts = {"words": line.words, "side": str(side.label)}
    with record(verbs.TODO_MOVED, about=_about(line), by=by, **facts) as step:
        step.keep(line)
        line.side, line.place = side, (last or 0) + 1
        line.save(update_fields=["side", "place"])
    return step.entry


@transaction.atomic
def remove_todo(*, line: Todo, by: User) -> Entry | None:
    with record(verbs.TODO_REMOVED, about=_about(line), by=by, words=line.words) as step:
        step.keep(line)
        Todo.objects.filter(pk=line.pk).delete()
    return step.entry


@transaction.atomic
def buy(*, make: Make, notion: str, bought: bool, by: User) -> Entry | None:
    """This notion of the make's pattern is here, or is still to buy. Twice is once."""
    rows = Bought.objects.filter(make=make, key=fold(notion))
    verb = verbs.BOUGHT if bought else verbs.TO_BUY
    with record(verb, about=make, by=by, notion=notion, words=str(make)) as step:
        step.keep(rows)
        if bought:
            Bought.objects.get_or_create(make=make, key=fold(notion), defaults={"at": clock.now()})
        else:
            rows.delete()
    return step.entry


@transaction.atomic
def want_no_cloth(*, make: Make, by: User) -> Entry | None:
    """No cloth is to be bought for it. Twice is once."""
    rows = Bought.objects.filter(make=make, key=Bought.CLOTH)
    with record(verbs.NO_CLOTH, about=make, by=by, words=str(make)) as step:
        step.keep(rows)
        Bought.objects.get_or_create(make=make, key=Bought.CLOTH, defaults={"at": clock.now()})
    return step.entry


def _about(line: Todo) -> list[Model]:
    """The ticket's page tells of its lines, and erasing its client forgets their words."""
    return [line, line.ticket] if line.ticket else [line]
