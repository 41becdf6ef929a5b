"""Sweeps, distances and contact of two convex bodies, against libraries from outside and exact fractions.

Distances: python-fcl 0.7.0.11 where its nearest points prove its answer, else the Minkowski difference by scipy
1.17.1 (Qhull); penetration depths always by the latter, since fcl's are only as good as its EPA tolerance. Sweeps:
manifold3d 3.5.4.
"""

from __future__ import annotations

from fractions import Fraction
from random import Random

import manifold3d
import numpy as np
import pytest
from numpy.typing import NDArray

from addon.check.clearance.intervals import Moves, contact_interval
from addon.check.clearance.separation import Polytope, signed_distance, sweep
from addon.sizes.tolerances import CONTACT
from addon.wood.solids.pieces import Pieces, from_planes
from tests.convex_samples import as_pieces, body, corners, eased_board, hexagonal_prism, travel
from tests.oracles import Body, exact_separation

Floats = NDArray[np.float64]

AGREES = 1e-9
"""mm; the libraries agree far better than the 1e-6 that the checks need."""


def box(low: tuple[float, ...], high: tuple[float, ...]) -> Polytope:
    return Polytope.of(Pieces.boxes(np.array(low, dtype=float), np.array(high, dtype=float)), 0)


def same_points(a: Floats, b: Floats) -> bool:
    distances = np.linalg.norm(a[:, None] - b[None], axis=2) <= 1e-9
    return bool((distances.sum(axis=0) == 1).all() and (distances.sum(axis=1) == 1).all())


@pytest.mark.parametrize("seed", range(8))
def test_sweep_is_the_hull_of_both_ends(seed: int) -> None:
    """Same corners and volume as manifold3d's hull; facets, edges and corners fit each other (Euler)."""
    random = Random(seed)
    for _ in range(25):
        one, way = body(random, 20), travel(random, 40)
        swept = sweep(one, way)
        both = np.concatenate([one.vertices, one.vertices + way])
        hull = manifold3d.Manifold.hull_points(both)
        assert len(swept.vertices) - len(swept.edges) + len(swept.planes) == 2
        assert as_pieces(swept).volume(0) == pytest.approx(hull.volume(), rel=1e-10)
        theirs = np.array(hull.to_mesh64().vert_properties)[:, :3]  # may hold points amid an edge as well
        assert (np.linalg.norm(swept.vertices[:, None] - theirs, axis=2).min(axis=1) < 1e-9).all()
        assert (both @ swept.planes[:, :3].T - swept.planes[:, 3]).max() < 1e-9
        heights = swept.vertices @ swept.planes[:, :3].T - swept.planes[:, 3]
        for ends, sides in zip(swept.edges, swept.edge_planes, strict=True):
            assert sides[0] != sides[1]
            assert np.abs(heights[ends][:, sides]).max() < 1e-9


def test_a_board_along_itself_sweeps_a_longer_board() -> None:
    planes = eased_board(900, 365, 17.7, 3)
    board = Polytope.of(from_planes([planes], [""]), 0)
    planes[0, 3] += 250
    longer = Polytope.of(from_planes([planes], [""]), 0)
    swept = sweep(board, np.array([250.0, 0, 0]))
    assert len(swept.planes) == len(longer.planes)
    assert len(swept.edges) == len(longer.edges)
    assert same_points(swept.vertices, longer.vertices)
    assert same_points(swept.planes, longer.planes)
    assert sweep(board, np.zeros(3)) is board


def test_a_sweep_can_be_swept_again() -> None:
    """Two moves fill the parallelogram between them: volume by manifold3d's hull of all four ends."""
    random = Random(11)
    for _ in range(20):
        one, first, second = body(random, 5), travel(random, 20), travel(random, 20)
        swept = sweep(sweep(one, first), second)
        ends = [one.vertices + i * first + j * second for i in (0, 1) for j in (0, 1)]
        hull = manifold3d.Manifold.hull_points(np.concatenate(ends))
        assert as_pieces(swept).volume(0) == pytest.approx(hull.volume(), rel=1e-10)


