"""What the wall shows: tiles in areas, the tray, and whatever is looked for."""

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from django.db.models import Prefetch, QuerySet

from jobs.makes.ideas.actions import LOOSE, NOT_PUT_AWAY
from jobs.makes.ideas.queries import face_of
from jobs.makes.models import (
    Cloth,
    ClothMove,
    ClothPlan,
    FurtherPattern,
    Look,
    Make,
    MakeState,
    Pattern,
    Picture,
    Pile,
    PilePlace,
)
from jobs.makes.shelf.queries import FreeCloth, with_free
from studio.shop.look.garments import drawing_of
from studio.shop.text import fold

A_HANDFUL = 40
"""Up to so many ideas piles lie open; with more they close to stacks."""
FIRST_LOOSE = 56
WANTED_MOST = 5
MYSELF = {"", "me", "myself", "i", "self"}
FEW_KINDS = 3
IN_A_STACK = 3


@dataclass(frozen=True)
class Tile:
    """A make as it hangs: its face, and what marks say of it."""

    make: Make
    picture: Picture | None
    cloth: Cloth | None
    unsure: bool = False

    @property
    def wanted(self) -> bool:
        return (self.make.heat or 0) >= WANTED_MOST

    @property
    def drawn_as(self) -> str:
        """Words that name a garment which can be drawn, where there is no picture."""
        words = self.make.kind or self.make.words
        return words if not self.picture and words and drawing_of(words) != "other" else ""

    @property
    def mark(self) -> str:
        """Made or let go, which a found one may be."""
        marks = {MakeState.FINISHED: "made", MakeState.LET_GO: "let go", MakeState.RESTING: "rests"}
        return marks.get(MakeState(self.make.state), "")


@dataclass
class Area:
    """Where tiles lie; ``key`` names it to ``arrange``. ``rest`` are those not shown yet."""

    key: str
    name: str
    tiles: list[Tile] = field(default_factory=list)
    pile: Pile | None = None
    open: bool = True
    shown: int | None = None

    @property
    def count(self) -> int:
        return len(self.tiles)

    @property
    def visible(self) -> list[Tile]:
        return self.tiles[: self.shown]

    @property
    def next_hidden(self) -> Tile | None:
        return self.tiles[self.shown] if self.shown and self.shown < self.count else None

    @property
    def on_top(self) -> list[Tile]:
        """What is seen of a closed pile, the undermost first."""
        return self.tiles[:IN_A_STACK][::-1]


@dataclass(frozen=True)
class Chip:
    """A filter: its key in the address, its words, and which tiles it holds."""

    key: str
    words: str
    holds: Callable[[Tile], bool]


@dataclass(frozen=True)
class Wall:
    """``ideas`` counts what is lined up, in piles or loose; ``areas`` are piles, loose apart."""

    under_way: list[Tile]
    areas: list[Area]
    loose: Area
    resting: Area
    ideas: int
    chips: list[Chip]
    tiles: dict[int, Tile]
    piles: list[Pile]

    @property
    def empty(self) -> bool:
        return not self.tiles

    @property
    def stacks(self) -> bool:
        return any(not area.open for area in self.areas)


def area_key(area: Pile | MakeState) -> str:
    return f"pile-{area.pk}" if isinstance(area, Pile) else str(area.value)


def wall(
    *, show: str = "", opened: str = "", loose: int = FIRST_LOOSE, closed: bool = True
) -> Wall:
    """All that hangs, in six queries for any number of cards.

    ``show`` is the key of a chip, ``opened`` of a pile that lies open among closed ones, ``loose``
    how many loose ones are shown. With ``closed`` False all piles lie open.
    """
    tiles = {tile.make.pk: tile for tile in map(tile_of, hanging())}
    piles = list(Pile.objects.all())
    chips = _chips(tiles.values())
    chosen = next((chip for chip in chips if chip.key == show), None)
    seen = {pk: tile for pk, tile in tiles.items() if chosen is None or chosen.holds(tile)}
    ideas = [t for t in seen.values() if t.make.state in {LOOSE, MakeState.LINED_UP}]
    close = closed and len(ideas) > A_HANDFUL
    planned = [tile for tile in ideas if tile.make.state == MakeState.LINED_UP]
    areas = [Area("lined_up", str(MakeState.LINED_UP.label), planned)]
    areas += [Area(area_key(pile), pile.name, _in_pile(pile, seen), pile=pile) for pile in piles]
    for area in areas:
        area.open = not close or area.key == opened
    free = [t for t in ideas if t.make.state == LOOSE and not t.make.pile_places.all()]
    resting = [tile for tile in seen.values() if tile.make.state == MakeState.RESTING]
    return Wall(
        under_way=[t for t in tiles.values() if t.make.state == MakeState.UNDER_WAY],
        areas=[area for area in areas if area.tiles or (area.pile and not chosen)],
        loose=Area("idea", "Loose", free, shown=loose),
        resting=Area("resting", "Resting", resting, open=opened == "resting"),
        ideas=len(ideas),
        chips=chips,
        tiles=tiles,
        piles=piles,
    )


def for_others(make: Make) -> bool:
    """Whether it is for somebody of the studio's book, or for others than the owner."""
    return make.client is not None or make.whom.strip().lower() not in MYSELF


def hanging() -> QuerySet[Make]:
    return with_marks(Make.objects.filter(state__in=NOT_PUT_AWAY))


