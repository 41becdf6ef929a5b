"""The surface of a union of convex pieces as a closed mesh: slow and sure, for shapes that are not built ring by ring.

plane of some facets           Wood lies on one side of the surface alone. On each plane, facets that look one way
+-------+                      less those that look the other way, and less what pieces that cross the plane have
|  one  +-----+                of it, is the region of the surface there. All edges of these polygons are cut where
|     +-+ - - +-+              they cross; a piece of edge is a border of the region if it has it on one side alone.
+-----|other    |
      +---------+
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise, product
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from ...sizes.arrays import Bools, Floats
from ...sizes.errors import PartError
from ..features import Groove, Opening
from ..part import Shape
from ..solids.pieces import Pieces
from .polygon import triangulate

Ints = NDArray[np.int32]

_NEAR: Final = 1e-3
"""mm; edges of grooves and openings nearer to each other than this are made to meet."""
_SAME: Final = 1e-5
"""mm; points nearer to each other than this are one, and lie on a line or plane that is as near."""
_ASIDE: Final = 1e-4
"""mm; how far beside a border one looks whether the region is there."""


def snapped(shape: Shape) -> Shape:
    """The shape with edges of grooves that nearly meet those of openings, or of their chamfers, moved there."""
    features = [_snapped(one, shape.openings) if isinstance(one, Groove) else one for one in shape.features]
    return replace(shape, features=tuple(features))


def _snapped(groove: Groove, openings: tuple[Opening, ...]) -> Groove:
    lines: tuple[list[float], list[float]] = ([], [])
    for one in openings:
        wide = one.front_chamfer if groove.face == "front" else one.back_chamfer
        for out in {0.0, wide, max(wide - groove.depth, 0.0), -one.corner_radius}:
            lines[0].extend((one.u0 - out, one.u1 + out))
            lines[1].extend((one.v0 - out, one.v1 + out))

    def moved(at: float, axis: int) -> float:
        near = min(lines[axis], key=lambda line: abs(line - at), default=at)
        return near if abs(near - at) < _NEAR else at

    return replace(
        groove,
        u0=moved(groove.u0, 0),
        u1=moved(groove.u1, 0),
        v0=moved(groove.v0, 1),
        v1=moved(groove.v1, 1),
    )


def surface_of(pieces: Pieces, thickness: float) -> tuple[Floats, Ints, Ints]:
    """Vertices (n, 3) mm, triangles (m, 3) and the number of each one's flat face (m,): 0 the board's front face, 1 its
    back.

    Raises
    ------
    PartError : a surface that does not close, because something in it is too small
    """
    welded = _Welded()
    borders: dict[tuple[int, bool], list[tuple[int, int]]] = {}
    planes = list(_planes(pieces))
    for number, plane in enumerate(planes):
        for forward, pairs in plane.borders(pieces, welded):
            borders[number, forward] = pairs
    vertices = np.array(welded.points)
    borders = _without_straight(_split(borders, vertices), vertices)
    _check_closed(borders)
    triangles: list[Ints] = []
    patch: list[Ints] = []
    for (number, forward), pairs in borders.items():
        own = planes[number].triangles(vertices, pairs, forward)
        which = planes[number].face(forward, thickness, len(planes) * 2 + 2)
        triangles.append(own)
        patch.append(np.full(len(own), which if which < 2 else 2 + 2 * number + forward, dtype=np.int32))
    return _compact(vertices, np.concatenate(triangles), np.concatenate(patch))


class _Welded:
    """Points, (3,) mm, each once."""

    def __init__(self) -> None:
        self.points: list[Floats] = []
        self._cells: dict[tuple[int, int, int], list[int]] = {}

    def number(self, point: Floats) -> int:
        """That of a point, new or known."""
        base = np.floor(point / _ASIDE).astype(int)
        for step in product((-1, 0, 1), repeat=3):
            for known in self._cells.get((base[0] + step[0], base[1] + step[1], base[2] + step[2]), ()):
                if np.abs(self.points[known] - point).max() <= _SAME:
                    return known
        self.points.append(point)
        self._cells.setdefault((base[0], base[1], base[2]), []).append(len(self.points) - 1)
        return len(self.points) - 1


# -- one plane
# ------------------------------------------------------------------------------------------------------------


class _Plane(NamedTuple):
    """A plane with facets on it."""

    normal: Floats
    offset: float
    axes: Floats
    """(2, 3) float: two directions in the plane; with the normal they are right-handed."""
    ahead: tuple[int, ...]
    """Pieces with a facet that looks along the normal."""
    behind: tuple[int, ...]
    """Those with one that looks the other way."""

    def borders(self, pieces: Pieces, welded: _Welded) -> Iterator[tuple[bool, list[tuple[int, int]]]]:
        """Borders of the surface's region that looks along the normal, and of that which looks the other way, each on
        the left of its border as seen from before it."""
        ahead, behind = ([self._section(pieces, i) for i in some] for some in (self.ahead, self.behind))
        facets = np.concatenate([*ahead, *behind])
        low, high = facets.min(axis=0) - _ASIDE, facets.max(axis=0) + _ASIDE
        near = self._raised(np.array([(u, v) for u in (low[0], high[0]) for v in (low[1], high[1])]))
        crossing = [
            self._section(pieces, i) for i in self._crossing(pieces, near.min(axis=0), near.max(axis=0))
        ]
        crossing = [
            one for one in crossing if (one.min(axis=0) < high).all() and (one.max(axis=0) > low).all()
        ]
        rings = [*ahead, *behind, *crossing]
        start = np.concatenate(rings)
        stop = np.concatenate([np.roll(ring, -1, axis=0) for ring in rings])
        there = ((np.minimum(start, stop) < high) & (np.maximum(start, stop) > low)).all(axis=1)
        ends = _cut_at_crossings(start[there], stop[there])
        ends = ends[((ends.mean(axis=1) < high) & (ends.mean(axis=1) > low)).all(axis=1)]
        run = ends[:, 1] - ends[:, 0]
        run /= np.linalg.norm(run, axis=1, keepdims=True)
        middle, aside = ends.mean(axis=1), _ASIDE * np.stack([-run[:, 1], run[:, 0]], axis=1)
        on = [
            [_covered(middle + sign * aside, some) for some in (ahead, behind, crossing)] for sign in (1, -1)
        ]
        for forward in (True, False):
            left, right = (
                (one[0] if forward else one[1]) & ~(one[1] if forward else one[0]) & ~one[2] for one in on
            )
            if not forward:
                left, right = right, left
            borders = np.concatenate([ends[left & ~right], ends[right & ~left][:, ::-1]])
            numbers = [welded.number(point) for point in self._raised(borders.reshape(-1, 2))]
            pairs = {(a, b) for a, b in zip(numbers[::2], numbers[1::2], strict=True) if a != b}
            if pairs:
                yield forward, sorted(pairs)

    def _crossing(self, pieces: Pieces, near_low: Floats, near_high: Floats) -> list[int]:
        """Pieces that the plane cuts within a box."""
        above = pieces.vertices @ self.normal - self.offset
        low = np.minimum.reduceat(above, pieces.starts[:-1])
        high = np.maximum.reduceat(above, pieces.starts[:-1])
        cut = (low < -_SAME) & (high > _SAME)
        cut &= ((pieces.low <= near_high) & (pieces.high >= near_low)).all(axis=1)
        return np.flatnonzero(cut).tolist()

    def _section(self, pieces: Pieces, number: int) -> Floats:
        """(n, 2) float: what a piece has of the plane, counter-clockwise."""
        corners = pieces.piece(number)
        above = corners @ self.normal - self.offset
        above[np.abs(above) <= _SAME] = 0.0
        start, stop = pieces.edges[number].ends.T
        cut = above[start] * above[stop] < 0
        start, stop = start[cut], stop[cut]
        share = (above[start] / (above[start] - above[stop]))[:, None]
        between = corners[start] + share * (corners[stop] - corners[start])
        points = np.concatenate([corners[above == 0.0], between]) @ self.axes.T
        away = points - points.mean(axis=0)
        return points[np.argsort(np.arctan2(away[:, 1], away[:, 0]))]

    def _raised(self, points: Floats) -> Floats:
        """(n, 2) in the plane → (n, 3) mm."""
        return points @ self.axes + self.offset * self.normal

    def face(self, forward: bool, thickness: float, other: int) -> int:
        """0 for the board's front face, 1 for its back face, else `other`."""
        if abs(self.normal[2]) < 1.0 - _SAME:
            return other
        up = forward == (self.normal[2] > 0)
        if up and abs(self.offset * self.normal[2] - thickness) <= _SAME:
            return 1
        return 0 if not up and abs(self.offset) <= _SAME else other

    def triangles(self, vertices: Floats, pairs: list[tuple[int, int]], forward: bool) -> Ints:
        """(m, 3) int32, counter-clockwise seen from before the region."""
        axes = self.axes if forward else self.axes[::-1]
        loops = _loops(pairs, vertices @ axes.T)
        numbers = np.array([i for loop in loops for i in loop], dtype=np.int32)
        return numbers[triangulate(vertices[numbers] @ axes.T, [len(loop) for loop in loops])]


