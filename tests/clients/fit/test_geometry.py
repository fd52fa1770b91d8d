"""Seven hundred cases of the fit sums by geometry of their own: corners, cut polygons, walked arcs.

Half are whole millimetres, half sixteenths of an inch (25.4 / 16 mm). Nothing of the program's
formulae is used: areas come by the shoelace formula, cloth is cut by a half plane, arcs are walked
on a polygon of many corners. A turned edge of 3/8 in and one of 1/4 in for a facing are common
practice.
"""

from fractions import Fraction
from itertools import pairwise
from math import cos, hypot, sin, tau
from random import Random

import pytest

from clients.fit import FitError, hems, spacing
from clients.fit.alterations import Seam, let_out, patch, taper
from clients.fit.bustles import bustle
from clients.fit.curtains import CurtainWindow, curtains
from clients.fit.outlines import outline
from clients.fit.skirts import band, elastic
from clients.fit.sleeves import narrower, placket, vent
from clients.fit.zips import opening_for, zip_for

UNITS = {"cm": Fraction(1), "in": Fraction(254, 160)}
CASES = 25  # of each of fourteen sums in each of two units
WIDE = 100


def area(corners):
    pairs = zip(corners, [*corners[1:], *corners[:1]], strict=True)
    return abs(sum(x * v - u * y for (x, y), (u, v) in pairs)) / 2


def above(corners, down):
    """What of a polygon lies not lower than ``down``: cut along the line (Sutherland, Hodgman)."""
    kept = []
    for (x, y), (u, v) in zip(corners, [*corners[1:], corners[0]], strict=True):
        if y <= down:
            kept.append((x, y))
        if (y <= down) != (v <= down):
            kept.append((x + (u - x) * (down - y) / (v - y), down))
    return kept


def strip(front, back, deep):
    """What lies below a finished edge that slopes from front to back."""
    return [(0, front), (WIDE, back), (WIDE, back + deep), (0, front + deep)]


def in_cloth(front, back, deep, cloth):
    whole = strip(front, back, deep)
    return area(above(whole, cloth)) == area(whole)


@pytest.mark.parametrize("unit", UNITS)
def test_a_hem_is_turned_where_cloth_is(unit):
    chance, step = Random(f"hem {unit}"), UNITS[unit]  # noqa: S311 -- cases, no secrets
    ways = set()
    for case in range(CASES):
        finished, deep = chance.randint(400, 1000) * step, chance.randint(14, 60) * step
        slope = chance.choice([0, 0, 8, 13]) * step
        front, back = finished - slope / 2, finished + slope / 2
        # The edge of the cloth itself is among the cases, a step on either side of it as well.
        edges = [back + deep, back + deep - step, back + deep + step, back, back - step]
        quarter, turn = Fraction(254, 40), Fraction(762, 80)
        edges += [back + quarter, back + turn, back + quarter - step, back + turn - step]
        cloth = edges[case] if case < len(edges) else back + chance.randint(-20, 80) * step
        hem = hems.hem(finished, deep, slope=slope, cloth=cloth)
        assert (hem.front, hem.back) == (front, back)
        whole = in_cloth(front, back, deep, cloth)
        assert (hem.wanted is None) is whole
        if whole:
            assert (hem.way, hem.allowance) == ("hem", deep)
            ways.add("whole")
            continue
        # What is turned fits, and not a thousandth of a millimetre more.
        fits = in_cloth(front, back, Fraction(0), cloth) and back <= cloth
        if fits and hem.allowance:
            assert in_cloth(front, back, hem.allowance, cloth)
        assert not (
            back <= cloth and in_cloth(front, back, hem.allowance + Fraction(1, 1000), cloth)
        )
        # Is there 3/8 in to turn, or 1/4 in to sew a facing to, below the whole edge?
        turns, faces = (
            back <= cloth and in_cloth(front, back, Fraction(254 * part, 80), cloth)
            for part in (3, 2)
        )
        assert hem.way == ("hem" if turns else "faced" if faces else "no")
        ways.add(hem.way)
    assert ways == {"whole", "hem", "faced", "no"}


