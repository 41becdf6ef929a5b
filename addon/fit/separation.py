"""One convex body, and what two of them can tell: how far apart, how deep in each other, when they meet.

The signed distance of two convex bodies is the largest gap between their shadows over all directions, whether
they are apart (the distance) or overlap (minus the shortest way out). For polytopes that overlap, the best
direction is a facet normal of either or a cross product of two edges (the facets of their Minkowski
difference); apart, the nearest points may also be two vertices, or a vertex and an edge. (Ericson, Real-Time
Collision Detection, 2005, 5.1.9 and 5.2.1; Gottschalk, Lin and Manocha, SIGGRAPH 1996, for the directions.)
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from ..model.tolerances import ANGLE, CONTACT, WELD

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from .polytope import Polytope

    Floats = NDArray[np.float64]


class Separation(NamedTuple):
    """How two bodies A and B lie to each other.

    Parameters
    ----------
    distance : mm; negative when they overlap: minus the length of the shortest move that takes them apart
    axis : (3,) float, unit; from A to B. Where they overlap, moving B by -distance along it takes them apart.
    point_a, point_b : (3,) float, mm; the nearest points when apart, else the points that part last on that
        move: always point_b = point_a + distance·axis
    """

    distance: float
    axis: Floats
    point_a: Floats
    point_b: Floats

    @property
    def place(self) -> Floats:
        """(3,) float, mm; half-way between both points."""
        return (self.point_a + self.point_b) / 2


def signed_distance(a: Polytope, b: Polytope) -> Separation:
    """Exact signed distance of two convex bodies, with the points where it is taken."""
    axes, gaps = _shadow_gaps(a, b)
    best = int(gaps.argmax())
    gap, axis = float(gaps[best]), axes[best]
    if gap > 0.0:
        point_a, point_b = _nearest_points(a, b, gap)
        way = point_b - point_a
        distance = float(np.sqrt(way @ way))
        return Separation(distance, way / distance if distance > WELD else axis, point_a, point_b)
    point_a, point_b = _nearest_points(a.translated(gap * axis), b, 0.0)
    return Separation(gap, axis, point_b - gap * axis, point_b)


def contact_interval(
    a: Polytope, travel: Floats, b: Polytope, deeper_than: float = CONTACT
) -> tuple[float, float] | None:
    """The part of A's straight move on which it overlaps B.

    A at `s` stands for A shifted by s·travel. The answer is the open interval of s within 0 … 1 on which the
    signed distance of A at s and B is below -`deeper_than`, or None if that is nowhere so. Each direction of
    `signed_distance` gives a gap that is linear in s, so the interval is exact.

    Parameters
    ----------
    travel : (3,) float, mm
    deeper_than : mm; by default bodies that only touch do not overlap. Negative for "nearer than".
    """
    axes, gaps = _shadow_gaps(a, b)
    closing = axes @ travel
    rest = gaps + deeper_than
    still = np.abs(closing) <= ANGLE * float(np.sqrt(travel @ travel))
    if (rest[still] >= 0).any():
        return None
    closing[still], rest[still] = np.inf, 0.0
    when = rest / closing
    start = max(0.0, float(when[closing > 0].max(initial=0.0)))
    end = min(1.0, float(when[closing < 0].min(initial=1.0)))
    return (start, end) if start < end else None


def _shadow_gaps(a: Polytope, b: Polytope) -> tuple[Floats, Floats]:
    """(K, 3) unit directions that decide, and the gap from A to B along each, (K,) mm, negative: overlap."""
    na, nb = a.planes[:, :3], b.planes[:, :3]
    gaps_a = (na @ b.vertices.T).min(axis=1) - a.planes[:, 3]
    gaps_b = (nb @ a.vertices.T).min(axis=1) - b.planes[:, 3]
    u, v = a.directions[:, None], b.directions[None]
    cross = (u[..., _NEXT] * v[..., _LAST] - u[..., _LAST] * v[..., _NEXT]).reshape(-1, 3)
    length = np.sqrt((cross * cross).sum(axis=1))
    cross = cross[length > ANGLE] / length[length > ANGLE, None]
    shadow_a, shadow_b = cross @ a.vertices.T, cross @ b.vertices.T
    ahead = shadow_b.min(axis=1) - shadow_a.max(axis=1)
    behind = shadow_a.min(axis=1) - shadow_b.max(axis=1)
    return np.concatenate([na, -nb, cross, -cross]), np.concatenate([gaps_a, gaps_b, ahead, behind])


_NEXT, _LAST = [1, 2, 0], [2, 0, 1]


def _nearest_points(a: Polytope, b: Polytope, at_least: float) -> tuple[Floats, Floats]:
    """Nearest points of two bodies that are apart or touch; `at_least` is a lower bound of their distance.

    Candidates are all pairs of a vertex and an edge, of a vertex and the facet above which it lies, and of
    two edges. An edge pair is only looked at when both edges come near enough to the other body's bounding
    box.
    """
    best = min(_vertex_and_edge(a, b), _swapped(_vertex_and_edge(b, a)), key=_first)
    if best[0] > at_least + WELD / 1000:
        best = min(best, _vertex_and_facet(a, b), _swapped(_vertex_and_facet(b, a)), key=_first)
    if best[0] > at_least + WELD / 1000:
        best = min(best, _two_edges(a, b, best[0]), key=_first)
    return best[1], best[2]


_Near = tuple[float, "Floats", "Floats"]


def _first(near: _Near) -> float:
    return near[0]


def _swapped(near: _Near) -> _Near:
    return near[0], near[2], near[1]


_NONE: _Near = (np.inf, np.zeros(3), np.zeros(3))


def _vertex_and_edge(a: Polytope, b: Polytope) -> _Near:
    """Nearest vertex of A and point on an edge of B."""
    start = b.vertices[b.edges[:, 0]]
    along = b.vertices[b.edges[:, 1]] - start
    off = a.vertices[:, None] - start
    t = (off * along).sum(axis=2) / (along * along).sum(axis=1)
    np.clip(t, 0.0, 1.0, out=t)
    off -= t[:, :, None] * along
    square = (off * off).sum(axis=2)
    i, j = np.unravel_index(square.argmin(), square.shape)
    return float(np.sqrt(square[i, j])), a.vertices[i], start[j] + t[i, j] * along[j]


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
        return _NONE
    i = int(np.where(inside, np.abs(height), np.inf).argmin())
    return abs(float(height[i])), a.vertices[i], feet[i]


def _two_edges(a: Polytope, b: Polytope, nearer_than: float) -> _Near:
    """Nearest points inside an edge of A and inside an edge of B."""
    start_a, along_a = _edges_near(a, b, nearer_than)
    start_b, along_b = _edges_near(b, a, nearer_than)
    if not len(start_a) or not len(start_b):
        return _NONE
    off = start_a[:, None] - start_b
    aa, bb, ab = (
        (along_a * along_a).sum(axis=1)[:, None],
        (along_b * along_b).sum(axis=1),
        along_a @ along_b.T,
    )
    ar, br = (off * along_a[:, None]).sum(axis=2), (off * along_b).sum(axis=2)
    square_sine = aa * bb - ab * ab
    crossing = square_sine > ANGLE * aa * bb
    square_sine[~crossing] = 1.0
    s, t = (ab * br - bb * ar) / square_sine, (aa * br - ab * ar) / square_sine
    crossing &= (s >= 0) & (s <= 1) & (t >= 0) & (t <= 1)
    off += s[:, :, None] * along_a[:, None] - t[:, :, None] * along_b
    square = np.where(crossing, (off * off).sum(axis=2), np.inf)
    i, j = np.unravel_index(square.argmin(), square.shape)
    point_a, point_b = start_a[i] + s[i, j] * along_a[i], start_b[j] + t[i, j] * along_b[j]
    return float(np.sqrt(square[i, j])), point_a, point_b


def _edges_near(a: Polytope, b: Polytope, nearer_than: float) -> tuple[Floats, Floats]:
    """Starts and directions of the edges of A that come nearer than this to the bounding box of B."""
    ends = a.vertices[a.edges]
    reach = nearer_than + WELD
    near = (ends.min(axis=1) <= b.vertices.max(axis=0) + reach) & (
        ends.max(axis=1) >= b.vertices.min(axis=0) - reach
    )
    ends = ends[near.all(axis=1)]
    return ends[:, 0], ends[:, 1] - ends[:, 0]
