"""The verbs of the shelf: what is cut, put back, washed, measured and given away is one move each.

They are done one at a time on one cloth, once however often they are sent, and recorded: each gives
the entry of the history that tells of it, None where nothing changed; new cloth is given first.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction

from jobs.makes import pictures, verbs
from jobs.makes.lengths import ClothLength, show_cloth
from jobs.makes.models import Cloth, ClothMove, ClothPlan, Make
from jobs.makes.shelf.queries import CUT
from jobs.makes.wishes import asked_by_pattern
from studio.shop import clock
from studio.shop.history import Step, Verb, record
from studio.shop.models import Entry, User
from studio.shop.money import exact, round_half_up
from studio.shop.once import OtherContentError, digest_of, sent_before
from studio.shop.pictures import FreshPicture

Why = ClothMove.Why
MOST_MM = Decimal(500_000)  # what one length on the shelf can grow to
MOST_PERCENT = 50
FACTS = (
    "name", "kind", "fibre", "colour", "width_mm", "width_typed", "washed", "shrink_along",
    "shrink_across", "one_way", "repeat_mm", "repeat_typed", "care", "price", "place", "bought_on",
    "note",
)  # fmt: skip


class ShelfError(ValueError):
    """What cannot be done with a cloth; ``field`` is the form's field it is said beside."""

    def __init__(self, message: str, field: str = "length") -> None:
        super().__init__(message)
        self.field = field


@pictures.with_pictures
def add_cloth(
    *,
    facts: Mapping[str, Any],
    length: ClothLength,
    by: User,
    form_key: UUID,
    swatch: FreshPicture | None = None,
    make: Make | None = None,
) -> tuple[Cloth, Entry | None]:
    """Cloth comes on the shelf; ``facts`` are values of ``FACTS``. Sent twice, it is one.

    It came in on the day it was bought, or today where nobody says. Bought for ``make`` it is meant
    for it: as much as its pattern asks for, else all of it. Raises ShelfError where the form has
    brought other cloth.
    """
    picture = digest_of(swatch.jpeg.hex()) if swatch else ""
    content = [facts, length, picture, *([make.pk] if make else [])]
    if _again(form_key, "new", *content) and (made := _of_form(form_key)):
        return made, None
    cloth = Cloth(**facts, unit=length.unit, left_mm=0)
    about = [cloth, make] if make else [cloth]
    with record(verbs.ADD_CLOTH, about=about, by=by, cloth=cloth.name) as step:
        if swatch:
            cloth.swatch = pictures.keep(swatch)
            step.add(cloth.swatch)
        cloth.save()
        step.add(cloth)
        came = _Hand(step, cloth, by, form_key).move(Why.BOUGHT, length.mm, length.typed)
        _date(came, cloth)
        if make:
            mm = min(asked_by_pattern(make, cloth) or length.mm, length.mm)
            shown = length.typed if mm == length.mm else show_cloth(mm, cloth.unit)
            step.add(ClothPlan.objects.create(make=make, cloth=cloth, mm=mm, typed=shown))
    return cloth, step.entry


def bring_more(
    *, cloth: Cloth, length: ClothLength, by: User, form_key: UUID, paid: int | None = None
) -> Entry | None:
    """More of a cloth that lies there already; ``paid`` is added to what all of it cost.

    Where nobody says it, this much cost as much as the same length did before.
    """

    def act(hand: _Hand) -> None:
        if hand.cloth.price is not None:
            came = hand.cloth.moves.filter(why=Why.BOUGHT).values_list("mm", flat=True)
            before = exact(sum(came, Decimal(0)))
            like = round_half_up(hand.cloth.price * exact(length.mm) / before) if before else 0
            hand.cloth.price += like if paid is None else paid
            hand.cloth.save(update_fields=["price"])
        hand.move(Why.BOUGHT, length.mm, length.typed)

    return _once(
        verbs.BRING_MORE, act, cloth=cloth, by=by, form_key=form_key, length=length, content=paid
    )


@pictures.with_pictures
def change_cloth(
    *, cloth: Cloth, facts: Mapping[str, Any], by: User, swatch: FreshPicture | None = None
) -> Entry | None:
    """Other facts; how much is left only changes by moves.

    The day on which it came in follows the day it was bought.
    """
    cloth = _locked(cloth)
    first = cloth.moves.filter(why=Why.BOUGHT).order_by("pk")[:1]
    with record(
        verbs.CHANGE_CLOTH, about=cloth, by=by, cloth=facts.get("name", cloth.name)
    ) as step:
        step.keep(cloth, *first)
        for field, value in facts.items():
            setattr(cloth, field, value)
        if swatch:
            cloth.swatch = pictures.keep(swatch)
            step.add(cloth.swatch)
        cloth.save(update_fields=[*facts, "swatch"])
        for came in first:
            _date(came, cloth)
    return step.entry


