"""Rows of openings with tilt against closed forms, published vectors, linear programs and dense sampling.

J-numbers are those of the project's list of check values. J-01 to J-33 are derived there from the support function of
the corners (J-04: also seen in a public research file, its small-angle form in D. E. Whitney, Trans. ASME J. Dyn. Sys.
104 (1982) 65-77; J-33: seen there as a simulated grid of insertions).
"""

from __future__ import annotations

from math import acos, atan, atan2, cos, degrees, hypot, radians, sin, tan
from random import Random

import numpy as np
import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from addon.check.row.profile import SQUARE, Chamfer, Row, RowOpening, profiles
from addon.check.row.proof import RowProof, prove
from addon.check.row.stances import Stances
from tests import row_samples
from tests.large import sampled

ONE = np.zeros(1, dtype=np.intp)

TILTS = {
    "J-10": (18, 18.5, 18, 0.027396, 1.5696, 10.961),
    "J-11": (18, 19, 18, 0.054041, 3.0963, 21.637),
    "J-14": (12, 12.5, 18, 0.027518, 1.5767, 11.010),
    "J-15": (18, 18.5, 400, 0.001250, 0.0716, 0.500),
    "J-17": (400, 402, 100, 0.019256, 1.1033, 7.703),
    "J-20": (0.703, 0.750, 0.750, 0.060853, 3.4866, None),
}
"""Thickness, height of the opening, length of the guide, greatest tilt in rad and degrees, rise over the next 400."""

PEGS = {1: (22.9160, 22.8287), 2: (11.4544, 11.2800), 3: (7.6323, 7.3706), 6: (3.8043, 3.2817)}
"""Degrees to depth of the onset of two-point contact, mm: to the middle of the end (J-04), to its corner (J-03)."""


def channel(height: float, length: float, face: float = 0.0, *, run: float = 0.0) -> RowOpening:
    """A straight opening from z = 0 on; with chamfers far steeper than any tilt if they have a run."""
    chamfer = Chamfer(run, 5 * run)
    return RowOpening(face, length, 0.0, height, chamfer, chamfer)


def right_through(thickness: float, openings: tuple[RowOpening, ...]) -> Stances:
    """A leaf that reaches far out of its openings at both ends."""
    end = max(one.end for one in openings)
    leaf = Row(3 * end + 2000, thickness, openings, end + 1000)
    return Stances(profiles((leaf,)), ONE, np.array([end + 1000.0]))


def greatest_tilt(stances: Stances) -> float:
    up, down = stances.last(np.zeros(1), 1), stances.last(np.zeros(1), -1)
    assert up[0] == pytest.approx(-down[0], abs=1e-12)
    return atan(up[0])


def greatest_tilt_by_formula(t: float, h: float, b: float) -> float:
    """J-02."""
    return acos(t / hypot(h, b)) - atan2(b, h)


@pytest.mark.parametrize("name", TILTS)
def test_greatest_tilt_in_a_channel(name: str) -> None:
    t, h, b, in_rad, in_degrees, rise = TILTS[name]
    tilt = greatest_tilt(right_through(t, (channel(h, b),)))
    assert tilt == pytest.approx(in_rad, abs=6e-7)
    assert degrees(tilt) == pytest.approx(in_degrees, abs=6e-5)
    assert rise is None or 400 * tan(tilt) == pytest.approx(rise, abs=6e-4)
    assert tilt == pytest.approx(greatest_tilt_by_formula(t, h, b), abs=1e-12)


def test_two_openings_in_line_tilt_as_one_from_far_lip_to_far_lip() -> None:
    """J-15 as it is drawn, and J-07: the inner lips never govern."""
    openings = (channel(18.5, 18), channel(18.5, 18, 18 + 364))
    assert greatest_tilt(right_through(18, openings)) == pytest.approx(0.001250, abs=6e-7)
    assert greatest_tilt(right_through(18, openings)) == pytest.approx(
        greatest_tilt_by_formula(18, 18.5, 400), abs=1e-12
    )


