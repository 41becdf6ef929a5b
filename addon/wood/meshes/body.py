"""The body of a part, without closed openings and holes: its walls, and the flat regions of its surface.

It has the outline with bevels, edge treatments and notches, and the grooves. Walls are strips of
quadrilaterals between the loops of the section (`outline`) at neighboring levels; the board's faces and the bottoms of
grooves and holes are flat regions bounded by those loops (`polygon`). Every edge is shared by exactly two triangles.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ...sizes.arrays import Floats
from ...sizes.tolerances import WELD
from ..part import Shape
from .grooves import Crossing, Map, map_face
from .outline import Lines, merged, outline_lines
from .walls import (
    Walls,
    chain,
    check_order,
    level_index,
    loops_of,
    ring_walls,
    trace,
    welded,
)

Ints = NDArray[np.int32]


_BEND: Final = 1e-9
"""Change of a wall's slope (mm of inset per mm of depth) below which it stays one plane."""


@dataclass
class Face:
    """A flat region of the surface, parallel to the board's faces."""

    front: bool
    """Whether it faces the way the front face does."""
    depth: float
    """Below the front face if it faces front, else below the back face, mm."""
    loops: list[Ints] = field(default_factory=list)
    """Vertices around it, the region on their left in the plane (u, v)."""


@dataclass(frozen=True, eq=False)
class Body:
    """Walls and flat faces."""

    vertices: Floats
    """(n, 3) float, mm"""
    triangles: Ints
    """(m, 3), the walls, counter-clockwise seen from outside"""
    patch: Ints
    """(m,) number of the flat wall, from 0"""
    planes: int
    """Number of flat walls."""
    faces: list[Face]
    """Front face, back face, floors of grooves."""


def body_of(shape: Shape) -> Body:
    """The body of a shape; not to be written to.

    Raises
    ------
    PartError : bevels, edge treatments or grooves that leave an edge no length at some depth
    """
    return _body_of(shape.bare)


@lru_cache(maxsize=128)
def _body_of(shape: Shape) -> Body:
    lines = outline_lines(shape)
    if lines.fixed and not shape.grooves:
        return _prism(lines)
    count, thickness = len(lines.corners), shape.thickness
    front = map_face(shape, "front", lines, count)
    back = map_face(shape, "back", lines, count + len(front.vertices))
    floors = sorted({(groove.face == "front", groove.depth) for groove in shape.grooves})
    rising = merged({*lines.knees, *(depth if facing else thickness - depth for facing, depth in floors)})
    levels = np.array(rising)
    insets = lines.insets(levels)
    points = lines.vertices(insets)
    if shape.grooves:
        added, used = _place(front, back, levels, insets)
        points = np.concatenate([points, added], axis=1)
        numbers = _numbered(points)
        _collapse(points, numbers, front, back, used)
        walls, borders = trace(front, back, rising, lines)
    else:
        numbers = _numbered(points)
        walls, borders = ring_walls(lines, len(levels))
    run = points.take(walls.stop, axis=1) - points.take(walls.start, axis=1)
    check_order(lines, levels, run, walls)
    numbers = welded(run, numbers, walls)
    faces = []
    for facing, depth in [(True, 0.0), (False, 0.0), *floors]:
        level = numbers[level_index(rising, depth if facing else thickness - depth)]
        faces.append(
            Face(facing, depth, [level[loop] for loop in loops_of(borders.get((facing, depth), []))])
        )
    return _assemble(levels, insets, points, walls, numbers, faces)


def _prism(lines: Lines) -> Body:
    """The body of a board whose section is the same at all depths."""
    count = len(lines.corners)
    vertices = np.empty((2, count, 3))
    vertices[:, :, :2] = lines.corners
    vertices[0, :, 2], vertices[1, :, 2] = 0.0, lines.knees[-1]
    triangles, patch = strip(2, count)
    around = np.arange(count, dtype=np.int32)
    faces = [Face(True, 0.0, [around]), Face(False, 0.0, [around + count])]
    return Body(vertices.reshape(-1, 3), triangles, patch, count, faces)


@lru_cache(maxsize=128)
def strip(depths: int, around: int) -> tuple[Ints, Ints]:
    """Triangles (m, 3) and numbers (m,) of the flat walls between `depths` loops of `around` vertices each.

    The wood lies on the left of the loops, which follow one another from the front face to the back.
    """
    slab, start = np.divmod(np.arange((depths - 1) * around, dtype=np.int32), around)
    a, b = slab * around + start, slab * around + (start + 1) % around
    triangles = np.stack([a, b, b + around, a, b + around, a + around], axis=1).reshape(-1, 3)
    return triangles.astype(np.int32), np.repeat(np.arange(len(a), dtype=np.int32), 2)


