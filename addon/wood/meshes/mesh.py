"""The surface of a part as a closed, watertight mesh.

The body comes first, then its closed openings and holes, ring by ring; the flat regions of all of it are triangulated
last. Where a groove runs into an opening, or something into its round end, that is not how it is built: the mesh is
then the surface of the part's convex pieces.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import product

import numpy as np
from numpy.typing import NDArray

from ...sizes.arrays import Floats
from ...sizes.tolerances import WELD
from ..features import AngledHole, Groove, Hole, Opening
from ..features.base import Edge
from ..part import Shape
from ..solids.solids import convex_pieces
from ..sound import LEAST_WEB, cuts_of, narrowest_gap
from .body import Face, body_of, strip
from .grooves import NotPlainError, depth_at
from .outline import opening_ring
from .polygon import triangulate
from .union import snapped, surface_of
from .walls import angled_rings, hole_rings, pierced

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
    """The mesh of a shape that `sound.check_features` has passed.

    Raises
    ------
    PartError : edges or grooves that leave no sound section at some depth
    """
    if not _grooves_meet_openings(shape):
        try:
            return _Builder(shape).mesh()
        except NotPlainError:
            pass
    return _united(shape)


@lru_cache(maxsize=32)
def _united(shape: Shape) -> Mesh:
    return Mesh(*surface_of(convex_pieces(snapped(shape)), shape.thickness))


def _grooves_meet_openings(shape: Shape) -> bool:
    """Whether a groove and an opening of a shape run into each other, or nearly."""
    if not shape.grooves or not shape.openings:
        return False
    cuts = cuts_of(shape)
    grooves = [cut for cut in cuts if isinstance(cut.source, Groove)]
    openings = [cut for cut in cuts if isinstance(cut.source, Opening)]
    return any(narrowest_gap(a, b, shape.thickness) < LEAST_WEB for a, b in product(grooves, openings))


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
        self.exits: list[tuple[Edge, Ints]] = []
        """Edges that angled holes leave through, and their last vertices, clockwise seen from outside."""

    def mesh(self) -> Mesh:
        """The whole surface."""
        front, back = self.faces[:2]
        for opening in self.shape.openings:
            if not opening.is_notch:
                levels, loops = opening_ring(opening, self.shape.thickness)
                rings = np.empty((*loops.shape[:2], 3))
                rings[..., :2] = loops
                rings[..., 2] = levels[:, None]
                self._cut(rings, front, back)
        for hole in self.shape.holes:
            self._drill(hole)
        for hole in self.shape.angled_holes:
            self._drill_at_angle(hole)
        vertices = np.concatenate(self.vertices)
        self.walls[0], self.patches[0] = pierced(self.walls[0], self.patches[0], vertices, self.exits)
        covers = self._cover(vertices)
        triangles = np.concatenate([*covers, *self.walls])
        patch = np.empty(len(triangles), dtype=np.int32)
        sizes = [len(cover) for cover in covers]
        flat = sum(sizes)
        patch[:flat] = np.repeat(np.arange(len(covers), dtype=np.int32), sizes)
        np.concatenate(self.patches, out=patch[flat:])
        patch[flat:] += len(covers)
        return Mesh(vertices, triangles, patch)

    def _cut(self, rings: Floats, top: Face, bottom: Face) -> None:
        """Add the wall of an opening or hole between two flat faces; (k, n, 3) rings, clockwise, w rising."""
        steps = np.flatnonzero(np.abs(rings[1:, 0, 2] - rings[:-1, 0, 2]) <= WELD)
        first, last = self._wall(rings, steps.tolist())
        top.loops.append(first)
        bottom.loops.append(last)

    def _wall(self, rings: Floats, steps: list[int]) -> tuple[Ints, Ints]:
        """Add the walls between (k, n, 3) rings, of which some are flat; numbers of the first and last vertices."""
        depths, around = rings.shape[:2]
        walls, patch = strip(depths, around)
        for row in steps:
            patch = np.where(patch // around == row, row * around, patch)
        self.vertices.append(rings.reshape(-1, 3))
        self.walls.append(walls + np.int32(self.count))
        self.patches.append(patch + np.int32(self.planes))
        first = np.arange(self.count, self.count + around, dtype=np.int32)
        self.count += depths * around
        self.planes += (depths - 1) * around
        return first, np.arange(self.count - around, self.count, dtype=np.int32)

    def _drill(self, hole: Hole) -> None:
        """Add a hole; one that starts in a groove starts at the groove's floor."""
        top, bottom = self._face_at(hole, True), self._face_at(hole, False)
        bottom_level = self.shape.thickness - bottom.depth
        rings = hole_rings(hole, self.shape.thickness, top.depth, bottom_level)
        if not len(rings):
            return
        floor = None
        if hole.depth is not None and hole.face == "front":
            floor = bottom = Face(True, hole.depth)
        elif hole.depth is not None:
            floor = top = Face(False, hole.depth)
        self._cut(rings, top, bottom)
        if floor is not None:
            floor.loops = [floor.loops[0][::-1]]
            self.faces.append(floor)

    def _drill_at_angle(self, hole: AngledHole) -> None:
        """Add a hole at an angle; its rings are handed on from the front face to the back."""
        rings, end = angled_rings(hole, self.shape.blank)
        steps = [1] if len(rings) == 4 else []
        forward = hole.face == "front"
        entry, last = self._wall(rings if forward else rings[::-1], steps)
        if not forward:
            entry, last = last, entry
        self.faces[0 if forward else 1].loops.append(entry)
        if end == "face":
            self.faces[1 if forward else 0].loops.append(last)
            return
        around = last if forward else last[::-1]
        if end == "edge":
            self.exits.append((self.shape.blank.edge(hole.edge), around))
            return
        fan = np.stack([np.full(len(around) - 2, around[0]), around[1:-1], around[2:]], axis=1)
        self.walls.append(fan)
        self.patches.append(np.full(len(fan), self.planes, dtype=np.int32))
        self.planes += 1

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
