"""What is to buy: notions and cloth of makes that are begun or planned next, and typed lines.

Cloth that is too short for an idea it is set aside for is to buy too.
"""

import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Prefetch
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_POST

from jobs.makes.ideas.queries import face_of
from jobs.makes.models import Cloth, ClothMove, ClothPlan, FurtherPattern, Make, MakeState, Need
from jobs.makes.shares import ClothShares
from jobs.makes.shelf.queries import CUT, shares_of
from jobs.makes.wall.queries import Tile
from jobs.makes.wishes import asked_by_pattern, needs_of
from jobs.planning import actions
from jobs.planning.models import Bought, Todo
from studio.shop import clock
from studio.shop.http import StudioRequest, go_back, owner_only, say
from studio.shop.text import fold

BUY = re.compile(r"^(?:to )?buy:?\s+", re.IGNORECASE)
"""How a line begins that belongs to what is to buy, wherever it is typed."""


@dataclass(frozen=True)
class Notion:
    words: str
    bought: bool


@dataclass(frozen=True)
class Notions:
    """What the patterns of a make ask for beside cloth, as far as it is not here since before."""

    tile: Tile
    notions: list[Notion]

    @property
    def make(self) -> Make:
        return self.tile.make


@dataclass(frozen=True)
class ClothWanted:
    """A make has no cloth yet; ``needs`` are what its pattern asks for, the widest cloth first."""

    tile: Tile
    needs: list[Need]

    @property
    def make(self) -> Make:
        return self.tile.make


@dataclass(frozen=True)
class ClothShort:
    """All that a cloth is meant for asks for ``mm`` more than there is; ``makes`` lack some."""

    cloth: Cloth
    mm: Decimal
    makes: list[Make]


@dataclass(frozen=True)
class Shopping:
    """All that is to buy. ``lines`` were typed, or are gaps that the owner put there."""

    wanted: list[ClothWanted]
    short: list[ClothShort]
    notions: list[Notions]
    lines: list[Todo]

    @property
    def open(self) -> int:
        notions = (notion for row in self.notions for notion in row.notions if not notion.bought)
        lines = sum(line.done_at is None for line in self.lines)
        return len(self.wanted) + len(self.short) + sum(1 for _ in notions) + lines

    @property
    def nothing(self) -> bool:
        return not (self.wanted or self.short or self.notions or self.lines)


FURTHER = Prefetch("further_patterns", FurtherPattern.objects.select_related("pattern"))


def shopping(lines: list[Todo]) -> Shopping:
    """For makes under way, then for those planned next. At most nine queries."""
    cut = ClothMove.objects.filter(why__in=CUT)
    plans = ClothPlan.objects.select_related("cloth__swatch")
    makes = list(
        Make.objects.filter(state__in=[MakeState.UNDER_WAY, MakeState.LINED_UP])
        .select_related("pattern")
        .prefetch_related("pictures", "bought", "pattern__needs", FURTHER)
        .prefetch_related(Prefetch("cloth_plans", plans), Prefetch("cloth_moves", cut))
        .order_by("-state", "place", "-pk")
    )
    lists = [Notions(_tile(make), list(_still_to_buy(make))) for make in makes]
    return Shopping(
        wanted=[_wanted(make) for make in makes if _has_no_cloth(make)],
        short=_short(makes),
        notions=[row for row in lists if row.notions],
        lines=lines,
    )


def _has_no_cloth(make: Make) -> bool:
    rows = [*make.cloth_plans.all(), *make.cloth_moves.all()]
    return not rows and all(row.key != Bought.CLOTH for row in make.bought.all())


def _wanted(make: Make) -> ClothWanted:
    needs = needs_of(make.pattern, make.size)[::-1] if make.pattern else []
    return ClothWanted(_tile(make), needs)


def _tile(make: Make) -> Tile:
    cloth = next((plan.cloth for plan in make.cloth_plans.all()), None)
    return Tile(make, face_of(make), cloth)


def _short(makes: list[Make]) -> list[ClothShort]:
    """As the shelf says it; where no length was said, as the pattern asks for.

    Of ideas and of what rests counts what was set aside with a length.
    """
    plans: dict[Cloth, list[Make]] = defaultdict(list)
    for make in makes:
        for plan in make.cloth_plans.all():
            plans[plan.cloth].append(make)
    waiting = ClothPlan.objects.filter(make__state__in=[MakeState.IDEA, MakeState.RESTING])
    for plan in waiting.filter(mm__gt=0).select_related("cloth__swatch", "make"):
        plans[plan.cloth].append(plan.make)
    shares, rows = shares_of(plans) if plans else {}, []
    for cloth, meant in plans.items():
        share = shares[cloth.pk]
        asked = sum((plan.rest or Decimal(0) for plan in share.plans), Decimal(0))
        for make in meant:
            if share.rest(make.pk) is None:
                asked += asked_by_pattern(make, cloth) or 0
        if asked > cloth.left_mm:
            lacking = [make for make in meant if _lacks(share, make)]
            rows.append(ClothShort(cloth, asked - cloth.left_mm, lacking))
    return rows


def _lacks(share: ClothShares, make: Make) -> bool:
    """Also where no length was said: what the others leave is not enough."""
    return share.rest(make.pk) is None or share.lacks(make.pk) > 0


def notions_of(text: str) -> list[str]:
    """One a line; where there is only one line, between its commas. Each once."""
    lines = [line for line in text.splitlines() if line.strip()]
    parts = lines if len(lines) > 1 else re.split(r"[,;]", text)
    words: dict[str, str] = {}
    for part in parts:
        if notion := part.strip(" \t-•,;"):
            words.setdefault(fold(notion), notion)
    return list(words.values())


def notions_for(make: Make) -> list[Notion]:
    """What all the patterns of a make ask for, each once."""
    here = {row.key for row in make.bought.all()}
    patterns = [make.pattern, *(row.pattern for row in make.further_patterns.all())]
    asked: dict[str, str] = {}
    for pattern in patterns:
        for words in notions_of(pattern.notions if pattern else ""):
            asked.setdefault(fold(words), words)
    return [Notion(words, bought=key in here) for key, words in asked.items()]


def _still_to_buy(make: Make) -> Iterator[Notion]:
    """What was bought before today is left out."""
    today = {row.key for row in make.bought.all() if clock.local(row.at).date() == clock.today()}
    for notion in notions_for(make):
        if not notion.bought or fold(notion.words) in today:
            yield notion


@require_POST
@owner_only
def bought(request: StudioRequest, pk: int) -> HttpResponse:
    """A notion of this make's patterns, or with an empty ``done`` not after all."""
    make = get_object_or_404(Make.objects.select_related("pattern"), pk=pk)
    notion = request.POST.get("notion", "")
    if notion in [asked.words for asked in notions_for(make)]:
        done = bool(request.POST.get("done"))
        actions.buy(make=make, notion=notion, bought=done, by=request.user)
    return go_back(request, f"{reverse('todo')}#buy-{make.pk}")


@require_POST
@owner_only
def no_cloth(request: StudioRequest, pk: int) -> HttpResponse:
    """No cloth is to be bought for this make."""
    make = get_object_or_404(Make, pk=pk)
    if entry := actions.want_no_cloth(make=make, by=request.user):
        message = f"No cloth to buy for {make}"
        say(request, message, undo=reverse("todo-undo"), entry=entry.pk)
    return go_back(request, "todo")