def _numbered(points: Floats) -> NDArray[np.int64]:
    return np.arange(points.shape[0] * points.shape[1]).reshape(points.shape[:2])


def _place(front: Map, back: Map, levels: Floats, insets: Floats) -> tuple[Floats, NDArray[np.bool_]]:
    """Positions (k, x, 2) of the maps' own vertices at all levels and whether they are used there, (k, x)."""
    fixed = Crossing(0, (0.0, 0.0), (0.0, 0.0), np.inf)
    vertices = [
        vertex if isinstance(vertex, Crossing) else fixed._replace(base=vertex)
        for vertex in [*front.vertices, *back.vertices]
    ]
    line, base, rate, depth = (np.array(column) for column in zip(*vertices, strict=True))
    below = np.where(
        np.arange(len(vertices)) < len(front.vertices), levels[:, None], levels[-1] - levels[:, None]
    )
    return base + insets[:, line, None] * rate, below <= depth + WELD


def _collapse(
    points: Floats, numbers: NDArray[np.int64], front: Map, back: Map, used: NDArray[np.bool_]
) -> None:
    """Where a crossing is not used, let it fall together with the vertex before it on its line."""
    first = points.shape[1] - used.shape[1]
    for line in front.splits.keys() | back.splits.keys():
        before = line
        for vertex, _ in chain(front, back, line):
            idle = ~used[:, vertex - first]
            numbers[idle, vertex] = numbers[idle, before]
            points[idle, vertex] = points[idle, before]
            before = vertex


def _assemble(
    levels: Floats,
    insets: Floats,
    points: Floats,
    walls: Walls,
    numbers: NDArray[np.int64],
    faces: list[Face],
) -> Body:
    """Cut the walls into triangles and keep the vertices that are used."""
    rows = np.arange(len(levels) - 1)[:, None]
    slab, wall = np.nonzero((rows >= walls.top) & (rows < walls.bottom))
    columns = numbers.shape[1]
    start, stop = slab * columns + walls.start[wall], slab * columns + walls.stop[wall]
    number = numbers.ravel()
    a, b, c, d = (number.take(corner) for corner in (start, stop, stop + columns, start + columns))
    triangles = np.stack([a, b, c, a, c, d], axis=1).reshape(-1, 3)
    planes = _planes(levels, insets, len(walls.directions))
    patch = planes[slab, walls.line[wall]].repeat(2)
    one = (a != b) & (b != c) & (c != a)
    two = (a != c) & (c != d) & (d != a)
    sound = np.flatnonzero(np.stack([one, two], axis=1))
    if len(sound) < len(triangles):
        triangles, patch = triangles.take(sound, axis=0), patch.take(sound)
    kept = np.zeros(numbers.size, dtype=bool)
    kept[triangles] = True
    number = np.cumsum(kept, dtype=np.int32) - np.int32(1)
    vertices = np.empty((*points.shape[:2], 3))
    vertices[..., :2] = points
    vertices[..., 2] = levels[:, None]
    for face in faces:
        face.loops = [_without_repeats(number.take(loop)) for loop in face.loops]
    vertices = vertices.reshape(-1, 3).take(np.flatnonzero(kept), axis=0)
    return Body(vertices, number.take(triangles), patch, int(planes.max()) + 1, faces)


def _without_repeats(loop: Ints) -> Ints:
    """A loop without vertices that equal the one before."""
    differs = np.empty(len(loop), dtype=bool)
    differs[0], differs[1:] = loop[0] != loop[-1], loop[1:] != loop[:-1]
    return loop if differs.all() else loop[differs]


def _planes(levels: Floats, insets: Floats, count: int) -> Ints:
    """(slabs, count) number of the plane in which a line's wall stands between two levels."""
    slope = (insets[1:] - insets[:-1]) / (levels[1:] - levels[:-1])[:, None]
    bends = np.zeros((len(slope), count), dtype=np.int32)
    bends[1:, : insets.shape[1]] = np.abs(slope[1:] - slope[:-1]) > _BEND
    bends = np.cumsum(bends, axis=0, dtype=np.int32)
    return bends + np.concatenate([[0], np.cumsum(bends[-1, :-1] + 1)]).astype(np.int32)
