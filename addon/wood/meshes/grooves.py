"""The map of one face of a board: the grooves and rabbets in it, where they cross the outline and one another.

The map divides the face into regions of one depth each. Its borders are straight: those along the outline move
with the depth as the outline's lines do, those along the grooves' sides stand square to the face.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Final, NamedTuple

import numpy as np

from ...sizes.arrays import Floats
from ...sizes.errors import PartError
from ...sizes.tolerances import WELD
from ..features import End, Face, Groove
from ..part import Shape
from ..profiles import corner_chain, distance_to_box, inside, steps
from .outline import Lines

Point = tuple[float, float]


class Span(NamedTuple):
    """One side of a groove on its line: from `low` to `high`, the groove being `depth` deep, mm."""

    low: float
    high: float
    depth: float


class Crossing(NamedTuple):
    """A vertex where a groove's side meets a line of the outline."""

    line: int
    base: Point
    """Where it stands when the line is not displaced, mm."""
    rate: Point
    """Its displacement per mm of the line's inset."""
    depth: float
    """It is used from the face down to this depth, mm."""


class Side(NamedTuple):
    """A piece of a groove's side between two vertices."""

    start: int
    stop: int
    plane: Hashable
    """Equal for sides in one plane."""
    along: Point
    """Unit direction from start to stop; along u and v always toward greater coordinates."""
    left: float
    right: float
    """Depths of the regions on either side, mm."""


@dataclass
class Map:
    """The map of one face. Vertices 0 … n − 1 are the outline's; the others stand in `vertices`, from n on."""

    vertices: list[Crossing | Point] = field(default_factory=list)
    splits: dict[int, list[tuple[float, int]]] = field(default_factory=dict)
    """Vertices within an outline line, in its direction, each with its distance along the line, mm."""
    depths: dict[int, list[float]] = field(default_factory=dict)
    """Depths beside the pieces of an outline line, mm; lines that are not named have depth 0 all along."""
    sides: list[Side] = field(default_factory=list)


def depth_at(grooves: Iterable[Groove], u: float, v: float) -> float:
    """Depth of the deepest of some grooves of one face at a point, 0 outside all of them, mm."""
    return max((g.depth for g in grooves if g.u0 < u < g.u1 and g.v0 < v < g.v1), default=0.0)


_BESIDE: Final = 1e-6
"""How near to its ends a groove's depth is probed, as a share of the depth."""
_INWARD: Final = 10 * WELD
"""How far beside the outline one looks whether a groove lies there, mm."""


class NotPlainError(Exception):
    """A groove's round end has something else beside it, which no map shows."""


def map_face(shape: Shape, face: Face, lines: Lines, first: int) -> Map:
    """The map of one face of the board.

    Parameters
    ----------
    lines : the outline
    first : number of the first new vertex

    Raises
    ------
    PartError : a groove that runs out of the board at one depth and not at another
    NotPlainError : a round end with an edge or another groove beside it
    """
    chosen = [groove for groove in shape.grooves if groove.face == face]
    if not chosen:
        return Map()
    depths = {groove.depth for groove in chosen}
    probes = [min(depths) * _BESIDE, *(depth * (1.0 - _BESIDE) for depth in depths)]
    thickness = lines.knees[-1]
    below = [knee if face == "front" else thickness - knee for knee in lines.knees]
    probes += [depth for depth in below if 0.0 < depth < max(depths)]
    at = np.array(probes)
    rings = lines.vertices(lines.insets(at if face == "front" else thickness - at))
    mapper = _Mapper(chosen, lines, at, rings, first)
    found = mapper.map()
    for number, groove in enumerate(chosen):
        for end in groove.round_ends(shape.blank):
            mapper.round_off(number, groove, end)
    return found


