"""The verbs of own sewing: each one transaction, safe to send twice, and recorded.

Each gives the entry of the history that tells of it, None where nothing changed; what makes a card
gives that first.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import Model

from clients.models import Client
from jobs.makes import pictures, verbs
from jobs.makes.lengths import ClothLength
from jobs.makes.models import Cloth, ClothPlan, Fate, MadeFor, Make, MakeState, Pattern, Picture
from jobs.makes.patterns.queries import PatternUse, uses_of
from jobs.makes.shelf.actions import say_what_is_left
from studio.shop import clock
from studio.shop.history import Step, Verb, record
from studio.shop.models import Entry, User
from studio.shop.once import OtherContentError, digest_of, sent_before
from studio.shop.pictures import FreshPicture

LOOSE = MakeState.IDEA
ON_THE_WALL = (MakeState.UNDER_WAY, MakeState.LINED_UP, MakeState.IDEA)
NOT_PUT_AWAY = (*ON_THE_WALL, MakeState.RESTING)


class MakeError(ValueError):
    """A step that a make cannot take now. Its sentence says what can be done."""


class CardMadeError(MakeError):
    """The form was saved as ``make`` before it was changed and sent again."""

    def __init__(self, make: Make) -> None:
        super().__init__(f"This form was already saved as “{make}”.")
        self.make = make


@pictures.with_pictures
def keep_pictures(
    *, photos: Sequence[FreshPicture] = (), sketch: FreshPicture | None = None
) -> list[Picture]:
    """Pictures of a card that is not written yet, so that a wrong field elsewhere loses none."""
    rows = [pictures.keep(photo, step=Picture.Step.IDEA) for photo in photos]
    return rows + ([pictures.keep(sketch, drawn=True, step=Picture.Step.SKETCH)] if sketch else [])


@transaction.atomic
def add_idea(
    *,
    form_key: UUID,
    by: User,
    words: str = "",
    pictures: Iterable[Picture] = (),
    cloth: Cloth | None = None,
    length: ClothLength | None = None,
    **fields: Any,
) -> tuple[Make, Entry | None]:
    """A picture or a few words are enough; ``fields`` are any others. Sent twice it is one idea.

    Raises CardMadeError where the form has made another card.
    """
    facts = fields | {"words": words, "form_key": form_key, "place": _top_of(MakeState.IDEA)}
    return _add(verbs.ADD_IDEA, facts, by=by, pictures=pictures, cloth=cloth, length=length)


@transaction.atomic
def made_on_a_whim(
    *, words: str, form_key: UUID, by: User, pictures: Iterable[Picture] = ()
) -> tuple[Make, Entry | None]:
    """Finished today, without ever having been an idea. Sent twice it is one make.

    Raises CardMadeError where the form has made another card.
    """
    today = {"state": MakeState.FINISHED, "whim": True, "finished_on": clock.today()}
    facts = today | {"words": words, "form_key": form_key}
    return _add(verbs.ADD_WHIM, facts, by=by, pictures=pictures)


def _add(
    verb: Verb,
    facts: dict[str, Any],
    *,
    by: User,
    pictures: Iterable[Picture] = (),
    cloth: Cloth | None = None,
    length: ClothLength | None = None,
    further: Iterable[PatternUse] = (),
    of: Make | None = None,
) -> tuple[Make, Entry | None]:
    made = Make.objects.filter(form_key=facts["form_key"])
    pictures, form_key = list(pictures), facts["form_key"]
    content = {
        name: value.pk if isinstance(value, Model) else value
        for name, value in facts.items()
        if name not in {"form_key", "place"}
    }
    try:
        again = sent_before(form_key, verb.key, content, cloth and cloth.pk, length)
    except OtherContentError:
        again = False
    if before := made.first():
        if again:
            return before, None
        raise CardMadeError(before)
    make = Make.objects.create(**{"added_at": clock.now(), **facts})
    earlier = {"of": of.pk} if of else {}
    with record(verb, about=make, by=by, words=str(make), **earlier) as step:
        make.pictures.set(pictures)
        step.add(*make.pictures.all(), make)
        if cloth:
            amount = {"mm": length.mm, "typed": length.typed} if length else {}
            step.add(ClothPlan.objects.create(make=make, cloth=cloth, **amount))
        for use in further:
            texts = {"size": use.size, "changes": use.changes if use.to_carry else ""}
            step.add(make.further_patterns.create(pattern=use.pattern, **texts))
    return make, step.entry


def start(*, make: Make, by: User) -> Entry | None:
    """Under way from an idea, in one step. Raises MakeError."""
    return move_card(make=make, to=MakeState.UNDER_WAY, by=by)


@transaction.atomic
def move_card(*, make: Make, to: MakeState, by: User) -> Entry | None:
    """To another part of the wall, on top of what hangs there. Raises MakeError."""
    make = _locked(make)
    if make.state == to:
        return None
    _must_hang(make)
    return _enter(make, to, verbs.MOVE_TO[to], by)


@transaction.atomic
def take_up(*, make: Make, by: User) -> Entry | None:
    """What was let go is an idea again; what was finished is under way again."""
    make = _locked(make)
    if make.state == MakeState.LET_GO:
        return _enter(make, MakeState.IDEA, verbs.TAKE_UP, by, let_go_at=None)
    if make.state == MakeState.FINISHED:
        back = {"finished_on": None, "fate": ""}
        return _enter(make, MakeState.UNDER_WAY, verbs.TAKE_UP, by, **back)
    return None


@pictures.with_pictures
def finish(
    *,
    make: Make,
    by: User,
    day: date | None = None,
    photo: FreshPicture | None = None,
    changes: str | None = None,
    learnt: str | None = None,
    size: str | None = None,
    left: Mapping[Cloth, ClothLength] | None = None,
) -> Entry | None:
    """Done on ``day`` or today. What is None stays as it is.

    ``left`` is what is left of cloth it is made of; where that is not what was thought, the shelf
    is put right in the same step. Raises MakeError, and ShelfError.
    """
    make = _locked(make)
    if make.state == MakeState.FINISHED:
        return None
    _must_hang(make)
    texts = {"changes": changes, "learnt": learnt, "size": size}
    facts = {name: text for name, text in texts.items() if text is not None}
    lengths = sorted((left or {}).items(), key=lambda pair: pair[0].pk)
    about = [make, *(cloth for cloth, _ in lengths)]
    with record(verbs.FINISH, about=about, by=by, words=str(make)) as step:
        step.keep(make)
        for cloth, length in lengths:
            say_what_is_left(step, cloth=cloth, left=length, make=make, by=by)
        if photo:
            picture = pictures.keep(photo, step=Picture.Step.WORN)
            step.add(picture)
            make.pictures.add(picture)
        _write(make, state=MakeState.FINISHED, finished_on=day or clock.today(), **facts)
    return step.entry


@transaction.atomic
def let_go(*, make: Make, by: User) -> Entry | None:
    """It stays in the journal; the cloth meant for it is free, and the entry names it as ``freed``.

    Raises MakeError.
    """
    make = _locked(make)
    if make.state == MakeState.LET_GO:
        return None
    _must_hang(make)
    with record(verbs.LET_GO, about=make, by=by, words=str(make)) as step:
        put_aside(step, make)
    return step.entry


def put_aside(step: Step, make: Make) -> None:
    """Let a locked make go as part of a step that is recorded already."""
    step.keep(make, make.cloth_plans.all())
    plans = make.cloth_plans.select_related("cloth")
    step.parameters["freed"] = [plan.cloth.name for plan in plans]
    make.cloth_plans.all().delete()
    _write(make, state=MakeState.LET_GO, let_go_at=clock.now())


def move_in(step: Step, make: Make, to: MakeState) -> None:
    """Move a locked make to another part of the wall in a step that is recorded already."""
    step.keep(make)
    _write(make, state=to, place=_top_of(to))


@transaction.atomic
def set_heat(*, make: Make, heat: int | None, by: User) -> Entry | None:
    """From 1 to 5; None says nothing of it."""
    return _change(_locked(make), verbs.SET_HEAT, by, heat=heat)


@transaction.atomic
def set_fate(*, make: Make, fate: Fate, by: User) -> Entry | None:
    """What became of a finished make. Raises MakeError."""
    make = _locked(make)
    if make.state != MakeState.FINISHED:
        raise MakeError("What becomes of it is said once it is finished.")
    with record(
        verbs.SET_FATE, about=make, by=by, words=str(make), fate=str(Fate(fate).label)
    ) as step:
        step.keep(make)
        _write(make, fate=fate)
    return step.entry


@transaction.atomic
def describe(
    *,
    make: Make,
    by: User,
    pictures: Iterable[Picture] = (),
    cloth: Cloth | None = None,
    length: ClothLength | None = None,
    **fields: Any,
) -> Entry | None:
    """Anything that is written on the card, and what is to hang on it as well."""
    make = _locked(make)
    with record(verbs.DESCRIBE, about=make, by=by, words=fields.get("words") or str(make)) as step:
        step.keep(make, make.cloth_plans.filter(cloth=cloth))
        make.pictures.add(*pictures)
        if cloth:
            amount = {"mm": length and length.mm, "typed": length.typed if length else ""}
            ClothPlan.objects.update_or_create(make=make, cloth=cloth, defaults=amount)
        _write(make, **fields)
    return step.entry


@transaction.atomic
def sew_for(*, make: Make, client: Client | None, by: User) -> Entry | None:
    """It is for somebody of the studio's book, or for none of them any more.

    What was written of whom it is for goes, so that nobody's name stays when they are erased.
    Raises GoneError.
    """
    make = _locked(make)
    before = make.client
    client = client.locked() if client else None
    who = client or before
    if who is None:
        return None
    verb = verbs.SEW_FOR if client else verbs.SEW_FOR_NOBODY
    with record(verb, about=[make, who], by=by, words=str(make), client=who.name) as step:
        rows = MadeFor.objects.filter(make=make)
        step.keep(make, rows)
        if client != before:
            rows.delete()
        if client and client != before:
            step.add(MadeFor.objects.create(make=make, client=client))
        _write(make, **({"whom": ""} if client else {}))
    return step.entry


@pictures.with_pictures
def add_pictures(
    *,
    make: Make,
    form_key: UUID,
    by: User,
    photos: Sequence[FreshPicture] = (),
    sketch: FreshPicture | None = None,
    shows: Picture.Step = Picture.Step.IDEA,
) -> Entry | None:
    """``shows`` is what the photographs show of it. The same ``form_key`` twice adds them once;
    other pictures under it are more of them.
    """
    make = _locked(make)
    if _came_before(form_key, make, [*photos, sketch], bool(sketch)):
        return None
    with record(verbs.ADD_PICTURES, about=make, by=by, words=str(make)) as step:
        step.keep(make)
        rows = [pictures.keep(photo, step=shows) for photo in photos]
        if sketch:
            rows.append(pictures.keep(sketch, drawn=True, step=Picture.Step.SKETCH))
        step.add(*rows)
        make.pictures.add(*rows)
    return step.entry


def _came_before(
    form_key: UUID, make: Make, came: Iterable[FreshPicture | None], *content: int
) -> bool:
    """Whether these were sent under the key before. Others under it are more."""
    digests = [digest_of(picture.jpeg.hex()) for picture in came if picture]
    try:
        return sent_before(form_key, make.pk, *content, digests)
    except OtherContentError:
        return False


@pictures.with_pictures
def draw_on(
    *, make: Make, picture: Picture, sketch: FreshPicture, form_key: UUID, by: User
) -> Entry | None:
    """``sketch`` is ``picture`` with more drawn on it, and hangs instead; undo brings that back.

    Drawn on a photograph it is a sketch of its own, and the photograph stays.
    """
    if not picture.drawn:
        return add_pictures(make=make, form_key=form_key, sketch=sketch, by=by)
    make = _locked(make)
    if _came_before(form_key, make, [sketch], picture.pk):
        return None
    with record(verbs.REDRAW, about=make, by=by, words=str(make)) as step:
        step.keep(make)
        shows = picture.step or Picture.Step.SKETCH
        redrawn = pictures.keep(sketch, drawn=True, step=shows)
        step.add(redrawn)
        make.pictures.remove(picture)
        make.pictures.add(redrawn)
        if make.face_id == picture.pk:
            _write(make, face=redrawn)
    return step.entry


@transaction.atomic
def part_pictures(*, make: Make, by: User) -> Entry | None:
    """Each of its pictures becomes an idea of its own; the first one stays."""
    make = _locked(make)
    with record(verbs.PART_PICTURES, about=make, by=by) as step:
        step.keep(make)
        hung = list(make.pictures.all())
        for picture in hung[:0:-1]:
            facts = {"words": make.words, "added_at": make.added_at, "place": _top_of(LOOSE)}
            idea = Make.objects.create(**facts)
            idea.pictures.add(picture)
            make.pictures.remove(picture)
            step.add(idea)
        step.parameters["count"] = len(hung)
    return step.entry


@transaction.atomic
def take_picture_off(*, make: Make, picture: Picture, by: User) -> Entry | None:
    make = _locked(make)
    with record(
        verbs.TAKE_PICTURE_OFF, about=make, by=by, words=str(make), picture=str(picture)
    ) as step:
        step.keep(make)
        make.pictures.remove(picture)
        if make.face_id == picture.pk:
            _write(make, face=None)
    return step.entry


@transaction.atomic
def choose_face(*, make: Make, picture: Picture | None, by: User) -> Entry | None:
    """The picture that stands for it; None is the newest."""
    make = _locked(make)
    with record(
        verbs.CHOOSE_FACE, about=make, by=by, words=str(make), picture=str(picture or "The newest")
    ) as step:
        step.keep(make)
        _write(make, face=picture)
    return step.entry


@transaction.atomic
def say_step(*, make: Make, picture: Picture, shows: Picture.Step, by: User) -> Entry | None:
    """What a picture of it shows: the idea, the cloth, how it was fitted."""
    facts = {"words": str(make), "picture": str(picture), "step": str(shows.label)}
    with record(verbs.SAY_STEP, about=make, by=by, **facts) as step:
        step.keep(picture)
        Picture.objects.filter(pk=picture.pk).update(step=shows)
    return step.entry


@transaction.atomic
def mean_cloth(*, make: Make, cloth: Cloth, length: ClothLength | None, by: User) -> Entry | None:
    """Say that ``cloth`` is for this make, and how much of it if that is known."""
    make = _locked(make)
    amount = {"mm": length and length.mm, "typed": length.typed if length else ""}
    with _cloth_step(verbs.MEAN_CLOTH, make, cloth, by) as step:
        ClothPlan.objects.update_or_create(make=make, cloth=cloth, defaults=amount)
    return step.entry


@transaction.atomic
def spare_cloth(*, make: Make, cloth: Cloth, by: User) -> Entry | None:
    """The cloth is meant for this make no longer."""
    make = _locked(make)
    with _cloth_step(verbs.SPARE_CLOTH, make, cloth, by) as step:
        make.cloth_plans.filter(cloth=cloth).delete()
    return step.entry


@transaction.atomic
def use_pattern(
    *, make: Make, pattern: Pattern, by: User, size: str | None = None, changes: str | None = None
) -> Entry | None:
    """It is sewn from ``pattern`` too, in that size and so changed; None says nothing of it."""
    make = _locked(make)
    row = make.further_patterns.filter(pattern=pattern).first()
    known = row is not None or make.pattern_id == pattern.pk
    verb = verbs.SAY_OF_PATTERN if known else verbs.GIVE_PATTERN
    texts = {"size": size, "changes": changes}
    facts = {name: text for name, text in texts.items() if text is not None}
    with _pattern_step(verb, make, pattern, by) as step:
        if row is None and make.pattern_id in {None, pattern.pk}:
            _write(make, pattern=pattern, **facts)
        elif row is None:
            step.add(make.further_patterns.create(pattern=pattern, **facts))
        else:
            make.further_patterns.filter(pk=row.pk).update(**facts)
    return step.entry


@transaction.atomic
def spare_pattern(*, make: Make, pattern: Pattern, by: User) -> Entry | None:
    """It is not sewn from this pattern; the next of its patterns takes the first one's place."""
    make = _locked(make)
    with _pattern_step(verbs.SPARE_PATTERN, make, pattern, by) as step:
        make.further_patterns.filter(pattern=pattern).delete()
        if make.pattern_id == pattern.pk:
            after = make.further_patterns.first()
            if after:
                make.further_patterns.filter(pk=after.pk).delete()
                _write(make, pattern=after.pattern, size=after.size, changes=after.changes)
            else:
                _write(make, pattern=None, size="", changes="")
    return step.entry