@settings(max_examples=100, deadline=None, derandomize=True)
@given(st.floats(3, 40), st.floats(0.05, 0.3), st.floats(6, 100), st.floats(0.1, 2.5))
def test_eased_lips_shorten_the_guide(t: float, slack: float, b: float, run: float) -> None:
    """J-06: b - 2k for chamfers that are steeper than the tilt."""
    h = t * (1 + slack)
    tilt = greatest_tilt_by_formula(t, h, b - 2 * run)
    if tan(tilt) < 4.5:
        assert greatest_tilt(right_through(t, (channel(h, b, run=run),))) == pytest.approx(tilt, abs=1e-9)


@settings(max_examples=200, deadline=None, derandomize=True)
@given(st.floats(3, 40), st.floats(0.001, 1), st.floats(3, 200), st.floats(-0.6, 0.6))
def test_a_bar_fits_a_channel_just_as_the_support_function_says(
    t: float, slack: float, b: float, tilt: float
) -> None:
    """J-01: t <= h·cos(tilt) - b·sin(tilt), and by how much."""
    h = t * (1 + slack)
    spare = h * cos(tilt) - b * sin(abs(tilt)) - t
    low, high = right_through(t, (channel(h, b),)).room(np.array([tan(tilt)]))
    assert (high - low)[0] == pytest.approx(spare / cos(tilt), abs=1e-9)


@pytest.mark.parametrize("angle", PEGS)
def test_two_point_contact_begins_at_the_depth_of_the_peg_and_hole(angle: int) -> None:
    """Peg and hole r = 5.0, R = 5.2: the corner that touches is at the depth of J-03, the middle at that of J-04."""
    t, h, tilt = 10.0, 10.4, radians(angle)
    to_middle, to_corner = PEGS[angle]
    leaf = Row(200.0, t, (channel(h, 100.0),), 100.0)
    corner = Stances(profiles((leaf,)), ONE, np.array([to_corner]), point=np.array([[0.0, t]]))
    slope = corner.last(np.zeros(1), 1)
    # The depth is printed to 0.00005 mm; what that is in tilt follows from h = t/cos + l·tan.
    assert atan(slope[0]) == pytest.approx(tilt, abs=1e-4 * tan(tilt) / to_corner)
    exact = (h - t / cos(tilt)) / tan(tilt)
    assert to_corner == pytest.approx(exact, abs=6e-5)
    nose = corner.nose(slope)[0]
    assert nose == pytest.approx(to_corner + t * sin(atan(slope[0])), abs=1e-12)
    assert nose - t / 2 * sin(tilt) == pytest.approx(to_middle, abs=2e-4)


def droop(rise: float = 0.0, *, length: float = 800.0) -> RowProof:
    """J-30: t 18 in openings 18.5 high, boards of 18, the second board's near face 364 past the first's far one."""
    entry = Chamfer(2.0, rise) if rise else SQUARE
    openings = (channel(18.5, 18), RowOpening(382.0, 18.0, 0.0, 18.5, entry))
    return prove([Row(length, 18.0, openings, 400.0)])[0]


def test_nose_of_a_leaf_held_by_the_first_opening_alone() -> None:
    """J-30; the printed heights have three decimals."""
    proved = droop().openings[1]
    assert proved.nose_low == pytest.approx(-9.974, abs=6e-4)
    assert proved.nose_high == pytest.approx(10.468, abs=6e-4)
    assert proved.nose_top == pytest.approx(28.474, abs=6e-4)
    assert proved.margin == pytest.approx(-9.974, abs=6e-4)
    assert (proved.catch_low, proved.catch_high) == (0.0, 18.5)
    assert proved.snag is not None
    assert abs(proved.snag.tilt) == pytest.approx(0.027396, abs=6e-7)


def test_lead_in_has_to_exceed_the_droop() -> None:
    """J-31: 364·tan(1.5696 degrees) = 9.974 mm."""
    need = 364 * tan(greatest_tilt_by_formula(18, 18.5, 18))
    assert droop(need - 1e-4).verdict == "needs-steering"
    assert droop(need + 1e-4).verdict == "guides-itself"
    assert droop(need).openings[1].margin == pytest.approx(0, abs=1e-9)
    assert droop(need).verdict == "guides-itself", "a margin of exactly 0 still guides"