@pytest.mark.parametrize("seed", range(10))
def test_signed_distance_against_outside_libraries(seed: int) -> None:
    random = Random(100 + seed)
    overlaps = 0
    for _ in range(40):
        a, b = body(random, 18), body(random, 18)
        if random.random() < 0.5:
            a = sweep(a, travel(random, 30))
        ours = signed_distance(a, b)
        theirs = Body(a.vertices).distance(Body(b.vertices))
        assert ours.distance == pytest.approx(theirs, abs=AGREES)
        overlaps += theirs < 0
        # The answer proves itself: points on both surfaces, so far apart, along the axis.
        np.testing.assert_allclose(ours.point_b, ours.point_a + ours.distance * ours.axis, atol=1e-9)
        assert np.linalg.norm(ours.axis) == pytest.approx(1, abs=1e-12)
        for one, point in ((a, ours.point_a), (b, ours.point_b)):
            assert (one.planes[:, :3] @ point - one.planes[:, 3]).max() == pytest.approx(0, abs=1e-8)
        other_way = signed_distance(b, a)
        assert other_way.distance == pytest.approx(ours.distance, abs=1e-11)
    assert 2 < overlaps < 38


def test_moving_apart_by_the_depth_leaves_them_touching() -> None:
    """By Qhull's Minkowski difference: distance 0 after the move, overlap before its end."""
    random = Random(4)
    seen = 0
    while seen < 25:
        a, b = body(random, 8), body(random, 8)
        found = signed_distance(a, b)
        if found.distance < -0.01:
            seen += 1
            out = -found.distance * found.axis
            assert Body(a.vertices).distance_by_difference(Body(b.vertices + out)) == pytest.approx(
                0, abs=1e-9
            )
            assert Body(a.vertices).distance_by_difference(Body(b.vertices + 0.99 * out)) < 0


@pytest.mark.parametrize("seed", range(4))
def test_signed_distance_of_boxes_in_exact_fractions(seed: int) -> None:
    """Boxes turned by the 3-4-5 triangle have rational corners: all directions in `fractions`."""
    random = Random(seed)
    turn = np.array([[3, 4, 0], [-4, 3, 0], [0, 0, 5]]) / 5 if seed % 2 else np.eye(3)
    for _ in range(6):
        sizes = [[Fraction(random.randrange(1, 160), 8) for _ in range(3)] for _ in range(2)]
        places = [[Fraction(random.randrange(-80, 80), 8) for _ in range(3)] for _ in range(2)]
        a, b = (
            Pieces.boxes(np.zeros(3), np.array(size, dtype=float)).transformed(
                axes, np.array(place, dtype=float)
            )
            for size, place, axes in zip(sizes, places, (np.eye(3), turn), strict=True)
        )
        ours = signed_distance(Polytope.of(a, 0), Polytope.of(b, 0)).distance
        exact = exact_separation(a.vertices.tolist(), b.vertices.tolist())
        if exact <= 0:
            assert ours == pytest.approx(exact, abs=1e-12)
        else:
            assert ours >= exact - 1e-12
            gaps = [_exact_gap(a.vertices[:, k], b.vertices[:, k]) for k in range(3)]
            if seed % 2 == 0:
                assert ours == pytest.approx(float(sum(g * g for g in gaps)) ** 0.5, abs=1e-12)


def _exact_gap(a: Floats, b: Floats) -> Fraction:
    gap = max(Fraction(b.min()) - Fraction(a.max()), Fraction(a.min()) - Fraction(b.max()))
    return max(gap, Fraction(0))


