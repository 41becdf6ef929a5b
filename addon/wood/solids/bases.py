"""A board before openings, grooves and holes: its outline as convex polygons, then as convex regions with its edges.

There are few planes a board, hence plain floats: numpy's calls would cost more than the arithmetic.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from itertools import pairwise, product
from math import hypot, sqrt
from typing import NamedTuple

import numpy as np

from ...sizes.arrays import Floats
from ...sizes.tolerances import WELD
from ..features import EdgeTreatment, Taper
from ..meshes.polygon import triangulate
from ..part import Shape
from ..profiles import edge_profile

Pair = tuple[float, float]
Triple = tuple[float, float, float]
Plane = tuple[float, float, float, float]


@lru_cache(maxsize=512)
def convex_parts(outline: tuple[tuple[float, float], ...]) -> tuple[tuple[int, ...], ...]:
    """Convex polygons that fill a simple outline, as vertex numbers, counter-clockwise.

    Triangles are joined across shared edges as long as the result stays convex (Hertel and Mehlhorn 1983: at most
    four times as many as the fewest possible).
    """
    everything = tuple(range(len(outline)))
    if _is_convex(outline, everything):
        return (everything,)
    triangles = triangulate(np.array(outline), [len(outline)])
    parts = [tuple(int(i) for i in triangle) for triangle in triangles]
    merged = True
    while merged:
        merged = False
        for first in range(len(parts)):
            for second in range(first + 1, len(parts)):
                joined = _joined(parts[first], parts[second])
                if joined is not None and _is_convex(outline, joined):
                    parts[first] = joined
                    del parts[second]
                    merged = True
                    break
            if merged:
                break
    return tuple(parts)


def _joined(a: tuple[int, ...], b: tuple[int, ...]) -> tuple[int, ...] | None:
    """Two polygons that share an edge, as one; None if they share none."""
    for i, start in enumerate(a):
        end = a[(i + 1) % len(a)]
        for j, other in enumerate(b):
            if other == end and b[(j + 1) % len(b)] == start:
                rest = [b[(j + 2 + k) % len(b)] for k in range(len(b) - 2)]
                return (*a[: i + 1], *rest, *a[i + 1 :])
    return None


def _is_convex(outline: tuple[tuple[float, float], ...], polygon: tuple[int, ...]) -> bool:
    corners = [outline[corner] for corner in polygon]
    return all(
        (v[0] - u[0]) * (w[1] - v[1]) - (v[1] - u[1]) * (w[0] - v[0]) >= -WELD
        for u, v, w in zip(corners[-1:] + corners[:-1], corners, corners[1:] + corners[:1], strict=True)
    )


class Base(NamedTuple):
    """A box and the planes that cut it, each (nx, ny, nz, offset): n·x <= offset, n of unit length."""

    low: Triple
    high: Triple
    planes: tuple[Plane, ...] = ()


def bases(shape: Shape) -> tuple[Base, ...]:
    """Convex regions whose union is the board; they overlap.

    A treatment that stops gives three boards: treated all along, and untreated before and after its stops.
    """
    if not shape.edge_cuts and not shape.bevels and shape.is_rectangle:
        (u0, v0), (u1, v1) = shape.outline[0], shape.outline[2]
        return (Base((u0, v0, 0.0), (u1, v1, shape.thickness)),)
    return _bases(Shape(shape.outline, shape.thickness, (*shape.edge_cuts, *shape.bevels)))


@lru_cache(maxsize=128)
def _bases(board: Shape) -> tuple[Base, ...]:
    return tuple(_worked_out(board))


def _worked_out(shape: Shape) -> Iterator[Base]:
    rim = _Rim(shape.outline)
    stopped = [edge for edge in shape.edge_cuts if edge.start is not None or edge.stop is not None]
    for states in product(("treated", "before", "after"), repeat=len(stopped)):
        limits = [rim.stop_plane(edge, state) for edge, state in zip(stopped, states, strict=True)]
        if any(state != "treated" and limit is None for limit, state in zip(limits, states, strict=True)):
            continue
        skipped = [edge for edge, state in zip(stopped, states, strict=True) if state != "treated"]
        board = _Board(shape, rim, [edge for edge in shape.edge_cuts if edge not in skipped])
        kept = [limit for limit in limits if limit is not None]
        for part in convex_parts(shape.outline):
            corners = [shape.outline[corner] for corner in part]
            for planes in board.wood(part):
                yield _bounded(corners, shape.thickness, kept + planes)


class _Rim:
    """The outline's edges as lines."""

    def __init__(self, outline: tuple[Pair, ...]) -> None:
        self.corners = outline
        onward = (*outline[1:], outline[0])
        runs = [(u1 - u, v1 - v) for (u, v), (u1, v1) in zip(outline, onward, strict=True)]
        self.along = [(du / hypot(du, dv), dv / hypot(du, dv)) for du, dv in runs]
        self.turn = [a[0] * b[1] - a[1] * b[0] for a, b in zip(runs[-1:] + runs[:-1], runs, strict=True)]

    def side(self, start: int, stop: int) -> tuple[Pair, float]:
        """Outward direction and offset of the line from one corner to another."""
        (u, v), (u1, v1) = self.corners[start], self.corners[stop % len(self.corners)]
        length = hypot(u1 - u, v1 - v)
        out_u, out_v = (v1 - v) / length, (u - u1) / length
        return (out_u, out_v), out_u * u + out_v * v

    def stop_plane(self, edge: EdgeTreatment | Taper, state: str) -> Plane | None:
        """Before its start or after its stop: the half-space along the edge; None where it runs out there."""
        (u, v), (du, dv) = self.corners[edge.edge], self.along[edge.edge]
        if state == "before" and edge.start is not None:
            return du, dv, 0.0, du * u + dv * v + edge.start
        if state == "after" and edge.stop is not None:
            return -du, -dv, 0.0, -(du * u + dv * v + edge.stop)
        return None


