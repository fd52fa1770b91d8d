"""From one state to the next, in any order the owner likes."""

from datetime import date
from typing import Any

from django.db import transaction
from django.db.models import F

from jobs.makes.ideas.actions.changing import change, locked, unchanged
from jobs.makes.ideas.errors import MakeError
from jobs.makes.ideas.steps import Step
from jobs.makes.models import Cloth, Make, Picture, State
from studio.shop import clock

ON_THE_WALL = (State.UNDER_WAY, State.LINED_UP, State.IDEA)
SAID = {
    State.IDEA: "Back among the ideas: {}",
    State.LINED_UP: "Lined up: {}",
    State.UNDER_WAY: "Under way: {}",
}


@transaction.atomic
def move_card(*, make: Make, to: State) -> Step:
    """To another part of the wall, on top of what hangs there. Raises MakeError."""
    make = locked(make.pk)
    words = SAID[to].format(make.words)
    if make.state == to:
        return unchanged(make, words)
    _on_the_wall(make)
    return _enter(make, to, words)


def start(*, make: Make) -> Step:
    """Under way from an idea, in one step. Raises MakeError."""
    return move_card(make=make, to=State.UNDER_WAY)


@transaction.atomic
def move_up_or_down(*, make: Make, step: int, place: int) -> None:
    """One place up (``step`` -1) or down (1) in its part of the wall; at the end nothing changes.

    ``place`` is where the page showed it, from 0: elsewhere by now, it was moved already.
    """
    make = locked(make.pk)
    row = list(Make.objects.select_for_update().filter(state=make.state))
    if row.index(make) != place or not 0 <= place + step < len(row):
        return
    row.insert(place + step, row.pop(place))
    for position, card in enumerate(row):
        card.place = position
    Make.objects.bulk_update(row, ["place"])


@transaction.atomic
def finish(
    *,
    make: Make,
    day: date | None = None,
    picture: Picture | None = None,
    changes: str | None = None,
    learnt: str | None = None,
) -> Step:
    """Done on ``day`` or today. What is None stays as it is. Raises MakeError."""
    make = locked(make.pk)
    words = f"Finished: {make.words}"
    if make.state == State.FINISHED:
        return unchanged(make, words)
    _on_the_wall(make)
    told: dict[str, Any] = {"changes": changes, "learnt": learnt}
    return change(
        make,
        words,
        pictures=[*make.pictures.all(), picture] if picture else None,
        state=State.FINISHED,
        finished_on=day or clock.today(),
        **{name: text for name, text in told.items() if text is not None},
    )


@transaction.atomic
def let_go(*, make: Make) -> Step:
    """It stays in the journal; the cloth meant for it is free. Raises MakeError."""
    make = locked(make.pk)
    words = f"Let go, with thanks: {make.words}"
    if make.state == State.LET_GO:
        return unchanged(make, words)
    _on_the_wall(make)
    aside = _free([plan.cloth for plan in make.cloth_plans.select_related("cloth")])
    return change(make, words, cloths=[], aside=aside, state=State.LET_GO, let_go_at=clock.now())


@transaction.atomic
def take_up(*, make: Make) -> Step:
    """What was let go is an idea again; what was finished is under way again."""
    make = locked(make.pk)
    words = f"Taken up again: {make.words}"
    if make.state == State.LET_GO:
        return _enter(make, State.IDEA, words, let_go_at=None)
    if make.state == State.FINISHED:
        return _enter(make, State.UNDER_WAY, words, finished_on=None, fate="")
    return unchanged(make, words)


def _enter(make: Make, to: State, words: str, **fields: Any) -> Step:
    Make.objects.filter(state=to).update(place=F("place") + 1)
    if to == State.UNDER_WAY and make.started_at is None:
        fields["started_at"] = clock.now()
    return change(make, words, state=to, place=0, **fields)


def _free(cloths: list[Cloth]) -> str:
    if not cloths:
        return ""
    names = " and ".join(str(cloth) for cloth in cloths)
    return f"{names} {'is' if len(cloths) == 1 else 'are'} free for something else."


def _on_the_wall(make: Make) -> None:
    if make.state not in ON_THE_WALL:
        raise MakeError(f"“{make.words}” is put away. Take it up again first.")
