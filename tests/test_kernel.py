"""Slides past standing parts and overlaps of parts, against libraries from outside (see `oracles`) and by hand.

Distances: python-fcl 0.7.0.11 where its answer proves itself, else Qhull's Minkowski difference (scipy 1.17.1), which
also gives every depth; sweeps and unions: manifold3d 3.5.4.
"""

from __future__ import annotations

from itertools import combinations
from random import Random

import manifold3d
import numpy as np
import pytest
from numpy.typing import NDArray

from addon.check.clearance.broad import crossing_boxes
from addon.check.clearance.kernel import (
    Mover,
    Run,
    Runs,
    Slide,
    StaticScene,
    part_gap,
    slide_clearances,
    static_overlaps,
)
from addon.sizes.tolerances import CONTACT
from addon.wood.solids.pieces import Pieces, from_planes
from tests.convex_samples import eased_board, hexagonal_prism, pieces, travel
from tests.oracles import Body, smallest_distance

Floats = NDArray[np.float64]

AGREES = 1e-6


def boxes(*corners: tuple[tuple[float, ...], tuple[float, ...]]) -> Pieces:
    return Pieces.boxes(*(np.array(side, dtype=float) for side in zip(*corners, strict=True)))


def alone(mover: Pieces, way: tuple[float, ...], static: Pieces) -> Slide:
    """A slide past one part."""
    return slide_clearances(mover, np.array(way, dtype=float), static, np.zeros(len(static), dtype=int))


def bodies(some: Pieces) -> list[Body]:
    return [Body(some.piece(i)) for i in range(len(some))]


# -- random scenes against the libraries -------------------------------------------------------------------------

Scene = tuple[Pieces, NDArray[np.intp], Pieces, Floats, Floats]


def scene(seed: int) -> Scene:
    """Standing pieces, their owners (out of order, part 5 without pieces), a mover, its start and its travel."""
    random = Random(f"scene {seed}")
    static = pieces(random, 24, 70)
    owner = np.array([random.choice([0, 1, 2, 3, 4, 6, 7]) for _ in range(24)])
    mover = pieces(random, random.randrange(1, 4), 12)
    start = np.array([random.uniform(-20, 20) for _ in range(3)])
    return static, owner, mover, start, travel(random, 70)


def reference(case: Scene, part: int) -> float:
    static, owner, mover, start, way = case
    sweeps = [body.swept(start, start + way) for body in bodies(mover)]
    return smallest_distance(sweeps, bodies(static.select(np.flatnonzero(owner == part))))


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("threshold", [0.0, 15.0])
def test_clearances_of_random_scenes(seed: int, threshold: float) -> None:
    case = scene(seed)
    static, owner, mover, start, way = case
    skipped = int(owner[0])
    slide = StaticScene(static, owner, 9).slide(Mover(mover), way, start, threshold, skip={skipped})
    parts = sorted(set(owner.tolist()) - {skipped})
    theirs = {part: reference(case, part) for part in parts}
    nearest = min(theirs.values())
    for part in range(9):
        if part not in parts:
            assert slide.clearance[part] == np.inf
            assert not slide.exact[part]
        elif slide.exact[part]:
            assert slide.clearance[part] == pytest.approx(theirs[part], abs=AGREES)
        else:
            assert max(threshold, nearest) - AGREES <= slide.clearance[part] <= theirs[part] + AGREES
    for part in parts:
        if theirs[part] < max(threshold, nearest) + 1e-9:
            assert slide.exact[part]
    assert theirs[slide.tightest()] == pytest.approx(nearest, abs=AGREES)