class _Board:
    """The outline's edges with the treatments that count."""

    def __init__(self, shape: Shape, rim: _Rim, treated: list[EdgeTreatment | Taper]) -> None:
        self.rim, self.thickness, self.treated = rim, shape.thickness, treated
        self.bevels = {bevel.edge: bevel for bevel in shape.bevels}
        self.cut = sorted({edge.edge for edge in treated} | self.bevels.keys())

    def wood(self, part: tuple[int, ...]) -> Iterator[list[Plane]]:
        """Sets of planes; the wood of a convex part of the outline is the union of what they leave of it.

        A cut edge takes the strip between its line and its profile. At an inner corner the strip ends where the
        wood beside the neighboring edge begins, where the outline goes straight on it ends square. So a point is
        spared by the edge if it lies within the profile, or past one of the strip's ends, or outside the line.
        """
        count = len(self.rim.corners)
        choices: list[list[tuple[str, int]]] = []
        for edge in self.cut:
            end = (edge + 1) % count
            if edge not in part and end not in part:
                continue
            options = [("edge", edge)]
            for corner, neighbor, side in ((edge, (edge - 1) % count, "before"), (end, end, "after")):
                if self.rim.turn[corner] < -WELD:
                    options += [("edge", neighbor), ("beyond", edge)]
                elif self.rim.turn[corner] <= WELD:
                    options.append((side, corner))
            choices.append(list(dict.fromkeys(options)))
        picks = {frozenset(pick) for pick in product(*choices)}
        for pick in sorted(picks, key=sorted):
            if not any(other < pick for other in picks):
                planes = [plane for kind, number in sorted(pick) for plane in self._planes(kind, number)]
                yield planes + self._sloping_sides(part, {number for kind, number in pick if kind == "edge"})

    def _planes(self, kind: str, number: int) -> list[Plane]:
        if kind == "edge":
            own = tuple(edge for edge in self.treated if edge.edge == number)
            profile = edge_profile(self.thickness, own, self.bevels.get(number))
            return _profile_planes(*self.rim.side(number, number + 1), profile)
        if kind == "beyond":
            (u, v), offset = self.rim.side(number, number + 1)
            return [(-u, -v, 0.0, -offset)]
        (u, v), (du, dv) = self.rim.corners[number], self.rim.along[number]
        if kind == "after":
            du, dv = -du, -dv
        return [(du, dv, 0.0, du * u + dv * v)]

    def _sloping_sides(self, part: tuple[int, ...], named: set[int]) -> list[Plane]:
        """Planes of a part's own sides that its bounding box does not stand for."""
        sides: list[Plane] = []
        for start, stop in zip(part, (*part[1:], part[0]), strict=True):
            if start in named and stop == (start + 1) % len(self.rim.corners):
                continue
            (u, v), offset = self.rim.side(start, stop)
            if u and v:
                sides.append((u, v, 0.0, offset))
        return sides


def _bounded(corners: list[Pair], thickness: float, planes: list[Plane]) -> Base:
    """A board as box and planes; planes along the axes narrow the box."""
    us, vs = zip(*corners, strict=True)
    low, high = [min(us), min(vs), 0.0], [max(us), max(vs), thickness]
    cutting = []
    for plane in planes:
        along = [axis for axis in range(3) if abs(plane[axis]) > WELD]
        if len(along) != 1:
            cutting.append(plane)
            continue
        (axis,) = along
        limit = plane[3] / plane[axis]
        if plane[axis] > 0:
            high[axis] = min(high[axis], limit)
        else:
            low[axis] = max(low[axis], limit)
    return Base((low[0], low[1], low[2]), (high[0], high[1], high[2]), tuple(cutting))


def _profile_planes(direction: Pair, offset: float, profile: Floats) -> list[Plane]:
    """A plane for each straight length of an edge's section: direction·(u, v) <= offset - inset(w)."""
    planes = []
    for (w, inset), (w1, inset1) in pairwise(profile.tolist()):
        if w1 - w > WELD:
            slope = (inset1 - inset) / (w1 - w)
            size = sqrt(1 + slope * slope)
            reach = offset - inset + slope * w
            planes.append((direction[0] / size, direction[1] / size, slope / size, reach / size))
    return planes