def walked(radius, share, corners=20_000):
    """Along an arc, from corner to corner."""
    turn = tau * float(share)
    points = [
        (radius * cos(turn * at / corners), radius * sin(turn * at / corners))
        for at in range(corners + 1)
    ]
    return sum(hypot(u - x, v - y) for (x, y), (u, v) in pairwise(points))


@pytest.mark.parametrize("unit", UNITS)
def test_the_hem_of_a_circle_is_as_long_as_one_walks(unit):
    chance, step = Random(f"circle {unit}"), UNITS[unit]  # noqa: S311 -- cases, no secrets
    for case in range(CASES):
        share = chance.choice([Fraction(1, 4), Fraction(1, 2), Fraction(3, 4), Fraction(1)])
        waist, long = chance.randint(400, 1200) * step, chance.randint(200, 900) * step
        deep, shorter = chance.randint(2, 60) * step, chance.randint(0, 100) * step
        # The waist tells the radius; edges are walked there, less what is shortened and turned.
        inner = float(waist) / walked(1.0, share, 2_000)
        hem = inner + float(long - shorter)
        cloth = long - shorter + deep - (0 if case else step)
        if not case:
            with pytest.raises(FitError):
                hems.circle_hem(waist, long, share, depth=deep, shorten=shorter, cloth=cloth)
        eased = hems.circle_hem(
            waist, long, share, depth=deep, shorten=shorter, cloth=long - shorter + deep
        )
        edge = walked(hem, share, 2_000)
        assert float(eased.edge) == pytest.approx(edge, rel=1e-6)
        inside = edge - walked(hem - float(deep), share, 2_000)
        assert float(eased.excess) == pytest.approx(inside, rel=1e-5, abs=1e-4)


def crossed(seam, down):
    """Where a straight seam through two points is, so far down."""
    (x, y), (u, v) = seam
    return x + (u - x) * (down - y) / (v - y)


@pytest.mark.parametrize("unit", UNITS)
def test_a_taper_leaves_the_leg_between_two_straight_seams(unit):
    chance, step = Random(f"taper {unit}"), UNITS[unit]  # noqa: S311 -- cases, no secrets
    for _ in range(CASES):
        knee, down = chance.randint(160, 300) * step, chance.randint(300, 500) * step
        hem = knee - chance.randint(0, 40) * step
        new_knee = knee - chance.choice([0, 0, 6, 15]) * step
        new_hem = min(hem, new_knee) - chance.randint(0, 60) * step
        leg = taper(knee=knee, hem=hem, new_knee=new_knee, new_hem=new_hem, knee_to_hem=down)
        # Both seams lie as far from the crease; what is cut off is two equal pieces.
        old, new = (
            [((side * at_knee / 2, 0), (side * at_hem / 2, down)) for side in (-1, 1)]
            for at_knee, at_hem in ((knee, hem), (new_knee, new_hem))
        )
        for place in leg.places:
            assert place.now == crossed(old[1], place.below_knee) - crossed(
                old[0], place.below_knee
            )
            assert place.then == crossed(new[1], place.below_knee) - crossed(
                new[0], place.below_knee
            )
        assert leg.passes(2 * (new[1][1][0] - new[0][1][0]))
        assert not leg.passes(2 * (new[1][1][0] - new[0][1][0]) + step)


KINDS = ["trousers", "jeans", "skirt", "dress", "gown", "shirt", "coat", "curtains", "sleeve"]


@pytest.mark.parametrize("unit", UNITS)
def test_what_is_cut_off_an_outline_and_what_stays_are_the_whole(unit):
    """Three parts between top and end of the cloth, cut at the finished edge and the cut line."""
    chance, step = Random(f"outline {unit}"), UNITS[unit]  # noqa: S311 -- cases, no secrets
    for _ in range(CASES):
        now = chance.randint(300, 1500) * step
        finished = now - chance.randint(1, 200) * step
        cut = min(finished + chance.randint(5, 40) * step, now)
        for panel in outline(chance.choice(KINDS), now).panels:
            whole = panel.corners(0, now)[:-1]
            parts = [panel.corners(0, finished), panel.corners(finished, cut)]
            parts += [panel.corners(cut, now)] if cut < now else []
            assert sum(area(part[:-1]) for part in parts) == area(whole)
            assert area(above(whole, finished)) == area(parts[0][:-1])


