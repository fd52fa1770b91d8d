"""The verbs of the shelf: what is cut, put back, washed, measured and given away is one move each.

Moves are written one at a time on one cloth, and once however often they are sent.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any
from uuid import UUID, uuid5

from django.db import IntegrityError, transaction

from jobs.makes import pictures
from jobs.makes.lengths import ClothLength, show_cloth
from jobs.makes.models import Cloth, ClothMove, ClothPlan, Make
from studio.shop import clock
from studio.shop.models import User
from studio.shop.money import exact, round_half_up
from studio.shop.pictures import FreshPicture


class ShelfError(ValueError):
    """What cannot be done with a cloth; ``field`` is the form's field it is said beside."""

    def __init__(self, message: str, field: str = "length") -> None:
        super().__init__(message)
        self.field = field


MOST_MM = Decimal(500_000)  # what one length on the shelf can grow to


def locked(cloth: Cloth) -> Cloth:
    """The cloth read again and held until the transaction ends."""
    return Cloth.objects.select_for_update().get(pk=cloth.pk)


def once(cloth: Cloth, form_key: UUID, act: Callable[[Cloth], ClothMove | None]) -> Cloth:
    """Do ``act`` on the locked cloth, unless a move of this ``form_key`` is there already."""
    with transaction.atomic():
        cloth = locked(cloth)
        if not ClothMove.objects.filter(form_key=form_key).exists():
            act(cloth)
        return cloth


def move(
    cloth: Cloth,
    *,
    why: str,
    mm: Decimal,
    typed: str,
    by: User,
    form_key: UUID,
    make: Make | None = None,
) -> ClothMove:
    """Add ``mm`` (below zero takes away) to what is left of a locked cloth, and write it down.

    A cloth of which nothing is left has left the shelf; one that comes back lies there again.
    Raises ShelfError for more than there is.
    """
    left = cloth.left_mm + mm
    if left < 0:
        raise ShelfError(f"There is {show_cloth(cloth.left_mm, cloth.unit)} left.")
    if left > MOST_MM:
        raise ShelfError(f"No length here is over {MOST_MM // 1000} metres.")
    cloth.left_mm = left
    cloth.gone_at = None if left else cloth.gone_at or clock.now()
    cloth.save(update_fields=["left_mm", "gone_at"])
    return ClothMove.objects.create(
        cloth=cloth, make=make, why=why, mm=mm, typed=typed, day=clock.today(), by=by,
        form_key=form_key,
    )  # fmt: skip


def taken(cloth: Cloth, mm: Decimal) -> Decimal:
    """``mm``, or all that is left where the page shows both as the same length.

    A page rounds to a sixteenth of an inch or a millimetre; what it shows can be cut.
    """
    same = show_cloth(mm, cloth.unit) == show_cloth(cloth.left_mm, cloth.unit)
    return cloth.left_mm if same else mm


FACTS = (
    "name", "kind", "fibre", "colour", "width_mm", "width_typed", "washed", "shrink_along",
    "shrink_across", "one_way", "repeat_mm", "repeat_typed", "care", "price", "place", "bought_on",
    "note",
)  # fmt: skip


def add_cloth(
    *,
    facts: Mapping[str, Any],
    length: ClothLength,
    by: User,
    form_key: UUID,
    swatch: FreshPicture | None = None,
) -> Cloth:
    """Cloth comes on the shelf; ``facts`` are values of ``FACTS``. Sent twice, it is one.

    It came in on the day it was bought, or today where nobody says.
    """
    try:
        with transaction.atomic():
            if made := _made(form_key):
                return made
            cloth = Cloth(**facts, unit=length.unit, left_mm=0)
            cloth.swatch = pictures.keep(swatch) if swatch else None
            cloth.save()
            came = move(
                cloth, why=ClothMove.Why.BOUGHT, mm=length.mm, typed=length.typed, by=by,
                form_key=form_key,
            )  # fmt: skip
            _date(came, cloth)
            return cloth
    except IntegrityError:
        # The other half of a double click was quicker; its cloth is the one.
        if made := _made(form_key):
            return made
        raise


def change_cloth(
    *, cloth: Cloth, facts: Mapping[str, Any], swatch: FreshPicture | None = None
) -> Cloth:
    """Other facts; how much is left only changes by moves.

    The day on which it came in follows the day it was bought.
    """
    with transaction.atomic():
        cloth = locked(cloth)
        for name, value in facts.items():
            setattr(cloth, name, value)
        changed = [*facts]
        if swatch:
            cloth.swatch = pictures.keep(swatch)
            changed.append("swatch")
        cloth.save(update_fields=changed)
        if came := cloth.moves.filter(why=ClothMove.Why.BOUGHT).order_by("pk").first():
            _date(came, cloth)
        return cloth


def _made(form_key: UUID) -> Cloth | None:
    return Cloth.objects.filter(moves__form_key=form_key).first()


def _date(came: ClothMove, cloth: Cloth) -> None:
    """Where the cloth was bought earlier than it was entered, that is the day it came in."""
    if cloth.bought_on and came.day != cloth.bought_on:
        came.day = cloth.bought_on
        came.save(update_fields=["day"])