def cut(
    *, cloth: Cloth, length: ClothLength, by: User, form_key: UUID, make: Make | None = None
) -> Entry | None:
    """Cut ``length`` off, for a make or for nothing in particular.

    The make is linked with the cloth. Raises ShelfError for more than there is.
    """

    def act(hand: _Hand) -> None:
        if make:
            hand.step.keep(ClothPlan.objects.filter(make=make, cloth=cloth))
            ClothPlan.objects.get_or_create(make=make, cloth=cloth)
        hand.move(Why.CUT, -_same_or(length.mm, hand.cloth), length.typed)

    return _once(verbs.CUT, act, cloth=cloth, by=by, form_key=form_key, make=make, length=length)


def say_what_is_left(step: Step, *, cloth: Cloth, left: ClothLength, make: Make, by: User) -> None:
    """What is left of a cloth once ``make`` is finished, in a step that is recorded already.

    What there is less than was thought was cut for the make. What there is more was put back, as
    far as it had been cut for it; beyond that the cloth was measured again. Raises ShelfError.
    """
    step.keep(Cloth.objects.filter(pk=cloth.pk), ClothPlan.objects.filter(make=make, cloth=cloth))
    cloth = _locked(cloth)
    off = _same_or(left.mm, cloth) - cloth.left_mm
    if off < 0:
        ClothPlan.objects.get_or_create(make=make, cloth=cloth)
        _Hand(step, cloth, by, uuid4(), make).move(Why.CUT, off, show_cloth(-off, cloth.unit))
        return
    moves = ClothMove.objects.filter(make=make, cloth=cloth, why__in=CUT)
    was_cut = -sum(moves.values_list("mm", flat=True), Decimal(0))
    if back := min(off, max(Decimal(0), was_cut)):
        _Hand(step, cloth, by, uuid4(), make).move(Why.BACK, back, show_cloth(back, cloth.unit))
    if over := off - back:
        _Hand(step, cloth, by, uuid4()).move(Why.MEASURED, over, left.typed)


def put_back(
    *, cloth: Cloth, length: ClothLength, by: User, form_key: UUID, make: Make | None = None
) -> Entry | None:
    """Cloth that was cut or given away lies on the shelf again."""

    def act(hand: _Hand) -> None:
        hand.move(Why.BACK, length.mm, length.typed)

    return _once(
        verbs.PUT_BACK, act, cloth=cloth, by=by, form_key=form_key, make=make, length=length
    )


def measure_again(*, cloth: Cloth, length: ClothLength, by: User, form_key: UUID) -> Entry | None:
    """What is really left, nothing included; what was thought to be left is put right."""

    def act(hand: _Hand) -> None:
        if off := length.mm - hand.cloth.left_mm:
            hand.move(Why.MEASURED, off, length.typed)

    return _once(verbs.MEASURE_AGAIN, act, cloth=cloth, by=by, form_key=form_key, content=length)


def give_away(
    *, cloth: Cloth, length: ClothLength | None, by: User, form_key: UUID
) -> Entry | None:
    """``length`` of it, or all of it, goes to somebody else. Raises ShelfError as ``cut`` does."""

    def act(hand: _Hand) -> None:
        if not hand.cloth.left_mm:
            raise ShelfError("There is nothing left of it.")
        off = _same_or(length.mm, hand.cloth) if length else hand.cloth.left_mm
        hand.move(Why.GONE, -off, length.typed if length else "all of it")

    return _once(verbs.GIVE_AWAY, act, cloth=cloth, by=by, form_key=form_key, length=length)


@dataclass(frozen=True)
class Washing:
    """What was measured before and after, along the length and, where both are known, across it.

    ``whole`` says that all of the cloth was washed; otherwise a piece of it was, as a trial.
    """

    before: ClothLength
    after: ClothLength
    width_before: ClothLength | None = None
    width_after: ClothLength | None = None
    whole: bool = True


