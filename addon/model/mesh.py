"""The surface of a part as a closed, watertight mesh.

Walls are strips of quadrilaterals between the loops of the section (`outline`, `rings`) at neighbouring levels;
the board's faces and the floors of grooves and holes are flat regions bounded by those loops (`polygon`). Every
edge is shared by exactly two triangles.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from .body import Face, body_of, strip
from .groove_map import depth_at
from .polygon import triangulate
from .rings import hole_ring, opening_ring
from .tolerances import WELD

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from .part import Hole, Shape

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int32]


@dataclass(frozen=True, eq=False)
class Mesh:
    """A closed surface of triangles in the part's own frame."""

    vertices: Floats
    """(n, 3) float, mm"""
    triangles: Ints
    """(m, 3) int32, counter-clockwise seen from outside."""
    patch: Ints
    """(m,) int32: which flat face a triangle belongs to; 0 is the board's front face, 1 its back face."""

    @cached_property
    def volume(self) -> float:
        """Volume enclosed, mm³."""
        a, b, c = (self.vertices[self.triangles[:, i]] for i in range(3))
        return float(np.einsum("ij,ij->", a, np.cross(b, c))) / 6.0


def mesh_of(shape: Shape) -> Mesh:
    """The mesh of a shape that `feature_check.check_features` has passed.

    Raises
    ------
    PartError : edges or grooves that leave no sound section at some depth
    """
    return _Builder(shape).mesh()


class _Builder:
    """Collects vertices, walls and flat faces of one part."""

    def __init__(self, shape: Shape) -> None:
        self.shape = shape
        body = body_of(shape)
        self.faces = [Face(face.front, face.depth, list(face.loops)) for face in body.faces]
        self.vertices = [body.vertices]
        self.count = len(body.vertices)
        self.walls = [body.triangles]
        self.patches = [body.patch]
        self.planes = body.planes

    def mesh(self) -> Mesh:
        """The whole surface."""
        front, back = self.faces[:2]
        for opening in self.shape.openings:
            if opening.open_end is None:
                self._cut(*opening_ring(opening, self.shape.thickness), front, back)
        for hole in self.shape.holes:
            self._drill(hole)
        vertices = np.concatenate(self.vertices)
        covers = self._cover(vertices)
        triangles = np.concatenate([*covers, *self.walls])
        patch = np.empty(len(triangles), dtype=np.int32)
        sizes = [len(cover) for cover in covers]
        flat = sum(sizes)
        patch[:flat] = np.repeat(np.arange(len(covers), dtype=np.int32), sizes)
        np.concatenate(self.patches, out=patch[flat:])
        patch[flat:] += len(covers)
        return Mesh(vertices, triangles, patch)

    def _cut(self, levels: Floats, loops: Floats, top: Face, bottom: Face) -> None:
        """Add the wall of an opening or hole between two flat faces. (k,) depths, (k, n, 2) loops, clockwise."""
        depths, around = loops.shape[:2]
        block = np.empty((depths, around, 3))
        block[..., :2] = loops
        block[..., 2] = levels[:, None]
        walls, patch = strip(depths, around)
        self.vertices.append(block.reshape(-1, 3))
        self.walls.append(walls + np.int32(self.count))
        self.patches.append(patch + np.int32(self.planes))
        top.loops.append(np.arange(self.count, self.count + around))
        self.count += depths * around
        self.planes += (depths - 1) * around
        bottom.loops.append(np.arange(self.count - around, self.count))

    def _drill(self, hole: Hole) -> None:
        """Add a hole; one that starts in a groove starts at the groove's floor."""
        levels, loops = hole_ring(hole, self.shape.thickness)
        top, bottom = self._face_at(hole, True), self._face_at(hole, False)
        bottom_level = self.shape.thickness - bottom.depth
        floor = None
        if hole.depth is None:
            levels = np.array([top.depth, bottom_level])
        elif hole.face == "front":
            floor = bottom = Face(True, hole.depth)
            levels = np.array([top.depth, levels[1]])
        else:
            floor = top = Face(False, hole.depth)
            levels = np.array([levels[0], bottom_level])
        if levels[1] - levels[0] <= WELD:
            return
        self._cut(levels, loops, top, bottom)
        if floor is not None:
            floor.loops = [floor.loops[0][::-1]]
            self.faces.append(floor)

    def _face_at(self, hole: Hole, front: bool) -> Face:
        """Face or groove floor in which a hole starts."""
        depth = depth_at((g for g in self.shape.grooves if (g.face == "front") == front), hole.u, hole.v)
        return next(face for face in self.faces if face.front == front and face.depth == depth)

    def _cover(self, vertices: Floats) -> list[Ints]:
        """Triangles of each flat face. The back face takes over the front face's triangles where they fit."""
        covers: list[Ints] = []
        known: dict[tuple[int, ...], Ints] = {}
        for face in self.faces:
            if not face.loops:
                covers.append(np.empty((0, 3), dtype=np.int32))
                continue
            border = np.concatenate(face.loops) if len(face.loops) > 1 else face.loops[0]
            points = vertices.take(border, axis=0)[:, :2]
            sizes = tuple(len(loop) for loop in face.loops)
            triangles = known.get(sizes)
            if triangles is None or not _fits(points, triangles):
                triangles = triangulate(points, sizes)
                known.setdefault(sizes, triangles)
            covers.append(border.astype(np.int32).take(triangles[:, ::-1] if face.front else triangles))
        return covers


def _fits(points: Floats, triangles: Ints) -> bool:
    """Whether triangles found for other loops with the same numbers of vertices cover these loops too.

    They do if none of them turns over: the map from the one region to the other is then one to one.
    """
    x, y = points[:, 0][triangles], points[:, 1][triangles]
    area = (x[:, 1] - x[:, 0]) * (y[:, 2] - y[:, 0]) - (y[:, 1] - y[:, 0]) * (x[:, 2] - x[:, 0])
    return bool(area.min() > WELD)
