"""Sharing a change over seams: published examples, and linear programming as the reference."""

import math
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import linprog

from clients.fit.alterations import Seam, in_steps, let_out, take_in

INCH = Fraction(254, 10)

ROOMS = st.fractions(min_value=0, max_value=60, max_denominator=16)
SEAMS = st.lists(
    st.builds(lambda room, count: Seam("a", room + 10, keep=10, count=count), ROOMS,
              st.integers(1, 4)),
    min_size=1, max_size=8,
)  # fmt: skip


@pytest.mark.parametrize(
    ("total", "seams", "per_ply"),
    [
        # A trade page (seen, 2nd): waist in 1 in at the centre back, 1/2 in on each side.
        (1 * INCH, 1, INCH / 2),
        # The same page: out 2 in, the new line 1 in from the old one.
        (2 * INCH, 1, INCH),
        # Derived from total / (2 x seams): 4 cm over two side seams.
        (40, 2, 10),
    ],
)
def test_a_seam_counts_twice(total, seams, per_ply):
    seam = Seam("side", allowance=60, count=seams)
    for sharing in (take_in(total, [seam]), let_out(total, [seam])):
        assert [share.per_ply for share in sharing.shares] == [per_ply]
        assert sharing.possible


def test_two_side_seams_of_five_eighths_give_an_inch_and_a_half():
    """5/8 in at two seams, 1/4 in kept: (5/8 - 1/4) x 2 plies x 2 seams by hand."""
    seam = Seam("side", allowance=Decimal("15.875"), keep=Decimal("6.35"), count=2)
    sharing = let_out(2 * INCH, [seam])
    assert not sharing.possible
    assert sharing.most == sharing.given == INCH * 3 / 2
    assert sharing.shares[0].left == Decimal("6.35")
    assert let_out(INCH * 3 / 2, [seam]).possible


def test_a_poor_seam_gives_what_it_has_and_the_others_the_rest():
    """By hand: 44 = 2 x 4 + 4 x 9. The dart has 4 a ply; the pair of sides make up the rest."""
    dart = Seam("dart", allowance=14, keep=10)
    sides = Seam("sides", allowance=30, keep=10, count=2)
    sharing = let_out(44, [dart, sides])
    assert [share.per_ply for share in sharing.shares] == [4, 9]
    assert [share.total for share in sharing.shares] == [8, 36]
    assert [share.left for share in sharing.shares] == [10, 21]
    assert not sharing.even


def test_what_was_not_measured_gives_nothing_and_can_be_taken_in():
    assert let_out(10, [Seam("side")]).most == 0
    taken = take_in(10, [Seam("side")]).shares[0]
    assert (taken.per_ply, taken.left) == (5, None)
    assert take_in(10, [Seam("side", allowance=15)]).shares[0].left == 20


def test_an_allowance_below_what_is_kept_gives_nothing():
    assert let_out(10, [Seam("side", allowance=5, keep=10)]).most == 0


@pytest.mark.parametrize("sum_of", [take_in, let_out])
@pytest.mark.parametrize(("total", "seams"), [(10, []), (0, [Seam("a")]), (-5, [Seam("a")])])
def test_nothing_to_share_is_refused(sum_of, total, seams):
    with pytest.raises(ValueError, match=r"at least one seam|more than nothing"):
        sum_of(total, seams)


def test_no_float_comes_in():
    with pytest.raises(TypeError):
        take_in(2.5, [Seam("side")])


@given(SEAMS, st.fractions(min_value=Fraction(1, 16), max_value=900, max_denominator=16))
def test_shares_add_up_and_no_seam_gives_more_than_it_has(seams, total):
    sharing = let_out(total, seams)
    assert sum(share.per_ply * 2 * share.seam.count for share in sharing.shares) == min(
        total, sharing.most
    )
    for share in sharing.shares:
        assert share.per_ply >= 0
        assert share.left >= 10
    taken = take_in(total, seams)
    assert taken.given == total
    assert taken.even


@given(SEAMS, st.fractions(min_value=Fraction(1, 16), max_value=900, max_denominator=16))
def test_the_line_that_moves_most_moves_as_little_as_can_be(seams, total):
    """scipy's linear programming: least z with x_i <= z, x_i <= room_i, sum(plies x) = total."""
    sharing = let_out(total, seams)
    plies = [2.0 * seam.count for seam in seams]
    rooms = [float(seam.allowance - seam.keep) for seam in seams]
    least = linprog(
        [0.0] * len(seams) + [1.0],
        A_ub=[[float(i == j) for j in range(len(seams))] + [-1.0] for i in range(len(seams))],
        b_ub=[0.0] * len(seams),
        A_eq=[[*plies, 0.0]],
        b_eq=[float(total)],
        bounds=[(0, room) for room in rooms] + [(0, None)],
    )
    assert least.success == sharing.possible
    if sharing.possible:
        most = max(share.per_ply for share in sharing.shares)
        assert float(most) == pytest.approx(least.fun, abs=1e-6)


def shown_total(parts, step):
    """In steps, reckoned on its own: every ply of every seam as it is shown."""
    return sum(part.each / step * part.share.seam.plies + part.more for part in parts)


@pytest.mark.parametrize(
    ("total", "counts", "shown"),
    [
        # By hand: 9 cm over four plies are 22.5 mm each: 2 x 23 + 2 x 22 = 90.
        (90, [1, 1], [(23, 0), (22, 0)]),
        # Over fourteen plies 6.43 mm each, shown 0.6 and so 8.4 cm: six of them take 7 mm.
        (90, [1, 2, 4], [(7, 0), (7, 0), (6, 0)]),
        (91, [1], [(45, 1)]),
        (90, [4, 4], [(6, 0), (5, 2)]),
        (80, [1, 1], [(20, 0), (20, 0)]),
    ],
)
def test_shares_as_shown_add_up_to_the_total(total, counts, shown):
    sharing = take_in(total, [Seam("s", count=count) for count in counts])
    parts = in_steps(sharing, Fraction(1))
    assert shown_total(parts, 1) == total
    assert [(part.each, part.more) for part in parts] == shown


@given(
    st.integers(1, 4000),
    st.lists(st.tuples(st.integers(0, 300), st.integers(1, 8)), min_size=1, max_size=8),
    st.sampled_from([Fraction(1), Fraction(254, 160)]), st.booleans(),
)  # fmt: skip
def test_no_share_as_shown_is_a_step_off(total, seams, step, out):
    """In millimetres and in sixteenths of an inch."""
    asked = Fraction(total, 10)
    rows = [Seam("s", Fraction(room, 10), keep=0, count=count) for room, count in seams]
    sharing = (let_out if out else take_in)(asked, rows)
    parts = in_steps(sharing, step)
    total_steps = sharing.given / step
    wanted = math.floor(total_steps + Fraction(1, 2)) if sharing.possible else total_steps // 1
    assert shown_total(parts, step) == wanted
    for part in parts:
        for shown in [part.each, *([part.each + step] if part.more else [])]:
            assert abs(shown - part.share.per_ply) < step
        assert part.more < part.share.seam.plies