def wash(*, cloth: Cloth, washed: Washing, by: User, form_key: UUID) -> Entry | None:
    """Keep the shrinkage; if all of it was washed, it is as long and wide as it is now.

    The first wash counts: a later one shortens the cloth and leaves the shrinkage as it was. A
    trial is forgotten once all of it is washed. Raises ShelfError where half of it
    would be gone.
    """
    along = shrinkage(washed.before, washed.after, "after")
    across = None
    if washed.width_before and washed.width_after:
        across = shrinkage(washed.width_before, washed.width_after, "width_after")

    def act(hand: _Hand) -> None:
        held = hand.cloth
        if not held.left_mm:
            raise ShelfError("There is nothing left of it.", "after")
        if not held.washed:
            held.shrink_along = along
            held.shrink_across = held.shrink_across if across is None else across
        held.washed = held.washed or washed.whole
        if washed.whole and washed.width_after:
            held.width_mm, held.width_typed = washed.width_after.mm, washed.width_after.typed
        held.save(
            update_fields=["shrink_along", "shrink_across", "washed", "width_mm", "width_typed"]
        )
        if washed.whole:
            hand.move(Why.WASHED, washed.after.mm - held.left_mm, washed.after.typed)

    verb = verbs.WASH if washed.whole else verbs.WASH_TRIAL
    return _once(verb, act, cloth=cloth, by=by, form_key=form_key, content=washed)


def shrinkage(before: ClothLength, after: ClothLength, field: str) -> Decimal:
    """Per cent of ``before`` that is gone, to a tenth; 0 for what grew. Raises ShelfError."""
    lost = (exact(before.mm) - exact(after.mm)) / exact(before.mm) * 100
    if lost >= MOST_PERCENT:
        raise ShelfError("Half of it would be gone. Look at both measures again.", field)
    return Decimal(round_half_up(max(lost, 0 * lost) * 10)).scaleb(-1)


@dataclass(frozen=True)
class _Hand:
    """Somebody does something with a locked cloth, as a recorded step."""

    step: Step
    cloth: Cloth
    by: User
    form_key: UUID
    make: Make | None = None

    def move(self, why: str, mm: Decimal, typed: str) -> ClothMove:
        """Add ``mm`` (below zero takes away) to what is left, and write it down.

        A cloth of which nothing is left has left the shelf; one that comes back lies there again.
        Raises ShelfError for more than there is.
        """
        cloth, left = self.cloth, self.cloth.left_mm + mm
        if left < 0:
            raise ShelfError(f"There is {show_cloth(cloth.left_mm, cloth.unit)} left.")
        if left > MOST_MM:
            raise ShelfError(f"No length here is over {MOST_MM // 1000} metres.")
        cloth.left_mm = left
        cloth.gone_at = None if left else cloth.gone_at or clock.now()
        cloth.save(update_fields=["left_mm", "gone_at"])
        move = ClothMove.objects.create(
            cloth=cloth, make=self.make, why=why, mm=mm, typed=typed, day=clock.today(),
            by=self.by, form_key=self.form_key,
        )  # fmt: skip
        self.step.add(move)
        return move


def _once(
    verb: Verb,
    act: Callable[[_Hand], None],
    *,
    cloth: Cloth,
    by: User,
    form_key: UUID,
    make: Make | None = None,
    length: ClothLength | None = None,
    content: ClothLength | Washing | int | None = None,
) -> Entry | None:
    """Do ``act`` on the locked cloth, unless this ``form_key`` has done it already."""
    with transaction.atomic():
        held = _locked(cloth)
        pk = make.pk if make else None
        if _again(form_key, verb.key, cloth.pk, pk, length, content):
            return None
        about = [held, make] if make else [held]
        typed = length.typed if length else "all of it"
        with record(verb, about=about, by=by, cloth=held.name, typed=typed) as step:
            step.keep(held)
            act(_Hand(step, held, by, form_key, make))
        return step.entry


def _again(form_key: UUID, *content: Any) -> bool:
    """Whether this form has done the same before. Raises ShelfError where it was other."""
    try:
        return sent_before(form_key, *content)
    except OtherContentError:
        raise ShelfError(
            "This form was saved already. What you changed since is not saved: look at the cloth, "
            "then start afresh.", "",
        ) from None  # fmt: skip


def _locked(cloth: Cloth) -> Cloth:
    """The cloth read again and held until the transaction ends."""
    return Cloth.objects.select_for_update().get(pk=cloth.pk)


def _same_or(mm: Decimal, cloth: Cloth) -> Decimal:
    """``mm``, or all that is left where the page shows both as the same length.

    A page rounds to a sixteenth of an inch or a millimetre; what it shows can be cut.
    """
    same = show_cloth(mm, cloth.unit) == show_cloth(cloth.left_mm, cloth.unit)
    return cloth.left_mm if same else mm


def _of_form(form_key: UUID) -> Cloth | None:
    return Cloth.objects.filter(moves__form_key=form_key).first()


def _date(came: ClothMove, cloth: Cloth) -> None:
    """Where the cloth was bought earlier than it was entered, that is the day it came in."""
    if cloth.bought_on and came.day != cloth.bought_on:
        came.day = cloth.bought_on
        came.save(update_fields=["day"])
