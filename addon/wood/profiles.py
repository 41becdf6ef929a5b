"""Plane figures: arcs as facets and edges as lines, which solids and meshes both follow, and points beside rings.

Facets touch their arc (they are tangents), so a concave arc is cut on the wood's side and a convex one stands out
of the wood, neither by more than `ARC` (at the mouth of a chamfer around a round corner, by twice that). Round edges
and round corners have the directions of their facets in common, so that an edge fits into a corner where the arcs do.

Questions about polygons in the plane of a board.
"""

from __future__ import annotations

from functools import lru_cache
from math import acos, ceil, cos, pi

import numpy as np
from numpy.typing import NDArray

from ..sizes.arrays import Floats
from ..sizes.tolerances import ARC, WELD
from .features import Bevel, EdgeTreatment, Face, Opening, Taper


@lru_cache(maxsize=256)
def steps(radius: float, sweep: float = pi / 2) -> int:
    """Number of equal steps between tangents over `sweep` radians, so that facets keep within `ARC` of the arc."""
    if radius <= WELD:
        return 1
    return max(1, ceil(sweep / (2 * acos(radius / (radius + ARC))) - 1e-12))


@lru_cache(maxsize=256)
def quarter_steps(radius: float, widest: float = 0.0) -> int:
    """Steps of a quarter arc of a round-over, or of a corner that a chamfer widens: 14, or twice that, and so on.

    So the facets of arcs of other radii have directions in common, and what fits into a round corner as arcs fits as
    facets: in each direction of a facet of the corner, the round edge has a facet too, that touches its arc.

    Parameters
    ----------
    widest : radius at the mouth of the chamfer, mm; facets there keep within twice `ARC`
    """
    if radius <= WELD:
        return 1
    count = 14
    while count < max(steps(radius), steps(widest / 2)):
        count *= 2
    return count


def corner_steps(opening: Opening) -> int:
    """Steps of a quarter arc of an opening's corner."""
    widest = opening.corner_radius + max(opening.front_chamfer, opening.back_chamfer)
    return quarter_steps(opening.corner_radius, widest)


def hole_steps(diameter: float) -> int:
    """Number of facets of a round hole: a multiple of four, so that it has flats toward all four edges."""
    return 4 * steps(diameter / 2)


def corner_chain(radius: float, count: int) -> Floats:
    """Vertices of a faceted quarter arc about (0, 0), from the tangent at angle 0 to that at 90°.

    (count, 2) float, mm: where each tangent meets the next; a single corner point for count 1 (also for radius 0).
    """
    half = pi / 4 / count
    angles = (2 * np.arange(count) + 1) * half
    return radius / cos(half) * np.stack([np.cos(angles), np.sin(angles)], axis=1)


@lru_cache(maxsize=64)
def facets_around(count: int) -> Floats:
    """Directions in which facets around a circle meet, counter-clockwise; (n, 2) float."""
    angles = (2 * np.arange(count) + 1) * pi / count
    directions = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    directions.flags.writeable = False
    return directions


def edge_profile(
    thickness: float, treatments: tuple[EdgeTreatment | Taper, ...], bevel: Bevel | None
) -> Floats:
    """Section of an outline edge: (k, 2) float, rows (w, inset) with w rising from 0 to the thickness, mm.

    `inset` is the distance of the wood from the outline edge, into the board. A treatment is cut after the bevel
    and meets the board's faces and the beveled edge at the same distance on both.
    """
    insets = (bevel.front_inset, bevel.back_inset) if bevel else (0.0, 0.0)
    return _section(thickness, tuple((t.face, t.kind, t.reach, t.depth) for t in treatments), insets)


@lru_cache(maxsize=256)
def _section(
    thickness: float, cuts: tuple[tuple[Face, str, float, float], ...], insets: tuple[float, float]
) -> Floats:
    front, back = insets
    slope = (back - front) / thickness
    points = [(0.0, front), (thickness, back)]
    for face, kind, reach, depth in cuts:
        cut = _cut_section(kind, reach, depth)
        if face == "front":
            section = [(w, front + slope * w + inset) for w, inset in cut]
            points = section + points[1:]
        else:
            section = [(thickness - w, back - slope * w + inset) for w, inset in reversed(cut)]
            points = points[:-1] + section
    profile = np.array(points)
    profile.flags.writeable = False
    return profile


