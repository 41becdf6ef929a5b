"""The upright walls of a body, and the borders that they give the flat faces."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..sizes.errors import PartError
from ..sizes.tolerances import WELD
from .outline import NOTCH, STOP

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from .grooves import Map
    from .outline import Lines

    Floats = NDArray[np.float64]
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