@pytest.mark.parametrize(
    ("low", "high", "distance", "axis"),
    [
        ((11, 2, 3), (12, 4, 5), 1.0, (1, 0, 0)),  # face to face
        ((11, 12, 3), (20, 20, 5), 5**0.5, None),  # edge to edge
        ((11, 12, 13), (20, 20, 20), 14**0.5, None),  # corner to corner
        ((10, 2, 3), (12, 4, 5), 0.0, (1, 0, 0)),  # faces touch
        ((10, 10, 10), (12, 12, 12), 0.0, None),  # corners touch
        ((9, 2, 3), (30, 4, 5), -1.0, (1, 0, 0)),  # overlap
        ((2, 3, 4), (3, 4, 4.5), -3.0, None),  # wholly inside: nearest way out is through x or y low
    ],
)
def test_boxes_by_hand(low: tuple, high: tuple, distance: float, axis: tuple | None) -> None:
    ours = signed_distance(box((0, 0, 0), (10, 10, 10)), box(low, high))
    assert ours.distance == pytest.approx(distance, abs=1e-14)
    if axis is not None:
        np.testing.assert_allclose(ours.axis, axis, atol=1e-14)


def test_touching_faces_are_neither_apart_nor_overlapping() -> None:
    """Faces in one plane at whatever slant: within 1e-12 of zero, the contact tolerance being 1e-6."""
    random = Random(8)
    for _ in range(40):
        one = body(random, 200)
        facet = random.randrange(len(one.planes))
        normal, offset = one.planes[facet, :3], one.planes[facet, 3]
        mirror = np.eye(3) - 2 * np.outer(normal, normal)
        planes = np.column_stack([one.planes[:, :3] @ mirror, one.planes[:, 3]])
        planes[:, 3] += planes[:, :3] @ (2 * offset * normal)
        other = Polytope(one.vertices @ mirror + 2 * offset * normal, planes, one.edges, one.edge_planes)
        assert abs(signed_distance(one, other).distance) < 1e-12
        assert contact_interval(one, np.zeros(3), other) is None
        beyond = other.translated(-2 * CONTACT * normal)
        assert signed_distance(one, beyond).distance == pytest.approx(-2 * CONTACT, abs=1e-12)


def test_the_answer_is_the_same_far_from_the_origin() -> None:
    random = Random(9)
    for _ in range(60):
        a, b = body(random, 18), body(random, 18)
        away = np.array([random.uniform(-1e5, 1e5) for _ in range(3)])
        here, there = signed_distance(a, b), signed_distance(a.translated(away), b.translated(away))
        assert there.distance == pytest.approx(here.distance, abs=1e-8)


@pytest.mark.parametrize("seed", range(6))
def test_contact_interval_against_the_minkowski_difference(seed: int) -> None:
    """Qhull: overlap by just the contact tolerance at both ends of the interval, deeper within, none outside."""
    random = Random(200 + seed)
    seen = 0
    while seen < 12:
        a, b, way = body(random, 25), body(random, 25), travel(random, 60)
        found = contact_interval(a, way, b)

        def depth(s: float, a: Polytope = a, b: Polytope = b, way: Floats = way) -> float:
            return Body(a.vertices + s * way).distance_by_difference(Body(b.vertices))

        if found is None:
            assert min(depth(s) for s in np.linspace(0, 1, 9)) > -CONTACT - 1e-9
            continue
        seen += 1
        start, end = found
        assert 0 <= start < end <= 1
        assert depth((start + end) / 2) < -CONTACT
        assert start == 0 or depth(start) == pytest.approx(-CONTACT, abs=1e-9)
        assert end == 1 or depth(end) == pytest.approx(-CONTACT, abs=1e-9)


