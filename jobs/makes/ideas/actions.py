"""The verbs of own sewing: each one transaction, safe to send twice, and to be undone."""

from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from functools import partial
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction
from django.db.models import F, ProtectedError

from jobs.makes import pictures
from jobs.makes.ideas.steps import Step, column, look
from jobs.makes.lengths import ClothLength
from jobs.makes.models import Cloth, ClothPlan, Fate, Make, Picture, State
from studio.shop import clock
from studio.shop.pictures import FreshPicture


class MakeError(ValueError):
    """A step that a make cannot take now. Its sentence says what can be done."""


Meant = tuple[int, Decimal | str | None, str]
"""Cloth meant for a make: its id, how much of it in mm, and how that was typed."""


def locked(pk: int) -> Make:
    """The make as it is now; nobody else changes it in this transaction."""
    return Make.objects.select_for_update().get(pk=pk)


def change(
    make: Make,
    said: str,
    /,
    *,
    pictures: Iterable[Picture] | None = None,
    cloths: Iterable[Meant] | None = None,
    aside: str = "",
    **fields: Any,
) -> Step:
    """Set ``fields`` of a locked make, and its ``pictures`` and ``cloths`` if they are given."""
    given = {"pictures": pictures, "cloths": cloths}
    names = [*fields, *(name for name, told in given.items() if told is not None)]
    before = look(make, names)
    for name, value in fields.items():
        setattr(make, name, value)
    make.save(update_fields=list(fields))
    if pictures is not None:
        make.pictures.set(pictures)
    if cloths is not None:
        make.cloth_plans.all().delete()
        ClothPlan.objects.bulk_create(
            ClothPlan(make=make, cloth_id=pk, mm=mm, typed=typed) for pk, mm, typed in cloths
        )
    return Step(make.pk, said, before, look(make, names), aside=aside)


def unchanged(make: Make, words: str) -> Step:
    """The step was taken before; sending it again changes nothing."""
    return Step(make.pk, words)


@transaction.atomic
def add_idea(
    *,
    words: str,
    form_key: UUID,
    pictures: Iterable[Picture] = (),
    cloth: Cloth | None = None,
    length: ClothLength | None = None,
    **fields: Any,
) -> Step:
    """Few words are enough; ``fields`` are any others of a make. Sent twice it is one idea."""
    make, new = _add(words, form_key, fields)
    if new:
        make.pictures.set(pictures)
        if cloth:
            told = {"mm": length.mm, "typed": length.typed} if length else {}
            ClothPlan.objects.create(make=make, cloth=cloth, **told)
    return _added(make, f"Kept: {make.words}", new)


@transaction.atomic
def made_on_a_whim(*, words: str, form_key: UUID, pictures: Iterable[Picture] = ()) -> Step:
    """Finished today, without ever having been an idea. Sent twice it is one make."""
    told = {"state": State.FINISHED, "whim": True, "finished_on": clock.today()}
    make, new = _add(words, form_key, told)
    if new:
        make.pictures.set(pictures)
    return _added(make, f"Made on a whim: {make.words}", new)


def _add(words: str, form_key: UUID, fields: dict[str, Any]) -> tuple[Make, bool]:
    told = {"words": words, "added_at": clock.now(), **fields}
    make, new = Make.objects.get_or_create(form_key=form_key, defaults=told)
    if not new and make.words != words:
        # The browser went back to a page that had been sent, and something else was typed there.
        return Make.objects.create(form_key=uuid4(), **told), True
    return make, new


def _added(make: Make, words: str, new: bool) -> Step:
    if not new:
        return unchanged(make, words)
    return Step(make.pk, words, after=look(make, ["state"]), added=True)


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


@transaction.atomic
def set_heat(*, make: Make, heat: int | None) -> Step:
    """From 1 to 5; None says nothing of it."""
    make = locked(make.pk)
    return change(make, f"How much it excites now: {make.words}", heat=heat)