class _Mapper:
    """Draws the map as it is at the first of the probed depths, and sees to it that it holds at the others.

    `depths` (p,) and `rings` (p, n, 2): the outline at each, mm.
    """

    def __init__(
        self, grooves: list[Groove], lines: Lines, depths: Floats, rings: Floats, first: int
    ) -> None:
        self.lines, self.first, self.probes = lines, first, depths.tolist()
        onward = np.arange(1, rings.shape[1] + 1) % rings.shape[1]
        self.rings, self.onwards = rings, rings[:, onward]
        self.ring, self.onward = self.rings[0], self.onwards[0]
        self.length = np.abs(self.onward - self.ring).max(axis=1)
        self.result = Map()
        self.fixed: dict[Point, int] = {}
        self.on_line: dict[int, list[tuple[float, int]]] = {}
        boxes = np.array([[[g.u0, g.u1], [g.v0, g.v1]] for g in grooves], dtype=float)
        self.coordinates = [_snap(boxes[:, axis]) for axis in (0, 1)]
        self.boxes = [(*box, g.depth) for box, g in zip(boxes.reshape(-1, 4).tolist(), grooves, strict=True)]
        self.rows: list[dict[float, list[Span]]] = [{}, {}]
        """For sides along u and along v: the other coordinate and the sides there."""
        for u0, u1, v0, v1, depth in self.boxes:
            for v in (v0, v1):
                self.rows[0].setdefault(v, []).append(Span(u0, u1, depth))
            for u in (u0, u1):
                self.rows[1].setdefault(u, []).append(Span(v0, v1, depth))

    def map(self) -> Map:
        """The finished map."""
        points = {**self._cross(0), **self._cross(1)}
        pieces: list[tuple[int, float, float, int, int]] = []
        for (axis, at), crossings in points.items():
            spans = self.rows[axis][at]
            for (a, i), (b, j) in pairwise(sorted(crossings | self._corners(axis, at))):
                middle = (a + b) / 2
                if i != j and any(span.low < middle < span.high for span in spans):
                    pieces.append((axis, at, middle, i, j))
        self._keep_sides(pieces)
        self._split_outline()
        return self.result

    def _cross(self, axis: int) -> dict[tuple[int, float], set[tuple[float, int]]]:
        """Where the outline meets grooves' sides that run along an axis.

        By (axis, other coordinate): the vertices on that line, each as (coordinate along it, number).
        """
        rows = self.rows[axis]
        found: dict[tuple[int, float], set[tuple[float, int]]] = {(axis, at): set() for at in rows}
        ats = np.array(list(rows))
        start, stop = self.rings[:, :, 1 - axis], self.onwards[:, :, 1 - axis]
        ahead = self.rings[:, None, :, 1 - axis] - ats[:, None]
        ahead_next = self.onwards[:, None, :, 1 - axis] - ats[:, None]
        across = (np.minimum(ahead, ahead_next) < -WELD) & (np.maximum(ahead, ahead_next) > WELD)
        row, line = np.nonzero(across.any(axis=0))
        if len(row):
            across, start, stop = across[:, row, line], start[:, line], stop[:, line]
            share = (ats[row] - start) / np.where(across, stop - start, 1.0)
            along = self.rings[:, line, axis]
            along = along + share * (self.onwards[:, line, axis] - along)
            along = np.where(across, along, np.inf)
            for k, (at, number) in enumerate(zip(ats[row].tolist(), line.tolist(), strict=True)):
                depth = self._depth_there(axis, at, along[:, k].tolist())
                if depth > 0.0:
                    vertex = self._crossing(number, axis, at, float(share[0, k]), float(along[0, k]), depth)
                    found[axis, at].add(vertex)
        row, vertices = (np.abs(self.ring[:, 1 - axis] - ats[:, None]) <= WELD).nonzero()
        for at, number in zip(ats[row].tolist(), vertices.tolist(), strict=True):
            place = float(self.ring[number, axis])
            if any(low - WELD <= place <= high + WELD for low, high, _ in rows[at]):
                found[axis, at].add(self._known(axis, at, place, number))
        return found

    def _depth_there(self, axis: int, at: float, places: list[float]) -> float:
        """Depth of the deepest groove that has a side where the outline crosses a line; one place per probe."""
        deepest = 0.0
        for low, high, depth in self.rows[axis][at]:
            within = [
                low - WELD <= place <= high + WELD
                for place, probe in zip(places, self.probes, strict=True)
                if probe <= depth
            ]
            if within[0] != all(within) or within[0] != any(within):
                raise PartError(
                    f"A groove that ends {{at}} {('above the lower edge', 'from the start')[axis]} leaves the board at"
                    " one depth and not at another, because the edge there is not square: let it end well within the"
                    " edge or beyond it.",
                    at=float(at),
                )
            if within[0]:
                deepest = max(deepest, depth)
        return deepest

    def _known(self, axis: int, at: float, along: float, vertex: int) -> tuple[float, int]:
        """Note the vertex as that of the grooves' corner there, if there is one."""
        along = next((c for c in self.coordinates[axis] if abs(c - along) <= WELD), along)
        while vertex > 0 and self.length[vertex - 1] <= WELD:
            vertex -= 1  # of vertices that stand together the first stands for all
        return along, self.fixed.setdefault((along, at) if axis == 0 else (at, along), vertex)

    def _crossing(
        self, line: int, axis: int, at: float, share: float, along: float, depth: float
    ) -> tuple[float, int]:
        known = self._known(axis, at, along, -1)
        if known[1] >= 0:
            self._deepen(known[1], depth)
            return known
        corner, normal = self.lines.corners[line].tolist(), self.lines.normals[line].tolist()
        base, rate = [at, at], [0.0, 0.0]
        base[axis] = corner[axis] - (at - corner[1 - axis]) * normal[1 - axis] / normal[axis]
        rate[axis] = 1.0 / normal[axis]
        vertex = self._new(Crossing(line, (base[0], base[1]), (rate[0], rate[1]), depth))
        self.fixed[(known[0], at) if axis == 0 else (at, known[0])] = vertex
        self.on_line.setdefault(line, []).append((share, vertex))
        return known[0], vertex

    def _deepen(self, number: int, depth: float) -> None:
        """A vertex where two grooves meet on the outline is used down to the deeper one."""
        vertex = self.result.vertices[number - self.first] if number >= self.first else None
        if isinstance(vertex, Crossing) and vertex.depth < depth:
            self.result.vertices[number - self.first] = vertex._replace(depth=depth)

    def _new(self, vertex: Crossing | Point) -> int:
        self.result.vertices.append(vertex)
        return self.first + len(self.result.vertices) - 1

    def _corners(self, axis: int, at: float) -> set[tuple[float, int]]:
        """Where the line of a groove's side meets grooves' sides across it."""
        spans = self.rows[axis][at]
        places = [
            along
            for along, across in self.rows[1 - axis].items()
            if any(low <= at <= high for low, high, _ in across)
            and any(s.low <= along <= s.high for s in spans)
        ]
        found = set()
        for along in places:
            key = (along, at) if axis == 0 else (at, along)
            if key not in self.fixed:
                self.fixed[key] = self._new(key)
            found.add((along, self.fixed[key]))
        return found

    def _depth(self, u: float, v: float) -> float:
        return max((d for u0, u1, v0, v1, d in self.boxes if u0 < u < u1 and v0 < v < v1), default=0.0)

    def _keep_sides(self, pieces: list[tuple[int, float, float, int, int]]) -> None:
        """Keep the pieces that lie in the wood and have different depths on either side."""
        middles = np.array([(middle, at) if axis == 0 else (at, middle) for axis, at, middle, _, _ in pieces])
        within = inside(middles, self.ring, self.onward)
        for (axis, at, middle, i, j), keep in zip(pieces, within.tolist(), strict=True):
            if not keep:
                continue
            above = below = 0.0
            for box in self.boxes:
                low, high = box[2 * axis : 2 * axis + 2]
                near, far = box[2 - 2 * axis : 4 - 2 * axis]
                if low < middle < high:
                    above = max(above, box[4] if near <= at < far else 0.0)
                    below = max(below, box[4] if near < at <= far else 0.0)
            if above != below:
                left, right = (above, below) if axis == 0 else (below, above)
                along = (1.0, 0.0) if axis == 0 else (0.0, 1.0)
                self.result.sides.append(Side(i, j, (axis, at), along, left, right))

    def round_off(self, number: int, groove: Groove, end: End) -> None:
        """Give both corners at a stopped end facets around an arc."""
        *box, depth = self.boxes[number]
        for lower, upper in ((0, 0), (0, 1), (1, 0), (1, 1)):
            if (lower, upper)[groove.along == "v"] == (end == "end"):
                self._round_corner(
                    (box[lower], box[2 + upper]), (2 * lower - 1, 2 * upper - 1), groove, depth
                )

    def _round_corner(self, corner: Point, signs: tuple[int, int], groove: Groove, depth: float) -> None:
        """Put facets in the place of one corner, which lies toward `signs` from the groove's middle.

        Raises
        ------
        NotPlainError : where the corner is not that of this groove alone
        """
        radius, sides = groove.end_radius, self.result.sides
        vertex = self.fixed.get(corner, -1)
        meeting = [k for k, side in enumerate(sides) if vertex in (side.start, side.stop)]
        inner = np.array(corner) - radius * np.array(signs)
        low, high = np.minimum(corner, inner), np.maximum(corner, inner)
        apart = np.maximum(
            low - np.maximum(self.rings, self.onwards), np.minimum(self.rings, self.onwards) - high
        )
        near = apart.max(axis=2) <= WELD
        distances = distance_to_box(self.rings[near], self.onwards[near], low, high)
        clear = bool((distances > WELD).all())
        if not clear or len(meeting) != 2 or any(self._is_short(sides[k], depth, radius) for k in meeting):
            raise NotPlainError
        chain = inner + corner_chain(radius, steps(radius)) * signs
        chain[0, 0], chain[-1, 1] = corner  # the first facet goes on along v, the last one along u
        numbers = [self._new((u, v)) for u, v in chain.tolist()]
        for k in meeting:
            side = sides[k]
            other = numbers[0] if side.along == (0.0, 1.0) else numbers[-1]
            sides[k] = side._replace(
                start=other if side.start == vertex else side.start,
                stop=other if side.stop == vertex else side.stop,
            )
        left, right = (depth, 0.0) if signs[0] * signs[1] > 0 else (0.0, depth)
        run = np.diff(chain, axis=0)
        run /= np.linalg.norm(run, axis=1, keepdims=True)
        for k, (du, dv) in enumerate(run.tolist()):
            sides.append(Side(numbers[k], numbers[k + 1], (corner, k), (du, dv), left, right))

    def _is_short(self, side: Side, depth: float, radius: float) -> bool:
        """Whether there is no room along a side for an arc, or anything but whole wood on its other side."""
        start, stop = (self._place(vertex) for vertex in (side.start, side.stop))
        length = abs(stop[0] - start[0]) + abs(stop[1] - start[1])
        return length < radius - _INWARD or {side.left, side.right} != {0.0, depth}

    def _place(self, vertex: int) -> Point:
        if vertex < self.first:
            return self.ring[vertex, 0].item(), self.ring[vertex, 1].item()
        found = self.result.vertices[vertex - self.first]
        return found.base if isinstance(found, Crossing) else found

    def _split_outline(self) -> None:
        """Note the pieces of the outline's lines and the depths beside them."""
        low, high = np.minimum(self.ring, self.onward) - WELD, np.maximum(self.ring, self.onward) + WELD
        near = np.zeros(len(self.ring), dtype=bool)
        for u0, u1, v0, v1, _ in self.boxes:
            near |= (low[:, 0] < u1) & (low[:, 1] < v1) & (high[:, 0] > u0) & (high[:, 1] > v0)
        if not near.any():
            return
        run = self.onward - self.ring
        beside = self.ring + run[:, ::-1] * [-_INWARD, _INWARD] / np.maximum(self.length, WELD)[:, None]
        for line in np.flatnonzero(near & (self.length > WELD)).tolist():
            found = sorted(self.on_line.get(line, ()))
            shares = [0.0, *(share for share, _ in found), 1.0]
            (u, v), (u1, v1) = beside[line].tolist(), run[line].tolist()
            corner, normal = self.lines.corners[line], self.lines.normals[line]
            along = (self.ring[line] - corner) @ (normal[1], -normal[0])
            length = float(np.hypot(u1, v1))
            self.result.splits[line] = [(float(along + share * length), vertex) for share, vertex in found]
            self.result.depths[line] = [
                self._depth(u + u1 * (a + b) / 2, v + v1 * (a + b) / 2) for a, b in pairwise(shares)
            ]
        count = len(self.length)
        for line in np.flatnonzero(near & (self.length <= WELD)).tolist()[::-1]:
            self.result.depths[line] = self.result.depths.get((line + 1) % count, [0.0])[:1]


def _snap(values: Floats) -> list[float]:
    """Make coordinates within `WELD` of one another equal, in place; the distinct ones, rising."""
    rising = sorted(set(values.ravel().tolist()))
    kept = rising[:1]
    for value in rising[1:]:
        if value - kept[-1] > WELD:
            kept.append(value)
        else:
            values[values == value] = kept[-1]
    return kept
