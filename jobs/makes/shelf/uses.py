"""What a cloth is meant for, was cut for, and what else it would do for."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from uuid import UUID, uuid4

from jobs.makes.lengths import show_cloth
from jobs.makes.matching import ShelfLength, Wish, first_failed, needed
from jobs.makes.models import Cloth, Make, MakeState, Pattern
from jobs.makes.shares import ClothShares
from jobs.makes.shelf.queries import PlanLine, plan_lines
from jobs.makes.wall.queries import Tile, tile_of, tiles_of, with_marks
from jobs.makes.wishes import cut_of, make_wish, pattern_wish

UNFOLDED = 8
ANY_TIME = 10**9
"""Minutes: here only the cloth is asked, not the hours."""


@dataclass(frozen=True)
class Use:
    """An idea, or else a pattern; ``takes`` says how much cloth, '' where nobody can.

    ``words`` and ``form_key`` make an idea of a pattern in this cloth.
    """

    tile: Tile | None = None
    pattern: Pattern | None = None
    takes: str = ""
    words: str = ""
    form_key: UUID | None = None

    @property
    def title(self) -> str:
        return str(self.tile.make if self.tile else self.pattern)


@dataclass(frozen=True)
class Uses:
    """``meant`` are open plans, ``made`` what was finished; both with their tiles.

    ``free`` would do with what is free, ``instead`` only if what is meant gave way.
    """

    meant: list[tuple[PlanLine, Tile]]
    made: list[tuple[PlanLine, Tile]]
    free: list[Use]
    instead: list[Use]

    @property
    def first(self) -> list[Use]:
        return self.free[:UNFOLDED]

    @property
    def more(self) -> list[Use]:
        return self.free[UNFOLDED:]


def uses_of_cloth(cloth: Cloth, shares: ClothShares) -> Uses:
    """As many queries however much is meant and however many ideas there are."""
    lines = plan_lines(cloth, shares)
    rows = {tile.make.pk: tile for tile in tiles_of(Make.objects.filter(cloth_plans__cloth=cloth))}
    tiles = [(line, rows[line.plan.make_id]) for line in lines]
    free, instead = _could_be(cloth, shares)
    return Uses(
        meant=[row for row in tiles if row[0].open],
        made=[row for row in tiles if row[1].make.state == MakeState.FINISHED],
        free=free,
        instead=instead[:UNFOLDED],
    )


def _could_be(cloth: Cloth, shares: ClothShares) -> tuple[list[Use], list[Use]]:
    """Ideas without cloth first, the warmest ahead, then patterns that none of them names."""
    if not cloth.left_mm:
        return [], []
    length = cloth.as_length()
    free, whole = replace(length, left=shares.free), replace(length, left=cloth.left_mm)
    uses, others, named = list[Use](), list[Use](), set[int]()
    for make in _ideas():
        wish = make_wish(make)
        use = Use(tile=tile_of(make), takes=_takes(wish, free, cloth))
        _put(use, wish, (free, whole), (uses, others))
        named |= {make.pattern_id or 0}
    for pattern in _drawer():
        if pattern.pk not in named:
            wish = pattern_wish(pattern)
            takes = _takes(wish, free, cloth)
            words = f"{pattern} of {cloth}"[:120]
            use = Use(pattern=pattern, takes=takes, words=words, form_key=uuid4())
            _put(use, wish, (free, whole), (uses, others))
    return uses, others


def _ideas() -> Iterable[Make]:
    makes = Make.objects.filter(state__in=[MakeState.LINED_UP, MakeState.IDEA], cloth_plans=None)
    makes = makes.exclude(pattern=None).select_related("pattern").order_by("-heat", "place", "-pk")
    return with_marks(makes).prefetch_related("pattern__needs")


def _drawer() -> Iterable[Pattern]:
    patterns = Pattern.objects.filter(gone_at=None).select_related("picture")
    return patterns.prefetch_related("needs")


def _put(
    use: Use, wish: Wish, lengths: tuple[ShelfLength, ShelfLength], lists: tuple[list[Use], ...]
) -> None:
    for length, uses in zip(lengths, lists, strict=True):
        if first_failed(wish, length, ANY_TIME) is None:
            uses.append(use)
            return


def _takes(wish: Wish, length: ShelfLength, cloth: Cloth) -> str:
    """How much of the cloth it takes, rounded up to what is cut, but to no more than is free."""
    mm = needed(wish, length)
    if not mm:
        return ""
    return show_cloth(cut_of(mm, length.left, cloth), cloth.unit)