@pytest.mark.parametrize("seed", range(12, 24))
def test_place_and_moment_of_random_scenes(seed: int) -> None:
    """At that moment, and not before, the libraries find the mover as near as it gets (or starting to overlap)."""
    case = scene(seed)
    static, owner, mover, start, way = case
    slide = StaticScene(static, owner).slide(Mover(mover), way, start, threshold=12.0)
    for part in np.flatnonzero(slide.exact).tolist():
        found = slide.contact(part)
        standing = bodies(static.select(np.flatnonzero(owner == part)))

        def at(fraction: float, standing: list[Body] = standing) -> float:
            moved = mover.translated(start + fraction * way)
            return smallest_distance(bodies(moved), standing)

        assert found.part == part
        assert owner[found.piece] == part
        assert found.clearance == slide.clearance[part]
        assert 0 <= found.fraction <= 1
        before = found.fraction - 1e-4
        if found.clearance > CONTACT:
            assert at(found.fraction) == pytest.approx(found.clearance, abs=AGREES)
            assert before < 0 or at(before) > found.clearance + 1e-12
            assert np.linalg.norm(found.on_part - found.on_mover) == pytest.approx(
                found.clearance, abs=AGREES
            )
        elif found.clearance < -CONTACT:
            assert at(found.fraction) < CONTACT
            assert before < 0 or at(before) > -CONTACT
        moved = mover.translated(start + found.fraction * way).select([found.mover_piece])
        assert moved.contains(found.on_mover, 1e-5).all()
        assert static.select([found.piece]).contains(found.on_part, 1e-5).all()
        np.testing.assert_allclose(found.place, (found.on_part + found.on_mover) / 2, atol=1e-12)


@pytest.mark.parametrize("seed", range(24, 30))
def test_several_runs_at_once_are_the_same_as_one_by_one(seed: int) -> None:
    cases = [scene(seed + 100 * k) for k in range(3)]
    standing = StaticScene(cases[0][0], cases[0][1])
    runs = [Run(Mover(mover), way, start, {k}) for k, (_, _, mover, start, way) in enumerate(cases)]
    for run, slide in zip(runs, standing.slides(runs, 8.0), strict=True):
        single = standing.slide(run.mover, run.travel, run.start, 8.0, run.skip)
        np.testing.assert_allclose(slide.clearance[slide.exact], single.clearance[slide.exact], atol=1e-9)
        np.testing.assert_array_equal(
            slide.exact & (slide.clearance < 8), single.exact & (single.clearance < 8)
        )
        assert slide.tightest() == single.tightest()


@pytest.mark.parametrize("seed", range(30, 38))
def test_overlaps_of_random_parts(seed: int) -> None:
    """Every pair of pieces of different parts by Qhull's Minkowski difference."""
    random = Random(f"overlaps {seed}")
    static = pieces(random, 30, 45)
    owner = np.array([random.randrange(9) for _ in range(30)])
    theirs: dict[tuple[int, int], float] = {}
    for i, j in combinations(range(30), 2):
        pair = min(owner[i], owner[j]), max(owner[i], owner[j])
        if pair[0] != pair[1]:
            depth = -Body(static.piece(i)).distance_by_difference(Body(static.piece(j)))
            if depth > CONTACT:
                theirs[pair] = max(depth, theirs.get(pair, 0.0))
    ours = static_overlaps(StaticScene(static, owner))
    assert [(one.a, one.b) for one in ours] == sorted(theirs)
    for one in ours:
        assert one.depth == pytest.approx(theirs[one.a, one.b], abs=AGREES)
        a, b = (static.select(np.flatnonzero(owner == part)) for part in (one.a, one.b))
        assert a.contains(one.place, one.depth).all()
        assert b.contains(one.place, one.depth).all()
    skipped = {(one.a, one.b) for one in ours[::2]}
    rest = static_overlaps(StaticScene(static, owner), skipped)
    assert [(one.a, one.b, one.depth) for one in rest] == [(one.a, one.b, one.depth) for one in ours[1::2]]


