"""Walls that holes leave through: their flat regions are cut into triangles anew around the holes."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..sizes.tolerances import CONTACT
from .polygon import triangulate

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from .features.base import Edge

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int32]


def pierced(
    triangles: Ints, patch: Ints, vertices: Floats, exits: Sequence[tuple[Edge, Ints]]
) -> tuple[Ints, Ints]:
    """A body's walls with holes in them.

    Parameters
    ----------
    triangles, patch : (m, 3) and (m,) int32; the walls, counter-clockwise seen from outside
    vertices : (n, 3) float, mm; those of walls and holes
    exits : outline edge and loop of vertices of each hole, clockwise seen from outside
    """
    by_wall: dict[int, tuple[Edge, list[Ints]]] = {}
    for edge, loop in exits:
        wall = _wall_at(
            triangles, patch, _flat(vertices, edge), _flat(vertices[loop].mean(axis=0)[None], edge)[0]
        )
        by_wall.setdefault(wall, (edge, []))[1].append(loop)
    for wall, (edge, loops) in by_wall.items():
        own = patch == wall
        border = [*_border(triangles[own]), *loops]
        numbers = np.concatenate(border)
        points = _flat(vertices[numbers], edge)[:, :2]
        renewed = numbers[triangulate(points, [len(loop) for loop in border])].astype(np.int32)
        triangles = np.concatenate([triangles[~own], renewed])
        patch = np.concatenate([patch[~own], np.full(len(renewed), wall, dtype=np.int32)])
    return triangles, patch


def _flat(points: Floats, edge: Edge) -> Floats:
    """(n, 3): along the edge, w, and out of its wall."""
    (u, v), (du, dv) = edge.start, edge.along
    away_u, away_v = points[:, 0] - u, points[:, 1] - v
    return np.stack([away_u * du + away_v * dv, points[:, 2], away_u * dv - away_v * du], axis=1)


def _wall_at(triangles: Ints, patch: Ints, points: Floats, place: Floats) -> int:
    """Which flat wall in the edge's plane holds a place."""
    level = np.flatnonzero((np.abs(points[triangles][:, :, 2]) <= CONTACT).all(axis=1))
    corners = points[triangles[level]][:, :, :2]
    run, away = np.roll(corners, -1, axis=1) - corners, place[:2] - corners
    within = (run[..., 0] * away[..., 1] - run[..., 1] * away[..., 0] >= -CONTACT).all(axis=1)
    return int(patch[level[within.argmax()]])


def _border(triangles: Ints) -> list[Ints]:
    """Loops of vertices around a flat region, the region on their left."""
    pairs = {
        (int(a), int(b))
        for triangle in triangles
        for a, b in zip(triangle, np.roll(triangle, -1), strict=True)
    }
    onward = {a: b for a, b in pairs if (b, a) not in pairs}
    loops = []
    while onward:
        start, vertex = onward.popitem()
        loop = [start]
        while vertex != start:
            loop.append(vertex)
            vertex = onward.pop(vertex)
        loops.append(np.array(loop, dtype=np.int32))
    return loops