@pytest.mark.parametrize("seed", range(4))
def test_many_moves_at_once_against_the_minkowski_difference(seed: int) -> None:
    """Qhull, as above, for pairs of a set with offsets: also bodies with many facets beside such with few."""
    random = Random(300 + seed)
    bodies = [body(random, 12) for _ in range(10)]
    moves = Moves(Pieces.concatenate([as_pieces(one) for one in bodies]))
    i, j = np.nonzero(~np.eye(len(bodies), dtype=bool))
    ways = np.array([travel(random, 60) for _ in i])
    offsets = np.array([travel(random, 20) for _ in i])
    begin, end = np.zeros(len(i)), np.ones(len(i))
    for how in (moves.by_facets, moves.by_edges):
        first, last = how(i, j, ways, offsets)
        begin, end = np.maximum(begin, first), np.minimum(end, last)
    assert 8 <= (begin < end).sum() <= 80
    for at in range(len(i)):

        def depth(s: float, at: int = at) -> float:
            moved = Body(bodies[i[at]].vertices + offsets[at] + s * ways[at])
            return moved.distance_by_difference(Body(bodies[j[at]].vertices))

        if begin[at] >= end[at]:
            assert min(depth(s) for s in np.linspace(0, 1, 9)) > -CONTACT - 1e-9
            continue
        assert depth((begin[at] + end[at]) / 2) < -CONTACT
        assert begin[at] == 0 or depth(begin[at]) == pytest.approx(-CONTACT, abs=1e-9)
        assert end[at] == 1 or depth(end[at]) == pytest.approx(-CONTACT, abs=1e-9)


def test_contact_interval_by_hand() -> None:
    """A 10 mm cube 5 mm off is met after 5 of 40 mm and left after 35 of 40."""
    cube, block = box((0, 0, 0), (10, 10, 10)), box((15, 2, 2), (35, 4, 4))
    way = np.array([40.0, 0, 0])
    start, end = contact_interval(cube, way, block, deeper_than=0.0)
    assert (start, end) == pytest.approx((5 / 40, 35 / 40), abs=1e-15)
    start, end = contact_interval(cube, way, block)
    assert (start, end) == pytest.approx(((5 + CONTACT) / 40, (35 - CONTACT) / 40), abs=1e-15)
    assert contact_interval(cube, way, block.translated(np.array([0, 8.0, 0]))) is None
    assert contact_interval(cube, way, block.translated(np.array([0, 7.9, 0]))) is not None
    assert contact_interval(cube, np.array([5.0, 0, 0]), block) is None
    # nearer than 1 mm: a negative depth
    start, end = contact_interval(cube, way, block, deeper_than=-1.0)
    assert (start, end) == pytest.approx((4 / 40, 36 / 40), abs=1e-15)


def test_hexagonal_prisms_make_a_panel_with_an_opening() -> None:
    """Four chamfered prisms: their flares are 45° planes, so a box there is nearest to those."""
    below = Polytope.of(from_planes([hexagonal_prism(100, 20, 18, 3)], [""]), 0)
    s = 0.5**0.5
    for z, distance in ((1.0, (3 - 1) * s - s), (9.0, 1.0)):
        probe = (
            corners((40, -2, z), (60, -1, z + 0.5)) if z == 9.0 else corners((40, 0.0, z - 1.0), (60, 1.0, z))
        )
        ours = signed_distance(box(tuple(probe.min(axis=0)), tuple(probe.max(axis=0))), below).distance
        theirs = Body(probe).distance(Body(below.vertices))
        assert ours == pytest.approx(theirs, abs=AGREES)
        assert ours == pytest.approx(distance, abs=1e-12)


def test_directions_stand_for_all_edges_and_hardly_any_twice() -> None:
    board = Polytope.of(from_planes([eased_board(900, 365, 17.7, 3, 10)], [""]), 0)
    along = board.vertices[board.edges[:, 1]] - board.vertices[board.edges[:, 0]]
    along /= np.linalg.norm(along, axis=1)[:, None]
    same = np.linalg.norm(np.cross(along[:, None], board.directions[None]), axis=2) < 1e-9
    assert same.any(axis=1).all()
    assert 1 + 2 * 9 <= len(board.directions) <= 25
