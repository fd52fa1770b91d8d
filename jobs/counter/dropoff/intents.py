"""What a button of the drop-off page does to the slate. Each button says its intent in words.

``add-garment:<kind>``, ``add-line:<garment>:<operation>``, ``more:<garment>:<line>`` and so on;
garments and lines are counted from 0 as they stand on the slate. An intent that fits nothing
changes nothing.
"""

from collections.abc import Callable

from jobs.counter.dropoff.catalogue import Catalogue
from jobs.counter.dropoff.slate import (
    MOST_GARMENTS,
    MOST_LINES,
    GarmentSlate,
    LineSlate,
    Slate,
    Typed,
    garment_prefix,
    line_prefix,
)
from studio.shop.text import digits

OTHER = "other"
MOST_PIECES = 99


def apply(slate: Slate, intent: str, catalogue: Catalogue, *, sees_money: bool) -> None:
    """Change the slate as the pressed button asks. Choosing a client is ``who``'s business."""
    verb, *args = intent.split(":")
    if verb == "add-garment" and len(args) == 1:
        add_garment(slate, args[0], catalogue, free=sees_money)
    elif verb == "add-line" and len(args) == 2:
        add_line(slate, args[0], args[1], catalogue, free=sees_money)
    elif verb == "remove-photo" and len(args) == 2:
        remove_photo(slate, *args)
    elif verb in ON_A_GARMENT and len(args) == 1 and (piece := slate.garment(args[0])):
        ON_A_GARMENT[verb](piece.typed)
    elif verb in ON_A_LINE and len(args) == 2 and (line := slate.line(*args)):
        ON_A_LINE[verb](line.typed)


def add_garment(slate: Slate, kind: str, catalogue: Catalogue, *, free: bool) -> None:
    """A garment of this kind; ``other`` is one that the list does not know, named by hand."""
    if len(slate.garments) >= MOST_GARMENTS:
        return
    if not (kind in catalogue.kinds or (kind == OTHER and free)):
        return
    typed = Typed(kind=["" if kind == OTHER else kind], worn=["worn"])
    slate.garments.append(GarmentSlate(typed))
    prefix = garment_prefix(len(slate.garments) - 1)
    slate.focus = f"id_{prefix}-kind_name" if kind == OTHER else f"{prefix}-first"


def add_line(slate: Slate, garment: str, work: str, catalogue: Catalogue, *, free: bool) -> None:
    """An operation on the garment, at the list's price and minutes of today."""
    piece = slate.garment(garment)
    if not piece or len(piece.lines) >= MOST_LINES:
        return
    if not (work in catalogue.operations or (work == OTHER and free)):
        return
    piece.lines.append(LineSlate(listed_line(work, catalogue)))
    prefix = line_prefix(int(garment), len(piece.lines) - 1)
    operation = catalogue.operations.get(work)
    if operation is None:
        slate.focus = f"id_{prefix}-name"
    else:
        asks = operation.takes_amount
        slate.focus = f"id_{prefix}-amount" if asks else f"{garment_prefix(int(garment))}-more"


def listed_line(work: str, catalogue: Catalogue) -> Typed:
    """A line as it stands right after its button was pressed.

    Price and minutes stay empty: until somebody types others, the list's hold.
    """
    operation = catalogue.operations.get(work)
    if operation is None:
        return Typed(operation=[""], quantity=["1"], basis=["total"], measure=["take_off"])
    typed = Typed(operation=[work], quantity=["1"])
    if operation.usual_basis:
        typed.put(basis=operation.usual_basis)
    if operation.usual_measure:
        typed.put(measure=operation.usual_measure)
    return typed


def remove_photo(slate: Slate, garment: str, photo: str) -> None:
    if piece := slate.garment(garment):
        piece.typed["photos"] = [pk for pk in piece.typed.get("photos", []) if pk != photo]


def _count(step: int) -> Callable[[Typed], None]:
    def change(typed: Typed) -> None:
        # Words and enormous numbers in the box count as one piece.
        now = int(digits(typed.text("quantity"))[:3] or 1)
        typed.put(quantity=min(max(now + step, 1), MOST_PIECES))

    return change


def _take_off(typed: Typed) -> None:
    """Taken off, but kept at hand: what was typed comes back with *Put back*."""
    typed.put(gone="yes")


def _put_back(typed: Typed) -> None:
    typed.pop("gone", None)


Act = Callable[[Typed], None]
ON_A_GARMENT: dict[str, Act] = {"remove-garment": _take_off, "put-back-garment": _put_back}
ON_A_LINE: dict[str, Act] = {
    "remove-line": _take_off,
    "put-back-line": _put_back,
    "more": _count(+1),
    "fewer": _count(-1),
}