@pytest.mark.parametrize(
    ("step", "level", "best", "slope"),
    [(0.5, 18.5, 18.9764, 0.001309), (1.0, 18.0, 18.9528, 0.002618), (2.0, 17.0, 18.9055, 0.005236)],
)
@pytest.mark.parametrize("sign", [1, -1])
def test_stepped_openings_have_more_room_for_a_tilted_leaf(
    step: float, level: float, best: float, slope: float, sign: int
) -> None:
    """J-32: both 19 high, boards of 18, 364 apart; the window is measured square to the leaf."""
    low = sign * step
    openings = (channel(19.0, 18), RowOpening(382.0, 18.0, low, low + 19.0))
    leaf = Row(900.0, 18.0, openings, 420.0)
    flat = Stances(profiles((leaf,)), ONE, np.array([420.0])).room(np.zeros(1))
    assert (flat[1] - flat[0])[0] + 18 == pytest.approx(level, abs=1e-9)
    proof = prove([leaf])[0]
    assert proof.fit_margin is not None
    assert proof.fit is not None
    assert proof.fit.tilt == pytest.approx(sign * slope, abs=6e-7)
    assert 2 * proof.fit_margin * cos(proof.fit.tilt) + 18 == pytest.approx(best, abs=6e-5)
    assert proof.verdict != "does-not-pass"
    assert {(one.opening, one.side) for one in proof.edges} >= (
        {(0, "upper"), (1, "lower")} if sign > 0 else {(0, "lower"), (1, "upper")}
    )


def test_chamfer_catches_its_width_and_half_the_clearance() -> None:
    """J-33: r 5, R 5.2, 1 mm at 45 degrees: 1.2 mm to either side; simulated insertions: 1 mm in, 2 mm stuck."""
    opening = RowOpening(50.0, 20.0, 0.0, 10.4, Chamfer(1.0, 1.0))
    proved = prove([Row(100.0, 10.0, (channel(30.0, 20), opening), 70.0)])[0].openings[1]
    assert proved.catch_low is not None
    assert proved.catch_high is not None
    assert (proved.catch_high - 10 - proved.catch_low) / 2 == pytest.approx(1.2, abs=1e-12)


@settings(max_examples=50, deadline=None, derandomize=True)
@given(
    st.floats(3, 40),
    st.floats(0.01, 0.04),
    st.floats(20, 300),
    st.floats(10, 400),
    st.sampled_from([1, 2, 3]),
)
def test_tip_past_level_equal_openings(t: float, share: float, w: float, gap: float, count: int) -> None:
    """Guided length w, clearance k, gap G: tip in -kG/w ... k + kG/w to first order; a chamfer of kG/w is safe.

    Exactly it is G·tan(tilt) with J-02's tilt; h - t/cos = w·tan, so the first order is off by less than t·tan²/2w a mm
    of gap (1/cos - 1 < tan²/2).
    """
    k = share * w * 0.2
    h = t + k
    board = w / (2 * count - 1)
    openings = tuple(channel(h, board, 2 * number * board) for number in range(count))
    exact = gap * tan(greatest_tilt_by_formula(t, h, w))
    rows = [
        Row(
            3 * w + gap,
            t,
            (*openings, RowOpening(w + gap, board, 0.0, h, Chamfer(board / 4, rise) if rise else SQUARE)),
            w + gap + board,
        )
        for rise in (0.0, exact * (1 - 1e-6) - 1e-6, exact * (1 + 1e-6) + 1e-6)
    ]
    square, short, enough = prove(rows)
    proved = square.openings[-1]
    assert proved.nose_low == pytest.approx(-exact, abs=1e-8)
    assert proved.nose_top == pytest.approx(h + exact, abs=1e-8)
    first_order = k * gap / w
    assert 0 <= first_order - exact <= gap * t * (k / w) ** 2 / (2 * w) + 1e-9
    verdicts = [proof.openings[-1].verdict for proof in (square, short, enough)]
    assert verdicts == ["needs-steering", "needs-steering", "guides-itself"]