Why = ClothMove.Why
TAKEN_BACK = {Why.CUT: Why.BACK, Why.GONE: Why.BACK, Why.BACK: Why.CUT}


def cut(
    *, cloth: Cloth, length: ClothLength, by: User, form_key: UUID, make: Make | None = None
) -> Cloth:
    """Cut ``length`` off, for a make or for nothing in particular.

    The make is linked with the cloth. Raises ShelfError for more than there is.
    """

    def act(held: Cloth) -> ClothMove:
        if make:
            ClothPlan.objects.get_or_create(make=make, cloth=held)
        off = -taken(held, length.mm)
        return move(
            held, why=Why.CUT, mm=off, typed=length.typed, by=by, form_key=form_key, make=make
        )

    return once(cloth, form_key, act)


def put_back(
    *, cloth: Cloth, length: ClothLength, by: User, form_key: UUID, make: Make | None = None
) -> Cloth:
    """Cloth that was cut or given away lies on the shelf again."""

    def act(held: Cloth) -> ClothMove:
        return move(
            held,
            why=Why.BACK,
            mm=length.mm,
            typed=length.typed,
            by=by,
            form_key=form_key,
            make=make,
        )

    return once(cloth, form_key, act)


def measure_again(*, cloth: Cloth, length: ClothLength, by: User, form_key: UUID) -> Cloth:
    """What is really left, nothing included; what was thought to be left is put right."""

    def act(held: Cloth) -> ClothMove | None:
        off = length.mm - held.left_mm
        if not off:
            return None
        return move(held, why=Why.MEASURED, mm=off, typed=length.typed, by=by, form_key=form_key)

    return once(cloth, form_key, act)


def give_away(*, cloth: Cloth, length: ClothLength | None, by: User, form_key: UUID) -> Cloth:
    """``length`` of it, or all of it, goes to somebody else. Raises ShelfError as ``cut`` does."""

    def act(held: Cloth) -> ClothMove:
        if not held.left_mm:
            raise ShelfError("There is nothing left of it.")
        off = taken(held, length.mm) if length else held.left_mm
        typed = length.typed if length else "all of it"
        return move(held, why=Why.GONE, mm=-off, typed=typed, by=by, form_key=form_key)

    return once(cloth, form_key, act)


def take_back(*, last: ClothMove, by: User) -> Cloth:
    """What was just cut, put back or given away was not: the same length the other way.

    Raises ShelfError if something else was done with the cloth meanwhile. Sent twice, it is once.
    """
    key = uuid5(last.form_key, "taken back")

    def act(held: Cloth) -> ClothMove:
        newest = held.moves.order_by("-pk").first()
        if last.why not in TAKEN_BACK or newest != last:
            raise ShelfError("This is not the last that was done with it. Measure it again.")
        why, mm = TAKEN_BACK[Why(last.why)], -last.mm
        return move(held, why=why, mm=mm, typed=last.typed, by=by, form_key=key, make=last.make)

    return once(last.cloth, key, act)


MOST_PERCENT = 50


@dataclass(frozen=True)
class Washed:
    """What was measured before and after, along the length and, where both are known, across it.

    ``whole`` says that all of the cloth was washed; otherwise a piece of it was, as a trial.
    """

    before: ClothLength
    after: ClothLength
    width_before: ClothLength | None = None
    width_after: ClothLength | None = None
    whole: bool = True


def wash(*, cloth: Cloth, washed: Washed, by: User, form_key: UUID) -> Cloth:
    """Keep the shrinkage; if all of it was washed, it is as long and wide as it is now.

    The first wash counts: a later one shortens the cloth and leaves the shrinkage as it was. A
    trial is forgotten once all of it is washed. Raises ShelfError where half of it
    would be gone.
    """
    along = shrinkage(washed.before, washed.after, "after")
    across = None
    if washed.width_before and washed.width_after:
        across = shrinkage(washed.width_before, washed.width_after, "width_after")

    def act(held: Cloth) -> ClothMove | None:
        if not held.left_mm:
            raise ShelfError("There is nothing left of it.", "after")
        if not held.washed:
            held.shrink_along = along
            held.shrink_across = held.shrink_across if across is None else across
        if washed.whole:
            _as_it_is_now(held, washed)
        held.save(
            update_fields=["shrink_along", "shrink_across", "washed", "width_mm", "width_typed"]
        )
        if not washed.whole:
            return None
        off = washed.after.mm - held.left_mm
        typed = washed.after.typed
        return move(held, why=ClothMove.Why.WASHED, mm=off, typed=typed, by=by, form_key=form_key)

    return once(cloth, form_key, act)


def shrinkage(before: ClothLength, after: ClothLength, field: str) -> Decimal:
    """Per cent of ``before`` that is gone, to a tenth; 0 for what grew. Raises ShelfError."""
    lost = (exact(before.mm) - exact(after.mm)) / exact(before.mm) * 100
    if lost >= MOST_PERCENT:
        raise ShelfError("Half of it would be gone. Look at both measures again.", field)
    return Decimal(round_half_up(max(lost, 0 * lost) * 10)).scaleb(-1)


def _as_it_is_now(held: Cloth, washed: Washed) -> None:
    held.washed = True
    if washed.width_after:
        held.width_mm, held.width_typed = washed.width_after.mm, washed.width_after.typed