@pytest.mark.parametrize("seed", range(6))
def test_gap_of_two_random_parts(seed: int) -> None:
    random = Random(f"gap {seed}")
    a, b = pieces(random, 5, 25), pieces(random, 5, 25).translated(np.array([random.uniform(0, 70), 0, 0]))
    found = part_gap(a, b)
    assert found.distance == pytest.approx(smallest_distance(bodies(a), bodies(b)), abs=AGREES)
    np.testing.assert_allclose(found.point_b - found.point_a, found.distance * found.axis, atol=1e-9)
    assert a.contains(found.point_a, 1e-8).all()
    assert b.contains(found.point_b, 1e-8).all()


def test_crossing_boxes_are_those_of_all_pairs() -> None:
    rng = np.random.default_rng(3)
    for count in (0, 1, 2, 60, 200):
        low = rng.uniform(0, 100, (3, count)).round(rng.integers(0, 2))
        high = low + rng.uniform(1, 20, (3, count)).round()
        i, j = np.triu_indices(count, 1)
        meet = (np.minimum(high[:, i], high[:, j]) - np.maximum(low[:, i], low[:, j]) > 1e-6).all(axis=0)
        found = crossing_boxes(low, high, 1e-6)
        assert set(zip(*map(np.ndarray.tolist, found), strict=True)) == set(
            zip(i[meet].tolist(), j[meet].tolist(), strict=True)
        )


# -- what sampling and surface tests miss ------------------------------------------------------------------------

LEAF = from_planes([eased_board(921.6, 364.9, 17.7, 3.0)], ["leaf"])


def test_a_half_millimeter_shim_in_the_way() -> None:
    """0.5 mm thin across the travel, anywhere on the way: found, and met where it stands."""
    for x in np.linspace(1000, 1800, 23):
        shim = boxes(((x, 100, 5), (x + 0.5, 130, 9)))
        slide = alone(LEAF, (1000, 0, 0), shim)
        # The shortest way out of the whole sweep is up or down through the leaf's thickness.
        assert slide.clearance[0] == pytest.approx(-9.0, abs=1e-12)
        found = slide.contact(0)
        assert found.fraction * 1000 == pytest.approx(x - 921.6 + CONTACT, abs=1e-9)
        assert x - CONTACT <= found.on_part[0] <= x + 0.5


def test_a_screw_tip_in_the_way() -> None:
    """The point of a cone of eight sides, 1 mm in radius, 1 mm into the way from below: met at its axis."""
    sides = [(np.cos(a), np.sin(a), 1.0) for a in np.arange(8) * np.pi / 4]
    for x in (1003.3, 1234.5, 1777.7):
        cone = np.array([(*n, n[0] * x + n[1] * 200 + 1.0) for n in sides] + [(0, 0, -1, 1.0)])
        tip = from_planes([cone], ["tip"])
        np.testing.assert_allclose(tip.high[0][2], 1.0, atol=1e-9)
        slide = alone(LEAF, (1000, 0, 0), tip)
        assert slide.clearance[0] == pytest.approx(-1.0, abs=1e-9)
        # At 3 mm from the long edge the round begins; far from it the tip meets the leaf's end within its radius.
        found = slide.contact(0)
        assert x - 1 <= found.fraction * 1000 + 921.6 <= x
        lower = alone(LEAF, (1000, 0, 0), tip.translated(np.array([0, 0, -1.25])))
        assert lower.clearance[0] == pytest.approx(0.25, abs=1e-9)
        assert lower.contact(0).fraction * 1000 == pytest.approx(x - 921.6, abs=1e-6)


def test_a_leaf_wholly_inside_a_block() -> None:
    block = boxes(((-500, -500, -500), (3000, 3000, 3000)))
    slide = alone(LEAF, (1000, 0, 0), block)
    assert slide.clearance[0] == pytest.approx(-517.7, abs=1e-9)
    assert slide.contact(0).fraction == 0.0
    overlap = static_overlaps(StaticScene(Pieces.concatenate([LEAF, block]), np.array([0, 1])))
    assert [(one.a, one.b) for one in overlap] == [(0, 1)]
    assert overlap[0].depth == pytest.approx(517.7, abs=1e-9)


