"""Cloth is cut, put back, measured again and given away; and the last of that taken back."""

from uuid import UUID, uuid5

from jobs.makes.lengths import ClothLength
from jobs.makes.models import Cloth, ClothMove, ClothPlan, Make
from jobs.makes.shelf.actions.writing import move, once, taken
from jobs.makes.shelf.errors import ShelfError
from studio.shop.models import User

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
