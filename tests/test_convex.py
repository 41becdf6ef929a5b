"""Convex pieces against scipy 1.17.1 (Qhull), manifold3d 3.5.4, exact fractions and solids of known volume."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations, product
from random import Random

import manifold3d
import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.spatial import ConvexHull, HalfspaceIntersection

from addon.wood.solids.pieces import Pieces, from_planes
from tests.convex_samples import (
    assert_sound,
    box_planes,
    corners,
    cut_box,
    eased_board,
    hexagonal_prism,
    pieces,
    quarter_turned,
    same_points,
    turned,
)

Floats = NDArray[np.float64]

GOLDEN = (1 + 5**0.5) / 2


@pytest.mark.parametrize("seed", range(6))
def test_corners_of_cut_boxes_are_those_of_qhull(seed: int) -> None:
    """scipy's HalfspaceIntersection finds the same corners, ConvexHull the same volume."""
    random = Random(seed)
    sets = [cut_box(random, random.randrange(0, 20)) for _ in range(40)]
    ours = from_planes(sets, [str(i) for i in range(40)])
    assert ours.tags == tuple(str(i) for i in range(40))
    assert_sound(ours)
    for i, planes in enumerate(sets):
        found = HalfspaceIntersection(
            np.column_stack([planes[:, :3], -planes[:, 3]]), np.zeros(3)
        ).intersections
        hull = ConvexHull(found)
        assert same_points(ours.piece(i), found[hull.vertices], 1e-9)
        assert ours.volume(i) == pytest.approx(hull.volume, rel=1e-12)


def test_corners_with_whole_numbers_are_exact() -> None:
    """All triples of planes in exact fractions, feasible ones kept: the same corners to the last bits."""
    random = Random(7)
    for _ in range(12):
        planes = [tuple(map(int, plane)) for plane in box_planes((-9, -9, -9), (9, 9, 9))]
        planes += [
            (*(random.randrange(-4, 5) or 1 for _ in range(3)), random.randrange(12, 25)) for _ in range(6)
        ]
        exact = {point for three in combinations(planes, 3) if (point := _meeting(three)) is not None}
        exact = {
            p
            for p in exact
            if all(sum(n * x for n, x in zip(row, p, strict=False)) <= row[3] for row in planes)
        }
        ours = from_planes([np.array(planes, dtype=float)], [""])
        assert same_points(ours.vertices, np.array([[float(x) for x in p] for p in exact]), 1e-13)


def _meeting(planes: tuple[tuple[int, ...], ...]) -> tuple[Fraction, ...] | None:
    """The point of three planes by Cramer's rule."""
    rows = [plane[:3] for plane in planes]
    whole = _determinant(rows)
    if not whole:
        return None
    replaced = [
        [[*row[:k], plane[3], *row[k + 1 :]] for row, plane in zip(rows, planes, strict=True)]
        for k in range(3)
    ]
    return tuple(Fraction(_determinant(matrix), whole) for matrix in replaced)


def _determinant(m: list) -> int:
    return (
        m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1])
        - m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0])
        + m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0])
    )


OCTAHEDRON = [(*signs, 1) for signs in product((-1, 1), repeat=3)]
ICOSAHEDRON = [(*signs, 1) for signs in product((-1, 1), repeat=3)]
for a, b in product((-1, 1), repeat=2):
    row = (0, a / GOLDEN, b * GOLDEN)
    ICOSAHEDRON += [(*(row[(k + shift) % 3] for k in range(3)), 1) for shift in range(3)]
DODECAHEDRON = [
    (*((0, a, b * GOLDEN)[(k + shift) % 3] for k in range(3)), 1)
    for shift in range(3)
    for a, b in product((-1, 1), repeat=2)
]


