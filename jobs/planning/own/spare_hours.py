"""What could be made of the cloth that is there, in the hours that are free."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from uuid import UUID, uuid4

from django.db.models import Q
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from jobs.makes.by_sheet import BySheet, by_sheet
from jobs.makes.lengths import FINEST, show_cloth
from jobs.makes.matching import (
    MOST,
    Check,
    Pair,
    ShelfLength,
    Short,
    Wish,
    best,
    fitting,
    nearly,
    needed,
    room_for,
)
from jobs.makes.models import Cloth, ClothPlan, Make, MakeState, Pattern
from jobs.makes.shelf.queries import shares_of
from jobs.makes.wishes import cut_of, make_wish, pattern_wish, with_cloth
from jobs.makes.year.seasons import season_of
from jobs.planning.bench_time import (
    HoursGuess,
    guess_by_pattern,
    guesses_of,
    learned_minutes,
    minutes_of,
)
from jobs.planning.plan.book import monday_of
from jobs.planning.plan.weeks import week_bars
from jobs.planning.queries import read_week
from studio.shop import clock
from studio.shop.http import StudioRequest
from studio.shop.models import Profile, User
from studio.shop.money import exact, round_half_up

TO_BEGIN = [MakeState.IDEA, MakeState.LINED_UP]
NOT_PUT_AWAY = [*TO_BEGIN, MakeState.UNDER_WAY]


@dataclass(frozen=True)
class Stock:
    """``makes`` are those not put away, ``patterns`` those in the drawer.

    ``lengths`` is the cloth as far as it is free. ``promised`` are the plans by cloth, ``linked``
    the pairs (pattern, cloth) of open makes, ``loose`` makes under way without cloth.
    """

    cloths: dict[int, Cloth]
    makes: dict[str, Make]
    patterns: dict[str, Pattern]
    lengths: list[ShelfLength]
    make_wishes: list[Wish]
    pattern_wishes: list[Wish]
    promised: dict[int, list[ClothPlan]] = field(default_factory=dict)
    sheets: dict[int, BySheet] = field(default_factory=dict)
    linked: frozenset[tuple[int, int]] = frozenset()

    @property
    def loose(self) -> list[Wish]:
        return [wish for wish in self.make_wishes if self.under_way(wish) and not wish.meant]

    def under_way(self, wish: Wish) -> bool:
        make = self.makes.get(wish.id)
        return make is not None and make.state == MakeState.UNDER_WAY


def read_stock(winter_begins: int, by: User | None = None) -> Stock:
    """Nine queries, and three where makes are for clients whose measures ``by`` may know.

    Such a make without a size asks for the cloth of the size nearest to the client's sheet.
    """
    here, wanted = Q(gone_at=None, left_mm__gt=0), Q(plans__make__state__in=NOT_PUT_AWAY)
    cloths = {cloth.pk: cloth for cloth in Cloth.objects.filter(here | wanted).distinct()}
    shares = shares_of(cloths.values())
    by_pk = {pattern.pk: pattern for pattern in Pattern.objects.prefetch_related("needs")}
    patterns = [pattern for pattern in by_pk.values() if pattern.gone_at is None]
    makes = list(
        Make.objects.filter(state__in=NOT_PUT_AWAY)
        .select_related("made_for__client").prefetch_related("cloth_plans")
    )  # fmt: skip
    for make in makes:
        make.pattern = by_pk.get(make.pattern_id or 0)
    sheets = by_sheet(makes, by=by) if by else {}
    for make in makes:
        if (sheet := sheets.get(make.pk)) and sheet.nearest:
            make.size = make.size or sheet.nearest.name
    spent, learned = minutes_of(make.pk for make in makes), learned_minutes(by_pk)
    guesses = guesses_of(makes, learned)
    season = season_of(clock.today(), winter_begins).name
    promised: dict[int, list[ClothPlan]] = defaultdict(list)
    for make in makes:
        for plan in make.cloth_plans.all():
            plan.make = make
            promised[plan.cloth_id].append(plan)
    return Stock(
        cloths=cloths,
        makes={f"make-{make.pk}": make for make in makes},
        patterns={f"pattern-{pattern.pk}": pattern for pattern in patterns},
        lengths=[
            replace(cloth.as_length(), left=shares[cloth.pk].free) for cloth in cloths.values()
        ],
        make_wishes=[
            with_cloth(
                make_wish(make, _to_go(guesses.get(make.pk), spent.get(make.pk, 0)), season),
                make,
                shares,
            )
            for make in makes
        ],
        pattern_wishes=[
            pattern_wish(pattern, _to_go(guess_by_pattern(pattern, learned)))
            for pattern in patterns
        ],
        promised=promised,
        sheets=sheets,
        linked=frozenset(
            (make.pattern_id, plan.cloth_id)
            for make in makes
            if make.pattern_id
            for plan in make.cloth_plans.all()
        ),
    )


def _to_go(guess: HoursGuess | None, spent: int = 0) -> int | None:
    return None if guess is None else max(0, guess.minutes - spent)


NEW_WORDS = 120
UNFOLDED = 3


@dataclass(frozen=True)
class SpareRow:
    """A make or a pattern, with the cloth. Lengths are in words, in the unit the cloth has.

    ``spare`` is what is left over of one-way cloth, ``others`` what else the cloth is meant for;
    ``short`` says of one that nearly fits what is missing, ``minutes`` or a length.
    """

    make: Make | None
    pattern: Pattern | None
    cloth: Cloth | None
    since: date | None
    minutes: int | None
    longer: bool
    takes: str
    left: str
    spare: str
    shrinks: Decimal
    unmeasured: bool
    in_season: bool
    others: tuple[str, ...]
    short: str = ""
    short_minutes: int = 0
    form_key: UUID | None = None
    sheet: BySheet | None = None

    @property
    def title(self) -> str:
        return str(self.make or self.pattern)

    @property
    def idea(self) -> str:
        """The words of a new card for this pair."""
        return f"{self.title} of {self.cloth}"[:NEW_WORDS]


@dataclass(frozen=True)
class ClothRow:
    """A cloth, None for none, and what it could be; what is more than a few is folded away."""

    cloth: Cloth | None
    ideas: list[SpareRow]

    @property
    def first(self) -> list[SpareRow]:
        return self.ideas[:UNFOLDED]

    @property
    def more(self) -> list[SpareRow]:
        return self.ideas[UNFOLDED:]


@dataclass(frozen=True)
class SpareSheet:
    """``free`` are the minutes of this week that are the owner's or nobody's, from now on.

    ``own`` of them are own hours; ``until`` is the week's last day. ``coming`` are those of next
    week, which count where this week has none. ``finish`` takes no longer than ``free``.
    """

    until: date
    own: int
    free: int
    coming: int
    finish: list[ClothRow]
    begin: list[ClothRow]
    nearly: list[SpareRow]
    unlinked: list[ClothRow]
    bare: bool


def spare_sheet(studio: Profile, by: User | None = None) -> SpareSheet:
    """The queries of the week and those of the stock, however much cloth there is."""
    monday = monday_of(clock.today())
    until, next_monday = monday + timedelta(days=6), monday + timedelta(days=7)
    book = read_week(studio, until=until + timedelta(days=7)).book
    bars, next_bars = week_bars(book, monday), week_bars(book, next_monday)
    own = bars.total("own")
    free, coming = own + bars.free, next_bars.total("own") + next_bars.free
    hours = free or coming
    stock = read_stock(studio.winter_begins, by)
    suited = best(fitting(stock.make_wishes, stock.lengths, hours), len(stock.make_wishes))
    rows = [(wish, _row(stock, (wish, length), hours)) for wish, length in suited]
    rows += [(wish, _bare_row(stock, wish, hours)) for wish in stock.loose]
    rows.sort(key=lambda pair: not stock.under_way(pair[0]))
    pairs = [
        (wish, length)
        for wish, length in fitting(stock.pattern_wishes, stock.lengths, hours)
        if (stock.patterns[wish.id].pk, length.id) not in stock.linked
    ]
    return SpareSheet(
        until=until,
        own=own,
        free=free,
        coming=coming,
        finish=_by_cloth(row for wish, row in rows if can_be_finished(wish, free)),
        begin=_by_cloth(row for wish, row in rows if not can_be_finished(wish, free)),
        nearly=[
            _row(stock, pair, hours, short)
            for pair, short in nearly(stock.make_wishes, stock.lengths, hours)
        ],
        unlinked=_by_cloth(_row(stock, pair, hours) for pair in best(pairs, MOST)),
        bare=not (stock.lengths or stock.loose) or not (stock.makes or stock.patterns),
    )


def can_be_finished(wish: Wish, free: int) -> bool:
    """Whether somebody guessed how long it takes, and there is as long."""
    return free > 0 and wish.minutes is not None and wish.minutes <= free


def _by_cloth(rows: Iterable[SpareRow]) -> list[ClothRow]:
    """One row a cloth, in the order of its first idea."""
    by_cloth: dict[int, ClothRow] = {}
    for row in rows:
        key = row.cloth.pk if row.cloth else 0
        by_cloth.setdefault(key, ClothRow(row.cloth, [])).ideas.append(row)
    return list(by_cloth.values())


def _bare_row(stock: Stock, wish: Wish, free: int) -> SpareRow:
    """A make under way of which nobody said what it is sewn of."""
    return SpareRow(
        make=stock.makes[wish.id], pattern=None, cloth=None, since=None, minutes=wish.minutes,
        longer=wish.minutes is not None and wish.minutes > free, takes="", left="", spare="",
        shrinks=Decimal(0), unmeasured=False, in_season=wish.out_of_season == 0, others=(),
        sheet=stock.sheets.get(stock.makes[wish.id].pk),
    )  # fmt: skip


def _row(stock: Stock, pair: Pair, free: int, short: Short | None = None) -> SpareRow:
    wish, length = pair
    cloth, make = stock.cloths[length.id], stock.makes.get(wish.id)
    takes, left = needed(wish, length) or Fraction(0), room_for(wish, length)
    others = [plan for plan in stock.promised.get(cloth.pk, []) if plan.make != make]
    by_cloth = short is not None and short.check == Check.CLOTH
    return SpareRow(
        make=make,
        pattern=stock.patterns.get(wish.id),
        cloth=cloth,
        since=cloth.here_since,
        minutes=wish.minutes,
        longer=wish.minutes is not None and wish.minutes > free,
        takes=show_cloth(cut_of(takes, left, cloth), cloth.unit) if takes else "",
        left=_words(left, cloth),
        spare="" if by_cloth or not length.one_way else _words(left - takes, cloth),
        shrinks=length.along,
        unmeasured=not length.washed and length.shrink_along is None,
        in_season=wish.out_of_season == 0,
        others=tuple(_promise(plan) for plan in others),
        short=_words(short.by, cloth) if by_cloth and short and short.by else "",
        short_minutes=int(short.by or 0) if short and not by_cloth else 0,
        form_key=None if make else uuid4(),
        sheet=stock.sheets.get(make.pk) if make else None,
    )


def _words(mm: Fraction, cloth: Cloth) -> str:
    """Rounded to the finest that is cut."""
    step = FINEST[cloth.unit]
    return show_cloth(round_half_up(exact(mm) / exact(step)) * step, cloth.unit)


def _promise(plan: ClothPlan) -> str:
    """Such as ``1.2 m for Red coat``."""
    return f"{plan.typed} for {plan.make}" if plan.typed else f"some for {plan.make}"


@require_GET
def what_fits(request: StudioRequest) -> HttpResponse:
    sheet = spare_sheet(request.studio, request.user)
    return render(request, "planning/spare_hours/what_fits.html", {"sheet": sheet})