def with_marks(makes: QuerySet[Make]) -> QuerySet[Make]:
    """What ``tile_of`` asks for, in four more queries."""
    plans = ClothPlan.objects.select_related("cloth__swatch")
    looks = Look.objects.filter(undone_at=None).order_by("-at", "-pk")
    return makes.select_related("made_for__client").prefetch_related(
        "pictures",
        Prefetch("pile_places", PilePlace.objects.select_related("pile")),
        Prefetch("cloth_plans", plans),
        Prefetch("looks", looks),
    )


def tile_of(make: Make) -> Tile:
    """The tile of a make that came ``with_marks``."""
    plans, looks = list(make.cloth_plans.all()), list(make.looks.all())
    unsure = bool(looks) and looks[0].answer == Look.Answer.UNSURE
    return Tile(make, face_of(make), plans[0].cloth if plans else None, unsure)


def tiles_of(makes: QuerySet[Make]) -> list[Tile]:
    """A tile of each, in five queries."""
    return [tile_of(make) for make in with_marks(makes)]


def _in_pile(pile: Pile, tiles: dict[int, Tile]) -> list[Tile]:
    lying: list[tuple[int, int, Tile]] = []
    for tile in tiles.values():
        if tile.make.state in {LOOSE, MakeState.LINED_UP}:
            rows = (row for row in tile.make.pile_places.all() if row.pile_id == pile.pk)
            lying += [(row.place, -row.pk, tile) for row in rows]
    return [tile for _, _, tile in sorted(lying, key=lambda row: row[:2])]


def _chips(tiles: Iterable[Tile]) -> list[Chip]:
    """Those that hold something; kinds of garment and seasons as they occur."""
    ideas = [t for t in tiles if t.make.state in {LOOSE, MakeState.LINED_UP}]
    kinds = Counter(tile.make.kind.strip().lower() for tile in ideas if tile.make.kind.strip())
    seasons = Counter(tile.make.season for tile in ideas if tile.make.season)
    chips = [
        Chip("wanted", "Wanted most", lambda tile: tile.wanted),
        Chip("cloth", "Has cloth", lambda tile: tile.cloth is not None),
        Chip("no-cloth", "No cloth yet", lambda tile: tile.cloth is None),
        *(_kind_chip(kind) for kind, _ in kinds.most_common(FEW_KINDS)),
        *(_season_chip(season) for season in Make.Season if season in seasons),
        Chip("others", "For others", lambda tile: for_others(tile.make)),
        Chip("unsure", "Not sure", lambda tile: tile.unsure),
    ]
    return [chip for chip in chips if any(map(chip.holds, ideas))]


def _kind_chip(kind: str) -> Chip:
    return Chip(f"kind-{kind}", kind.capitalize(), lambda t: t.make.kind.strip().lower() == kind)


def _season_chip(season: Make.Season) -> Chip:
    return Chip(
        f"in-{season.value}", f"For {season.label.lower()}", lambda tile: tile.make.season == season
    )


@dataclass(frozen=True)
class Tray:
    cloths: list[FreeCloth]
    patterns: list[Pattern]


def tray() -> Tray:
    """Cloth and patterns to be given to ideas, in four queries."""
    cloths = Cloth.objects.filter(gone_at=None, left_mm__gt=0).select_related("swatch")
    return Tray(
        with_free(cloths), list(Pattern.objects.filter(gone_at=None).select_related("picture"))
    )


@dataclass(frozen=True)
class Found:
    """What has every word that was looked for."""

    tiles: list[Tile]
    cloths: list[FreeCloth]
    patterns: list[Pattern]

    @property
    def count(self) -> int:
        return len(self.tiles) + len(self.cloths) + len(self.patterns)


def find(wanted: str) -> Found:
    """Makes in any state, cloth and patterns, by any word that is written on or about them.

    Letters are folded in Python: no database folds all of them alike.
    """
    words = fold(wanted).split()
    cut = ClothMove.objects.select_related("cloth")
    makes = with_marks(Make.objects.select_related("pattern", "made_for__client"))
    further = FurtherPattern.objects.select_related("pattern")
    rows = makes.prefetch_related(
        Prefetch("cloth_moves", cut), Prefetch("further_patterns", further)
    )
    return Found(
        [tile_of(make) for make in rows if _has(words, _written_on(make))],
        with_free(c for c in Cloth.objects.select_related("swatch") if _has(words, _written_of(c))),
        [p for p in Pattern.objects.select_related("picture") if _has(words, _on_envelope(p))],
    )


def _has(words: list[str], texts: Iterable[str]) -> bool:
    text = fold(" ".join(texts))
    return all(word in text for word in words)


def _written_on(make: Make) -> list[str]:
    texts = [make.words, make.kind, make.for_whom, make.occasion, make.note, make.changes]
    texts += [make.learnt, make.stopped]
    texts += [make.get_season_display() if make.season else "", make.get_state_display()]
    texts += _on_envelope(make.pattern) if make.pattern else []
    for row in make.further_patterns.all():
        texts += [row.changes, *_on_envelope(row.pattern)]
    cloths = {plan.cloth for plan in make.cloth_plans.all()}
    for cloth in cloths | {move.cloth for move in make.cloth_moves.all()}:
        texts += _written_of(cloth)
    return texts + [row.pile.name for row in make.pile_places.all()]


def _written_of(cloth: Cloth) -> list[str]:
    kind = cloth.get_kind_display()
    return [cloth.name, kind, cloth.colour, cloth.fibre, cloth.place, cloth.note, cloth.care]


def _on_envelope(pattern: Pattern) -> list[str]:
    facts = [pattern.name, pattern.maker, pattern.number, pattern.garment, pattern.changes]
    return [*facts, pattern.notions, pattern.place]
