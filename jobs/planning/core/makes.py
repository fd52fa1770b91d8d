"""Which makes fit into the spare minutes. Nothing here is ever scheduled."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from jobs.planning.core.honest_dates import spare
from jobs.planning.core.stages import PlanningError, Stage


@dataclass(frozen=True)
class Make:
    """A make that could be sewn: ``minutes`` to go, wished for as strongly as ``heat`` says.

    ``wear_by`` is the bucket it is wanted for, if any. Only ``ready`` makes are ever suggested.
    """

    id: str
    minutes: int
    wear_by: int | None = None
    heat: int = 1
    ready: bool = True


@dataclass(frozen=True)
class Suggestion:
    """Whether one make could be finished by bucket ``due``.

    ``spare`` is the bench minutes that clients leave until then, ``short`` what is missing of
    the make's ``minutes`` (0 if it ``fits``). ``chosen`` makes can all be finished together.
    """

    make: str
    minutes: int
    due: int
    spare: int
    fits: bool
    short: int
    chosen: bool


def suggest(
    capacity: Sequence[int], stages: Iterable[Stage], makes: Iterable[Make], by: int
) -> list[Suggestion]:
    """The ready makes that could be finished by bucket ``by``, or their wear-by if sooner.

    A set fits if for every date the minutes wanted by then are at most `spare`. Among these sets
    the one with the most heat is chosen; then the one of fewest minutes; then the one that holds
    the first make in (due, minutes, id) order in which they differ. A wear-by in the past counts
    as ``by``. Chosen makes come first, and each part of the list is in Smith's order: most heat
    per minute first, then (due, id).

    Complexity: O(makes * spare minutes) after `spare`.

    Source: E. L. Lawler, J. M. Moore, "A functional equation and its application to resource
    allocation and sequencing problems", Management Science 16 (1969), 77-84; order: W. E. Smith,
    Naval Research Logistics Quarterly 3 (1956), 59-66 (both cited from memory).

    Raises IndexError if ``by`` is not a bucket, PlanningError for negative minutes or heat;
    else as `spare` does.
    """
    if not 0 <= by < len(capacity):
        raise IndexError(f"Bucket {by} is not among the {len(capacity)} given.")
    room = spare(capacity, stages)
    ready = sorted(
        ((_due(make, by), make.minutes, make.id, make) for make in makes if make.ready),
        key=lambda row: row[:3],
    )
    wanted = [(due, make) for due, _, _, make in ready]
    if any(make.minutes < 0 or make.heat < 0 for _, make in wanted):
        raise PlanningError("A make has neither negative minutes nor negative heat.")
    chosen = choose([(make.minutes, make.heat, room[due]) for due, make in wanted])
    rows = [
        (place not in chosen, _haste(make), due, make) for place, (due, make) in enumerate(wanted)
    ]
    rows.sort(key=lambda row: (*row[:3], row[3].id))
    return [
        Suggestion(
            make=make.id,
            minutes=make.minutes,
            due=due,
            spare=room[due],
            fits=make.minutes <= room[due],
            short=max(0, make.minutes - room[due]),
            chosen=not left_out,
        )
        for left_out, _, due, make in rows
    ]


def _due(make: Make, by: int) -> int:
    return by if make.wear_by is None or make.wear_by < 0 else min(make.wear_by, by)


def _haste(make: Make) -> Fraction:
    """Minutes per heat: the smaller, the sooner. A make without heat comes last."""
    return Fraction(make.minutes, make.heat) if make.heat else Fraction(10**9)


def choose(jobs: Sequence[tuple[int, int, int]]) -> set[int]:
    """Places of the best set of (minutes, heat, room), whose rooms never fall along the list.

    All minutes chosen up to a job have to be at most its room. ``best[m]`` is the most heat with
    exactly m minutes, kept as (heat, places as bits, the first job highest).
    """
    best: dict[int, tuple[int, int]] = {0: (0, 0)}
    for place, (minutes, heat, room) in enumerate(jobs):
        bit = 1 << (len(jobs) - place)
        for used, (warmth, places) in sorted(best.items(), reverse=True):
            if used + minutes <= room:
                more = (warmth + heat, places | bit)
                best[used + minutes] = max(best.get(used + minutes, (-1, 0)), more)
    _, places = max(((heat, -used), places) for used, (heat, places) in best.items())
    return {place for place in range(len(jobs)) if places >> (len(jobs) - place) & 1}
