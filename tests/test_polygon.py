"""Triangles of flat regions against shapely (GEOS): same area, nothing twice, borders kept."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from addon.wood.meshes import polygon
from addon.wood.meshes.polygon import triangulate
from addon.wood.profiles import crosses_itself, distance_to_box, inside
from tests.large import sampled


def _check(loops: list[np.ndarray], region: shapely.Geometry, outer: int = 1) -> None:
    points = np.concatenate(loops)
    triangles = triangulate(points, [len(loop) for loop in loops])
    corners = points[triangles]
    a, b = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    areas = (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]) / 2
    assert areas.min() > 0.0
    assert areas.sum() == pytest.approx(region.area, rel=1e-12)
    assert shapely.union_all(shapely.polygons(corners)).symmetric_difference(region).area < 1e-9 * region.area
    assert len(triangles) == len(points) + 2 * (len(loops) - outer) - 2 * outer
    edges = {tuple(edge) for edge in triangles[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2).tolist()}
    assert len(edges) == 3 * len(triangles), "an edge is used twice in the same direction"
    starts = np.cumsum([0, *(len(loop) for loop in loops)])
    for start, loop in zip(starts, loops, strict=False):
        for i in range(len(loop)):
            border = (start + i, start + (i + 1) % len(loop))
            assert border in edges
            assert border[::-1] not in edges


def _star(
    rng: np.random.Generator, center: tuple[float, float], low: float, high: float, count: int
) -> np.ndarray:
    angles = (np.arange(count) + rng.uniform(-0.2, 0.2, count)) * 2 * np.pi / count
    reach = rng.uniform(low, high, count)
    return np.array(center) + np.column_stack([np.cos(angles), np.sin(angles)]) * reach[:, None]


@pytest.mark.parametrize("seed", range(sampled(1, 4)))
def test_random_regions_with_holes(seed: int) -> None:
    rng = np.random.default_rng(seed)
    for _ in range(100):
        outline = _star(rng, (0.0, 0.0), 60.0, 110.0, int(rng.integers(3, 40)))
        holes = []
        for u in range(-3, 4):
            for v in range(-3, 4):
                hole = _star(rng, (8.0 * u, 8.0 * v), 0.5, 3.9, int(rng.integers(3, 12)))
                if rng.random() < 0.4 and shapely.Polygon(outline).buffer(-0.01).contains(
                    shapely.Polygon(hole)
                ):
                    holes.append(hole[::-1])
        _check([outline, *holes], shapely.Polygon(outline, holes))


@pytest.mark.parametrize("seed", range(2))
def test_regions_on_a_grid(seed: int) -> None:
    """Whole coordinates, so that corners of many loops stand in line along both axes."""
    rng = np.random.default_rng(seed)
    square = np.array([[0, 0], [1, 0], [2, 0], [2, 2], [1, 2], [0, 2], [0, 1]], dtype=float)
    for _ in range(150):
        width, height = rng.integers(2, 8, 2)
        outline = np.array([[0, 0], [4 * width, 0], [4 * width, 4 * height], [0, 4 * height]], dtype=float)
        holes = [
            (square + (4 * u + 1, 4 * v + 1))[::-1]
            for u in range(width)
            for v in range(height)
            if rng.random() < 0.6
        ]
        _check([outline, *holes], shapely.Polygon(outline, holes))


def test_several_regions_and_an_island_in_a_hole() -> None:
    square = np.array([[0, 0], [9, 0], [9, 9], [0, 9]], dtype=float)
    hole, island = square[::-1] / 9 * 5 + 2, square / 9 + 4
    beside = square + (20, 3)
    region = shapely.MultiPolygon(
        [shapely.Polygon(square, [hole]), shapely.Polygon(island), shapely.Polygon(beside)]
    )
    _check([square, hole, island, beside], region, outer=3)


def test_rounding_does_not_bend_a_straight_line() -> None:
    """Corners that a few units in the last place part from a straight line make no slivers."""
    rng = np.random.default_rng(5)
    for _ in range(50):
        loop = np.array([[0, 0], [10, 0], [20, 0], [20, 5], [20, 10], [10, 10], [0, 10], [0, 5]], dtype=float)
        hole = np.array([[10, 3], [10, 5], [10, 7], [12, 7], [12, 3]], dtype=float)
        points = np.concatenate([loop, hole]) + rng.uniform(-1e-13, 1e-13, (13, 2))
        corners = points[triangulate(points, [8, 5])]
        a, b = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
        assert (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).min() > 1.0


@pytest.mark.parametrize("seed", range(3))
def test_a_region_that_changes_bit_by_bit_gets_the_triangles_of_a_new_one(seed: int) -> None:
    """Holes wander, so that vertices change their order now and then, and triangles found before fit or do not."""
    rng = np.random.default_rng(seed)
    outline = np.array([[0, 0], [100, 0], [100, 60], [0, 60]], dtype=float)
    shape = np.array([[0, 0], [0, 8], [3, 10], [8, 8], [8, 0]], dtype=float)
    places, speeds = np.array([[10.0, 10.0], [40.0, 30.0], [70.0, 20.0]]), rng.uniform(-0.3, 0.3, (3, 2))
    reused = 0
    for step in range(60):
        holes = [shape + np.round(place, 1 + step % 2) for place in places + speeds * (step % 13)]
        points, sizes = np.concatenate([outline, *holes]), [4, 5, 5, 5]
        known = set(map(id, polygon._known.get(tuple(sizes), ())))
        kept = triangulate(points, sizes)
        reused += known == set(map(id, polygon._known[tuple(sizes)]))
        _check([outline, *holes], shapely.Polygon(outline, holes))
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(polygon, "_known", {})
            assert (triangulate(points, sizes) == kept).all()
    assert 20 < reused < 60


def test_inside_crossing_and_distance_agree_with_shapely() -> None:
    rng = np.random.default_rng(3)
    for _ in range(200):
        loop = _star(rng, (0.0, 0.0), 2.0, 10.0, int(rng.integers(3, 15)))
        polygon = shapely.Polygon(loop)
        points = rng.uniform(-10, 10, (30, 2))
        onward = np.roll(loop, -1, axis=0)
        expected = shapely.contains_xy(polygon, points[:, 0], points[:, 1])
        assert (inside(points, loop, onward) == expected).all()
        mixed = loop[rng.permutation(len(loop))]
        assert crosses_itself(mixed) != shapely.LinearRing(mixed).is_simple
        low = rng.uniform(-12, 12, 2)
        high = low + rng.uniform(0, 5, 2)
        sides = [shapely.LineString(pair) for pair in zip(loop, onward, strict=True)]
        box = shapely.box(*low, *high)
        assert distance_to_box(loop, onward, low, high) == pytest.approx(
            [box.distance(side) for side in sides], abs=1e-9
        )