@transaction.atomic
def sew_again(
    *, form_key: UUID, by: User, make: Make | None = None, pattern: Pattern | None = None
) -> tuple[Make, Entry | None]:
    """A new idea from a make, with its patterns and sizes, or from a pattern, as it was last sewn.

    Changes that were carried into the pattern stand there; the others come along. Sent twice it is
    one. Raises CardMadeError where the form has made another card.
    """
    if make is None:
        sewn = Make.objects.filter(pattern=pattern, state=MakeState.FINISHED)
        make = sewn.order_by("-finished_on", "-pk").first()
    words = make.words if make else pattern.name if pattern else ""
    facts: dict[str, Any] = {"words": words, "pattern": pattern}
    uses = uses_of(make) if make else []
    if make:
        facts |= {"kind": make.kind, "season": make.season}
    for use in uses[:1]:
        changes = use.changes if use.to_carry else ""
        facts |= {"pattern": use.pattern, "size": use.size, "changes": changes}
    facts |= {"form_key": form_key, "place": _top_of(MakeState.IDEA)}
    again, entry = _add(verbs.SEW_AGAIN, facts, by=by, further=uses[1:], of=make)
    return again, entry


@contextmanager
def _pattern_step(verb: Verb, make: Make, pattern: Pattern, by: User) -> Iterator[Step]:
    facts = {"words": str(make), "pattern": pattern.name}
    with record(verb, about=[make, pattern], by=by, **facts) as step:
        step.keep(make, make.further_patterns.all())
        yield step