def test_an_obstacle_wholly_inside_the_mover() -> None:
    crumb = boxes(((400, 100, 8), (401, 101, 9)))
    slide = alone(LEAF, (0, 300, 0), crumb)
    assert slide.clearance[0] == pytest.approx(-9.0, abs=1e-9)
    assert slide.contact(0).fraction == 0.0


def test_faces_that_touch_are_at_zero_and_no_overlap() -> None:
    sill = boxes(((1000, -20, -18), (1018, 400, 0)))
    slide = alone(LEAF, (1000, 0, 0), sill)
    assert slide.clearance[0] == 0.0
    assert slide.exact[0]
    found = slide.contact(0)
    assert found.fraction * 1000 == pytest.approx(1000 - 921.6, abs=1e-9)
    np.testing.assert_array_equal(found.axis, [0, 0, -1])
    stop = boxes(((1921.6, 0, 0), (1940, 364.9, 17.7)))
    slide = alone(LEAF, (1000, 0, 0), stop)
    assert slide.clearance[0] == pytest.approx(0.0, abs=1e-12)
    assert slide.contact(0).fraction * 1000 == pytest.approx(1000, abs=1e-8)
    assert (
        static_overlaps(
            StaticScene(Pieces.concatenate([LEAF, sill.translated(np.array([-500.0, 0, 0]))]), [0, 1])
        )
        == []
    )


# -- by hand -----------------------------------------------------------------------------------------------------


def slot(gap: float, chamfer: float = 3.0) -> Pieces:
    """A rib across x at 1000 with an opening `gap` larger than the leaf all round, of chamfered prisms."""

    def bar(low: tuple[float, float], high: tuple[float, float], across: int, above: bool) -> Pieces:
        length, depth = high[1 - across] - low[1 - across], high[across] - low[across]
        prism = from_planes([hexagonal_prism(length, depth, 17.7, chamfer)], [""])
        # The prism's own y counts from the opening into the wood, its z through the rib.
        u, v = np.zeros(3), np.zeros(3)
        u[1 + (1 - across)] = 1.0
        v[1 + across] = 1.0 if above else -1.0
        origin = np.array([1000.0, 0, 0])
        origin[1 + (1 - across)] = low[1 - across]
        origin[1 + across] = low[across] if above else high[across]
        return prism.transformed(np.array([u, v, [1.0, 0, 0]]), origin)

    y, z = (-gap, 364.9 + gap), (-gap, 17.7 + gap)
    return Pieces.concatenate(
        [
            bar((y[0] - 40, z[0] - 40), (y[1] + 40, z[0]), 1, False),
            bar((y[0] - 40, z[1]), (y[1] + 40, z[1] + 40), 1, True),
            bar((y[0] - 40, z[0] - 40), (y[0], z[1] + 40), 0, False),
            bar((y[1], z[0] - 40), (y[1] + 40, z[1] + 40), 0, True),
        ]
    )


@pytest.mark.parametrize("gap", [2.0, 0.3, 0.0])
def test_a_leaf_through_a_slot(gap: float) -> None:
    """The clearance is the gap, first where the nose comes to the land, behind the entry chamfer."""
    slide = alone(LEAF, (1000, 0, 0), slot(gap))
    assert slide.clearance[0] == pytest.approx(gap, abs=1e-12)
    found = slide.contact(0)
    assert found.fraction * 1000 == pytest.approx(1003.0 - 921.6, abs=1e-6)
    assert found.on_part[0] == pytest.approx(1003.0, abs=1e-6)


def test_a_slot_too_low_stops_the_leaf_in_its_chamfer() -> None:
    """1 mm too low: a 45° chamfer of 3 mm is met 2 mm into the rib, 1 mm before its land."""
    low = slot(0.0).translated(np.array([0, 0, -1.0]))
    slide = alone(LEAF, (1000, 0, 0), low)
    assert slide.clearance[0] == pytest.approx(-1.0, abs=1e-9)
    assert slide.contact(0).fraction * 1000 == pytest.approx(1002.0 - 921.6, abs=1e-5)