def _planes(pieces: Pieces) -> Iterator[_Plane]:
    """All planes on which facets lie."""
    owner = np.repeat(np.arange(len(pieces)), np.diff(pieces.plane_starts))
    left = np.arange(len(pieces.planes))
    while len(left):
        normal, offset = pieces.planes[left[0], :3], pieces.planes[left[0], 3]
        planes = pieces.planes[left]
        same = [
            (np.abs(planes[:, :3] - sign * normal).max(axis=1) < _SAME)
            & (np.abs(planes[:, 3] - sign * offset) < _SAME)
            for sign in (1, -1)
        ]
        side = np.eye(3)[np.abs(normal).argmin()]
        along = np.cross(normal, side)
        along /= np.linalg.norm(along)
        axes = np.array([along, np.cross(normal, along)], dtype=float)
        yield _Plane(normal, float(offset), axes, *(tuple(owner[left[one]].tolist()) for one in same))
        left = left[~(same[0] | same[1])]


def _covered(points: Floats, rings: list[Floats]) -> Bools:
    """(n,) bool; whether each point lies in any of some convex polygons."""
    found = np.zeros(len(points), dtype=bool)
    for ring in rings:
        run = np.roll(ring, -1, axis=0) - ring
        away = points[:, None] - ring
        found |= (run[:, 0] * away[..., 1] - run[:, 1] * away[..., 0] > 0.0).all(axis=1)
    return found