def room_by_program(leaf: Row, depth: float, slope: float) -> float:
    """The most room with the places that bound the leaf at this slope, mm: a linear program in c, s and the room.

    -t·sqrt(1 + s²) is concave, so tangents to it bound it from above: one more is added where the last program had its
    optimum, until that is on the curve (J. E. Kelley, The cutting-plane method, J. SIAM 8 (1960) 703-712).
    """
    corners = row_samples.leaf_corners(leaf, np.array([depth]), np.zeros(1), np.array([atan(slope)]))[0]
    t, rows, limits = leaf.thickness, [], []
    for side, ends in ((-1, corners[[0, 2], 0]), (1, corners[[5, 3], 0])):
        for one in leaf.openings:
            edge = row_samples.outline(one, side)
            if edge is None:
                continue
            inside = [x for x in ends if one.face <= x <= one.end]
            places = [*(x for x in edge[:, 0] if ends[0] <= x <= ends[1]), *inside]
            for x in places:
                z = float(np.interp(x, edge[:, 0], edge[:, 1]))
                # c + s·x >= z below; c + s·x + thick + room <= z above
                rows.append([-1.0, -x, 0.0, 0.0] if side < 0 else [1.0, x, 1.0, 1.0])
                limits.append(-z if side < 0 else z)
    at, wide = 0.0, [(None, None), (-1.0, 1.0), (None, None), (None, None)]
    for _ in range(60):
        secant = hypot(1.0, at)
        # thick >= its tangent at the slope of the last optimum
        rows.append([0.0, t * at / secant, 0.0, -1.0])
        limits.append(t * at * at / secant - t * secant)
        found = linprog([0, 0, -1, 0], A_ub=rows, b_ub=limits, bounds=wide, method="highs")
        if found.status == 3:  # unbounded: on one side there is no wood
            return np.inf
        assert found.status == 0
        _, at, room, thick = found.x
        if t * hypot(1.0, at) - thick < 1e-7:
            return float(room)
    raise AssertionError("the program does not settle")


def square_row(random: Random, *, one_sided: float = 0.0) -> Row:
    """Without chamfers: what bounds the leaf does not move when it tilts, but for its corners on level lands."""
    leaf = row_samples.row(random, eased=False, one_sided=one_sided)
    openings = tuple(RowOpening(one.face, one.board, one.sill, one.head) for one in leaf.openings)
    return Row(leaf.length, leaf.thickness, openings, leaf.travel)


@pytest.mark.parametrize("seed", range(12))
def test_room_at_any_depth_is_the_optimum_of_a_linear_program(seed: int) -> None:
    """scipy's HiGHS, to the tolerance that it works to (1e-7).

    Away from the depths at which a tilt of the leaf decides what counts: the program takes that as settled.
    """
    leaf, number = square_row(Random(seed), one_sided=0.15 * (seed % 2)), 25
    depth = np.random.default_rng(seed).uniform(leaf.first, leaf.travel, number)
    slopes, rooms = Stances(profiles((leaf,)), np.zeros(number, dtype=np.intp), depth).best()
    held = np.isfinite(rooms) & (np.abs(slopes) < 0.1) & ~on_an_edge(leaf, depth, slopes, 1.0)
    assert held.any()
    expected = [room_by_program(leaf, depth[one], slopes[one]) for one in np.flatnonzero(held)]
    np.testing.assert_allclose(rooms[held], expected, rtol=0, atol=1e-6)