def test_the_first_of_equal_ribs_is_the_tightest() -> None:
    ribs = [slot(1.5).translated(np.array([x, 0.0, 0])) for x in (500, 0, 700)]
    owner = np.repeat([0, 1, 2], 4)
    slide = slide_clearances(LEAF, np.array([1700.0, 0, 0]), Pieces.concatenate(ribs), owner, threshold=2.0)
    np.testing.assert_allclose(slide.clearance, 1.5, atol=1e-12)
    assert slide.tightest() == 1


def test_an_oblique_slide() -> None:
    """By hand: a cube moved along (1, 1, 0) passes a post at the distance of a point from a line."""
    cube, post = boxes(((0, 0, 0), (10, 10, 10))), boxes(((40, 0, -50), (60, 20, 50)))
    slide = alone(cube, (100, 100, 0), post)
    # Lower right edge of the cube along (10, 0) + t (1, 1); upper left edge of the post at (40, 20).
    assert slide.clearance[0] == pytest.approx((40 - 10 - 20) / 2**0.5, abs=1e-12)
    found = slide.contact(0)
    np.testing.assert_allclose(found.axis, np.array([1, -1, 0]) / 2**0.5, atol=1e-12)
    np.testing.assert_allclose(found.on_part[:2], [40, 20], atol=1e-9)
    assert found.fraction * 100 == pytest.approx(25, abs=1e-6)


def test_a_mover_with_a_hole_may_be_given_as_its_hull() -> None:
    """A finger hole is passed over by what was before it: manifold3d finds the same space swept."""
    hole = ((30.0, 180.0), (60.0, 210.0))
    holed = boxes(
        ((0, 0, 0), (30, 364.9, 17.7)),
        ((60, 0, 0), (921.6, 364.9, 17.7)),
        ((30, 0, 0), (60, 180, 17.7)),
        ((30, 210, 0), (60, 364.9, 17.7)),
    )
    hull = boxes(((0, 0, 0), (921.6, 364.9, 17.7)))
    way = np.array([hole[1][0] - hole[0][0] + 5, 0, 0])
    sweeps = [body.swept(np.zeros(3), way).solid for body in bodies(holed)]
    union = sum(sweeps[1:], sweeps[0])
    whole = bodies(hull)[0].swept(np.zeros(3), way).solid
    assert (whole - union).volume() == pytest.approx(0, abs=1e-6)
    random = Random(6)
    static = pieces(random, 12, 60).translated(np.array([500.0, 180, 40]))
    owner = np.arange(12)
    one = slide_clearances(holed, way, static, owner, 30.0)
    other = slide_clearances(holed, way, static, owner, 30.0, hull=hull)
    apart = one.exact & (one.clearance > CONTACT)
    np.testing.assert_array_equal(apart, other.exact & (other.clearance > CONTACT))
    np.testing.assert_allclose(one.clearance[apart], other.clearance[apart], atol=1e-9)
    assert apart.any()
    assert isinstance(whole, manifold3d.Manifold)


def test_the_result_is_the_same_far_from_the_origin() -> None:
    for seed in range(40, 46):
        static, owner, mover, start, way = scene(seed)
        away = np.array([3e4, -5e4, 1e4])
        here = StaticScene(static, owner).slide(Mover(mover), way, start, 10.0)
        there = StaticScene(static.translated(away), owner).slide(
            Mover(mover.translated(away)), way, start, 10.0
        )
        near = here.exact & (here.clearance < 10)
        assert there.exact[near].all()
        np.testing.assert_allclose(there.clearance[near], here.clearance[near], atol=1e-7)


def test_the_order_of_pieces_does_not_matter() -> None:
    static, owner, mover, start, way = scene(50)
    mixed = np.random.default_rng(1).permutation(len(static))
    one = StaticScene(static, owner).slide(Mover(mover), way, start, 10.0)
    other = StaticScene(static.select(mixed), owner[mixed]).slide(Mover(mover), way, start, 10.0)
    near = one.exact & (one.clearance < 10)
    np.testing.assert_allclose(other.clearance[near], one.clearance[near], atol=1e-12)
    for part in np.flatnonzero(near).tolist():
        assert mixed[other.contact(part).piece] == one.contact(part).piece


