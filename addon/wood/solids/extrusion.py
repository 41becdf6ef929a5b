"""Convex bodies in closed form: prisms along u or v, and those that every depth w cuts in a rectangle.

A prism is a section cut out by half-planes and extruded. A rectangle at every depth is what the wood beside an opening
with chamfers is where the board's own edges are eased: two polygons bound it, one in the plane (u, w), one in (v, w),
and between the knots of both its corners move straight with w.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ...sizes.arrays import Floats, Ints
from ...sizes.tolerances import ANGLE, WELD
from .bases import Plane
from .cells import Cell
from .pieces import Edges, Pieces

HalfPlane = tuple[float, float, float]
Numbers = NDArray[np.intp]
Pair = tuple[int, int]


def half_planes_of(cell: Cell, planes: Sequence[Plane], axis: int) -> list[HalfPlane]:
    """What bounds a cell in the plane of w and one of u (axis 0) and v: its box and the planes cutting it there.

    Normal on that axis, normal on w, offset; the box comes first: least on the axis, least w, greatest on the axis,
    greatest w.
    """
    return [
        *((-1.0, 0.0, -cell.low[axis]), (0.0, -1.0, -cell.low[2])),
        *((1.0, 0.0, cell.high[axis]), (0.0, 1.0, cell.high[2])),
        *((plane[axis], plane[2], plane[3]) for plane in planes if plane[axis]),
    ]


class Section(NamedTuple):
    """A prism: half-planes across its axis, and its two ends on it."""

    axis: int
    """0 or 1: the axis of the part that it runs along."""
    low: float
    high: float
    half_planes: list[HalfPlane]
    """Normal on the other of u and v, normal on w, offset; unit normals"""
    tag: object

    @classmethod
    def of(cls, cell: Cell, planes: Sequence[Plane]) -> Section:
        """A cell whose cutting planes all run along u or all along v."""
        axis = 0 if not any(plane[0] for plane in planes) else 1
        half_planes = half_planes_of(cell, planes, 1 - axis)
        return cls(axis, cell.low[axis], cell.high[axis], half_planes, cell.tag)


def extruded(sections: Sequence[Section]) -> tuple[Pieces, list[int]]:
    """The prisms as pieces, and the number of the section that each is of; the sections must have an inside."""
    by_size: dict[int, list[int]] = {}
    rings = polygons([section.half_planes for section in sections])
    for number, (_, kept) in enumerate(rings):
        by_size.setdefault(len(kept), []).append(number)
    sets = []
    for numbers in by_size.values():
        chosen = [sections[number] for number in numbers]
        sets.append(
            prisms(
                np.array([section.axis for section in chosen]),
                np.array([section.low for section in chosen]),
                np.array([section.high for section in chosen]),
                np.array([rings[number][0] for number in numbers]),
                np.array([np.array(sections[number].half_planes)[rings[number][1]] for number in numbers]),
                [section.tag for section in chosen],
            )
        )
    return Pieces.concatenate(sets), [number for numbers in by_size.values() for number in numbers]


def prisms(
    axis: Ints, low: Floats, high: Floats, corners: Floats, half_planes: Floats, tags: Sequence[object]
) -> Pieces:
    """N prisms over sections with k corners.

    Parameters
    ----------
    axis : (N,) int; the axis, 0 or 1, that each runs along
    low, high : (N,) float, mm; its ends
    corners : (N, k, 2) float, mm; on the other of u and v, and on w
    half_planes : (N, k, 3) float; normal and offset of the side that begins at each corner
    tags : N of them
    """
    row, count, across = np.arange(len(axis)), corners.shape[1], 1 - axis
    vertices = np.empty((len(axis), 2 * count, 3))
    vertices[row, :, across] = np.concatenate([corners[:, :, 0], corners[:, :, 0]], axis=1)
    vertices[:, :count, 2] = vertices[:, count:, 2] = corners[:, :, 1]
    vertices[row, :count, axis], vertices[row, count:, axis] = low[:, None], high[:, None]
    planes = np.zeros((len(axis), count + 2, 4))
    planes[row, :count, across] = half_planes[:, :, 0]
    planes[:, :count, 2:] = half_planes[:, :, 1:]
    planes[row, count, axis], planes[row, count + 1, axis] = -1.0, 1.0
    planes[:, count, 3], planes[:, count + 1, 3] = -low, high
    return Pieces.alike(vertices, planes, _edges_of_prism(count), tags)


@lru_cache(maxsize=64)
def _edges_of_prism(count: int) -> Edges:
    """Edges and their planes: corners 0 … k − 1 at one end, the rest at the other; planes: sides, then both ends."""
    ring = np.arange(count)
    following, before = (ring + 1) % count, (ring - 1) % count
    ends = [[ring, ring + count, ring], [following, following + count, ring + count]]
    first_end, second_end = np.full(count, count), np.full(count, count + 1)
    planes = [[ring, ring, before], [first_end, second_end, ring]]
    return Edges(np.reshape(ends, (2, -1)).T, np.reshape(planes, (2, -1)).T)


def polygons(sets: Sequence[Sequence[HalfPlane]]) -> list[tuple[Floats, Ints]]:
    """What half-planes have in common: for each set the corners (k, 2), counter-clockwise, and the planes kept (k,).

    Corner i is where plane `kept[i]` begins. Each line is cut by all other half-planes; what is left of it is an
    edge. All sets are worked out together, equal ones once.
    """
    keys = [tuple(one) for one in sets]
    distinct = list(dict.fromkeys(keys))
    found = dict(zip(distinct, _polygons(distinct), strict=True))
    return [found[key] for key in keys]


def _polygons(sets: Sequence[Sequence[HalfPlane]]) -> list[tuple[Floats, Ints]]:
    width = max(len(one) for one in sets)
    planes = np.zeros((len(sets), width, 3))
    planes[:, :, 2] = 1.0  # fills up short sets: 0 <= 1 cuts nothing
    for row, one in enumerate(sets):
        planes[row, : len(one)] = one
    normals, offsets = planes[:, :, :2], planes[:, :, 2]
    along = np.stack([-normals[:, :, 1], normals[:, :, 0]], axis=2)
    foot = normals * offsets[:, :, None]
    rate = along @ normals.transpose(0, 2, 1)
    slack = offsets[:, None, :] - foot @ normals.transpose(0, 2, 1)
    parallel = np.abs(rate) <= ANGLE
    same = parallel & (normals @ normals.transpose(0, 2, 1) > 0) & (np.abs(slack) <= WELD)
    twin = (same & np.tri(width, k=-1, dtype=bool)).any(axis=2)
    misses = (parallel & (slack < -WELD)).any(axis=2)
    rate[parallel], slack[parallel] = 1.0, np.inf
    limit = slack / rate
    end = np.where(rate > 0, limit, np.inf).min(axis=2)
    start = np.where(rate > 0, -np.inf, limit).max(axis=2)
    is_edge = ~misses & ~twin & (end - start > WELD) & np.isfinite(end)
    angle = np.arctan2(normals[:, :, 1], normals[:, :, 0])
    corners = foot + np.where(is_edge, start, 0.0)[:, :, None] * along
    found = []
    for row in range(len(sets)):
        kept = np.flatnonzero(is_edge[row])
        kept = kept[np.argsort(angle[row, kept], kind="stable")]
        found.append((corners[row, kept], kept))
    return found


_BOTTOM, _TOP = 1, 3
"""Which of a cell's half-planes bound it on w; see `half_planes_of`."""


