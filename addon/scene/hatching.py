"""Stripes across a part's surface, cut out of its triangles, and flat lines."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import bmesh
import numpy as np

if TYPE_CHECKING:
    from bpy.types import Mesh
    from numpy.typing import NDArray

PITCH: Final = 0.045
"""From stripe to stripe, m."""
STRIPE: Final = 0.45
"""Share of the pitch that a stripe takes."""
LIFT: Final = 0.0006
"""How far the stripes stand off the surface, m, so that they cover it."""


def hatch(mesh: Mesh, pitch: float = PITCH) -> tuple[NDArray[np.float32], NDArray[np.int32]]:
    """Diagonal stripes on a mesh: (n, 3) float32 positions, m, and (m, 3) int32 triangles.

    The stripes are what lies between pairs of parallel planes u + v + w = constant.
    """
    work = bmesh.new()
    try:
        work.from_mesh(mesh)
        bmesh.ops.split_edges(work, edges=work.edges[:])
        reach = [sum(vertex.co) for vertex in work.verts]
        steps = np.arange(np.floor(min(reach) / pitch), np.ceil(max(reach) / pitch))
        for step in steps:
            for share in (0.0, STRIPE):
                _cut(work, (step + share) * pitch)
        wood = [face for face in work.faces if (sum(face.calc_center_median()) / pitch) % 1.0 > STRIPE]
        bmesh.ops.delete(work, geom=wood, context="FACES")
        bmesh.ops.triangulate(work, faces=work.faces[:])
        return _arrays(work)
    finally:
        work.free()


def _cut(work: bmesh.types.BMesh, distance: float) -> None:
    near = [face for face in work.faces if _straddles(face, distance)]
    parts = {item for face in near for item in (face, *face.edges, *face.verts)}
    third = distance / 3.0
    bmesh.ops.bisect_plane(
        work, geom=list(parts), plane_co=(third, third, third), plane_no=(1.0, 1.0, 1.0), dist=1e-7
    )


def _straddles(face: bmesh.types.BMFace, distance: float) -> bool:
    reach = [sum(vertex.co) for vertex in face.verts]
    return min(reach) < distance < max(reach)


def _arrays(work: bmesh.types.BMesh) -> tuple[NDArray[np.float32], NDArray[np.int32]]:
    corners = [[vertex.co + face.normal * LIFT for vertex in face.verts] for face in work.faces]
    positions = np.array(corners, dtype=np.float32).reshape(-1, 3)
    return positions, np.arange(len(positions), dtype=np.int32).reshape(-1, 3)


def ribbon(points: NDArray[np.float64], width: float, closed: bool) -> tuple[NDArray[np.float32], NDArray[np.int32]]:
    """A line of a width in the plane z = 0: (n, 3) float32 positions and (m, 3) int32 triangles that face +z.

    Parameters
    ----------
    points : (n, 2) float; corners are mitred
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
        [np.stack([here, here + count, there], axis=1), np.stack([there, here + count, there + count], axis=1)]
    )
    return positions, triangles.astype(np.int32)


def _unit(vectors: NDArray[np.float64]) -> NDArray[np.float64]:
    return vectors / np.linalg.norm(vectors, axis=1, keepdims=True)