@pytest.mark.parametrize(
    ("planes", "counts", "edge_to_volume"),
    [
        (OCTAHEDRON, (6, 12, 8), 2**0.5 / 3),
        (ICOSAHEDRON, (12, 30, 20), 5 * (3 + 5**0.5) / 12),
        (DODECAHEDRON, (20, 30, 12), (15 + 7 * 5**0.5) / 4),
    ],
    ids=["octahedron", "icosahedron", "dodecahedron"],
)
def test_regular_solids(planes: list, counts: tuple[int, int, int], edge_to_volume: float) -> None:
    """Four and five planes meet in each corner. Volumes by edge: CRC Standard Mathematical Tables, from memory."""
    ours = from_planes([np.array(planes, dtype=float)], [""])
    edges, _ = ours.edges[0]
    assert (len(ours.vertices), len(edges), len(ours.planes)) == counts
    assert_sound(ours)
    lengths = np.linalg.norm(ours.vertices[edges[:, 0]] - ours.vertices[edges[:, 1]], axis=1)
    np.testing.assert_allclose(lengths, lengths[0], rtol=1e-12)
    assert ours.volume(0) == pytest.approx(edge_to_volume * lengths[0] ** 3, rel=1e-12)


def test_planes_that_cut_nothing_are_dropped() -> None:
    cube = box_planes((0, 0, 0), (2, 2, 2))
    s = 0.5**0.5
    useless = [
        (1, 0, 0, 2),  # twice
        (1, 0, 0, 5),  # farther out
        (3, 0, 0, 9),  # the same, longer
        (s, s, 0, 4 * s),  # touches an edge
        (1, 2, 0, 6),  # touches the same edge
        (1, 1, 1, 6),  # touches a corner
    ]
    ours = from_planes([np.array(cube + useless, dtype=float)], ["cube"])
    assert (len(ours.vertices), len(ours.edges[0].ends), len(ours.planes)) == (8, 12, 6)
    assert same_points(ours.vertices, corners((0, 0, 0), (2, 2, 2)), 1e-13)
    assert ours.is_box.all()
    assert_sound(ours)


def test_empty_and_flat_pieces_are_dropped() -> None:
    cube = box_planes((0, 0, 0), (2, 2, 2))
    empty = np.array([*cube[:4], (0, 0, 1, 1.0), (0, 0, -1, -1.5)])
    flat = np.array([*cube[:4], (0, 0, 1, 1.0), (0, 0, -1, -1.0)])
    kept = from_planes([empty, np.array(cube), flat, np.array(cube)], ["empty", "first", "flat", "second"])
    assert kept.tags == ("first", "second")
    np.testing.assert_allclose(kept.volumes, 8, rtol=1e-14)
    assert len(from_planes([empty, flat], ["", ""])) == 0
    assert len(from_planes([], [])) == 0


def test_open_half_spaces_are_refused() -> None:
    with pytest.raises(ValueError, match="no finite body"):
        from_planes([np.array(box_planes((0, 0, 0), (1, 1, 1))[:5])], [""])


@pytest.mark.parametrize("steps", [3, 10, 14])
def test_board_with_rounded_edges_against_manifold3d(steps: int) -> None:
    board = from_planes([eased_board(921.6, 364.9, 17.7, 3.0, steps)], [""])
    assert_sound(board)
    assert len(board.planes) == 4 * (steps - 1) + 2
    hull = manifold3d.Manifold.hull_points(board.vertices)
    assert hull.num_vert() == len(board.vertices)
    assert board.volume(0) == pytest.approx(hull.volume(), rel=1e-12)
    # The area that a quarter of a regular polygon around the arc adds to the square's inner quarter.
    facets = 4 * (steps - 1)
    lost = 3.0**2 * (4 - facets * np.tan(np.pi / facets))
    assert board.volume(0) == pytest.approx(921.6 * (364.9 * 17.7 - lost), rel=1e-12)


