"""A board before its openings, grooves and holes: convex regions whose union is the outline, bevelled and eased."""

from __future__ import annotations

from itertools import product
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from .convex_parts import convex_parts
from .profiles import edge_profile
from .tolerances import WELD

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from .part import EdgeTreatment, Shape

    Floats = NDArray[np.float64]
    Triple = tuple[float, float, float]


NO_PLANES = np.zeros((0, 4))


class Base(NamedTuple):
    """A box and the planes that cut it, rows (nx, ny, nz, offset): n·x <= offset, n of unit length."""

    low: Triple
    high: Triple
    planes: Floats


def bases(shape: Shape) -> Iterator[Base]:
    """Convex regions whose union is the board; they overlap.

    A treatment that stops gives three boards: treated all along, and untreated before and after its stops.
    """
    if not shape.edges and not shape.bevels and shape.is_rectangle:
        (u0, v0), (u1, v1) = shape.outline[0], shape.outline[2]
        yield Base((u0, v0, 0.0), (u1, v1, shape.thickness), NO_PLANES)
        return
    outline = np.array(shape.outline, dtype=float)
    stopped = [edge for edge in shape.edges if edge.start is not None or edge.stop is not None]
    for states in product(("treated", "before", "after"), repeat=len(stopped)):
        limits = [_stop_plane(outline, edge, state) for edge, state in zip(stopped, states, strict=True)]
        if any(state != "treated" and limit is None for limit, state in zip(limits, states, strict=True)):
            continue
        skipped = [edge for edge, state in zip(stopped, states, strict=True) if state != "treated"]
        board = _Board(shape, outline, [edge for edge in shape.edges if edge not in skipped])
        for part in convex_parts(shape.outline):
            for planes in board.wood(part):
                yield _bounded(
                    outline[list(part)], shape.thickness, [*(p for p in limits if p is not None), *planes]
                )


class _Board:
    """The outline's edges with the treatments that count."""

    def __init__(self, shape: Shape, outline: Floats, treated: list[EdgeTreatment]) -> None:
        self.outline, self.thickness = outline, shape.thickness
        along = np.roll(outline, -1, axis=0) - outline
        self.along = along / np.hypot(along[:, 0], along[:, 1])[:, None]
        before = np.roll(along, 1, axis=0)
        self.turn: list[float] = (before[:, 0] * along[:, 1] - before[:, 1] * along[:, 0]).tolist()
        self.treated = treated
        self.bevels = {bevel.edge: bevel for bevel in shape.bevels}
        self.cut = sorted({edge.edge for edge in treated} | self.bevels.keys())

    def wood(self, part: tuple[int, ...]) -> Iterator[list[Floats]]:
        """Sets of planes; the wood of a convex part of the outline is the union of what they leave of it.

        A cut edge takes the strip between its line and its profile. At an inner corner the strip ends where the
        wood beside the neighbouring edge begins, where the outline goes straight on it ends square. So a point is
        spared by the edge if it lies within the profile, or past one of the strip's ends, or outside the line.
        """
        count = len(self.outline)
        choices: list[list[tuple[str, int]]] = []
        for edge in self.cut:
            end = (edge + 1) % count
            if edge not in part and end not in part:
                continue
            options = [("edge", edge)]
            for corner, neighbour, side in ((edge, (edge - 1) % count, "before"), (end, end, "after")):
                if self.turn[corner] < -WELD:
                    options += [("edge", neighbour), ("beyond", edge)]
                elif self.turn[corner] <= WELD:
                    options.append((side, corner))
            choices.append(list(dict.fromkeys(options)))
        picks = {frozenset(pick) for pick in product(*choices)}
        for pick in sorted(picks, key=sorted):
            if not any(other < pick for other in picks):
                planes = [self._planes(kind, number) for kind, number in sorted(pick)]
                yield planes + self._sloping_sides(part, {number for kind, number in pick if kind == "edge"})

    def _planes(self, kind: str, number: int) -> Floats:
        if kind == "edge":
            own = tuple(edge for edge in self.treated if edge.edge == number)
            profile = edge_profile(self.thickness, own, self.bevels.get(number))
            return _profile_planes(*self._side(number, number + 1), profile)
        if kind == "beyond":
            direction, offset = self._side(number, number + 1)
            return np.array([[*-direction, 0.0, -offset]])
        along = self.along[number] if kind == "before" else -self.along[number]
        return np.array([[*along, 0.0, along @ self.outline[number]]])

    def _side(self, start: int, stop: int) -> tuple[Floats, float]:
        """Outward direction and offset of the line from one corner to another."""
        run = self.outline[stop % len(self.outline)] - self.outline[start]
        direction = np.array([run[1], -run[0]]) / np.hypot(*run)
        return direction, float(direction @ self.outline[start])

    def _sloping_sides(self, part: tuple[int, ...], named: set[int]) -> list[Floats]:
        """Planes of a part's own sides that its bounding box does not stand for."""
        sides = []
        for start, stop in zip(part, (*part[1:], part[0]), strict=True):
            if start in named and stop == (start + 1) % len(self.outline):
                continue
            direction, offset = self._side(start, stop)
            if 0.0 not in direction:
                sides.append(np.array([[*direction, 0.0, offset]]))
        return sides


def _bounded(corners: Floats, thickness: float, sets: list[Floats]) -> Base:
    """A board as box and planes; planes along the axes narrow the box."""
    low, high = [*corners.min(axis=0).tolist(), 0.0], [*corners.max(axis=0).tolist(), thickness]
    planes = np.concatenate(sets) if sets else np.zeros((0, 4))
    along_axis = np.count_nonzero(np.abs(planes[:, :3]) > WELD, axis=1) == 1
    for plane in planes[along_axis]:
        k = int(np.abs(plane[:3]).argmax())
        limit = float(plane[3] / plane[k])
        if plane[k] > 0:
            high[k] = min(high[k], limit)
        else:
            low[k] = max(low[k], limit)
    return Base((low[0], low[1], low[2]), (high[0], high[1], high[2]), planes[~along_axis])


def _profile_planes(direction: Floats, offset: float, profile: Floats) -> Floats:
    """A plane for each straight length of an edge's section: direction·(u, v) <= offset - inset(w). (k, 4)"""
    step = np.diff(profile, axis=0)
    steep = step[:, 0] > WELD
    slope = step[steep, 1] / step[steep, 0]
    planes = np.empty((len(slope), 4))
    planes[:, 0], planes[:, 1], planes[:, 2] = direction[0], direction[1], slope
    planes[:, 3] = offset - profile[:-1][steep, 1] + slope * profile[:-1][steep, 0]
    return planes / np.sqrt(1 + slope * slope)[:, None]


def _stop_plane(outline: Floats, edge: EdgeTreatment, state: str) -> Floats | None:
    """Before its start or after its stop: the half-space along the edge, (1, 4); None where it runs out there."""
    a, b = outline[edge.edge], outline[(edge.edge + 1) % len(outline)]
    along = (b - a) / np.hypot(*(b - a))
    if state == "before" and edge.start is not None:
        return np.array([[*along, 0.0, along @ a + edge.start]])
    if state == "after" and edge.stop is not None:
        return np.array([[*-along, 0.0, -(along @ a + edge.stop)]])
    return None
