"""Convex bodies that every depth w cuts in a rectangle: corners, facets and edges in closed form.

Such is the wood beside an opening with chamfers where the board's own edges are eased. Two polygons bound it, one in
the plane (u, w), one in (v, w), and between the knots of both its corners move straight with w.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from .convex import Edges, Pieces
from .extrusion import half_planes_of, polygons
from .tolerances import WELD

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from .bases import Plane
    from .cell import Cell
    from .extrusion import HalfPlane

    Floats = NDArray[np.float64]
    Numbers = NDArray[np.intp]
    Pair = tuple[int, int]

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


def _as_pieces(bodies: list[_Body], tags: list[str]) -> Pieces:
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