def test_far_from_the_origin() -> None:
    """A part 100 m away has the same corners as one at the origin."""
    random = Random(3)
    away = np.array([1e5, -2e5, 3e5])
    for _ in range(20):
        planes = cut_box(random, 8)
        moved = planes.copy()
        moved[:, 3] += planes[:, :3] @ away
        here, there = from_planes([planes], [""]), from_planes([moved], [""])
        assert same_points(here.vertices, there.vertices - away, 1e-9)


def test_boxes_are_what_their_planes_enclose() -> None:
    low, high = np.array([[0, 0, 0], [-5, 2, 1]]), np.array([[1, 2, 3], [5, 2.5, 9]])
    boxes = Pieces.boxes(low, high, ["a", "b"])
    assert_sound(boxes)
    enclosed = from_planes(
        [np.array(box_planes(tuple(low[i]), tuple(high[i]))) for i in range(2)], ["a", "b"]
    )
    for i in range(2):
        assert same_points(boxes.piece(i), enclosed.piece(i), 1e-13)
        assert same_points(boxes.piece_planes(i), enclosed.piece_planes(i), 1e-13)
    assert boxes.tags == enclosed.tags == ("a", "b")
    assert boxes.is_box.all()
    assert enclosed.is_box.all()
    np.testing.assert_array_equal(boxes.low, low)
    np.testing.assert_array_equal(boxes.high, high)
    np.testing.assert_allclose(boxes.volumes, [6, 40], rtol=1e-15)


def test_only_boxes_along_the_axes_are_boxes() -> None:
    random = Random(1)
    box = Pieces.boxes(np.zeros(3), np.array([1.0, 2.0, 3.0]))
    assert box.transformed(quarter_turned(random), np.array([5.0, 6, 7])).is_box.all()
    assert not box.transformed(turned(random), np.zeros(3)).is_box.any()
    assert not from_planes([hexagonal_prism(9, 8, 7, 2)], [""]).is_box.any()


def test_moving_turning_choosing_and_joining_keep_the_pieces() -> None:
    random = Random(5)
    some = pieces(random, 12, 50).retagged([str(i) for i in range(12)])
    axes, origin = turned(random), np.array([10.0, -20, 30])
    moved = some.transformed(axes, origin).translated(-origin)
    assert_sound(moved)
    np.testing.assert_allclose(moved.volumes, some.volumes, rtol=1e-12)
    np.testing.assert_allclose(moved.vertices @ axes.T, some.vertices, atol=1e-12)
    chosen = some.select([3, 7, 3])
    assert chosen.tags == ("3", "7", "3")
    assert_sound(chosen)
    for i, number in enumerate((3, 7, 3)):
        np.testing.assert_array_equal(chosen.piece(i), some.piece(number))
        np.testing.assert_array_equal(chosen.piece_planes(i), some.piece_planes(number))
    halves = Pieces.concatenate([some.select(range(5)), some.select(range(5, 12))])
    for name in ("vertices", "starts", "planes", "plane_starts", "tags"):
        np.testing.assert_array_equal(getattr(halves, name), getattr(some, name))
    for ours, theirs in zip(halves.edges, some.edges, strict=True):
        np.testing.assert_array_equal(ours.ends, theirs.ends)
        np.testing.assert_array_equal(ours.planes, theirs.planes)
    assert len(Pieces.concatenate([Pieces.empty(), some, Pieces.empty()])) == 12


def test_points_inside() -> None:
    """Against Qhull's facets of the same corners."""
    random = Random(2)
    some = pieces(random, 6, 15)
    points = np.array([[random.uniform(-30, 30) for _ in range(3)] for _ in range(3000)])
    inside = np.zeros(len(points), dtype=bool)
    for i in range(6):
        facets = ConvexHull(some.piece(i)).equations
        inside |= (points @ facets[:, :3].T + facets[:, 3] <= 0).all(axis=1)
    np.testing.assert_array_equal(some.contains(points), inside)
    assert 100 < inside.sum() < 2900
