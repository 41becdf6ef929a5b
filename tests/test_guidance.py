"""The guided length of a leaf over travel: against the poses that hold it, found by search, and worked tilts."""

from __future__ import annotations

from itertools import pairwise
from random import Random

import numpy as np
import pytest
from scipy.optimize import brentq, minimize_scalar

from addon.check.forces.guidance import UNGUIDED, Piecewise, Straight, guidance, largest_tilt, lesser, united
from addon.check.row.profile import Chamfer, Row, RowOpening

STEEP = 1.2
"""rad; tilts of the search, none of which a leaf in a row comes near to while two openings hold it."""


@pytest.mark.parametrize(
    ("thickness", "height", "length", "rad", "deg"),
    [
        (18, 18.5, 18, 0.027396, 1.5696),
        (18, 19, 18, 0.054041, 3.0963),
        (12, 12.5, 18, 0.027518, 1.5767),
        (18, 18.5, 400, 0.001250, 0.0716),
        (400, 402, 100, 0.019256, 1.1033),
        (0.703, 0.750, 0.750, 0.060853, 3.4866),
    ],
)
def test_largest_tilt(thickness, height, length, rad, deg):
    """Bar in a straight channel, t = h cos - b sin: the equation itself, its small-angle form, and six solutions
    worked out beforehand with a root finder."""
    tilt = largest_tilt(thickness, height, length)
    assert tilt == pytest.approx(rad, abs=5e-7)
    assert np.degrees(tilt) == pytest.approx(deg, abs=5e-5)
    assert height * np.cos(tilt) - length * np.sin(tilt) == pytest.approx(thickness, abs=1e-12)
    assert tilt == pytest.approx((height - thickness) / length, rel=0.05)


@pytest.mark.parametrize(("degrees", "depth"), [(1, 22.8287), (2, 11.2800), (3, 7.3706), (6, 3.2817)])
def test_peg_in_hole_as_a_rectangle(degrees, depth):
    """Peg of radius 5.0 in a hole of 5.2 mm: depth, to the touching corner, at which it comes to touch twice (rectangle
    model of rigid part mating, D. E. Whitney 1982, worked out for these sizes)."""
    assert np.degrees(largest_tilt(10.0, 10.4, depth)) == pytest.approx(degrees, abs=2e-4)


def test_one_opening_then_two():
    """Engaged length within the one board, then from far lip to far lip (rigid part mating)."""
    board, gap = 18.0, 364.0
    openings = (RowOpening(0, board, 0.0, 18.5), RowOpening(board + gap, board, 0.0, 18.5))
    own = guidance(Row(900.0, 18.0, openings, 1200.0)).least
    assert own.breakpoints == pytest.approx((0, 18, 382, 400, 900, 918, 1200))
    assert [(one.first, one.last) for one in own.pieces] == [
        (0, 18), (18, 18), (382, 400), (400, 400), (400, 382), (18, 18)
    ]  # fmt: skip
    assert own.pieces[2].tag == own.pieces[3].tag == (1, 0)
    assert own.at([9.0, 200.0, 391.0, 600.0, 905.0]) == pytest.approx([9, 18, 391, 400, 395])
    assert np.isnan(own.at([-1.0, 1201.0])).all()


def test_chamfers_do_not_guide():
    """Lands alone count: openings of 3 mm, a leading end of 2 mm."""
    eased, lead = Chamfer(3.0, 3.0), Chamfer(2.0, 2.0)
    openings = tuple(RowOpening(x, 18.0, 0.0, 18.5, eased, eased) for x in (0.0, 382.0))
    own = guidance(Row(900.0, 18.0, openings, 500.0, lead)).least
    assert own.breakpoints == pytest.approx((0, 5, 17, 387, 399, 500))
    assert [(one.first, one.last) for one in own.pieces] == [
        (0, 0), (0, 12), (12, 12), (382, 394), (394, 394)
    ]  # fmt: skip


def test_a_wide_opening_behind_a_close_one_does_not_guide():
    """First 0.5 mm of play over 18 mm: at 400 mm that is 11 mm, which a window with 60 mm to spare never limits."""
    close, wide = RowOpening(0, 18.0, 0.0, 18.5), RowOpening(382.0, 18.0, -30.0, 48.5)
    assert guidance(Row(900.0, 18.0, (close, wide), 600.0)).least.at(600.0) == 18.0