def _cut_at_crossings(start: Floats, stop: Floats) -> Floats:
    """(k, 2, 2) float: pieces of segments (n, 2) mm between the points in which they meet."""
    kept = np.abs(stop - start).max(axis=1) > _SAME
    start, stop = start[kept], stop[kept]
    run = stop - start
    length = np.linalg.norm(run, axis=1)
    apart = start[None] - start[:, None]
    sine = run[:, None, 0] * run[None, :, 1] - run[:, None, 1] * run[None, :, 0]
    parallel = np.abs(sine) <= _SAME * length[:, None] * length[None]
    safe = np.where(parallel, 1.0, sine)
    at = (apart[..., 0] * run[None, :, 1] - apart[..., 1] * run[None, :, 0]) / safe
    there = (apart[..., 0] * run[:, None, 1] - apart[..., 1] * run[:, None, 0]) / safe
    slack = _SAME / length
    meet = ~parallel & (at > -slack[:, None]) & (at < 1 + slack[:, None])
    meet &= (there > -slack[None]) & (there < 1 + slack[None])
    ends = np.concatenate([start, stop])
    away = ends[None] - start[:, None]
    along = (away * run[:, None]).sum(axis=2) / (length**2)[:, None]
    beside = np.abs(away[..., 0] * run[:, None, 1] - away[..., 1] * run[:, None, 0]) / length[:, None]
    on = (beside <= _SAME) & (along > -slack[:, None]) & (along < 1 + slack[:, None])
    found = []
    for i in range(len(start)):
        shares = np.unique(np.clip(np.concatenate([at[i, meet[i]], along[i, on[i]], [0.0, 1.0]]), 0.0, 1.0))
        shares = shares[np.concatenate([[True], np.diff(shares) > slack[i]])]
        points = start[i] + shares[:, None] * run[i]
        found.append(np.stack([points[:-1], points[1:]], axis=1))
    return np.concatenate(found)


# -- the whole surface
# ------------------------------------------------------------------------------------------------------------

_Borders = dict[tuple[int, bool], list[tuple[int, int]]]
"""(plane, whether along its normal) → borders of a region, from vertex to vertex."""