@pytest.mark.parametrize("seed", range(30))
def test_pose_with_the_most_room_is_better_than_those_beside_it(seed: int) -> None:
    """With chamfers, eased leads and wood on one side; rooms by the support functions."""
    leaf = row_samples.row(Random(seed), one_sided=0.2 * (seed % 2), short=seed % 3 == 0, step=2.0)
    rng, number = np.random.default_rng(seed), 12
    depth = rng.uniform(leaf.first, leaf.travel, number)
    slopes, rooms = Stances(profiles((leaf,)), np.zeros(number, dtype=np.intp), depth).best()
    low, high = row_samples.bounds(leaf, depth, slopes, ends=False)
    held, edge = np.isfinite(rooms), on_an_edge(leaf, depth, slopes)
    np.testing.assert_allclose((high - low)[held & ~edge], rooms[held & ~edge], rtol=0, atol=1e-9)
    level_low, level_high = row_samples.bounds(leaf, depth, np.zeros(number), ends=False)
    assert np.array_equal(held, np.isfinite(level_high - level_low))
    assert np.all(rooms[held] >= (level_high - level_low)[held] - 1e-9)
    for step in (1e-8, 1e-7, 1e-6):
        for beside in (slopes - step, slopes + step):
            low, high = row_samples.bounds(leaf, depth, beside, ends=False)
            kept = held & np.isfinite(high - low)
            # A corner that comes off the wood right there makes the room jump.
            assert not (kept & ~edge & (high - low > rooms + 1e-11)).any()


def on_an_edge(leaf: Row, depth: np.ndarray, slope: np.ndarray, near: float = 1e-5) -> np.ndarray:
    """(n,) bool: whether a corner of the leaf is as near to a station, mm."""
    corners = row_samples.leaf_corners(leaf, depth, np.zeros(len(depth)), np.arctan(slope))[:, :, 0]
    places = np.concatenate([row_samples.outline_x(one) for one in leaf.openings])
    return (np.abs(corners[:, :, None] - places) < near).any(axis=(1, 2))


def room_by_sampling(leaf: Row, depth: np.ndarray, found: np.ndarray) -> np.ndarray:
    """(n,) mm: the most room at each depth, by many slopes and those that were `found`."""
    slopes = np.linspace(-0.05, 0.05, 25)
    every = np.repeat(depth, len(slopes) + 1)
    tried = np.concatenate([np.tile(slopes, (len(depth), 1)), found[:, None]], axis=1).ravel()
    low, high = row_samples.bounds(leaf, every, tried, ends=False)
    return (high - low).reshape(len(depth), -1).max(axis=1)


@settings(max_examples=sampled(20, 60), deadline=None, derandomize=True)
@given(st.integers(0, 10**6), st.sampled_from(["square", "chamfered", "one-sided", "short"]))
@example(
    182, "square"
)  # tightest just before a corner at the rear leaves wood, or the nose has come in tilted
@example(357, "square")
@example(394, "chamfered")
@example(290, "chamfered")
@example(152975, "short")
@example(216, "short")
@example(58, "short")
def test_dense_depths_find_nothing_tighter_than_the_fit_margin(seed: int, kind: str) -> None:
    """At 60 depths and beside every corner's meeting with a station.

    Where two corners of the leaf move along wood at once, the tightest depth may lie between two such meetings; that is
    a product of two small slopes, here allowed 0.001 mm on lands and 0.02 mm on chamfers.
    """
    random = Random(seed)
    if kind == "square":
        leaf = square_row(random)
    else:
        one_sided = 0.2 if kind == "one-sided" else 0.0
        leaf = row_samples.row(random, one_sided=one_sided, short=kind == "short")
    # A leaf shorter than this turns about between openings that have wood on one side.
    assume(kind != "one-sided" or leaf.length > 6 * leaf.thickness)
    proof = prove([leaf])[0]
    places = np.concatenate([row_samples.outline_x(one) for one in leaf.openings])
    depth = np.concatenate([places, places + leaf.length])
    depth = np.concatenate([np.linspace(leaf.first, leaf.travel, 60), depth - 1e-3, depth, depth + 1e-3])
    depth = depth[(depth >= leaf.first) & (depth <= leaf.travel)]
    slopes, _ = Stances(profiles((leaf,)), np.zeros(len(depth), dtype=np.intp), depth).best()
    sampled = room_by_sampling(leaf, depth, slopes).min() / 2
    if proof.fit_margin is None:
        assert np.isinf(sampled)
    else:
        assert proof.fit_margin <= sampled + (0.001 if kind == "square" else 0.02)
        assert proof.fit is not None
