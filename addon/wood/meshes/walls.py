"""The upright walls of a body, the borders that they give the flat faces, and the walls of its holes.

Where holes leave through a wall, its flat regions are cut into triangles anew around them. The walls of a hole are
rings of vertices from the front face to the back: all rings of a hole have the same number of vertices, one behind
the other, so that facets stand between them.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from math import cos, pi, radians, sin, tan
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ...sizes.arrays import Floats
from ...sizes.errors import PartError
from ...sizes.tolerances import CONTACT, WELD
from ..features import AngledHole, Blank, Hole
from ..features.base import Edge
from ..profiles import facets_around, hole_steps
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
    planes: dict[tuple[bool, Hashable, bool], int] = {}
    along: list[tuple[tuple[float, float], bool]] = []
    for facing, sides in ((True, front.sides), (False, back.sides)):
        for side in sides:
            borders.setdefault((facing, side.left), []).append((side.start, side.stop))
            borders.setdefault((facing, side.right), []).append((side.stop, side.start))
            low, high = sorted((side.left, side.right))
            top, bottom = (low, high) if facing else (thickness - high, thickness - low)
            forward = side.left < side.right  # the wood stands on the shallower region's side
            ends = (side.start, side.stop) if forward else (side.stop, side.start)
            plane = planes.setdefault((facing, side.plane, forward), len(planes))
            if plane == len(along):
                along.append((side.along, forward))
            rows.append((*ends, level_index(levels, top), level_index(levels, bottom), count + plane))
    directions = _directions(lines, along)
    starts, stops, tops, bottoms, on = np.array(rows).T
    return Walls(starts, stops, tops, bottoms, on, directions), borders


def _directions(lines: Lines, sides: list[tuple[tuple[float, float], bool]]) -> Floats:
    """(lines + sides, 2) float: the way each line and each plane of grooves' sides runs."""
    count = len(lines.corners)
    along = np.zeros((count + len(sides), 2))
    along[:count, 0], along[:count, 1] = lines.normals[:, 1], -lines.normals[:, 0]
    along[:count][lines.edge == STOP] = 0.0
    for i, (own, forward) in enumerate(sides):
        along[count + i] = np.array(own) * (1.0 if forward else -1.0)
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


def hole_rings(hole: Hole, thickness: float, low: float, high: float) -> Floats:
    """Rings (k, n, 3), clockwise, mm, of what a hole takes between two depths w; none where that is nothing."""
    section = _section(hole, thickness)
    depth, radius = section.T
    w = depth if hole.face == "front" else thickness - depth
    if hole.face == "back":
        w, radius = w[::-1], radius[::-1]
    w, radius = _clipped(w, radius, low, high)
    count = hole_steps(hole.widest)
    corners = facets_around(count)[::-1] / cos(pi / count)
    rings = np.empty((len(w), count, 3))
    rings[:, :, :2] = radius[:, None, None] * corners + (hole.u, hole.v)
    rings[:, :, 2] = w[:, None]
    return rings


def _section(hole: Hole, thickness: float) -> Floats:
    """(k, 2): depth below its face and radius, mm, from the face down."""
    end = thickness if hole.depth is None else hole.depth
    rows: list[tuple[float, float]] = []
    tiers = hole.tiers
    for tier, bottom in zip(tiers, [*(tier.top for tier in tiers[1:]), end], strict=True):
        rows += [(tier.top, tier.flare), (tier.top + tier.sink, tier.radius), (bottom, tier.radius)]
    distinct = [
        row
        for row, before in zip(rows, [(-1.0, -1.0), *rows], strict=False)
        if abs(row[0] - before[0]) > WELD or abs(row[1] - before[1]) > WELD
    ]
    return np.array(distinct)


def _clipped(w: Floats, radius: Floats, low: float, high: float) -> tuple[Floats, Floats]:
    """The part of a section between two depths."""
    low, high = max(low, float(w[0])), min(high, float(w[-1]))
    if high - low <= WELD:
        return w[:0], radius[:0]
    first = int(np.searchsorted(w, low + WELD, side="right"))
    last = int(np.searchsorted(w, high - WELD, side="left"))
    ends = [_radius_at(w, radius, first - 1, low), _radius_at(w, radius, last - 1, high)]
    return (
        np.concatenate([[low], w[first:last], [high]]),
        np.concatenate([ends[:1], radius[first:last], ends[1:]]),
    )


def _radius_at(w: Floats, radius: Floats, row: int, at: float) -> float:
    """Radius at a depth on the line from one row to the next."""
    share = (at - w[row]) / (w[row + 1] - w[row])
    return float(radius[row] + share * (radius[row + 1] - radius[row]))


Exit = Literal["wood", "face", "edge"]
"""Where an angled hole ends: in the wood, through the other face, or through the edge that it leans to."""


def angled_rings(hole: AngledHole, blank: Blank) -> tuple[Floats, Exit]:
    """Rings (k, n, 3), mm, of an angled hole, from its open end on; and where it ends.

    Two for the bore, two more for a pilot: all but the first and one that lies in an edge or a face are square to the
    axis. Rings are clockwise seen from before the front face.
    """
    axis, lean = hole.axis(blank), radians(hole.angle)
    count = hole_steps(hole.diameter)
    corners = facets_around(count)[::-1] / cos(pi / count)
    end = _exit(hole, blank)
    rings: list[Floats] = []
    start = -hole.diameter / 2 * corners[:, 1] / tan(lean)
    for radius, depth in hole.stages:
        across, below = (radius * corners).T
        if depth is not None:
            stop = np.full(count, depth)
        elif end == "edge":
            stop = (hole.inset + below * sin(lean)) / cos(lean)
        else:
            stop = (blank.thickness - below * cos(lean)) / sin(lean)
        around = axis.entry + np.outer(across, axis.beside) + np.outer(below, axis.below)
        rings += [around + np.outer(along, axis.along) for along in (start, stop)]
        start = stop
    # What lies in a face lies in it exactly.
    faces = (0.0, blank.thickness) if hole.face == "front" else (blank.thickness, 0.0)
    rings[0][:, 2] = faces[0]
    if end == "face":
        rings[-1][:, 2] = faces[1]
    return np.array(rings), end


def _exit(hole: AngledHole, blank: Blank) -> Exit:
    if hole.stages[-1][1] is not None:
        return "wood"
    lean = radians(hole.angle)
    return "edge" if hole.inset * sin(lean) < blank.thickness * cos(lean) else "face"
