"""How two convex bodies lie to each other: how far apart, or how deep in each other.

      apart                               overlapping
      +---+                               +-------+
      | A |                               |   A   |
      +---+ .  distance                   |    +--|----+
              . +---+                     +----|--+ B  |      the shortest move that takes them apart is along a
                | B |                          +-------+      facet's normal, or square to an edge of each
                +---+                          <-->

The signed distance of two convex bodies is the largest gap between their shadows over all directions, whether
they are apart (the distance) or overlap (minus the shortest way out). For polytopes that overlap, the best
direction is a facet normal of either or a cross product of two edges (the facets of their Minkowski
difference); apart, the nearest points may also be two vertices, or a vertex and an edge. (Ericson, Real-Time
Collision Detection, 2005, 5.1.9 and 5.2.1; Gottschalk, Lin and Manocha, SIGGRAPH 1996, for the directions.)
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property

import numpy as np

from ...sizes.arrays import Floats
from ...sizes.tolerances import ANGLE, WELD
from .polytope import Polytope


class Separation:
    """How two bodies A and B lie to each other.

    Attributes
    ----------
    distance : mm; negative when they overlap: minus the length of the shortest move that takes them apart
    axis : (3,) float, unit; from A to B. Where they overlap, moving B by -distance along it takes them apart.
    point_a, point_b : (3,) float, mm; the nearest points when apart, else the points that part last on that move:
        always point_b = point_a + distance·axis
    """

    def __init__(self, distance: float, axis: Floats, find_point_b: Callable[[], Floats]) -> None:
        self.distance, self.axis = distance, axis
        self._find_point_b = find_point_b

    @cached_property
    def point_b(self) -> Floats:
        return self._find_point_b()

    @property
    def point_a(self) -> Floats:
        return self.point_b - self.distance * self.axis

    @property
    def place(self) -> Floats:
        """(3,) float, mm; half-way between both points."""
        return self.point_b - self.distance / 2 * self.axis


def signed_distance(a: Polytope, b: Polytope) -> Separation:
    """Exact signed distance of two convex bodies; where they overlap, points are found when they are asked for."""
    facet_axes, facet_gaps = _facet_gaps(a, b)
    best = int(facet_gaps.argmax())
    gap, axis = float(facet_gaps[best]), facet_axes[best]
    if gap > 0.0:
        near = min(_vertex_and_facet(a, b), _swapped(_vertex_and_facet(b, a)), key=_first)
        if near[0] <= gap + _SAME:
            return _apart(near, axis)
    edge_axes, edge_gaps = _edge_gaps(a, b)
    if len(edge_gaps) and edge_gaps.max() > gap:
        best = int(edge_gaps.argmax())
        gap, axis = float(edge_gaps[best]), edge_axes[best]
    if gap > 0.0:
        return _apart(_nearest_points(a, b), axis)
    return Separation(gap, axis, lambda: _nearest_points(a.translated(gap * axis), b)[2])


def _apart(near: _Near, axis: Floats) -> Separation:
    distance, point_a, point_b = near
    way = point_b - point_a
    return Separation(distance, way / distance if distance > WELD else axis, lambda: point_b)


def every_gap(a: Polytope, b: Polytope) -> tuple[Floats, Floats]:
    """All directions (K, 3) of `signed_distance` for bodies that overlap, and the gap (K,) mm along each."""
    (facet_axes, facet_gaps), (edge_axes, edge_gaps) = _facet_gaps(a, b), _edge_gaps(a, b)
    return np.concatenate([facet_axes, edge_axes]), np.concatenate([facet_gaps, edge_gaps])


def _facet_gaps(a: Polytope, b: Polytope) -> tuple[Floats, Floats]:
    """(K, 3) unit axes from A to B, square to a facet, and the gaps along them, (K,) mm; negative: overlap."""
    na, nb = a.planes[:, :3], b.planes[:, :3]
    gaps_a = (b.vertices @ na.T).min(axis=0) - a.planes[:, 3]
    gaps_b = (a.vertices @ nb.T).min(axis=0) - b.planes[:, 3]
    return np.concatenate([na, -nb]), np.concatenate([gaps_a, gaps_b])


def _edge_gaps(a: Polytope, b: Polytope) -> tuple[Floats, Floats]:
    """The same for the axes square to an edge of either."""
    u, v = a.directions.T[:, :, None], b.directions.T[:, None]
    cross = np.stack([u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]])
    cross = cross.reshape(3, -1)
    length = np.sqrt((cross * cross).sum(axis=0))
    axes = cross[:, length > ANGLE] / length[length > ANGLE]
    shadow_a, shadow_b = a.vertices @ axes, b.vertices @ axes
    ahead = shadow_b.min(axis=0) - shadow_a.max(axis=0)
    behind = shadow_a.min(axis=0) - shadow_b.max(axis=0)
    return np.concatenate([axes, -axes], axis=1).T, np.concatenate([ahead, behind])


_Near = tuple[float, "Floats", "Floats"]
"""A distance and the points, of A and of B, that are so far apart."""

_SAME = WELD / 1000
"""Distances that agree to this are one; it only spares work."""


def _nearest_points(a: Polytope, b: Polytope) -> _Near:
    """Nearest points of two bodies that are apart or touch.

    Candidates are all pairs of a vertex and the facet above which it lies, and of two edges, ends included. Only
    edges that come near enough to the other body's bounding box are looked at.
    """
    best = min(_two_vertices(a, b), _vertex_and_facet(a, b), _swapped(_vertex_and_facet(b, a)), key=_first)
    ends_a, ends_b = _edges_near(a, b, best[0]), _edges_near(b, a, best[0])
    if not len(ends_a) or not len(ends_b):
        return best
    return min(
        best,
        _vertex_and_edge(ends_a, ends_b),
        _swapped(_vertex_and_edge(ends_b, ends_a)),
        _two_edges(ends_a, ends_b),
        key=_first,
    )


def _first(near: _Near) -> float:
    return near[0]


def _swapped(near: _Near) -> _Near:
    return near[0], near[2], near[1]


def _distance(point_a: Floats, point_b: Floats) -> _Near:
    way = point_b - point_a
    return float(np.sqrt(way @ way)), point_a, point_b


def _two_vertices(a: Polytope, b: Polytope) -> _Near:
    off = a.vertices.T[:, :, None] - b.vertices.T[:, None]
    i, j = divmod(int((off * off).sum(axis=0).argmin()), len(b.vertices))
    return _distance(a.vertices[i], b.vertices[j])


def _vertex_and_facet(a: Polytope, b: Polytope) -> _Near:
    """Nearest vertex of A and point inside a facet of B.

    The facet nearest to a vertex is the one whose plane it stands off the most.
    """
    normals, offsets = b.planes[:, :3], b.planes[:, 3]
    heights = a.vertices @ normals.T - offsets
    facet = heights.argmax(axis=1)
    height = heights[np.arange(len(facet)), facet]
    feet = a.vertices - height[:, None] * normals[facet]
    inside = (feet @ normals.T <= offsets + WELD).all(axis=1)
    if not inside.any():
        return np.inf, a.vertices[0], b.vertices[0]
    i = int(np.where(inside, np.abs(height), np.inf).argmin())
    return abs(float(height[i])), a.vertices[i], feet[i]


def _edges_near(a: Polytope, b: Polytope, nearer_than: float) -> Floats:
    """(E, 2, 3) mm; ends of the edges of A that come nearer than this to the bounding box of B."""
    ends = a.vertices[a.edges]
    reach = nearer_than + WELD
    low, high = b.vertices.min(axis=0) - reach, b.vertices.max(axis=0) + reach
    near = (np.minimum(ends[:, 0], ends[:, 1]) <= high) & (np.maximum(ends[:, 0], ends[:, 1]) >= low)
    return ends[near.all(axis=1)]


def _vertex_and_edge(ends_a: Floats, ends_b: Floats) -> _Near:
    """Nearest end of an edge of A and point of an edge of B."""
    points = ends_a.reshape(-1, 3)
    start = ends_b[:, 0]
    along = ends_b[:, 1] - start
    off = points.T[:, :, None] - start.T[:, None]
    t = np.clip((off * along.T[:, None]).sum(axis=0) / (along * along).sum(axis=1), 0.0, 1.0)
    off -= t * along.T[:, None]
    i, j = divmod(int((off * off).sum(axis=0).argmin()), len(start))
    return _distance(points[i], start[j] + t[i, j] * along[j])


def _two_edges(ends_a: Floats, ends_b: Floats) -> _Near:
    """Nearest points inside an edge of A and inside an edge of B."""
    start_a, start_b = ends_a[:, 0], ends_b[:, 0]
    along_a, along_b = ends_a[:, 1] - start_a, ends_b[:, 1] - start_b
    u, v = along_a.T[:, :, None], along_b.T[:, None]
    off = start_a.T[:, :, None] - start_b.T[:, None]
    aa, bb, ab = (u * u).sum(axis=0), (v * v).sum(axis=0), along_a @ along_b.T
    ar, br = (off * u).sum(axis=0), (off * v).sum(axis=0)
    square_sine = aa * bb - ab * ab
    crossing = square_sine > ANGLE * aa * bb
    square_sine[~crossing] = 1.0
    s, t = (ab * br - bb * ar) / square_sine, (aa * br - ab * ar) / square_sine
    crossing &= (s >= 0) & (s <= 1) & (t >= 0) & (t <= 1)
    off += s * u - t * v
    square = np.where(crossing, (off * off).sum(axis=0), np.inf)
    i, j = divmod(int(square.argmin()), len(start_b))
    if not crossing[i, j]:
        return np.inf, start_a[0], start_b[0]
    return _distance(start_a[i] + s[i, j] * along_a[i], start_b[j] + t[i, j] * along_b[j])