class _Side(NamedTuple):
    """One side of a polygon, from the lowest w to the highest."""

    knots: list[tuple[float, float]]
    """(coordinate, w) each, mm"""
    planes: list[HalfPlane]
    """Between each two knots."""


def stacked(cells: Sequence[Cell], planes: Sequence[Sequence[Plane]]) -> tuple[Pieces, list[int]]:
    """The cells that are such bodies as pieces, and their numbers; the others are left to `from_planes`.

    Parameters
    ----------
    planes : for each cell, the planes that cut its box
    """
    wanted = [
        number for number, own in enumerate(planes) if all(not (plane[0] and plane[1]) for plane in own)
    ]
    if not wanted:
        return Pieces.empty(), []
    halves = [half_planes_of(cells[number], planes[number], axis) for number in wanted for axis in (0, 1)]
    rings = polygons(halves)
    sides = [_sides(own, *ring) for own, ring in zip(halves, rings, strict=True)]
    bodies, numbers = [], []
    for number, along_u, along_v in zip(wanted, sides[::2], sides[1::2], strict=True):
        if along_u is not None and along_v is not None:
            cell = cells[number]
            bodies.append(_Body(along_u, along_v, cell.low[2], cell.high[2]))
            numbers.append(number)
    return _as_pieces(bodies, [cells[number].tag for number in numbers]), numbers


