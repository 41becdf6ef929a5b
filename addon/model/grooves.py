"""Where grooves and rabbets cross the outline and one another: the map of one face of a board.

The map divides the face into regions of one depth each. Its pieces are straight: those of the outline, which move
with the depth as the outline's lines do, and those of the grooves' sides, which stand square to the face.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from .errors import PartError
from .polygon import inside
from .tolerances import WELD

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from .part import Face, Groove
    from .rings import Lines

    Floats = NDArray[np.float64]

_CLEAR = 1.0
"""How far a groove that ends on the outline is drawn out into the open, mm; any distance gives the same solid."""

_BESIDE = 1e-6
"""How near to its ends a groove's depth is probed, as a share of the depth."""


@dataclass(frozen=True)
class Crossing:
    """A vertex where a groove's side meets line `line` of the outline."""

    line: int
    base: tuple[float, float]
    """Where it stands when the line is not displaced, mm."""
    rate: tuple[float, float]
    """Its displacement per mm of the line's inset."""
    depth: float
    """The vertex is used from the face down to this depth, mm."""


@dataclass(frozen=True)
class Side:
    """A piece of a groove's side, with the depths of the regions on its left and on its right, mm."""

    start: int
    stop: int
    axis: int
    """0 if it runs along u, 1 if along v; always toward greater coordinates."""
    at: float
    """The other coordinate, mm."""
    left: float
    right: float


@dataclass
class Map:
    """The map of one face. Vertices 0 … n − 1 are the outline's; the others stand in `vertices`, from n on."""

    vertices: list[Crossing | tuple[float, float]] = field(default_factory=list)
    splits: dict[int, list[int]] = field(default_factory=dict)
    """Vertices within an outline line, in its direction."""
    depths: dict[int, list[float]] = field(default_factory=dict)
    """Depths beside the pieces of an outline line; lines that are not named have depth 0 all along."""
    sides: list[Side] = field(default_factory=list)


def depth_at(grooves: Iterable[Groove], u: float, v: float) -> float:
    """Depth of the deepest of the grooves at a point of their face, 0 outside all of them, mm."""
    return max((g.depth for g in grooves if g.u0 < u < g.u1 and g.v0 < v < g.v1), default=0.0)


def map_face(grooves: Sequence[Groove], face: Face, lines: Lines, first: int) -> Map:
    """The map of one face of the board.

    Parameters
    ----------
    grooves : all grooves of the shape; those of the other face are left out
    lines : the outline
    first : number of the first new vertex
    """
    chosen = [groove for groove in grooves if groove.face == face]
    if not chosen:
        return Map()
    depths = {groove.depth for groove in chosen}
    thickness = lines.knees[-1]
    knees = [knee if face == "front" else thickness - knee for knee in lines.knees]
    probes = [min(depths) / 2, min(depths) * _BESIDE]
    probes += [depth * (1.0 - _BESIDE) for depth in depths]
    probes += [knee for knee in knees if 0.0 < knee < max(depths)]
    at = np.array(probes)
    rings = lines.vertices(lines.insets(at if face == "front" else thickness - at))
    return _Mapper(chosen, lines, at, rings, first).map()


