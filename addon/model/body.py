"""The body of a part: its outline with edge treatments, bevels and notches, and its grooves; no openings or holes."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

import numpy as np

from .errors import PartError
from .grooves import Crossing, Map, map_face
from .rings import NOTCH, STOP, outline_lines
from .tolerances import WELD

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from .part import Shape
    from .rings import Lines

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]
    Borders = dict[tuple[bool, float], list[tuple[int, int]]]

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
    """Vertices around it, counter-clockwise seen from the back (along −w), holes clockwise."""


@dataclass(frozen=True, eq=False)
class Body:
    """Walls and flat faces; vertices of the flat faces' loops are among `vertices`."""

    vertices: Floats
    """(n, 3) float, mm"""
    triangles: NDArray[np.int32]
    """(m, 3), the walls, counter-clockwise seen from outside"""
    patch: NDArray[np.int32]
    """(m,) number of the flat wall, from 0"""
    faces: list[Face]
    """Front face, back face, floors of grooves."""


@dataclass(frozen=True, eq=False)
class _Walls:
    """Upright strips between two vertices of the section, from level `top` to level `bottom`, (s,) int each."""

    start: Ints
    stop: Ints
    top: Ints
    bottom: Ints
    line: Ints
    """Outline line that the strip follows, or a number beyond those for each plane of grooves' sides."""
    directions: Floats
    """(lines, 2) float: which way the strips along a line run from start to stop; 0 if either."""


def body_of(shape: Shape) -> Body:
    """The body of a shape.

    Raises
    ------
    PartError : edge treatments, bevels or grooves that leave an edge no length at some depth, or cross it askew
    """
    lines = outline_lines(shape)
    count, thickness = len(lines.corners), shape.thickness
    front = map_face(shape.grooves, "front", lines, count)
    back = map_face(shape.grooves, "back", lines, count + len(front.vertices))
    floors = {(groove.face == "front", groove.depth) for groove in shape.grooves}
    levels = _merged([*lines.knees, *(d if facing else thickness - d for facing, d in floors)])
    insets = lines.insets(levels)
    points = lines.vertices(insets)
    if front.vertices or back.vertices:
        added, used = _place(front, back, levels, insets)
        points = np.concatenate([points, added], axis=1)
    numbers = np.arange(points.shape[0] * points.shape[1]).reshape(points.shape[:2])
    if front.vertices or back.vertices:
        _collapse(points, numbers, front, back, used)
    walls, borders = _trace(front, back, levels, lines)
    _check_order(lines, levels, points, walls)
    if len(lines.profiles) > 1:
        numbers = _weld(points, numbers, walls)
    faces = []
    for facing, depth in [(True, 0.0), (False, 0.0), *sorted(floors)]:
        level = _index(levels, depth if facing else thickness - depth)
        loops = _loops(borders.get((facing, depth), []))
        faces.append(Face(facing, depth, [numbers[level][loop] for loop in loops]))
    return _assemble(levels, insets, points, walls, numbers, faces)


def _merged(levels: list[float]) -> Floats:
    rising: list[float] = []
    for level in sorted(levels):
        if not rising or level - rising[-1] > WELD:
            rising.append(level)
    return np.array(rising)


def _index(levels: Floats, level: float) -> int:
    return int(np.argmin(np.abs(levels - level)))


def _place(front: Map, back: Map, levels: Floats, insets: Floats) -> tuple[Floats, NDArray[np.bool_]]:
    """Positions (k, x, 2) of the maps' own vertices at all levels and whether they are used there, (k, x)."""
    vertices = [*front.vertices, *back.vertices]
    added = np.empty((len(levels), len(vertices), 2))
    used = np.ones((len(levels), len(vertices)), dtype=bool)
    thickness = levels[-1]
    for i, vertex in enumerate(vertices):
        if isinstance(vertex, Crossing):
            added[:, i] = np.array(vertex.base) + insets[:, vertex.line, None] * np.array(vertex.rate)
            below = levels if i < len(front.vertices) else thickness - levels
            used[:, i] = below <= vertex.depth + WELD
        else:
            added[:, i] = vertex
    return added, used