def _cut_section(kind: str, reach: float, depth: float) -> list[tuple[float, float]]:
    """Rows (depth below the face, inset) from the face to the edge."""
    if kind != "round-over":
        return [(0.0, reach), (depth, 0.0)]
    chain = reach - corner_chain(reach, quarter_steps(reach))
    chain[np.abs(chain) < WELD] = 0.0
    return [(float(depth), float(inset)) for depth, inset in chain]


def inside(points: Floats, start: Floats, stop: Floats) -> NDArray[np.bool_]:
    """Which points (m, 2) lie within the polygon of edges `start` → `stop`, (n, 2) each, and not on its border."""
    u, v = points[:, :1], points[:, 1:]
    run = stop - start
    spans = (start[:, 1] > v) != (stop[:, 1] > v)
    area = run[:, 0] * (v - start[:, 1]) - run[:, 1] * (u - start[:, 0])
    odd = ((area > 0.0) == (run[:, 1] > 0.0)) & spans
    length2 = np.einsum("ij,ij->i", run, run)
    share = ((u - start[:, 0]) * run[:, 0] + (v - start[:, 1]) * run[:, 1]) / np.maximum(length2, WELD**2)
    border = (area**2 <= WELD**2 * length2) & (share >= 0.0) & (share <= 1.0) & (length2 > WELD**2)
    return (odd.sum(axis=1) % 2 == 1) & ~border.any(axis=1)


def crosses_itself(points: Floats) -> bool:
    """Whether a closed polygon (n, 2) has edges that cross or touch others than their neighbors."""
    onward = np.roll(points, -1, axis=0)
    run = onward - points

    def sides(ends: Floats) -> Floats:
        away = ends[None, :, :] - points[:, None, :]
        distance = run[:, None, 0] * away[..., 1] - run[:, None, 1] * away[..., 0]
        return np.where(np.abs(distance) <= WELD * np.hypot(*run.T)[:, None], 0.0, np.sign(distance))

    parted = sides(points) * sides(onward) > 0.0
    low, high = np.minimum(points, onward), np.maximum(points, onward)
    boxes_meet = ((low[:, None] <= high[None] + WELD) & (low[None] <= high[:, None] + WELD)).all(axis=2)
    meet = boxes_meet & ~parted & ~parted.T
    index = np.arange(len(points))
    gap = (index[:, None] - index[None]) % len(points)
    meet &= (gap > 1) & (gap < len(points) - 1)
    turned_back = (run * np.roll(run, -1, axis=0)).sum(axis=1) < 0.0
    straight = np.abs(run[:, 0] * np.roll(run[:, 1], -1) - run[:, 1] * np.roll(run[:, 0], -1)) <= WELD
    return bool(meet.any() or (turned_back & straight).any())


def distance_to_box(start: Floats, stop: Floats, low: Floats, high: Floats) -> Floats:
    """(n,) distances of segments (n, 2), (n, 2) from a rectangle; 0 where they meet."""
    corners = np.array([low, [high[0], low[1]], high, [low[0], high[1]]])
    run = stop - start
    away = corners[None] - start[:, None]
    area = run[:, None, 0] * away[..., 1] - run[:, None, 1] * away[..., 0]
    length2 = np.maximum((run**2).sum(axis=1), WELD**2)
    beyond = np.maximum(low - np.maximum(start, stop), np.minimum(start, stop) - high).max(axis=1)
    parted = (beyond > 0.0) | (area.min(axis=1) > 0.0) | (area.max(axis=1) < 0.0)
    share = np.clip((away * run[:, None]).sum(axis=2) / length2[:, None], 0.0, 1.0)
    from_corners = np.linalg.norm(away - share[..., None] * run[:, None], axis=2).min(axis=1)
    ends = np.stack([start, stop])
    from_ends = np.linalg.norm(np.maximum(np.maximum(low - ends, ends - high), 0.0), axis=2).min(axis=0)
    return np.where(parted, np.minimum(from_corners, from_ends), 0.0)