class _Mapper:
    """Draws the map as it is at the first of the probed depths, and sees to it that it holds at the others.

    `depths` (p,), `rings` (p, n, 2): the outline there, mm.
    """

    def __init__(self, grooves: list[Groove], lines: Lines, depths: Floats, rings: Floats, first: int) -> None:
        self.lines, self.first = lines, first
        self.probes, self.rings, self.onwards = depths, rings, np.roll(rings, -1, axis=1)
        self.ring, self.onward = rings[0], self.onwards[0]
        self.result = Map()
        self.fixed: dict[tuple[float, float], int] = {}
        self.on_line: dict[int, list[tuple[float, int]]] = {}
        boxes = np.array([[g.u0, g.u1, g.v0, g.v1] for g in grooves], dtype=float)
        self._snap(boxes[:, :2])
        self._snap(boxes[:, 2:])
        self._draw_out(boxes)
        self.boxes: list[tuple[float, ...]] = [
            (*box, groove.depth) for box, groove in zip(boxes.tolist(), grooves, strict=True)
        ]

    def map(self) -> Map:
        """The finished map."""
        rows: dict[int, dict[float, list[tuple[float, float, float]]]] = {0: {}, 1: {}}
        for u0, u1, v0, v1, depth in self.boxes:
            for v in (v0, v1):
                rows[0].setdefault(v, []).append((u0, u1, depth))
            for u in (u0, u1):
                rows[1].setdefault(u, []).append((v0, v1, depth))
        pieces: list[tuple[int, float, float, float, int, int]] = []
        for axis in (0, 1):
            for at, spans in rows[axis].items():
                points = sorted(self._points_on(axis, at, spans, rows[1 - axis]))
                for (a, i), (b, j) in zip(points, points[1:], strict=False):
                    middle = (a + b) / 2
                    if i != j and any(low < middle < high for low, high, _ in spans):
                        pieces.append((axis, at, a, b, i, j))
        self._keep_sides(pieces)
        self._split_outline()
        return self.result

    @staticmethod
    def _snap(values: Floats) -> None:
        """Make coordinates within `WELD` of one another equal, in place."""
        order = np.sort(values, axis=None)
        for low, high in zip(order, order[1:], strict=False):
            if 0.0 < high - low <= WELD:
                values[values == high] = low

    def _draw_out(self, boxes: Floats) -> None:
        """Move grooves' sides that lie on a straight edge of the outline, wood inside, out of the board."""
        for axis in (0, 1):
            across = 1 - axis
            level = np.abs(self.onward[:, across] - self.ring[:, across]) <= WELD
            for i in np.flatnonzero(level & (np.abs(self.lines.normals[:, axis]) <= WELD)):
                at, inward = self.ring[i, across], self.lines.normals[i, across]
                a, b = sorted((self.ring[i, axis], self.onward[i, axis]))
                side = 2 * across + (0 if inward > 0.0 else 1)
                touching = np.abs(boxes[:, side] - at) <= WELD
                touching &= (boxes[:, 2 * axis] < b - WELD) & (boxes[:, 2 * axis + 1] > a + WELD)
                boxes[touching, side] -= np.copysign(_CLEAR, inward)

    def _point(self, axis: int, at: float, along: float) -> int:
        key = (along, at) if axis == 0 else (at, along)
        if key not in self.fixed:
            self.fixed[key] = self._new(key)
        return self.fixed[key]

    def _new(self, vertex: Crossing | tuple[float, float]) -> int:
        self.result.vertices.append(vertex)
        return self.first + len(self.result.vertices) - 1

    def _points_on(
        self,
        axis: int,
        at: float,
        spans: list[tuple[float, float, float]],
        others: dict[float, list[tuple[float, float, float]]],
    ) -> set[tuple[float, int]]:
        """Vertices on the line of a groove's side: coordinate along it, number."""
        points = {(end, self._point(axis, at, end)) for low, high, _ in spans for end in (low, high)}
        for along, across in others.items():
            if any(low <= at <= high for low, high, _ in across):
                points.add((along, self._point(axis, at, along)))
        for line, share, along, depth in self._crossings(axis, at, spans):
            points.add((along, self._crossing(line, axis, at, share, depth)))
        return points

    def _crossings(
        self, axis: int, at: float, spans: list[tuple[float, float, float]]
    ) -> list[tuple[int, float, float, float]]:
        """Where the outline crosses grooves' sides on one line: outline line, share of its length, place, depth."""
        start, stop = self.rings[:, :, 1 - axis], self.onwards[:, :, 1 - axis]
        across = (start >= at) != (stop >= at)
        lines = np.flatnonzero(across.any(axis=0))
        start, stop, across = start[:, lines], stop[:, lines], across[:, lines]
        share = (at - start) / np.where(across, stop - start, 1.0)
        along = self.rings[:, lines, axis]
        along = along + share * (self.onwards[:, lines, axis] - along)
        deepest = np.zeros(len(lines))
        for low, high, depth in spans:
            within = across & (low <= along) & (along <= high)
            if (within != within[0])[self.probes <= depth].any():
                raise PartError(
                    f"A groove that ends at {'vu'[axis]} = {at:.5g} mm leaves the board at one depth and not at"
                    " another, because the edge there is not square: let it end well within the edge or beyond it."
                )
            deepest[within[0]] = np.maximum(deepest[within[0]], depth)
        return [
            (int(line), float(share[0, i]), float(along[0, i]), float(deepest[i]))
            for i, line in enumerate(lines)
            if deepest[i] > 0.0
        ]

    def _crossing(self, line: int, axis: int, at: float, share: float, depth: float) -> int:
        count = len(self.ring)
        length = float(np.abs(self.onward[line] - self.ring[line]).max())
        if share * length <= WELD:
            return line
        if (1.0 - share) * length <= WELD:
            return (line + 1) % count
        corner, normal = self.lines.corners[line].tolist(), self.lines.normals[line].tolist()
        base, rate = [at, at], [0.0, 0.0]
        base[axis] = corner[axis] - (at - corner[1 - axis]) * normal[1 - axis] / normal[axis]
        rate[axis] = 1.0 / normal[axis]
        vertex = self._new(Crossing(line, (base[0], base[1]), (rate[0], rate[1]), depth))
        self.on_line.setdefault(line, []).append((share, vertex))
        return vertex

    def _depth(self, u: float, v: float) -> float:
        return max((d for u0, u1, v0, v1, d in self.boxes if u0 < u < u1 and v0 < v < v1), default=0.0)

    def _keep_sides(self, pieces: list[tuple[int, float, float, float, int, int]]) -> None:
        """Keep the pieces that lie in the wood and have different depths on either side."""
        middles = np.array(
            [((a + b) / 2, at) if axis == 0 else (at, (a + b) / 2) for axis, at, a, b, *_ in pieces]
        )
        within = inside(middles, self.ring, self.onward)
        for (axis, at, a, b, i, j), keep in zip(pieces, within.tolist(), strict=True):
            if not keep:
                continue
            middle, above, below = (a + b) / 2, 0.0, 0.0
            for box in self.boxes:
                low, high = box[2 * axis], box[2 * axis + 1]
                near, far = box[2 - 2 * axis], box[3 - 2 * axis]
                if low < middle < high:
                    above = max(above, box[4] if near <= at < far else 0.0)
                    below = max(below, box[4] if near < at <= far else 0.0)
            if above != below:
                left, right = (above, below) if axis == 0 else (below, above)
                self.result.sides.append(Side(i, j, axis, at, left, right))

    def _split_outline(self) -> None:
        """Note the pieces of the outline's lines and the depths beside them."""
        low, high = np.minimum(self.ring, self.onward), np.maximum(self.ring, self.onward)
        near = np.zeros(len(self.ring), dtype=bool)
        for u0, u1, v0, v1, _ in self.boxes:
            near |= (low[:, 0] < u1) & (high[:, 0] > u0) & (low[:, 1] < v1) & (high[:, 1] > v0)
        for line in np.flatnonzero(near).tolist():
            found = sorted(self.on_line.get(line, ()))
            shares = [0.0, *(share for share, _ in found), 1.0]
            (u, v), (u_end, v_end) = self.ring[line].tolist(), self.onward[line].tolist()
            middles = [(a + b) / 2 for a, b in zip(shares, shares[1:], strict=False)]
            self.result.splits[line] = [vertex for _, vertex in found]
            self.result.depths[line] = [
                self._depth(u + (u_end - u) * t, v + (v_end - v) * t) for t in middles
            ]