def _collapse(points: Floats, numbers: Ints, front: Map, back: Map, used: NDArray[np.bool_]) -> None:
    """Where a crossing is not used, let it fall together with the vertex before it on its line."""
    first = points.shape[1] - used.shape[1]
    for line in front.splits.keys() | back.splits.keys():
        before = line
        for vertex in [*front.splits.get(line, ()), *back.splits.get(line, ())]:
            idle = ~used[:, vertex - first]
            numbers[idle, vertex] = numbers[idle, before]
            points[idle, vertex] = points[idle, before]
            before = vertex


def _trace(front: Map, back: Map, levels: Floats, lines: Lines) -> tuple[_Walls, Borders]:
    """All walls, and the directed borders of the flat faces by (front, depth)."""
    thickness, last = float(levels[-1]), len(levels) - 1
    count = len(lines.corners)
    if not (front.depths or back.depths or front.sides or back.sides):
        start = np.arange(count)
        stop = np.roll(start, -1)
        pairs = list(zip(start.tolist(), stop.tolist(), strict=True))
        walls = _Walls(start, stop, np.zeros_like(start), np.full_like(start, last), start, _directions(lines, []))
        return walls, {(True, 0.0): pairs, (False, 0.0): pairs}
    rows: list[tuple[int, int, int, int, int]] = []
    borders: Borders = {}
    for line in range(count):
        split_front, split_back = front.splits.get(line, []), back.splits.get(line, [])
        depth_front, depth_back = front.depths.get(line, [0.0]), back.depths.get(line, [0.0])
        chain = [line, *split_front, *split_back, (line + 1) % count]
        tops = depth_front + depth_front[-1:] * len(split_back)
        bottoms = depth_back[:1] * len(split_front) + depth_back
        for a, b, top, bottom in zip(chain, chain[1:], tops, bottoms, strict=False):
            borders.setdefault((True, top), []).append((a, b))
            borders.setdefault((False, bottom), []).append((a, b))
            rows.append((a, b, _index(levels, top), _index(levels, thickness - bottom), line))
    planes: dict[tuple[bool, int, float, bool], int] = {}
    for facing, sides in ((True, front.sides), (False, back.sides)):
        for side in sides:
            borders.setdefault((facing, side.left), []).append((side.start, side.stop))
            borders.setdefault((facing, side.right), []).append((side.stop, side.start))
            low, high = sorted((side.left, side.right))
            top, bottom = (low, high) if facing else (thickness - high, thickness - low)
            forward = side.left < side.right  # the wood stands on the shallower region's side
            ends = (side.start, side.stop) if forward else (side.stop, side.start)
            plane = planes.setdefault((facing, side.axis, side.at, forward), len(planes))
            rows.append((*ends, _index(levels, top), _index(levels, bottom), count + plane))
    directions = _directions(lines, [(axis, forward) for _, axis, _, forward in planes])
    return _Walls(*np.array(rows).T, directions), borders


def _directions(lines: Lines, sides: list[tuple[int, bool]]) -> Floats:
    """(lines + sides, 2) float: the way each line and each plane of grooves' sides runs; 0 where it may turn."""
    along = np.zeros((len(lines.corners) + len(sides), 2))
    along[: len(lines.corners)] = lines.normals[:, ::-1] * [1.0, -1.0]
    along[: len(lines.corners)][lines.edge == STOP] = 0.0
    for i, (axis, forward) in enumerate(sides):
        along[len(lines.corners) + i, axis] = 1.0 if forward else -1.0
    return along


def _loops(pairs: list[tuple[int, int]]) -> list[list[int]]:
    """Chain directed pieces into loops."""
    onward = dict(pairs)
    if len(onward) < len(pairs):
        raise PartError("Two grooves touch at a corner only: move them apart or let them overlap.")
    loops: list[list[int]] = []
    while onward:
        start, vertex = next(iter(onward.items()))
        chain = [start]
        del onward[start]
        while vertex != start:
            chain.append(vertex)
            if vertex not in onward:
                raise PartError("A groove ends on the very edge of the board: let it run out or keep clear.")
            vertex = onward.pop(vertex)
        loops.append(chain)
    return loops


