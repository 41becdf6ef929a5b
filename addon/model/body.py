"""The body of a part: its outline with bevels, edge treatments and notches, and its grooves; no openings, no holes."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING, Final

import numpy as np

from .errors import PartError
from .grooves import Crossing, Map, map_face
from .outline import NOTCH, STOP, merged, outline_lines
from .tolerances import WELD

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from .outline import Lines
    from .part import Shape

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int32]
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


@dataclass(frozen=True, eq=False)
class _Walls:
    """Upright strips between two vertices of the section; (s,) int each."""

    start: NDArray[np.int64]
    stop: NDArray[np.int64]
    top: NDArray[np.int64]
    bottom: NDArray[np.int64]
    """Levels between which the strip stands."""
    line: NDArray[np.int64]
    """Outline line that the strip follows; greater numbers for each plane of grooves' sides."""
    directions: Floats
    """(lines, 2) float: which way the strips along a line run from start to stop; 0 if either."""


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
    front = map_face(shape.grooves, "front", lines, count)
    back = map_face(shape.grooves, "back", lines, count + len(front.vertices))
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
        walls, borders = _trace(front, back, rising, lines)
    else:
        numbers = _numbered(points)
        walls, borders = _ring_walls(lines, len(levels))
    _check_order(lines, levels, points, walls)
    numbers = _weld(points, numbers, walls)
    faces = []
    for facing, depth in [(True, 0.0), (False, 0.0), *floors]:
        level = numbers[_index(rising, depth if facing else thickness - depth)]
        faces.append(Face(facing, depth, [level[loop] for loop in _loops(borders.get((facing, depth), []))]))
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


def _index(levels: list[float], level: float) -> int:
    return bisect_left(levels, level - WELD)


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


def _chain(front: Map, back: Map, line: int) -> list[tuple[int, bool]]:
    """Vertices of both maps within a line, in order, and whether they are the front's."""
    splits = [(along, vertex, True) for along, vertex in front.splits.get(line, ())]
    splits += [(along, vertex, False) for along, vertex in back.splits.get(line, ())]
    return [(vertex, facing) for _, vertex, facing in sorted(splits)]


def _collapse(
    points: Floats, numbers: NDArray[np.int64], front: Map, back: Map, used: NDArray[np.bool_]
) -> None:
    """Where a crossing is not used, let it fall together with the vertex before it on its line."""
    first = points.shape[1] - used.shape[1]
    for line in front.splits.keys() | back.splits.keys():
        before = line
        for vertex, _ in _chain(front, back, line):
            idle = ~used[:, vertex - first]
            numbers[idle, vertex] = numbers[idle, before]
            points[idle, vertex] = points[idle, before]
            before = vertex


def _ring_walls(lines: Lines, levels: int) -> tuple[_Walls, Borders]:
    """Walls and borders of a body without grooves."""
    start = np.arange(len(lines.corners))
    stop = (start + 1) % len(start)
    walls = _Walls(
        start, stop, np.zeros_like(start), np.full_like(start, levels - 1), start, _directions(lines, [])
    )
    pairs = list(zip(start.tolist(), stop.tolist(), strict=True))
    return walls, {(True, 0.0): pairs, (False, 0.0): pairs}


def _trace(front: Map, back: Map, levels: list[float], lines: Lines) -> tuple[_Walls, Borders]:
    """All walls, and the directed borders of the flat faces by (front, depth)."""
    thickness, count = levels[-1], len(lines.corners)
    rows: list[tuple[int, int, int, int, int]] = []
    borders: Borders = {}
    for line in range(count):
        depth_front, depth_back = front.depths.get(line, [0.0]), back.depths.get(line, [0.0])
        start, passed_front, passed_back = line, 0, 0
        for stop, facing in [*_chain(front, back, line), ((line + 1) % count, True)]:
            top, bottom = depth_front[passed_front], depth_back[passed_back]
            borders.setdefault((True, top), []).append((start, stop))
            borders.setdefault((False, bottom), []).append((start, stop))
            rows.append((start, stop, _index(levels, top), _index(levels, thickness - bottom), line))
            start, passed_front, passed_back = stop, passed_front + facing, passed_back + (not facing)
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
    starts, stops, tops, bottoms, on = np.array(rows).T
    return _Walls(starts, stops, tops, bottoms, on, directions), borders