@transaction.atomic
def set_fate(*, make: Make, fate: Fate) -> Step:
    """What became of a finished make. Raises MakeError."""
    make = locked(make.pk)
    if make.state != State.FINISHED:
        raise MakeError("What becomes of it is said once it is finished.")
    return change(make, f"{Fate(fate).label}: {make.words}", fate=fate)


@transaction.atomic
def describe(*, make: Make, **fields: Any) -> Step:
    """Anything that is written on the card. Fields that stay the same are left alone."""
    make = locked(make.pk)
    new = {name: value for name, value in fields.items() if getattr(make, name) != value}
    return change(make, f"Changed: {fields.get('words', make.words)}", **new)


@transaction.atomic
def add_pictures(
    *,
    make: Make,
    form_key: UUID,
    photo: FreshPicture | None = None,
    sketch: FreshPicture | None = None,
) -> Step:
    """The same ``form_key`` twice adds them once."""
    make = locked(make.pk)
    words = f"Picture kept: {make.words}"
    here = list(make.pictures.all())
    if any(form_key.hex in str(picture.file) for picture in here):
        return unchanged(make, words)
    new = [
        pictures.keep(redrawn, drawn=drawn, key=form_key)
        for redrawn, drawn in ((photo, False), (sketch, True))
        if redrawn
    ]
    return change(make, words, pictures=[*here, *new])


@transaction.atomic
def take_picture_off(*, make: Make, picture: Picture) -> Step:
    make = locked(make.pk)
    return change(make, f"{picture} taken off.", pictures=make.pictures.exclude(pk=picture.pk))


@transaction.atomic
def mean_cloth(*, make: Make, cloth: Cloth, length: ClothLength | None) -> ClothPlan:
    """Say that ``cloth`` is for this make, and how much of it if that is known."""
    make = locked(make.pk)
    told = {"mm": length and length.mm, "typed": length.typed if length else ""}
    return ClothPlan.objects.update_or_create(make=make, cloth=cloth, defaults=told)[0]


@transaction.atomic
def spare_cloth(*, make: Make, cloth: Cloth) -> None:
    """The cloth is meant for this make no longer."""
    make = locked(make.pk)
    make.cloth_plans.filter(cloth=cloth).delete()


CHANGED_SINCE = "It was changed since, so this cannot be undone any more."


@transaction.atomic
def undo(*, step: Step) -> str:
    """Make it as it was before ``step``, and say so. Sent twice it is undone once.

    Raises MakeError if what the step changed was changed again since. Its place on the wall may
    have changed: other cards push it about.
    """
    said = f"Undone. {step.words}"
    if not Make.objects.filter(pk=step.make).exists():
        if step.added:
            return said
        raise MakeError("It is not there any more.")
    make = locked(step.make)
    now = look(make, step.after)
    if step.added:
        if now != step.after:
            raise MakeError(CHANGED_SINCE)
        _remove(make)
        return said
    if _but_place(now) == _but_place(step.before):
        return said
    if _but_place(now) != _but_place(step.after):
        raise MakeError(CHANGED_SINCE)
    change(make, said, **dict(_read(name, value) for name, value in step.before.items()))
    return said


def _remove(make: Make) -> None:
    pictures = list(make.pictures.all())
    try:
        with transaction.atomic():
            make.delete()
    except ProtectedError:
        raise MakeError("Work or cloth is booked on it already. Let it go instead.") from None
    for picture in pictures:
        picture.delete()
        transaction.on_commit(partial(picture.file.delete, save=False))


def _but_place(values: dict) -> dict:
    return {name: value for name, value in values.items() if name != "place"}


def _read(name: str, value: Any) -> tuple[str, Any]:
    """The attribute of a make and its value, as JSON carried them."""
    if name in ("pictures", "cloths"):
        return name, value
    return column(name).attname, column(name).to_python(value)