def test_nothing_there() -> None:
    empty = StaticScene(Pieces.empty(), np.zeros(0, dtype=int), 3)
    slide = empty.slide(Mover(LEAF), np.array([1000.0, 0, 0]))
    assert slide.clearance.tolist() == [np.inf] * 3
    assert slide.tightest() is None
    assert static_overlaps(empty) == []
    assert empty.slides([]) == []


@pytest.mark.parametrize("seed", range(60, 63))
def test_runs_prepared_once_serve_any_scene(seed: int) -> None:
    (static, owner, mover, start, way), (other, other_owner, *_) = scene(seed), scene(seed + 100)
    run = Run(Mover(mover), way, start, {1, 2})
    prepared = Runs([run, run], 9)
    for standing in (StaticScene(static, owner, 9), StaticScene(other, other_owner, 9)):
        single = standing.slide(run.mover, run.travel, run.start, 8.0, run.skip)
        for slide in (*standing.slides(prepared, 8.0), *standing.slides(prepared, 8.0)):
            np.testing.assert_array_equal(slide.clearance, single.clearance)
            np.testing.assert_array_equal(slide.exact, single.exact)
            assert slide.clearance[[1, 2]].tolist() == [np.inf] * 2
    assert StaticScene(static, owner, 9).slides(Runs([], 9)) == []


def test_edge_past_edge() -> None:
    """By hand: edges along the slide with 3 mm between them one way and 4 mm the other are 5 mm apart."""
    mover = boxes(((0, 0, 0), (100, 50, 10)))
    wedge = from_planes(
        [np.array([[-1, 0, 0, -300], [1, 0, 0, 400], [0, -1, 0, -53], [0, 0, -1, -14], [0, 1, 1, 80]])], [""]
    )
    slide = alone(mover, (500, 0, 0), wedge)
    assert slide.clearance.tolist() == [pytest.approx(5.0, abs=1e-9)]
    contact = slide.contact(0)
    assert contact.fraction == pytest.approx(200 / 500, abs=1e-9)
    np.testing.assert_allclose(contact.axis, [0, 0.6, 0.8], atol=1e-9)
    np.testing.assert_allclose(contact.on_part, [300, 53, 14], atol=1e-9)


def test_slope_below_a_flat_face() -> None:
    """By hand: a roof of 1 : 5 that slides along its ridge, begun elsewhere, does not fill its box below the board."""
    sides = [[-1, 0, 0, 0], [1, 0, 0, 100], [0, -1, 0, 0], [0, 1, 0, 20], [0, 0, -1, 0], [0, 1, 5, 100]]
    mover = Mover(from_planes([np.array(sides, dtype=float)], [""]))
    start, way = np.array([0, 0, -4.0]), np.array([500.0, 0, 0])
    standing = boxes(((300, 10, 23 - 4), (400, 20, 60)))
    slide = StaticScene(standing, np.zeros(1, dtype=int)).slide(mover, way, start)
    assert slide.clearance.tolist() == [pytest.approx((10 + 5 * 23 - 100) / np.sqrt(26), abs=1e-9)]
    np.testing.assert_allclose(slide.contact(0).axis, np.array([0, 1, 5]) / np.sqrt(26), atol=1e-9)


def test_a_lower_bound_has_no_place() -> None:
    far = boxes(((1000, 0, 20), (1010, 10, 30)), ((1000, 0, 500), (1010, 10, 510)))
    slide = slide_clearances(LEAF, np.array([1000.0, 0, 0]), far, np.array([0, 1]))
    assert slide.exact.tolist() == [True, False]
    with pytest.raises(ValueError, match="part 1 is not exact"):
        slide.contact(1)
