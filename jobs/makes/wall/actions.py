"""What is done on the wall: cards put in order and into piles, and the piles themselves.

Mere order leaves no entry in the history: the same action with the former neighbour takes it back.
What changes where a card lies is recorded, as everywhere.
"""

from collections.abc import Iterable

from django.db import transaction
from django.db.models import QuerySet

from jobs.makes import verbs
from jobs.makes.ideas.actions import LOOSE, NOT_PUT_AWAY, MakeError
from jobs.makes.models import Make, MakeState, Pile, PilePlace
from jobs.makes.order import put_before
from studio.shop import clock
from studio.shop.history import Verb, record
from studio.shop.models import Entry, User

Area = Pile | MakeState
"""Where a card can lie: a pile, or a state; the state of an idea stands for what is loose."""


@transaction.atomic
def arrange(
    *,
    make: Make,
    to: Area,
    by: User,
    before: Make | None = None,
    source: Area | None = None,
    also: bool = False,
) -> Entry | None:
    """Put a card into ``to`` before another that lies there, at the end for None.

    It leaves ``source``, where it was taken from, unless it shall lie there ``also``; what is loose
    or rests lies nowhere else. Within one area only the order changes, and there is no entry.
    Two that move at once do so one after the other, and no card is lost. Raises MakeError for what
    is put away, and for a pile that is gone.
    """
    make = _lock(make)
    if make.state not in NOT_PUT_AWAY:
        raise MakeError(f"“{make}” is put away. Take it up again first.")
    if isinstance(to, Pile) and not Pile.objects.filter(pk=to.pk).exists():
        raise MakeError(f"The pile “{to}” is not there any more.")
    if before == make:
        return None
    if _lies_in(make, to):
        _place(make, to, before)
        return None
    if also:
        source = None
    with record(_verb(make, to), about=make, by=by, words=str(make), **_named(to)) as step:
        step.keep(make, make.pile_places.all())
        _leave(make, source, to)
        _enter(make, to)
        _place(make, to, before)
    return step.entry


@transaction.atomic
def to_the_top(*, make: Make, area: Area, by: User) -> Entry | None:
    """Before all others that lie in the area."""
    if isinstance(area, Pile):
        first = Make.objects.filter(pile_places__pile=area).order_by(
            "pile_places__place", "-pile_places__pk"
        )
    else:
        first = _lying(area)
    return arrange(make=make, to=area, before=first.exclude(pk=make.pk).first(), by=by)


@transaction.atomic
def take_out(*, make: Make, pile: Pile, by: User) -> Entry | None:
    """It lies in this pile no longer; in no other either, it is loose."""
    make = _lock(make)
    if not make.pile_places.filter(pile=pile).exists():
        return None
    with record(verbs.OUT_OF_PILE, about=make, by=by, words=str(make), pile=pile.name) as step:
        step.keep(make.pile_places.filter(pile=pile))
        make.pile_places.filter(pile=pile).delete()
    return step.entry


@transaction.atomic
def add_pile(*, name: str, by: User, makes: Iterable[Make] = ()) -> tuple[Pile, Entry | None]:
    """A new pile after the others, with ``makes`` in it; one of that name is the same pile."""
    _lock_piles()
    standing = Pile.objects.filter(name__iexact=name).first()
    last = Pile.objects.order_by("place").last()
    pile = standing or Pile.objects.create(name=name, place=last.place + 1 if last else 0)
    with record(verbs.ADD_PILE, about=pile, by=by, pile=name) as step:
        if not standing:
            step.add(pile)
        known = set(pile.places.values_list("make", flat=True))
        for place, make in enumerate(make for make in makes if make.pk not in known):
            step.add(PilePlace.objects.create(pile=pile, make=make, place=len(known) + place))
    return pile, step.entry


@transaction.atomic
def rename_pile(*, pile: Pile, name: str, by: User) -> Entry | None:
    with record(verbs.RENAME_PILE, about=pile, by=by, pile=name) as step:
        step.keep(pile)
        Pile.objects.filter(pk=pile.pk).update(name=name)
    return step.entry


@transaction.atomic
def arrange_pile(*, pile: Pile, before: Pile | None) -> None:
    """Put a pile before another one, last for None. Mere order, so there is no entry."""
    piles = _lock_piles()
    if pile in piles and before != pile:
        Pile.objects.bulk_update(put_before(piles, piles[piles.index(pile)], before), ["place"])


@transaction.atomic
def remove_pile(*, pile: Pile, by: User) -> Entry | None:
    """The pile goes; what lies in it stays, loose where it lies in no other."""
    with record(verbs.REMOVE_PILE, about=pile, by=by, pile=pile.name) as step:
        rows = Pile.objects.filter(pk=pile.pk)
        step.keep(rows, PilePlace.objects.filter(pile=pile.pk))
        rows.delete()
    return step.entry


def _lock(make: Make) -> Make:
    """The make as it is now. All that hang are locked, in one order, so that none waits in turn."""
    _lock_piles()
    list(Make.objects.select_for_update().filter(state__in=NOT_PUT_AWAY).order_by("pk"))
    return Make.objects.select_for_update().get(pk=make.pk)


def _lock_piles() -> list[Pile]:
    list(Pile.objects.select_for_update().order_by("pk"))
    return list(Pile.objects.all())


def _lies_in(make: Make, area: Area) -> bool:
    if isinstance(area, Pile):
        return make.state != MakeState.RESTING and area in make.piles.all()
    return make.state == area and (area != LOOSE or not make.piles.exists())


def _verb(make: Make, to: Area) -> Verb:
    if isinstance(to, Pile):
        return verbs.TO_PILE
    return verbs.TO_LOOSE if to == LOOSE == make.state else verbs.MOVE_TO[to]


def _named(to: Area) -> dict[str, str]:
    return {"pile": to.name} if isinstance(to, Pile) else {}


def _leave(make: Make, source: Area | None, to: Area) -> None:
    """Out of where it was taken from. What is loose lies in no pile at all.

    What is started or rests keeps its piles, for when it comes back.
    """
    if to in {MakeState.UNDER_WAY, MakeState.RESTING}:
        return
    if to == LOOSE:
        make.pile_places.all().delete()
    elif isinstance(source, Pile):
        make.pile_places.filter(pile=source).delete()
    elif source == MakeState.LINED_UP == make.state and isinstance(to, Pile):
        _write(make, state=LOOSE)


def _enter(make: Make, to: Area) -> None:
    if isinstance(to, Pile):
        PilePlace.objects.get_or_create(pile=to, make=make)
        if make.state == MakeState.RESTING:
            _write(make, state=LOOSE)
        return
    _write(make, state=to)
    if to == MakeState.UNDER_WAY and make.started_at is None:
        _write(make, started_at=clock.now())


def _place(make: Make, to: Area, before: Make | None) -> None:
    """Its place among those that lie there."""
    if isinstance(to, Pile):
        places = list(to.places.all())
        of = {row.make_id: row for row in places}
        neighbour = of.get(before.pk) if before else None
        PilePlace.objects.bulk_update(put_before(places, of[make.pk], neighbour), ["place"])
        return
    row = list(_lying(to))
    mine = next(card for card in row if card == make)
    Make.objects.bulk_update(put_before(row, mine, before), ["place"])


def _lying(state: MakeState) -> QuerySet[Make]:
    """What lies there, in order. An idea in a pile is not loose."""
    makes = Make.objects.filter(state=state)
    return makes.filter(piles=None) if state == LOOSE else makes


def _write(make: Make, **facts: object) -> None:
    for name, value in facts.items():
        setattr(make, name, value)
    make.save(update_fields=list(facts))