def _split(borders: _Borders, vertices: Floats) -> _Borders:
    """The same with every border cut at the vertices that lie on it."""
    used = np.unique([i for pairs in borders.values() for pair in pairs for i in pair])
    places = vertices[used]
    known: dict[tuple[int, int], list[int]] = {}

    def parts(a: int, b: int) -> list[int]:
        pair = (min(a, b), max(a, b))
        if pair not in known:
            start, run = vertices[pair[0]], vertices[pair[1]] - vertices[pair[0]]
            away = places - start
            share = away @ run / (run @ run)
            beside = np.abs(away - share[:, None] * run).max(axis=1)
            on = np.flatnonzero((beside <= 2 * _SAME) & (share > 0) & (share < 1))
            inner = [number for number in used[on[np.argsort(share[on])]].tolist() if number not in pair]
            known[pair] = [pair[0], *inner, pair[1]]
        return known[pair] if a < b else known[pair][::-1]

    return {
        key: [piece for a, b in pairs for piece in pairwise(parts(a, b))] for key, pairs in borders.items()
    }


def _without_straight(borders: _Borders, vertices: Floats) -> _Borders:
    """The same without vertices at which all borders go straight on."""
    beside: dict[int, set[int]] = {}
    for pairs in borders.values():
        for a, b in pairs:
            beside.setdefault(a, set()).add(b)
            beside.setdefault(b, set()).add(a)
    for vertex in sorted(beside):
        if len(beside[vertex]) != 2:
            continue
        a, b = beside[vertex]
        one, other = vertices[vertex] - vertices[a], vertices[b] - vertices[vertex]
        straight = np.linalg.norm(np.cross(one, other)) <= _SAME * np.linalg.norm(other)
        if straight and one @ other > 0 and b not in beside[a]:
            for end, far in ((a, b), (b, a)):
                beside[end] = beside[end] - {vertex} | {far}
            for pairs in borders.values():
                _join(pairs, vertex)
    return borders


def _join(pairs: list[tuple[int, int]], vertex: int) -> None:
    """Make two pieces of a border that meet at a vertex one, both ways."""
    into = [pair for pair in pairs if pair[1] == vertex]
    for before in into:
        after = next((p for p in pairs if p[0] == vertex and p[1] != before[0]), None)
        if after is not None:
            pairs.remove(before)
            pairs.remove(after)
            pairs.append((before[0], after[1]))


def _check_closed(borders: _Borders) -> None:
    """Every border is one of two regions that go round it the other way."""
    forth = Counter(pair for pairs in borders.values() for pair in pairs)
    if any(count != 1 or forth.get((b, a)) != 1 for (a, b), count in forth.items()):
        raise PartError(
            "a groove and an opening meet in a strip of wood too thin to be drawn; move either a little."
        )


def _loops(pairs: list[tuple[int, int]], places: Floats) -> list[list[int]]:
    """Borders chained into loops; where several go on from a vertex, the one farthest to the left."""
    onward: dict[int, list[int]] = {}
    for a, b in pairs:
        onward.setdefault(a, []).append(b)
    loops = []
    while onward:
        start = next(iter(onward))
        loop, before, vertex = [start], start, onward[start].pop()
        while vertex != start:
            loop.append(vertex)
            ways = onward[vertex]
            into = places[vertex] - places[before]

            def turn(way: int, vertex: int = vertex, into: Floats = into) -> float:
                (u, v), (u1, v1) = into, places[way] - places[vertex]
                return float(np.arctan2(u * v1 - v * u1, u * u1 + v * v1))

            way = max(ways, key=turn)
            ways.remove(way)
            before, vertex = vertex, way
        onward = {vertex: ways for vertex, ways in onward.items() if ways}
        loops.append(loop)
    return loops


def _compact(vertices: Floats, triangles: Ints, patch: Ints) -> tuple[Floats, Ints, Ints]:
    """Without vertices that are not used; numbers of faces without gaps, but for the board's two."""
    used, corners = np.unique(triangles, return_inverse=True)
    _, faces = np.unique(np.concatenate([[0, 1], patch]), return_inverse=True)
    return vertices[used], corners.reshape(-1, 3).astype(np.int32), faces[2:].astype(np.int32)