def test_an_opening_that_cannot_be_counted_on_does_not_guide():
    """The same row with and without the second opening, such as another leaf that need not be there."""
    first, second = RowOpening(0, 18.0, 0.0, 18.5), RowOpening(382.0, 18.0, 0.0, 18.5, holds=False)
    loose, alone = (guidance(Row(900.0, 18.0, own, 600.0)).least for own in ((first, second), (first,)))
    travel = np.linspace(0, 600, 61)
    assert loose.at(travel).tolist() == alone.at(travel).tolist()


def random_row(random: Random) -> Row:
    """One to four openings; every second row of long ones of unequal play, where many pairs take turns."""
    thickness, x, openings = random.choice([18.0, 365.0]), 0.0, []
    long = random.random() < 0.5
    for _ in range(random.randint(3, 4) if long else random.randint(1, 4)):
        board = random.uniform(50, 200) if long else random.choice([18.0, random.uniform(5, 60)])
        eased = Chamfer(random.uniform(0.1, 2.4), 2.0) if random.random() < 0.5 else Chamfer()
        low = None if random.random() < 0.1 else -random.choice([0.1, random.uniform(0, 4)])
        high = None if random.random() < 0.1 else thickness + random.choice([0.1, random.uniform(0, 4)])
        openings.append(RowOpening(x, board, low, high, eased, eased))
        x += board + (random.uniform(5, 50) if long else random.uniform(-3, 300))
    lead = Chamfer(2, 2) if random.random() < 0.3 else Chamfer()
    length = random.uniform(80, 300) if long else random.uniform(100, 600)
    return Row(length, thickness, tuple(openings), x + random.uniform(-4, 100), lead)


def touching(row: Row, travel: float, upside_down: bool) -> tuple[list, list]:
    """Points of the lower and of the upper edges that the leaf is over, several a land."""
    low, high = [], []
    for one in row.openings:
        start = max(one.face + one.entry.run, travel - row.length)
        stop = min(one.end - one.exit.run, travel - row.lead.run)
        for x in np.linspace(start, stop, 5) if start < stop else ():
            low += [(x, one.sill)] * (one.sill is not None)
            high += [(x, one.head)] * (one.head is not None)
    if upside_down:
        return [(x, -z) for x, z in high], [(x, -z) for x, z in low]
    return low, high


def held_by_search(thickness: float, low: list, high: list) -> list[float] | None:
    """Distances ahead from upper to lower contact in the lowest pose of the nose, by root finding on the support
    function: min over upper points of (z cos - x sin) less max over lower ones less t."""
    (x, z), (other, top) = np.array(low).T, np.array(high).T

    def room(tilt: float) -> float:
        c, s = np.cos(tilt), np.sin(tilt)
        return float((top * c - other * s).min() - (z * c - x * s).max()) - thickness

    coarse = np.linspace(-STEEP, 0.3, 61)
    start = coarse[int(np.argmax([room(tilt) for tilt in coarse]))]
    best = minimize_scalar(
        lambda tilt: -room(tilt),
        bounds=(start - 0.02, start + 0.02),
        method="bounded",
        options={"xatol": 1e-10},
    )
    if -best.fun < 1e-6 or room(-STEEP) > 0:
        return None  # does not fit, or nothing stops it
    tilt = brentq(room, -STEEP, best.x, xtol=1e-14)
    c, s = np.cos(tilt), np.sin(tilt)
    below, above = z * c - x * s, top * c - other * s
    held = (below[:, None] > below.max() - 1e-8) & (above < above.min() + 1e-8)
    return (x[:, None] - other)[held].tolist()


