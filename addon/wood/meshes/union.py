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
from itertools import islice, pairwise
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from ...sizes.arrays import Bools, Floats, ragged_rows, reduce_ragged
from ...sizes.arrays import Ints as Whole
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
_AT_ONCE: Final = 2_000_000
"""Runs times lines that are compared at once, which bounds memory."""
_FAR: Final = 1e9
"""mm; farther than any line in a plane."""


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
    planes = list(_planes(pieces))
    found = [(number, *one) for number, plane in enumerate(planes) for one in plane.borders(pieces)]
    vertices, numbers = _welded(np.concatenate([ends for *_, ends in found]).reshape(-1, 3))
    ends = iter(numbers.reshape(-1, 2).tolist())
    borders: _Borders = {}
    for number, forward, own in found:
        pairs = {(a, b) for a, b in islice(ends, len(own)) if a != b}
        borders[number, forward] = sorted(pairs)
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


def _welded(points: Floats) -> tuple[Floats, Whole]:
    """Points, (n, 3) mm, each once, and the number of each one's place among them, (n,)."""
    near = np.empty(points.shape, dtype=np.intp)
    for axis in range(3):
        order = points[:, axis].argsort()
        near[order, axis] = np.cumsum(np.diff(points[order, axis], prepend=-np.inf) > _SAME)
    _, first, numbers = np.unique(near, axis=0, return_index=True, return_inverse=True)
    return points[first], numbers.reshape(-1)


# -- one plane
# ------------------------------------------------------------------------------------------------------------