@pytest.mark.parametrize("unit", UNITS)
def test_cloth_that_is_folded_up_and_down_again_is_as_long_as_its_way(unit):
    """A turn-up walked along its cloth: down to the edge, up outside, down behind, up inside.

    3/4 in goes inside, 1/2 in at the least (common practice); the cloth ends there or a step off.
    """
    chance, step = Random(f"turn-up {unit}"), UNITS[unit]  # noqa: S311 -- cases, no secrets
    inside, least = Fraction(254 * 3, 40), Fraction(254, 20)
    for case in range(CASES):
        finished, high = chance.randint(400, 1000) * step, chance.randint(16, 60) * step
        spare = [inside, inside - step, least, least - step, inside + step][case % 5]
        stops = [0, finished, finished - high, finished, finished - spare]
        cloth = sum(abs(down - up) for up, down in pairwise(stops))
        if spare < least:
            with pytest.raises(hems.NoTurnUpError):
                hems.hem(finished, 0, turn_up=high, cloth=cloth)
            continue
        cut = hems.hem(finished, 0, turn_up=high, cloth=cloth).cut
        assert cut == cloth - max(Fraction(0), spare - inside)
        # A lining hangs as much higher at front and back, however the edge slopes.
        slope, shorter = chance.randint(0, 13) * step, chance.randint(0, 40) * step
        outer = hems.hem(finished, high, slope=slope)
        lining = hems.lining_hem(outer, shorter)
        corners = [(0, lining.front), (WIDE, lining.back), (WIDE, outer.back), (0, outer.front)]
        assert area(corners) == WIDE * shorter
        assert lining.cut - lining.finished == Fraction(254, 10)


@pytest.mark.parametrize("unit", UNITS)
def test_a_ring_cut_from_a_leg_leaves_the_length_that_was_asked(unit):
    """The leg as two pieces of cloth, sewn 3/8 in from their raw edges (common practice)."""
    chance, step = Random(f"edge {unit}"), UNITS[unit]  # noqa: S311 -- cases, no secrets
    seam = Fraction(254 * 3, 80)
    edges = [2 * seam, 2 * seam + step, 2 * seam - step]  # a ring of nothing, of a step, a tuck
    for case in range(CASES):
        now, band = chance.randint(400, 1000) * step, chance.randint(8, 40) * step
        by = edges[case] if case < len(edges) else chance.randint(1, 150) * step
        kept = hems.edge_kept(now, now - by, band)
        if by <= 2 * seam:
            # A fold takes its depth twice; its stitches lie where the hem begins.
            assert (kept.out, now - 2 * kept.tuck) == (0, now - by)
            assert kept.seam + 2 * kept.tuck == now - band
            continue
        leg, hem = kept.leg_cut, now - kept.band_cut
        assert kept.out == kept.band_cut - kept.leg_cut > 0
        assert (leg - seam) + (hem - seam) == now - by
        assert (kept.seam, hem - seam) == (leg - seam, band)
    for wrong in (now, now + step):
        with pytest.raises(FitError):
            hems.edge_kept(now, wrong, band)


