"""Stripes across a part's surface, cut out of its triangles, its edges, and flat lines (no bpy here)."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from ...sizes.arrays import Floats

PITCH: Final = 0.045
"""From stripe to stripe, m."""
STRIPE: Final = 0.45
"""Share of the pitch that a stripe takes."""
LIFT: Final = 0.0006
"""How far the stripes stand off the surface, m, so that they cover it."""

FLAT: Final = 0.999
"""Cosine of the angle between two faces from which their edge is no edge to the eye: 2.6 degrees."""


def hatch(
    positions: Floats, triangles: NDArray[np.int32], pitch: float = PITCH
) -> tuple[NDArray[np.float32], NDArray[np.int32]]:
    """Diagonal stripes on a surface: (n, 3) float32 positions, m, and (m, 3) int32 triangles.

    A stripe is what lies between two parallel planes x + y + z = constant. Each triangle is cut by each stripe that
    it meets.

    Parameters
    ----------
    positions : (n, 3) float, m
    triangles : (m, 3) int
    """
    corners = positions[triangles].astype(float)
    reach = corners.sum(axis=2)
    order = np.argsort(reach, axis=1)
    corners = np.take_along_axis(corners, order[:, :, None], axis=1)
    reach = np.take_along_axis(reach, order, axis=1)
    first = np.floor(reach[:, 0] / pitch).astype(int)
    count = np.floor(reach[:, 2] / pitch).astype(int) - first + 1
    which = np.repeat(np.arange(len(corners)), count)
    stripe = first[which] + np.arange(len(which)) - np.repeat(np.cumsum(count) - count, count)
    low = np.maximum(stripe * pitch, reach[which, 0])
    high = np.minimum((stripe + STRIPE) * pitch, reach[which, 2])
    met = high - low > 1e-9
    which, low, high = which[met], low[met], high[met]
    found = _fans(_between(corners[which], reach[which], low, high))
    normals = _normals(positions[triangles].astype(float))[which].repeat(3, axis=0)
    turned = np.einsum("ij,ij->i", _crosses(found), normals) < 0
    found[turned] = found[turned][:, ::-1]
    found = (found + LIFT * normals[:, None])[np.linalg.norm(_crosses(found), axis=1) > 1e-12]
    return found.reshape(-1, 3).astype(np.float32), np.arange(3 * len(found), dtype=np.int32).reshape(-1, 3)


def outline_edges(positions: Floats, triangles: NDArray[np.int32]) -> NDArray[np.int32]:
    """(k, 2) int32: edges of a closed surface at which its faces meet at an angle.

    Parameters
    ----------
    positions : (n, 3) float, m
    triangles : (m, 3) int
    """
    normals = _normals(positions[triangles].astype(float))
    edges = np.sort(triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
    order = np.lexsort(edges.T)
    edges, faces = edges[order], order // 3
    first = np.flatnonzero((edges[:-1] == edges[1:]).all(axis=1))
    level = np.einsum("ij,ij->i", normals[faces[first]], normals[faces[first + 1]])
    return edges[first[level < FLAT]].astype(np.int32)


def _between(corners: Floats, reach: Floats, low: Floats, high: Floats) -> Floats:
    """Triangles, corners rising by their reach, between two reaches: (k, 5, 3) pentagons, corners may coincide."""
    middle = np.clip(reach[:, 1], low, high)
    long_low, long_high = (_on_edge(corners, reach, 0, 2, at) for at in (low, high))
    return np.stack(
        [long_low, long_high, *(_on_chain(corners, reach, at) for at in (high, middle, low))], axis=1
    )


def _on_edge(corners: Floats, reach: Floats, start: int, end: int, at: Floats) -> Floats:
    span = reach[:, end] - reach[:, start]
    share = np.clip((at - reach[:, start]) / np.where(span > 0, span, 1.0), 0.0, 1.0)
    return corners[:, start] + share[:, None] * (corners[:, end] - corners[:, start])


def _on_chain(corners: Floats, reach: Floats, at: Floats) -> Floats:
    """On the way from the first corner by the second to the third."""
    lower = _on_edge(corners, reach, 0, 1, at)
    upper = _on_edge(corners, reach, 1, 2, at)
    return np.where((at <= reach[:, 1])[:, None], lower, upper)


def _fans(pentagons: Floats) -> Floats:
    """(3 k, 3, 3): three triangles for each pentagon."""
    return pentagons[:, [[0, 1, 2], [0, 2, 3], [0, 3, 4]]].reshape(-1, 3, 3)


def _crosses(triangles: Floats) -> Floats:
    return np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])


def _normals(triangles: Floats) -> Floats:
    crosses = _crosses(triangles)
    lengths = np.linalg.norm(crosses, axis=1, keepdims=True)
    return crosses / np.where(lengths > 0, lengths, 1.0)


def ribbon(points: Floats, width: float, closed: bool) -> tuple[NDArray[np.float32], NDArray[np.int32]]:
    """A line of a width in the plane z = 0: (n, 3) float32 positions and (m, 3) int32 triangles that face +z.

    Parameters
    ----------
    points : (n, 2) float; corners are mitered
    """
    before, after = np.roll(points, 1, axis=0), np.roll(points, -1, axis=0)
    if not closed:
        before[0], after[-1] = 2 * points[0] - points[1], 2 * points[-1] - points[-2]
    first, second = _unit(points - before), _unit(after - points)
    normal = _unit(np.stack([-(first + second)[:, 1], (first + second)[:, 0]], axis=1))
    share = normal[:, 0] * -first[:, 1] + normal[:, 1] * first[:, 0]
    half = width / 2 * normal / share[:, None]
    count = len(points)
    positions = np.zeros((2 * count, 3), dtype=np.float32)
    positions[:count, :2], positions[count:, :2] = points + half, points - half
    here = np.arange(count if closed else count - 1)
    there = (here + 1) % count
    triangles = np.concatenate(
        [
            np.stack([here, here + count, there], axis=1),
            np.stack([there, here + count, there + count], axis=1),
        ]
    )
    return positions, triangles.astype(np.int32)


def _unit(vectors: Floats) -> Floats:
    return vectors / np.linalg.norm(vectors, axis=1, keepdims=True)
