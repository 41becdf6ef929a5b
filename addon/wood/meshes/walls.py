"""The upright walls of a body, and the borders that they give the flat faces.

Where holes leave through a wall, its flat regions are cut into triangles anew around them.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ...sizes.arrays import Floats
from ...sizes.errors import PartError
from ...sizes.tolerances import CONTACT, WELD
from ..features.base import Edge
from .grooves import Map
from .outline import NOTCH, STOP, Lines
from .polygon import triangulate

Ints = NDArray[np.int32]
Borders = dict[tuple[bool, float], list[tuple[int, int]]]


@dataclass(frozen=True, eq=False)
class Walls:
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


def level_index(levels: list[float], level: float) -> int:
    """Which of rising levels one is."""
    return bisect_left(levels, level - WELD)


def chain(front: Map, back: Map, line: int) -> list[tuple[int, bool]]:
    """Vertices of both maps within a line, in order, and whether they are the front's."""
    splits = [(along, vertex, True) for along, vertex in front.splits.get(line, ())]
    splits += [(along, vertex, False) for along, vertex in back.splits.get(line, ())]
    return [(vertex, facing) for _, vertex, facing in sorted(splits)]


def ring_walls(lines: Lines, levels: int) -> tuple[Walls, Borders]:
    """Walls and borders of a body without grooves."""
    start = np.arange(len(lines.corners))
    stop = (start + 1) % len(start)
    walls = Walls(
        start, stop, np.zeros_like(start), np.full_like(start, levels - 1), start, _directions(lines, [])
    )
    pairs = list(zip(start.tolist(), stop.tolist(), strict=True))
    return walls, {(True, 0.0): pairs, (False, 0.0): pairs}


def trace(front: Map, back: Map, levels: list[float], lines: Lines) -> tuple[Walls, Borders]:
    """All walls, and the directed borders of the flat faces by (front, depth)."""
    thickness, count = levels[-1], len(lines.corners)
    rows: list[tuple[int, int, int, int, int]] = []
    borders: Borders = {}
    for line in range(count):
        depth_front, depth_back = front.depths.get(line, [0.0]), back.depths.get(line, [0.0])
        start, passed_front, passed_back = line, 0, 0
        for stop, facing in [*chain(front, back, line), ((line + 1) % count, True)]:
            top, bottom = depth_front[passed_front], depth_back[passed_back]
            borders.setdefault((True, top), []).append((start, stop))
            borders.setdefault((False, bottom), []).append((start, stop))
            rows.append(
                (start, stop, level_index(levels, top), level_index(levels, thickness - bottom), line)
            )
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
            rows.append((*ends, level_index(levels, top), level_index(levels, bottom), count + plane))
    directions = _directions(lines, [(axis, forward) for _, axis, _, forward in planes])
    starts, stops, tops, bottoms, on = np.array(rows).T
    return Walls(starts, stops, tops, bottoms, on, directions), borders


def _directions(lines: Lines, sides: list[tuple[int, bool]]) -> Floats:
    """(lines + sides, 2) float: the way each line and each plane of grooves' sides runs."""
    count = len(lines.corners)
    along = np.zeros((count + len(sides), 2))
    along[:count, 0], along[:count, 1] = lines.normals[:, 1], -lines.normals[:, 0]
    along[:count][lines.edge == STOP] = 0.0
    for i, (axis, forward) in enumerate(sides):
        along[count + i, axis] = 1.0 if forward else -1.0
    return along


def loops_of(pairs: list[tuple[int, int]]) -> list[list[int]]:
    """Chain directed pieces into loops."""
    onward = dict(pairs)
    if len(onward) < len(pairs):
        raise PartError("Two grooves touch at a corner only: move them apart or let them overlap.")
    loops: list[list[int]] = []
    while onward:
        start, vertex = onward.popitem()
        loop = [start]
        while vertex != start:
            loop.append(vertex)
            vertex = onward.pop(vertex)
        loops.append(loop)
    return loops


def check_order(lines: Lines, levels: Floats, run: Floats, walls: Walls) -> None:
    """Refuse walls that turn round at some depth; (levels, walls, 2) from start to stop, mm."""
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
        place = "a side of a notch or groove" if edge < 0 else f"edge {edge} of the outline"
        raise PartError(
            f"At a depth of {{depth}} nothing is left of {place}, because bevels, chamfers, round-overs or grooves"
            " beside it cut it away: make them smaller or move them apart.",
            depth=float(levels[level]),
        )


def welded(run: Floats, numbers: NDArray[np.int64], walls: Walls) -> NDArray[np.int64]:
    """Numbers in which vertices that a wall joins over no distance are one; (levels, walls, 2) from start to stop."""
    along_u, along_v = np.abs(run).transpose(2, 0, 1)
    together = np.maximum(along_u, along_v) <= WELD
    if not together.any():
        return numbers
    start, stop = numbers.take(walls.start, axis=1), numbers.take(walls.stop, axis=1)
    together &= start != stop
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