@pytest.mark.parametrize("unit", UNITS)
def test_what_is_sewn_to_a_tapered_leg_is_as_wide_as_the_leg_there(unit):
    """A leg as a trapezoid between two straight seams, crossed where the pieces are sewn together.

    3/8 in all round is eased in (common practice), over 3 cm is too much (trade page).
    """
    chance, step = Random(f"tapered {unit}"), UNITS[unit]  # noqa: S311 -- cases, no secrets
    found = set()
    for case in range(CASES):
        now, band = chance.randint(700, 1000) * step, chance.randint(8, 40) * step
        by, apart = chance.randint(13, 150) * step, [100, 64][unit == "in"] * step
        at_edge = chance.randint(150, 260) * step
        # Round the leg what both differ by: at the two limits, a step off, or as it comes.
        limits = [Fraction(762, 80), Fraction(762, 80) + step, Fraction(30), Fraction(30) + step]
        differ = limits[case % 4] if case < 16 else chance.randint(0, 40) * step
        differ *= [1, -1][case // 4 % 2]
        above = at_edge + differ * apart / (2 * by)
        seams = [((side * at_edge / 2, now), (side * above / 2, now - apart)) for side in (-1, 1)]
        kept = hems.edge_kept(now, now - by, band, slant=hems.slant(at_edge, above, apart))

        def wide(down, seams=seams):
            return crossed(seams[1], down) - crossed(seams[0], down)

        leg, edge = wide(kept.seam), wide(now - band)
        assert kept.wider == 2 * (leg - edge) == differ
        small, large = abs(differ) <= limits[0], abs(differ) > limits[2]
        join = "even" if not differ else "eased" if small else "apart" if large else ""
        assert kept.join == (join or ("leg" if leg > edge else "band"))
        found.add(kept.join)
        # Taken in at both of its seams, the wider is as wide as the other.
        assert max(leg, edge) - 2 * kept.a_seam == min(leg, edge)
        # A band that is taken in is so along its whole height; else its edge stays as it was.
        taken = 2 * kept.a_seam if kept.join == "band" else 0
        assert kept.opening(at_edge) == 2 * (wide(now) - taken)
    assert found >= {"eased", "leg", "band", "apart"}


def seen_of(pieces, seam, side):
    """What is seen of pieces in a row: sewn together at their edges, hemmed at the outer two."""
    edges = [side, *[seam] * (2 * len(pieces) - 2), side]
    return sum(pieces) - sum(edges)


@pytest.mark.parametrize("unit", UNITS)
def test_curtains_meet_in_the_middle_and_are_as_full_as_was_asked(unit):
    """Laid out piece by piece: on the rail, side by side on the table, motif under motif."""
    chance, step = Random(f"curtains {unit}"), UNITS[unit]  # noqa: S311 -- cases, no secrets
    for case in range(CASES):
        rail, drop = chance.randint(600, 4000) * step, chance.randint(900, 3000) * step
        returns, overlap = (chance.choice([0, 0, 60, 150]) * step for _ in range(2))
        bolt, seam = chance.randint(1100, 1600) * step, chance.randint(8, 20) * step
        side = chance.randint(25, 60) * step
        pair, top, hem = case % 3 > 0, chance.randint(0, 200) * step, chance.randint(50, 220) * step
        # Of a pair the left one begins at the wall, the right one ends there, and both are alike.
        left, right = -returns, rail + returns
        each = (right - left + overlap) / 2 if pair else right - left
        if pair:
            assert (left + each) - (right - each) == overlap
        full, repeat = Fraction(chance.randint(5, 10), 4), chance.choice([0, 320, 640]) * step
        if case in {1, 4}:  # two widths in each that are enough, or lack a step
            bolt = (each * full + 2 * side + 2 * seam) / 2 - (step if case == 4 else 0)
        count = 0
        while True:
            count += 1
            halves = [bolt] * (count // 2) + [bolt / 2] * (count % 2) if pair else [bolt] * count
            if seen_of(halves, seam, side) >= each * full:
                break
        motif = next(n for n in range(1, 100) if n * repeat >= top + drop + hem) if repeat else 0
        made = curtains(
            CurtainWindow(rail, drop, pair, returns, overlap if pair else 0), bolt, full, top=top,
            hem=hem, side=side, seam=seam, repeat=repeat,
        )  # fmt: skip
        assert (made.widths, made.window.each) == (count, each)
        assert made.flat == seen_of(halves, seam, side)
        assert made.cut == (motif * repeat or top + drop + hem)
        assert made.cloth == sum([made.cut] * count)


@pytest.mark.parametrize("unit", UNITS)
def test_a_vent_is_lost_where_its_buttons_would_leave_it(unit):
    """Buttons as places above an edge that rises; 3/4 in above the last, or below a cut hole."""
    chance, step = Random(f"sleeve {unit}"), UNITS[unit]  # noqa: S311 -- cases, no secrets
    room, hand = Fraction(254 * 3, 40), Fraction(254 * 7, 20)
    found = set()
    for case in range(CASES):
        lowest, apart = chance.randint(20, 45) * step, chance.randint(10, 20) * step
        count, spare = chance.randint(1, 4), chance.randint(0, 60) * step
        places = [lowest + apart * at for at in range(count)]
        high = places[-1] + room + spare
        by = [spare, spare + step, max(0, spare - step), chance.randint(0, 80) * step][case % 4]
        made = vent(high, by, buttons=count, lowest=lowest, apart=apart)
        # Seen from the edge as it was, each moved button has the top of the vent above it.
        assert made.holds is all(place + by + room <= high for place in places)
        cut = vent(high, by, buttons=count, lowest=lowest, apart=apart, holes_cut=True)
        nearest = min(place - by for place in places)
        assert cut.holds is (by == 0 or nearest >= room)
        shirt = placket(high, by)
        assert shirt.holds is (by == 0 or high - by >= hand)
        found |= {made.holds, ("cut", cut.holds)}
        # The straight seams of a sleeve that narrows, crossed so far down.
        upper, lower = chance.randint(160, 260) * step, chance.randint(90, 150) * step
        long = chance.randint(350, 480) * step
        seams = [((side * upper / 2, 0), (side * lower / 2, long)) for side in (-1, 1)]
        there = crossed(seams[1], by) - crossed(seams[0], by)
        assert narrower(by, upper=upper, lower=lower, long=long) == 2 * (upper - there)
    assert found == {True, False, ("cut", True), ("cut", False)}


@pytest.mark.parametrize("unit", UNITS)
def test_a_train_hangs_free_of_the_floor_and_a_slit_lets_the_hip_pass(unit):
    """The edge of the train found by its angle; the way round a slit walked along its edges."""
    chance, step = Random(f"train {unit}"), UNITS[unit]  # noqa: S311 -- cases, no secrets
    for _ in range(CASES):
        train, half = chance.randint(150, 1200) * step, chance.randint(400, 1000) * step
        floor, clear = chance.randint(1000, 1150) * step, chance.randint(10, 40) * step
        hook, count = chance.randint(0, 250) * step, chance.choice([1, 3, 5, 7])
        points = bustle(train, 2 * half, floor, hook=hook, clear=clear, points=count)
        gaps = {b.aside - a.aside for a, b in pairwise(points)}
        assert (len(points), len(gaps)) == (count, count > 1)
        for point in points:
            low, high = 0.0, tau / 2  # from the right end of the edge to the left
            for _ in range(60):
                angle = (low + high) / 2
                low, high = (angle, high) if half * cos(angle) > point.aside else (low, angle)
            edge = float(floor) + float(train) * sin(angle)
            # What is taken up between point and hook no longer hangs below the hook.
            assert edge - float(point.down - point.hook) == pytest.approx(float(floor - clear))
        waist, hip = chance.randint(500, 1000) * step, chance.randint(600, 1300) * step
        slit = opening_for(waist, hip)
        corners = [(0, 0), (0, slit), (waist, slit), (waist, 0)]
        passes = sum(hypot(u - x, v - y) for (x, y), (u, v) in pairwise(corners))
        assert passes == pytest.approx(float(max(hip, waist)))
        made = zip_for(slit + 100, unit, above=10)
        assert made.long == slit + 90
        assert 0 <= made.surplus <= (200 if unit == "cm" else Fraction(2032, 10))


def girth(plies):
    """Round a garment of plies laid edge to edge, less what each seam takes of both of its own."""
    return sum(wide - 2 * taken for wide, taken in plies)


@pytest.mark.parametrize("unit", UNITS)
def test_a_let_out_moves_stitches_on_cloth_that_is_there(unit):
    """A garment as panels between their stitches: sewn anew nearer their edges, it is so wider."""
    chance, step = Random(f"let out {unit}"), UNITS[unit]  # noqa: S311 -- cases, no secrets
    ways = set()
    for case in range(CASES):
        seams = [
            Seam(f"{at}", chance.randint(0, 40) * step, keep=chance.randint(4, 12) * step,
                 count=chance.randint(1, 2))
            for at in range(chance.randint(1, 4))
        ]  # fmt: skip
        # What every ply has beyond what is kept of it, the most that anybody could let out.
        spare = [
            max(Fraction(0), seam.allowance - seam.keep)
            for seam in seams for _ in range(2 * seam.count)
        ]  # fmt: skip
        most = sum(spare)
        total = [most, most + step, max(step, most - step), chance.randint(1, 300) * step][case % 4]
        total = total or step
        made = let_out(total, seams)
        assert made.possible is (total <= most)
        before = girth([(1000, seam.allowance) for seam in seams for _ in range(seam.count)])
        after = girth((1000, share.left) for share in made.shares for _ in range(share.seam.count))
        assert after - before == min(total, most)
        for share in made.shares:
            assert share.left >= min(share.seam.keep, share.seam.allowance)
            assert share.per_ply >= 0
        # No stitches move further than water would rise that is poured over all plies.
        level = max(share.per_ply for share in made.shares)
        assert sum(min(room, level) for room in spare) == min(total, most)
        ways.add(made.possible)
    assert ways == {True, False}


@pytest.mark.parametrize("unit", UNITS)
def test_pleats_folded_ply_by_ply_are_as_wide_as_was_asked(unit):
    """Each fold walked as cloth: forward over what is seen, back and forth behind it."""
    chance, step = Random(f"pleats {unit}"), UNITS[unit]  # noqa: S311 -- cases, no secrets
    for case in range(CASES):
        count, folds = chance.randint(1, 30), chance.choice([1, 2])
        seen = chance.randint(8, 80) * step
        depth = (
            seen / folds + [0, step, -step][case % 3] if case < 6 else chance.randint(4, 90) * step
        )
        depth = max(step, depth)
        row = spacing.pleats(seen * count, count=count, depth=depth, folds=folds)
        at = walked_so_far = Fraction(0)
        for _ in range(count):
            for leg in [seen, *[-depth, depth] * folds]:
                at, walked_so_far = at + leg, walked_so_far + abs(leg)
        assert (row.finished, row.cloth) == (at, walked_so_far)
        # Behind, folds side by side are covered by what is seen or reach over the next.
        behind = [(seen - depth * (fold + 1), seen - depth * fold) for fold in range(folds)]
        assert row.overlap is (min(left for left, _ in behind) < 0)
        again = spacing.pleats_of(row.cloth, row.finished, count=count, folds=folds)
        assert again.depth == depth


@pytest.mark.parametrize("unit", UNITS)
def test_a_patch_covers_its_hole_and_so_much_round_it(unit):
    """Every corner of the hole is 3/4 in inside of the patch (US Army TM 10-8400-201-23)."""
    chance, step = Random(f"patch {unit}"), UNITS[unit]  # noqa: S311 -- cases, no secrets
    past = Fraction(254 * 3, 40)
    for case in range(CASES):
        wide, high = chance.randint(2, 200) * step, chance.randint(2, 200) * step
        seam = (
            [past, past - step, past + step, Fraction(0)][case % 4]
            if case < 8
            else (chance.randint(0, 60) * step)
        )
        cut = patch(wide, high, to_seam=seam)
        left, top = (cut.width - wide) / 2, (cut.height - high) / 2
        assert (left, top) == (past, past)
        frame = cut.width * cut.height - area([(0, 0), (wide, 0), (wide, high), (0, high)])
        assert frame == 2 * past * (wide + high) + 4 * past * past
        # A patch laid there that would reach over the seam is sewn.
        assert cut.fusible is (past <= seam)


@pytest.mark.parametrize("unit", UNITS)
def test_a_band_laid_round_the_waist_closes_where_it_should(unit):
    """Walked along the strip from edge to edge, less what its seams take at both of its ends."""
    chance, step = Random(f"band {unit}"), UNITS[unit]  # noqa: S311 -- cases, no secrets
    for case in range(CASES):
        waist, ease = (
            chance.randint(500, 1200) * step,
            chance.choice([0, chance.randint(1, 40)]) * step,
        )
        over, seam = chance.choice([0, chance.randint(10, 60)]) * step, chance.randint(0, 20) * step
        made = band(waist, ease=ease, overlap=over, allowance=seam)
        # Sewn at both ends it goes round once, and what is more lies over its beginning.
        seen = made.cut - 2 * seam
        assert (made.finished, seen - made.finished) == (waist + ease, over)
        # In two halves the seam behind lies half way round, wherever the front closes.
        left, right = (half - 2 * seam for half in made.halves)
        assert (left, left + right) == (made.finished / 2, seen)
        # Its ends lie over each other by the join: what goes round is shorter by its share.
        tight, join = [0, 10, 49, chance.randint(0, 49)][case % 4], chance.randint(0, 30) * step
        cord = elastic(waist, shorter=tight, join=join)
        assert (cord - join) * 100 == waist * (100 - tight)
    with pytest.raises(FitError):
        elastic(waist, shorter=50)