def _check_order(lines: Lines, levels: Floats, points: Floats, walls: _Walls) -> None:
    """Refuse walls that turn round at some depth."""
    run = points[:, walls.stop] - points[:, walls.start]
    along = np.einsum("ijk,jk->ij", run, walls.directions[walls.line])
    if along.min() >= -WELD:
        return
    rows = np.arange(len(levels))[:, None]
    there = (rows >= walls.top) & (rows <= walls.bottom) | (walls.line < len(lines.corners))
    turned = np.argwhere((along < -WELD) & there)
    if len(turned):
        level, wall = turned[0].tolist()
        line = int(walls.line[wall])
        edge = int(lines.edge[line]) if line < len(lines.edge) else NOTCH
        place = "a notch or groove" if edge < 0 else f"outline edge {edge}"
        raise PartError(
            f"At depth {levels[level]:.4g} mm nothing is left of {place}: neighbouring bevels, chamfers, round-overs"
            " or grooves cut it away; make them smaller or move them apart."
        )


def _weld(points: Floats, numbers: Ints, walls: _Walls) -> Ints:
    """Numbers in which vertices that a wall joins over no distance are one."""
    run = np.abs(points[:, walls.stop] - points[:, walls.start]).max(axis=2)
    start, stop = numbers[:, walls.start], numbers[:, walls.stop]
    together = (run <= WELD) & (start != stop)
    if not together.any():
        return numbers
    root: dict[int, int] = {}
    for a, b in zip(start[together].tolist(), stop[together].tolist(), strict=True):
        while a in root:
            a = root[a]
        while b in root:
            b = root[b]
        if a != b:
            root[max(a, b)] = min(a, b)
    target = np.arange(numbers.size)
    for vertex in sorted(root):
        target[vertex] = target[root[vertex]]
    return target[numbers]


def _assemble(
    levels: Floats, insets: Floats, points: Floats, walls: _Walls, numbers: Ints, faces: list[Face]
) -> Body:
    """Cut the walls into triangles and keep the vertices that are used."""
    rows = np.arange(len(levels) - 1)[:, None]
    slab, wall = np.nonzero((rows >= walls.top) & (rows < walls.bottom))
    start, stop = walls.start[wall], walls.stop[wall]
    a, b = numbers[slab, start], numbers[slab, stop]
    d, c = numbers[slab + 1, start], numbers[slab + 1, stop]
    triangles = np.stack([a, b, c, a, c, d], axis=1).reshape(-1, 3)
    patch = np.repeat(_planes(levels, insets, len(walls.directions))[slab, walls.line[wall]], 2)
    sound = (triangles != triangles[:, [1, 2, 0]]).all(axis=1)
    triangles, patch = triangles[sound], patch[sound]
    kept = np.zeros(numbers.size, dtype=bool)
    kept[triangles] = True
    number = np.cumsum(kept, dtype=np.int32) - 1
    vertices = np.empty((*points.shape[:2], 3))
    vertices[..., :2] = points
    vertices[..., 2] = levels[:, None]
    for face in faces:
        face.loops = [_distinct(number[loop]) for loop in face.loops]
    return Body(vertices.reshape(-1, 3)[kept], number[triangles], patch, faces)


def _distinct(loop: NDArray[np.int32]) -> NDArray[np.int32]:
    return loop[loop != np.roll(loop, 1)]


def _planes(levels: Floats, insets: Floats, count: int) -> NDArray[np.int32]:
    """(slabs, count) number of the plane in which a line's wall stands between two levels."""
    slope = np.diff(insets, axis=0) / np.diff(levels)[:, None]
    bends = np.zeros((len(slope), count), dtype=np.int32)
    bends[1:, : insets.shape[1]] = np.abs(np.diff(slope, axis=0)) > _BEND
    bends = np.cumsum(bends, axis=0, dtype=np.int32)
    return bends + np.cumsum(np.concatenate([[0], bends[-1, :-1] + 1]), dtype=np.int32)