@contextmanager
def _cloth_step(verb: Verb, make: Make, cloth: Cloth, by: User) -> Iterator[Step]:
    with record(verb, about=[make, cloth], by=by, words=str(make), cloth=cloth.name) as step:
        step.keep(make.cloth_plans.filter(cloth=cloth))
        yield step


def _locked(make: Make) -> Make:
    """The make as it is now; nobody else changes it in this transaction."""
    return Make.objects.select_for_update().get(pk=make.pk)


def _must_hang(make: Make) -> None:
    if make.state not in NOT_PUT_AWAY:
        raise MakeError(f"“{make}” is put away. Take it up again first.")


def _change(make: Make, verb: Verb, by: User, **fields: Any) -> Entry | None:
    """Set these fields of a locked make, and record it."""
    with record(verb, about=make, by=by, words=fields.get("words") or str(make)) as step:
        step.keep(make)
        _write(make, **fields)
    return step.entry


def _write(make: Make, **fields: Any) -> None:
    for name, value in fields.items():
        setattr(make, name, value)
    make.save(update_fields=list(fields))


def _enter(make: Make, to: MakeState, verb: Verb, by: User, **fields: Any) -> Entry | None:
    if to == MakeState.UNDER_WAY and make.started_at is None:
        fields["started_at"] = clock.now()
    return _change(make, verb, by, state=to, place=_top_of(to), **fields)


def _top_of(state: MakeState) -> int:
    """The place above all that hang there: other cards stay where they are, which undo needs."""
    first = Make.objects.filter(state=state).order_by("place").values_list("place", flat=True)[:1]
    return min([0, *(place - 1 for place in first)])