class _Plane(NamedTuple):
    """A plane with facets on it."""

    normal: Floats
    offset: float
    axes: Floats
    """(2, 3) float: two directions in the plane; with the normal they are right-handed."""
    ahead: Whole
    """Pieces with a facet that looks along the normal."""
    behind: Whole
    """Those with one that looks the other way."""

    def borders(self, pieces: Pieces) -> Iterator[tuple[bool, Floats]]:
        """Borders of the surface's region that looks along the normal, and of that which looks the other way, each on
        the left of its border as seen from before it: (k, 2, 3) float mm."""
        above = pieces.vertices @ self.normal - self.offset
        facets = np.concatenate([self.ahead, self.behind])
        rows, _ = ragged_rows(pieces.starts, facets)
        corners = pieces.vertices[rows[np.abs(above[rows]) <= _SAME]]
        low, high = corners.min(axis=0) - _ASIDE, corners.max(axis=0) + _ASIDE
        crossing = reduce_ragged(np.minimum, above, pieces.starts) < -_SAME
        crossing &= reduce_ragged(np.maximum, above, pieces.starts) > _SAME
        crossing &= ((pieces.low <= high) & (pieces.high >= low)).all(axis=1)
        chosen = [self.ahead, self.behind, np.flatnonzero(crossing)]
        kind = np.repeat([0, 1, 2], [len(some) for some in chosen])
        sections = self._sections(pieces, np.concatenate(chosen))
        start, run = sections.sides()
        ends, (low, high) = np.stack([start, start + run]), self._box(corners)
        near = ((ends.min(axis=0) < high) & (ends.max(axis=0) > low)).all(axis=1)
        start, run = start[near], run[near]
        step = max(1, _AT_ONCE // max(1, len(sections.offset)))
        ends = np.concatenate(
            [
                _between(sections, kind, start[first : first + step], run[first : first + step])
                for first in range(0, len(start), step)
            ]
        )
        run = ends[:, 1] - ends[:, 0]
        aside = run[:, ::-1] * [-_ASIDE, _ASIDE] / np.linalg.norm(run, axis=1, keepdims=True)
        middle = ends.mean(axis=1)
        beside = sections.hold(np.concatenate([middle + aside, middle - aside]))
        on = [_any_of(one, kind) for one in np.split(beside, 2)]
        for forward in (True, False):
            left, right = (
                one[not forward] & ~one[forward] & ~one[2] for one in (on if forward else on[::-1])
            )
            borders = np.concatenate([ends[left & ~right], ends[right & ~left][:, ::-1]])
            if len(borders):
                yield forward, borders @ self.axes + self.offset * self.normal

    def _box(self, corners: Floats) -> tuple[Floats, Floats]:
        """Least and greatest coordinates in the plane of (n, 3) points, and a little more."""
        flat = corners @ self.axes.T
        return flat.min(axis=0) - _ASIDE, flat.max(axis=0) + _ASIDE

    def _sections(self, pieces: Pieces, which: Whole) -> _Sections:
        """What pieces have of the plane."""
        rows, starts = ragged_rows(pieces.plane_starts, which)
        normals = pieces.planes[rows, :3]
        across = normals @ self.axes.T
        length = np.linalg.norm(across, axis=1, keepdims=True)
        aslant = length[:, 0] > _SAME
        across = np.where(aslant[:, None], across / np.where(aslant[:, None], length, 1.0), 0.0)
        offset = pieces.planes[rows, 3] - self.offset * (normals @ self.normal)
        return _Sections(across, np.where(aslant, offset / np.where(aslant, length[:, 0], 1.0), _FAR), starts)

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
        yield _Plane(normal, float(offset), axes, *(owner[left[one]] for one in same))
        left = left[~(same[0] | same[1])]


class _Sections(NamedTuple):
    """Convex polygons in a plane, as what lies behind lines."""

    across: Floats
    """(lines, 2) float: a line's unit normal; nought for one that does not meet the plane."""
    offset: Floats
    """(lines,) float, mm"""
    starts: Whole
    """(k + 1,); the lines of a polygon are a run."""

    def sides(self) -> tuple[Floats, Floats]:
        """(n, 2) float each: where the sides of all polygons begin and how they run on."""
        number = np.flatnonzero(self.across.any(axis=1))
        rows, starts = ragged_rows(self.starts, np.searchsorted(self.starts, number, side="right") - 1)
        at = self.across[number] * self.offset[number, None]
        along = self.across[number][:, ::-1] * [-1.0, 1.0]
        each = np.repeat(np.arange(len(number)), np.diff(starts))
        out = (self.across[rows] * at[each]).sum(axis=1) - self.offset[rows]
        low, high, _ = _within(out, (self.across[rows] * along[each]).sum(axis=1), starts)
        real = high - low > _SAME
        at, along, low, high = at[real], along[real], low[real, None], high[real, None]
        return at + low * along, (high - low) * along

    def along(self, start: Floats, run: Floats) -> tuple[Floats, Floats, Bools]:
        """(n, k) each: from which share of a run, (n, 2) mm, to which it is in each polygon, and whether on a side."""
        return _within(start @ self.across.T - self.offset, run @ self.across.T, self.starts)

    def hold(self, points: Floats) -> Bools:
        """(n, k) bool; whether points, (n, 2) mm, lie within each polygon."""
        return np.maximum.reduceat(points @ self.across.T - self.offset, self.starts[:-1], axis=1) < 0.0


def _within(out: Floats, rate: Floats, starts: Whole) -> tuple[Floats, Floats, Bools]:
    """From which share of a run to which it is behind all lines of each polygon, and whether along one of them.

    Parameters
    ----------
    out, rate : (..., lines) float, mm; how far beyond a line a run begins, and how much farther it ends
    """
    beside = (np.abs(out) <= _SAME) & (np.abs(out + rate) <= _SAME)
    with np.errstate(all="ignore"):
        share = -out / (rate + 0.0)
    low = np.where((rate < 0.0) & ~beside, share, -np.inf)
    high = np.where((rate >= 0.0) & ~beside, share, np.inf)
    firsts = starts[:-1]
    return (
        np.maximum.reduceat(low, firsts, axis=-1),
        np.minimum.reduceat(high, firsts, axis=-1),
        np.logical_or.reduceat(beside, firsts, axis=-1),
    )


def _between(sections: _Sections, kind: Whole, start: Floats, run: Floats) -> Floats:
    """(k, 2, 2) float, mm: pieces of runs between the sides of all polygons, as far as they may be borders."""
    low, high, beside = sections.along(start, run)
    ends = [np.where(low < high, one, 0.0).clip(0.0, 1.0) for one in (low, high)]
    shares = np.concatenate([*ends, np.zeros((len(start), 1)), np.ones((len(start), 1))], axis=1)
    shares.sort(axis=1)
    line, part = np.nonzero(np.diff(shares, axis=1) > _SAME / np.linalg.norm(run, axis=1, keepdims=True))
    first, last = shares[line, part, None], shares[line, part + 1, None]
    middle = (first + last) / 2
    there = (low[line] < middle) & (middle < high[line])
    ahead, behind, _ = _any_of(there, kind)
    *_, covered = _any_of(there & ~beside[line], kind)
    kept = (ahead | behind) & ~covered
    line, first, last = line[kept], first[kept], last[kept]
    return np.stack([start[line] + first * run[line], start[line] + last * run[line]], axis=1)


def _any_of(there: Bools, kind: Whole) -> tuple[Bools, Bools, Bools]:
    """(n,) bool each: whether anything of (n, k) is there of the pieces ahead, of those behind, of those across."""
    ahead, behind, across = (np.logical_or.reduce(there[:, kind == one], axis=1) for one in range(3))
    return ahead, behind, across


# -- the whole surface
# ------------------------------------------------------------------------------------------------------------

_Borders = dict[tuple[int, bool], list[tuple[int, int]]]
"""(plane, whether along its normal) → borders of a region, from vertex to vertex."""


def _split(borders: _Borders, vertices: Floats) -> _Borders:
    """The same with every border cut at the vertices that lie on it."""
    ends = np.array(sorted({(min(pair), max(pair)) for pairs in borders.values() for pair in pairs}))
    used = np.unique(ends)
    start, run, places = vertices[ends[:, 0]], vertices[ends[:, 1]] - vertices[ends[:, 0]], vertices[used]
    share = (places @ run.T - (start * run).sum(axis=1)) / (run * run).sum(axis=1)
    on = (share > 0.0) & (share < 1.0)
    for axis in range(3):
        on &= np.abs(places[:, axis, None] - start[:, axis] - share * run[:, axis]) <= 2 * _SAME
    on &= (used[:, None] != ends[:, 0]) & (used[:, None] != ends[:, 1])
    vertex, border = np.nonzero(on)
    inner: dict[tuple[int, int], list[int]] = {}
    for number in np.lexsort((share[vertex, border], border)).tolist():
        a, b = ends[border[number]].tolist()
        inner.setdefault((a, b), []).append(int(used[vertex[number]]))

    def parts(a: int, b: int) -> list[int]:
        return [a, *inner.get((a, b), ()), b] if a < b else [a, *inner.get((b, a), ())[::-1], b]

    return {
        key: [piece for a, b in pairs for piece in pairwise(parts(a, b))] for key, pairs in borders.items()
    }


def _without_straight(borders: _Borders, vertices: Floats) -> _Borders:
    """The same without vertices at which all borders go straight on."""
    beside: dict[int, set[int]] = {}
    regions: dict[int, list[tuple[int, bool]]] = {}
    for key, pairs in borders.items():
        for a, b in pairs:
            beside.setdefault(a, set()).add(b)
            beside.setdefault(b, set()).add(a)
            regions.setdefault(a, []).append(key)
    for vertex in sorted(beside):
        if len(beside[vertex]) != 2:
            continue
        a, b = beside[vertex]
        one, other = vertices[vertex] - vertices[a], vertices[b] - vertices[vertex]
        straight = np.linalg.norm(np.cross(one, other)) <= _SAME * np.linalg.norm(other)
        if straight and one @ other > 0 and b not in beside[a]:
            for end, far in ((a, b), (b, a)):
                beside[end] = beside[end] - {vertex} | {far}
            for key in regions[vertex]:
                _join(borders[key], vertex)
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