@pytest.mark.parametrize("seed", range(3))
def test_it_lies_between_the_places_that_hold_the_leaf(seed):
    """Random rows, stepped, one-sided, eased, of unequal play: the contacts of the extreme pose, found by search, in
    the middle of every straight piece and just inside its ends."""
    random, compared = Random(seed), 0
    for _ in range(8):
        row = random_row(random)
        both = guidance(row)
        for upside_down, own in ((False, both.nose_low), (True, both.nose_high)):
            for piece in own.pieces:
                for travel in (piece.start + 1e-5, (piece.start + piece.stop) / 2, piece.stop - 1e-5):
                    low, high = touching(row, travel, upside_down)
                    found = held_by_search(row.thickness, low, high) if low and high else [0.0]
                    # A contact pair the wrong way round holds a leaf only after a turn of tens of degrees.
                    if found is not None and max(found) >= 0:
                        compared += 1
                        assert min(abs(length - own.at(travel)) for length in found) < 1e-6
                    assert both.least.at(travel) == pytest.approx(
                        min(both.nose_low.at(travel), both.nose_high.at(travel)), abs=1e-9
                    )
    assert compared > 200


def test_without_play_the_lips_farthest_apart_guide():
    """All pairs stop the leaf at once; far lip to far lip."""
    openings = tuple(RowOpening(x, 18.0, 0.0, 18.0) for x in (0.0, 150.0, 382.0))
    assert guidance(Row(900.0, 18.0, openings, 600.0)).least.at(600.0) == 400.0


def test_where_two_pairs_change_places_they_stop_the_leaf_at_one_tilt():
    """0.25 mm of play over the 40 mm of the first opening; the nose, 1 mm above the second one's lower edge, stops the
    leaf sooner only from 160 mm on: 0.25 / 40 = 1 / 160 (small tilts)."""
    openings = (RowOpening(0, 40.0, 0.0, 18.25), RowOpening(60.0, 200.0, -0.75, 20.0))
    own = guidance(Row(900.0, 18.0, openings, 240.0)).nose_low
    change = next(stop for stop in own.breakpoints if 61 < stop < 239)
    before, after = (one for one in own.pieces if change in (one.start, one.stop))
    assert (before.tag, after.tag) == ((0, 0), (1, 0))
    assert (before.last, after.first) == (40.0, pytest.approx(160.0, rel=0.01))
    tilts = largest_tilt(18.0, [18.25, 19.0], [before.last, after.first])
    assert tilts[0] == pytest.approx(tilts[1], abs=1e-12)


# -- functions in straight pieces
# ------------------------------------------------------------------------------------------------------------


def random_function(random: Random, ends: tuple[float, float]) -> Piecewise:
    cuts = [ends[0], *sorted(random.uniform(*ends) for _ in range(random.randint(0, 5))), ends[1]]
    return Piecewise.of(
        Straight(a, b, *random.choices((0.0, 1.0, random.uniform(0, 3)), k=2)) for a, b in pairwise(cuts)
    )


@pytest.mark.parametrize("seed", range(20))
def test_questions_to_a_function_against_many_samples(seed):
    random = Random(seed)
    one, other = random_function(random, (0.0, 10.0)), random_function(random, (0.0, 10.0))
    x = np.linspace(0, 10, 4001)[1:-1]
    assert lesser(one, other).at(x) == pytest.approx(np.minimum(one.at(x), other.at(x)), abs=1e-12)
    assert one.least() <= one.at(x).min() <= one.least() + 0.1
    assert one.least(2.0, 3.0) <= one.at(x[(x >= 2) & (x <= 3)]).min()
    level = 0.8
    inside = np.zeros(len(x), dtype=bool)
    for start, stop in one.within(level):
        inside |= (x >= start) & (x <= stop)
    value = one.at(x)
    clear = np.array([min(abs(at - end) for end in one.breakpoints) > 1e-9 for at in x])
    assert np.array_equal(inside[clear], ((value > 0) & (value <= level))[clear])
    start = one.above_from(level)
    ends_above = one.pieces[-1].last > level
    assert (start is not None) == ends_above
    if start is not None:
        assert (value[x > start + 1e-9] > level).all()
        assert start == one.start or one.least(start - 1e-6, start) <= level + 1e-4


def test_a_row_that_ends_at_its_first_opening_is_unguided():
    own = guidance(Row(900.0, 18.0, (RowOpening(5.0, 18.0, 0.0, 18.5),), 5.0))
    assert own.least.pieces == (Straight(5.0, 5.0, 0.0, 0.0, UNGUIDED),)
    assert own.least.above_from(0.0) is None


def test_intervals_that_meet_are_one():
    assert united([(3, 4), (0, 1), (1, 2), (3.5, 3.6)]) == ((0, 2), (3, 4))