def _sides(half_planes: Sequence[HalfPlane], corners: Floats, kept: Numbers) -> tuple[_Side, _Side] | None:
    """Left and right side of a polygon; None where it has no edge at the least or the greatest w, or knots too near."""
    names = kept.tolist()
    if _BOTTOM not in names or _TOP not in names:
        return None
    turn = names.index(_BOTTOM)
    names, points = names[turn:] + names[:turn], corners.tolist()
    points = points[turn:] + points[:turn]
    top = names.index(_TOP)
    right = _Side(points[1 : top + 1], [half_planes[name] for name in names[1:top]])
    left = _Side(
        [*points[top + 1 :], points[0]][::-1], [half_planes[name] for name in names[top + 1 :]][::-1]
    )
    for side in (left, right):
        if any(b[1] - a[1] <= 2 * WELD for a, b in zip(side.knots, side.knots[1:], strict=False)):
            return None
    return left, right


@dataclass
class _Body:
    """One body. Planes: the least w, the greatest, then the sides' along u and v, each from low to high."""

    along_u: tuple[_Side, _Side]
    along_v: tuple[_Side, _Side]
    bottom: float
    top: float
    vertices: list[tuple[float, float, float]] = field(default_factory=list)
    planes: list[tuple[float, float, float, float]] = field(default_factory=list)
    edges: list[Pair] = field(default_factory=list)
    edge_planes: list[Pair] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.planes += [(0.0, 0.0, -1.0, -self.bottom), (0.0, 0.0, 1.0, self.top)]
        first_u, first_v = [], []
        for side in self.along_u:
            first_u.append(len(self.planes))
            self.planes += [(u, 0.0, w, offset) for u, w, offset in side.planes]
        for side in self.along_v:
            first_v.append(len(self.planes))
            self.planes += [(0.0, v, w, offset) for v, w, offset in side.planes]
        at = [[self._climb(i, j, first_u[i], first_v[j]) for j in (0, 1)] for i in (0, 1)]
        for i in (0, 1):
            self._across(first_u[i], [knots for knots, _ in at[i]], self.along_u[i])
            self._across(first_v[i], [at[0][i][1], at[1][i][1]], self.along_v[i])

    def _climb(self, i: int, j: int, plane_u: int, plane_v: int) -> tuple[list[int], list[int]]:
        """The edge where side i along u meets side j along v; the vertices at the knots of either side."""
        own, other = self.along_u[i], self.along_v[j]
        u, v = own.knots, other.knots
        at_u, at_v = [len(self.vertices)], [len(self.vertices)]
        self.vertices.append((u[0][0], v[0][0], self.bottom))
        a = b = 0
        while a < len(own.planes) or b < len(other.planes):
            both = (plane_u + a, plane_v + b)
            ahead = u[a + 1][1] - v[b + 1][1]
            self.edges.append((len(self.vertices) - 1, len(self.vertices)))
            self.edge_planes.append(both)
            if ahead <= WELD:
                a += 1
                at_u.append(len(self.vertices))
            if ahead >= -WELD:
                b += 1
                at_v.append(len(self.vertices))
            w = u[a][1] if ahead <= WELD else v[b][1]
            here_u = u[a][0] if ahead <= WELD else _between(u[a], u[a + 1], w)
            here_v = v[b][0] if ahead >= -WELD else _between(v[b], v[b + 1], w)
            self.vertices.append((here_u, here_v, w))
        return at_u, at_v

    def _across(self, first: int, ends: list[list[int]], side: _Side) -> None:
        """The edges square to w at the knots of a side, from the lowest to the highest."""
        last = first + len(side.planes) - 1
        for knot, pair in enumerate(zip(*ends, strict=True)):
            below = first + knot - 1 if knot else 0
            above = first + knot if first + knot <= last else 1
            self.edges.append(pair)
            self.edge_planes.append((below, above))


def _between(start: tuple[float, float], stop: tuple[float, float], w: float) -> float:
    share = (w - start[1]) / (stop[1] - start[1])
    return start[0] + share * (stop[0] - start[0])


def _as_pieces(bodies: list[_Body], tags: Sequence[object]) -> Pieces:
    def starts(sizes: list[int]) -> Numbers:
        return np.concatenate([[0], np.cumsum(sizes)]).astype(np.intp)

    return Pieces(
        np.array([row for body in bodies for row in body.vertices]).reshape(-1, 3),
        starts([len(body.vertices) for body in bodies]),
        np.array([row for body in bodies for row in body.planes]).reshape(-1, 4),
        starts([len(body.planes) for body in bodies]),
        tuple(Edges(np.array(body.edges), np.array(body.edge_planes)) for body in bodies),
        tuple(tags),
    )