def _directions(lines: Lines, sides: list[tuple[int, bool]]) -> Floats:
    """(lines + sides, 2) float: the way each line and each plane of grooves' sides runs."""
    count = len(lines.corners)
    along = np.zeros((count + len(sides), 2))
    along[:count, 0], along[:count, 1] = lines.normals[:, 1], -lines.normals[:, 0]
    along[:count][lines.edge == STOP] = 0.0
    for i, (axis, forward) in enumerate(sides):
        along[count + i, axis] = 1.0 if forward else -1.0
    return along


def _loops(pairs: list[tuple[int, int]]) -> list[list[int]]:
    """Chain directed pieces into loops."""
    onward = dict(pairs)
    if len(onward) < len(pairs):
        raise PartError("Two grooves touch at a corner only: move them apart or let them overlap.")
    loops: list[list[int]] = []
    while onward:
        start, vertex = onward.popitem()
        chain = [start]
        while vertex != start:
            chain.append(vertex)
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
        place = "a side of a notch or groove" if edge < 0 else f"outline edge {edge}"
        raise PartError(
            f"At a depth of {levels[level]:.4g} mm nothing is left of {place}, because bevels, chamfers, round-overs"
            " or grooves beside it cut it away: make them smaller or move them apart."
        )


def _weld(points: Floats, numbers: NDArray[np.int64], walls: _Walls) -> NDArray[np.int64]:
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
    levels: Floats,
    insets: Floats,
    points: Floats,
    walls: _Walls,
    numbers: NDArray[np.int64],
    faces: list[Face],
) -> Body:
    """Cut the walls into triangles and keep the vertices that are used."""
    rows = np.arange(len(levels) - 1)[:, None]
    slab, wall = np.nonzero((rows >= walls.top) & (rows < walls.bottom))
    start, stop = walls.start[wall], walls.stop[wall]
    a, b = numbers[slab, start], numbers[slab, stop]
    d, c = numbers[slab + 1, start], numbers[slab + 1, stop]
    triangles = np.stack([a, b, c, a, c, d], axis=1).reshape(-1, 3)
    planes = _planes(levels, insets, len(walls.directions))
    patch = np.repeat(planes[slab, walls.line[wall]], 2)
    sound = (triangles != triangles[:, [1, 2, 0]]).all(axis=1)
    triangles, patch = triangles[sound], patch[sound]
    kept = np.zeros(numbers.size, dtype=bool)
    kept[triangles] = True
    number = np.cumsum(kept, dtype=np.int32) - np.int32(1)
    vertices = np.empty((*points.shape[:2], 3))
    vertices[..., :2] = points
    vertices[..., 2] = levels[:, None]
    for face in faces:
        loops = [number[loop] for loop in face.loops]
        face.loops = [loop[loop != loop[np.arange(len(loop)) - 1]] for loop in loops]
    return Body(vertices.reshape(-1, 3)[kept], number[triangles], patch, int(planes.max()) + 1, faces)


def _planes(levels: Floats, insets: Floats, count: int) -> Ints:
    """(slabs, count) number of the plane in which a line's wall stands between two levels."""
    slope = (insets[1:] - insets[:-1]) / (levels[1:] - levels[:-1])[:, None]
    bends = np.zeros((len(slope), count), dtype=np.int32)
    bends[1:, : insets.shape[1]] = np.abs(slope[1:] - slope[:-1]) > _BEND
    bends = np.cumsum(bends, axis=0, dtype=np.int32)
    return bends + np.concatenate([[0], np.cumsum(bends[-1, :-1] + 1)]).astype(np.int32)
