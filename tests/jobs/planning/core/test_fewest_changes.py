"""The order inside a stretch: every due kept, and no order with fewer changes, by enumeration."""

from collections.abc import Sequence
from itertools import groupby, permutations

import pytest

from jobs.planning.core import Piece, PlanningError, fewest_changes
from tests.jobs.planning.core.books import dice


def changes(order: Sequence[Piece]) -> int:
    return len(list(groupby(order, key=lambda piece: piece.family))) - 1


def keeps_all(order: Sequence[Piece]) -> bool:
    worked = 0
    for piece in order:
        worked += piece.minutes
        if worked > piece.due:
            return False
    return True


def in_turn(order: Sequence[Piece], given: Sequence[Piece]) -> bool:
    """Whether each family's pieces come in the order in which they were given."""
    place = {piece.id: number for number, piece in enumerate(given)}
    last: dict[str, int] = {}
    for piece in order:
        if last.get(piece.family, -1) > place[piece.id]:
            return False
        last[piece.family] = place[piece.id]
    return True


def least(given: Sequence[Piece]) -> int | None:
    """By looking at all orders; None where no order keeps the dues."""
    counts = [
        changes(order)
        for order in permutations(given)
        if keeps_all(order) and in_turn(order, given)
    ]
    return min(counts, default=None)


def random_pieces(number: int, most: int = 7) -> list[Piece]:
    rng = dice(number)
    pieces = [
        Piece(str(place), rng.choice("abc"), rng.randint(1, 4), 0)
        for place in range(rng.randint(2, most))
    ]
    total = sum(piece.minutes for piece in pieces)
    marks = sorted(rng.randint(1, total) for _ in range(rng.randint(1, 3)))
    dues = [rng.choice([*marks, total, total]) for _ in pieces]
    rows = [
        Piece(piece.id, piece.family, piece.minutes, due)
        for piece, due in zip(pieces, dues, strict=True)
    ]
    return sorted(rows, key=lambda row: (row.family, row.due))


def test_by_hand():
    """B is due after 30; A has 20 due after 50 and 40 that are not: A B A, or better B A A."""
    given = [Piece("A1", "A", 20, 50), Piece("A2", "A", 40, 90), Piece("B", "B", 30, 30)]
    assert [piece.id for piece in fewest_changes(given)] == ["B", "A1", "A2"]


def test_a_due_in_between_forces_a_change():
    """A1 by 20, B by 50, and A2's 40 do not fit between: A B A is the least."""
    given = [Piece("A1", "A", 20, 20), Piece("A2", "A", 40, 90), Piece("B", "B", 30, 50)]
    assert [piece.id for piece in fewest_changes(given)] == ["A1", "B", "A2"]


def test_the_fewest_of_all_orders():
    kept = forced = 0
    for number in range(300):
        given = random_pieces(number)
        fewest = least(given)
        if fewest is None:
            with pytest.raises(PlanningError):
                fewest_changes(given)
            continue
        order = fewest_changes(given)
        assert sorted(order, key=lambda p: p.id) == sorted(given, key=lambda p: p.id)
        assert keeps_all(order)
        assert in_turn(order, given)
        assert changes(order) == fewest
        kept += 1
        forced += fewest > len({piece.family for piece in given}) - 1
    assert kept > 75
    assert forced > 10


def test_cutting_pieces_in_two_saves_no_change():
    for number in range(400, 520):
        given = random_pieces(number, most=4)
        if least(given) is None:
            continue
        halves = [
            Piece(f"{piece.id}{part}", piece.family, minutes, piece.due)
            for piece in given
            for part, minutes in enumerate((piece.minutes // 2, piece.minutes - piece.minutes // 2))
            if minutes
        ]
        assert changes(fewest_changes(given)) == least(halves)


def test_many_joints_keep_every_due_and_are_worse_by_no_more_than_was_refused():
    for number in range(40):
        rng = dice(number)
        given, at = [], 0
        for family in "abcdefg":
            for _ in range(4):
                at += rng.randint(1, 9)
                given.append((family, rng.randint(1, 9)))
        dues, worked = [], 0
        order = list(range(len(given)))
        rng.shuffle(order)
        due_of = {}
        for place in order:
            worked += given[place][1]
            due_of[place] = worked + rng.choice([0, 5, 40])
        for family in "abcdefg":
            mine = [place for place in range(len(given)) if given[place][0] == family]
            rising = sorted(due_of[place] for place in mine)
            late = max(sum(given[p][1] for p in mine[: n + 1]) for n in range(len(mine)))
            dues += [max(due, late) for due in rising]
        pieces = [
            Piece(str(place), family, minutes, due + 60)
            for place, ((family, minutes), due) in enumerate(zip(given, dues, strict=True))
        ]
        try:
            result = fewest_changes(pieces)
        except PlanningError:
            continue
        assert keeps_all(result)
        assert in_turn(result, pieces)
        assert changes(result) < len(pieces)


def test_a_family_whose_dues_fall_is_refused():
    with pytest.raises(PlanningError, match="before"):
        fewest_changes([Piece("1", "a", 5, 20), Piece("2", "a", 5, 10)])
