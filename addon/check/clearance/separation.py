"""Convex bodies: what one passes through on a straight move, and how far apart two are, or how deep in each other.

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
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ...sizes.arrays import Floats, Ints
from ...sizes.tolerances import ANGLE, WELD
from ...wood.solids.pieces import Pieces


@dataclass(frozen=True, eq=False)
class Polytope:
    """A convex body.

    Parameters
    ----------
    vertices : (V, 3) float, mm
    planes : (F, 4) float; rows (nx, ny, nz, offset), outward unit normals, inside is n·x <= offset
    edges : (E, 2) int; vertex numbers
    edge_planes : (E, 2) int; the facets that meet there
    """

    vertices: Floats
    planes: Floats
    edges: Ints
    edge_planes: Ints

    @classmethod
    def of(cls, pieces: Pieces, i: int) -> Polytope:
        """Piece i of a set."""
        return cls(pieces.piece(i), pieces.piece_planes(i), *pieces.edges[i])

    @cached_property
    def directions(self) -> Floats:
        """(D, 3) float; unit vectors along the edges, one for all edges that are parallel."""
        along = self.vertices[self.edges[:, 1]] - self.vertices[self.edges[:, 0]]
        along = along / np.sqrt((along * along).sum(axis=1))[:, None]
        leading = (np.abs(along) > _ROUNDING).argmax(axis=1)
        along *= np.sign(along[np.arange(len(along)), leading])[:, None]
        rounded = np.round(along / _ROUNDING)
        order = np.lexsort(rounded.T)
        new = np.ones(len(order), dtype=bool)
        new[1:] = (rounded[order[1:]] != rounded[order[:-1]]).any(axis=1)
        return along[order[new]]

    def translated(self, offset: Floats) -> Polytope:
        """The body shifted by (3,) float, mm."""
        planes = self.planes.copy()
        planes[:, 3] += planes[:, :3] @ offset
        return Polytope(self.vertices + offset, planes, self.edges, self.edge_planes)


_ROUNDING = 10 * ANGLE
"""Directions that agree to this are one; it only spares work."""


def sweep(body: Polytope, travel: Floats) -> Polytope:
    """What a body passes through on a straight move: the convex hull of the body at both ends of it.

    Facets that look ahead go along, facets that look back stay, and where the two kinds meet (the outline of
    the body seen along the travel) the edge leaves a new facet behind it, its ends new edges. Facets along
    the travel only grow. Nothing is searched or fitted.

    Parameters
    ----------
    travel : (3,) float, mm; may be zero
    """
    advance = body.planes[:, :3] @ travel
    along = ANGLE * float(np.sqrt(travel @ travel))
    front, back = advance > along, advance < -along
    if not front.any():
        return body

    edge_planes, edges = body.edge_planes, body.edges
    leads, trails = front[edge_planes], back[edge_planes]
    has_front, has_back = leads.any(axis=1), trails.any(axis=1)
    outline = np.flatnonzero(has_front & has_back)
    ahead = np.where(leads[:, 0], edge_planes[:, 0], edge_planes[:, 1])
    behind = np.where(trails[:, 0], edge_planes[:, 0], edge_planes[:, 1])

    # The new facets: the mixture of both normals that is square to the travel.
    n1, n2 = ahead[outline], behind[outline]
    normals = advance[n1, None] * body.planes[n2, :3] - advance[n2, None] * body.planes[n1, :3]
    normals /= np.sqrt((normals * normals).sum(axis=1))[:, None]
    offsets = (normals * body.vertices[edges[outline, 0]]).sum(axis=1)
    planes = body.planes.copy()
    planes[:, 3] += np.maximum(advance, 0.0)
    planes = np.concatenate([planes, np.concatenate([normals, offsets[:, None]], axis=1)])
    new_plane = np.zeros(len(edges), dtype=np.intp)
    new_plane[outline] = len(body.planes) + np.arange(len(outline))

    # Vertices: those of back facets stay, those of front facets move, those of the outline do both.
    stays, moves = np.zeros((2, len(body.vertices)), dtype=bool)
    stays[edges[has_back]] = True
    moves[edges[has_front]] = True
    vertices = np.concatenate([body.vertices[stays], body.vertices[moves] + travel])
    stayed = np.cumsum(stays) - 1
    moved = np.cumsum(moves) - 1 + np.count_nonzero(stays)

    # Edges: the same, then those along the travel, grown or new.
    flat = np.flatnonzero(~has_front & ~has_back)
    ends = edges[flat]
    swap = ((body.vertices[ends[:, 1]] - body.vertices[ends[:, 0]]) @ travel) < 0
    ends[swap] = ends[swap][:, ::-1]
    ridge = np.flatnonzero(stays & moves)
    on_outline = np.logical_and(has_front, has_back)[:, None]
    return Polytope(
        vertices,
        planes,
        np.concatenate(
            [
                stayed[edges[has_back]],
                moved[edges[has_front]],
                np.stack([stayed[ends[:, 0]], moved[ends[:, 1]]], axis=1),
                np.stack([stayed[ridge], moved[ridge]], axis=1),
            ]
        ),
        np.concatenate(
            [
                np.where(on_outline, np.stack([behind, new_plane], axis=1), edge_planes)[has_back],
                np.where(on_outline, np.stack([ahead, new_plane], axis=1), edge_planes)[has_front],
                edge_planes[flat],
                _ridge_planes(body, ridge, outline, new_plane, ~front & ~back),
            ]
        ),
    )


def _ridge_planes(
    body: Polytope, ridge: Ints, outline: Ints, new_plane: Ints, flat: NDArray[np.bool_]
) -> Ints:
    """(R, 2) int; the two facets along the travel that meet at each vertex of the outline."""
    count = len(body.planes) + len(outline)
    sides = np.stack([np.stack([body.edges, body.edge_planes[:, [k, k]]], axis=2) for k in range(2)]).reshape(
        -1, 2
    )
    sides = sides[flat[sides[:, 1]]]
    new = np.stack([body.edges[outline], new_plane[outline, None].repeat(2, axis=1)], axis=2).reshape(-1, 2)
    vertex, plane = np.divmod(np.unique(np.concatenate([sides, new]) @ np.array([count, 1])), count)
    return np.stack(
        [plane[np.searchsorted(vertex, ridge)], plane[np.searchsorted(vertex, ridge, side="right") - 1]],
        axis=1,
    )


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
