"""Triangles for flat regions bounded by loops, and a memory for regions that differ in sizes alone.

A plane sweep over chains, then one pass over each monotone piece. The sweep stops only where a loop turns back in x, so
that the many vertices of round corners cost nothing there (M. de Berg et al., *Computational Geometry*, 3rd ed.,
chapter 3: partition into monotone pieces; M. Garey et al., Inf. Proc. Lett. 7 (1978): triangles of a monotone piece in
linear time). Vertices are ordered by (x, y), hence edges along y and vertices in line need no special care, and no
triangle has an empty area.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from math import inf
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ...sizes.arrays import Floats
from ...sizes.tolerances import WELD

Piece = tuple[list[int], list[int]]
Numbers = NDArray[np.intp]
Ints = NDArray[np.int32]


FLAT: Final = WELD
"""Twice the area of a triangle, mm², below which its corners count as lying in line."""

_POSITIVE, _NOT_POSITIVE, _NEGATIVE, _NOT_NEGATIVE, _LEFT, _NOT_LEFT, _RIGHT, _NOT_RIGHT = range(8)
ANSWERS: Final = np.array(
    [
        *((np.nextafter(0.0, inf), inf), (-inf, 0.0), (-inf, np.nextafter(0.0, -inf)), (0.0, inf)),
        *((np.nextafter(FLAT, inf), inf), (-inf, FLAT), (-inf, np.nextafter(-FLAT, -inf)), (-FLAT, inf)),
    ]
)
"""What a sweep asks about twice an area, mm²: each answer holds from its first to its second number."""


class _Interval:
    """Part of the sweep line inside the region: the chains below and above it and the pieces still open there.

    A piece is a pair of lists, its lower and its upper vertices so far. Where two intervals have merged there are
    two pieces, below and above the vertex of the merge, until the next vertex closes one of them. Vertices are
    codes: twice their rank, plus one for those on the upper side of their piece.
    """

    __slots__ = ("low", "low_done", "over", "piece", "up", "up_done")

    def __init__(self, low: list[int], up: list[int], piece: Piece) -> None:
        self.low, self.up = low, up
        self.low_done = self.up_done = 1
        self.piece = piece
        self.over: Piece | None = None

    def advance(self, vertex: int, finished: list[Piece]) -> None:
        """Take in the chains' vertices before `vertex`."""
        code = 2 * vertex
        if self.over is not None:
            if self.low[self.low_done] < min(self.up[self.up_done], code):
                self.take_low(finished)
            elif self.up[self.up_done] < code:
                self.take_up(finished)
        low = bisect_left(self.low, code, self.low_done)
        self.piece[0].extend(self.low[self.low_done : low])
        self.low_done = low
        up = bisect_left(self.up, code, self.up_done)
        (self.over or self.piece)[1].extend(self.up[self.up_done : up])
        self.up_done = up

    def take_low(self, finished: list[Piece]) -> None:
        """Take in the next vertex of the lower chain; if two pieces are open it closes the one below."""
        code = self.low[self.low_done]
        self.low_done += 1
        self.piece[0].append(code)
        if self.over is not None:
            finished.append(self.piece)
            self.piece, self.over = self.over, None
            self.piece[0].append(code)

    def take_up(self, finished: list[Piece]) -> None:
        """Take in the next vertex of the upper chain; if two pieces are open it closes the one above."""
        code = self.up[self.up_done]
        self.up_done += 1
        self.piece[1].append(code)
        if self.over is not None:
            self.over[1].append(code)
            finished.append(self.over)
            self.over = None

    def divide(self, vertex: int) -> tuple[Piece, Piece]:
        """The pieces below and above a hole's leftmost vertex, tied to the last vertex before it."""
        if self.over is not None:
            below, above = self.piece, self.over
        else:
            low, up = self.piece
            if up and up[-1] > low[-1]:
                below, above = self.piece, ([up[-1] - 1], [])
            else:
                below, above = ([low[-1]], []), self.piece
        below[1].append(2 * vertex + 1)
        above[0].append(2 * vertex)
        return below, above


class Sweep:
    """Cuts a region into pieces monotone in x; vertices are numbered by rank, left to right.

    What comes out depends on `following` and on the signs of some areas alone. `asked` keeps what was asked about
    them: four numbers a question, codes of three vertices and which of `ANSWERS` it was.
    """

    def __init__(self, points: Floats, following: NDArray[np.int64]) -> None:
        ranks = np.arange(len(following))
        preceding = np.empty_like(following)
        preceding[following] = ranks
        self.turns: list[int] = np.flatnonzero((following > ranks) == (preceding > ranks)).tolist()
        self.following: list[int] = following.tolist()
        self.preceding: list[int] = preceding.tolist()
        doubled = np.repeat(points, 2, axis=0)
        self.x: list[float] = doubled[:, 0].tolist()
        self.y: list[float] = doubled[:, 1].tolist()
        self.active: list[_Interval] = []
        self.finished: list[Piece] = []
        self.asked: list[int] = []

    def run(self) -> list[int]:
        """Codes of the triangles' corners, flat."""
        for vertex in self.turns:
            after, before = self.following[vertex], self.preceding[vertex]
            convex = self._area(2 * before, 2 * vertex, 2 * after) > 0.0
            self.asked += (2 * before, 2 * vertex, 2 * after, _POSITIVE if convex else _NOT_POSITIVE)
            if after < vertex:
                self._close(vertex, convex)
            else:
                self._open(vertex, convex)
        triangles: list[int] = []
        for low, up in self.finished:
            _fill(sorted(low + up), self.x, self.y, triangles, self.asked)
        return triangles

    def _area(self, a: int, b: int, c: int) -> float:
        x, y = self.x, self.y
        return (x[b] - x[a]) * (y[c] - y[a]) - (y[b] - y[a]) * (x[c] - x[a])

    def _open(self, vertex: int, convex: bool) -> None:
        """The region begins here, or a hole in it does."""
        low, up = _chain(vertex, self.following, 0), _chain(vertex, self.preceding, 1)
        number = self._place(vertex)
        if convex:
            self.active.insert(number, _Interval(low, up, ([2 * vertex], [])))
            return
        below = self.active[number]
        below.advance(vertex, self.finished)
        piece_below, piece_above = below.divide(vertex)
        above = _Interval(low, below.up, piece_above)
        above.up_done = below.up_done
        below.up, below.up_done = up, 1
        below.piece, below.over = piece_below, None
        self.active.insert(number + 1, above)

    def _close(self, vertex: int, convex: bool) -> None:
        """The region ends here, or a hole in it does."""
        number = next(i for i, interval in enumerate(self.active) if interval.up[-1] >> 1 == vertex)
        below = self.active[number]
        below.advance(vertex, self.finished)
        if convex:
            below.take_low(self.finished)
            self.finished.append(below.piece)
            del self.active[number]
            return
        above = self.active.pop(number + 1)
        above.advance(vertex, self.finished)
        below.take_up(self.finished)
        above.take_low(self.finished)
        below.up, below.up_done, below.over = above.up, above.up_done, above.piece

    def _place(self, vertex: int) -> int:
        """Number of active intervals that lie wholly below the vertex."""
        code = 2 * vertex
        for number, interval in enumerate(self.active):
            up = interval.up
            right = bisect_left(up, code)
            below = self._area(up[right - 1], up[right], code) < 0.0
            self.asked += (up[right - 1], up[right], code, _NEGATIVE if below else _NOT_NEGATIVE)
            if below:
                return number
        return len(self.active)


def _chain(vertex: int, step: list[int], side: int) -> list[int]:
    """Codes from a leftmost vertex on, as far as the loop runs to the right."""
    chain = [2 * vertex + side]
    onward = step[vertex]
    while onward > vertex:
        vertex = onward
        chain.append(2 * vertex + side)
        onward = step[vertex]
    return chain


def _fill(piece: list[int], x: list[float], y: list[float], triangles: list[int], asked: list[int]) -> None:
    """Append the triangles of a monotone piece, given from left to right, and what was asked about areas."""
    stack = piece[:2]
    for code in piece[2:-1]:
        if (code ^ stack[-1]) & 1:
            _fan(stack, code, triangles)
            stack = [stack[-1], code]
            continue
        xc, yc = x[code], y[code]
        last = stack.pop()
        while stack:
            before = stack[-1]
            xb, yb = x[before], y[before]
            area = (x[last] - xb) * (yc - yb) - (y[last] - yb) * (xc - xb)
            if code & 1:
                if area >= -FLAT:
                    asked += (before, last, code, _NOT_RIGHT)
                    break
                asked += (before, last, code, _RIGHT)
                triangles += (before, code, last)
            else:
                if area <= FLAT:
                    asked += (before, last, code, _NOT_LEFT)
                    break
                asked += (before, last, code, _LEFT)
                triangles += (before, last, code)
            last = stack.pop()
        stack.append(last)
        stack.append(code)
    _fan(stack, piece[-1] & -2 | ~stack[-1] & 1, triangles)


def _fan(stack: list[int], code: int, triangles: list[int]) -> None:
    """Triangles from a vertex to all edges of the chain on the other side."""
    fan = [code] * (3 * len(stack) - 3)
    fan[::3] = stack[:-1]
    fan[2 - (code & 1) :: 3] = stack[1:]
    triangles += fan


_QUADRILATERAL: Final = np.array([[0, 1, 2], [0, 2, 3]], dtype=np.int32)


def triangulate(points: Floats, loop_sizes: Sequence[int]) -> Ints:
    """Triangles of the region on the left of its loops.

    Parameters
    ----------
    points : (n, 2) float; the loops' vertices one loop after the other, outer loops counter-clockwise, holes
        clockwise; loops are simple and do not touch one another
    loop_sizes : number of vertices of each loop; there may be several outer loops

    Returns
    -------
    (m, 3) int32, counter-clockwise indices into `points`, m = n + 2·holes − 2·outer loops; not to be written to
    """
    if len(points) == 4 and _convex(points.tolist()):
        return _QUADRILATERAL
    alike = _known.setdefault(tuple(loop_sizes), [])
    for place, pattern in enumerate(alike):
        if pattern.fits(points):
            # the same regions come in the same order time and again: the one after this is tried first
            alike[:] = alike[place + 1 :] + alike[: place + 1]
            return pattern.triangles
    pattern = _swept(points, loop_sizes)
    alike.append(pattern)
    del alike[:-_MOST_ALIKE]
    if len(_known) > _MOST_KNOWN:
        _known.clear()
    return pattern.triangles


@dataclass(frozen=True, eq=False)
class _Runs:
    """The orders of points along x and along y; coordinates within `WELD` of one another count as equal: a run.

    All x stand before all y, 2n in all.
    """

    order: Numbers
    starts: Numbers
    lengths: Numbers

    @classmethod
    def of(cls, points: Floats) -> _Runs:
        """The runs of (n, 2) points."""
        count = len(points)
        order = np.argsort(points, axis=0)
        steps = np.diff(np.take_along_axis(points, order, axis=0), axis=0, prepend=-np.inf)
        order[:, 1] += count
        starts = np.flatnonzero(steps.T.ravel() > WELD)
        return cls(order.T.ravel(), starts, np.diff(starts, append=2 * count))

    def aligned(self, points: Floats) -> Floats:
        """(2, n) coordinates, each the least of its run: rounding must not bend a straight line."""
        coordinates = points.T.ravel()
        least = np.minimum.reduceat(coordinates[self.order], self.starts)
        coordinates[self.order] = least.repeat(self.lengths)
        return coordinates.reshape(2, -1)

    def are_those_of(self, points: Floats) -> bool:
        """Whether other points have the same runs in the same order."""
        rising = points.T.ravel()[self.order]
        least = np.minimum.reduceat(rising, self.starts)
        greatest = np.maximum.reduceat(rising, self.starts)
        apart = least[1:] - greatest[:-1] > WELD
        apart |= self.starts[1:] == len(points)  # where y begin
        return bool(apart.all() and (greatest - least).max() <= WELD)


@dataclass(frozen=True, eq=False)
class _Pattern:
    """Triangles, and all that the sweep looked at to find them: where that is the same, so are the triangles."""

    runs: _Runs
    asked: Numbers
    """(3, k) vertices of triangles"""
    answers: Floats
    """(2, k) least and greatest of twice their areas, mm²"""
    triangles: Ints

    def fits(self, points: Floats) -> bool:
        """Whether a sweep over these points, in loops of the same sizes, finds the same triangles."""
        if not self.runs.are_those_of(points):
            return False
        (xa, xb, xc), (ya, yb, yc) = self.runs.aligned(points)[:, self.asked]
        area = (xb - xa) * (yc - ya) - (yb - ya) * (xc - xa)  # rounded as in the sweep
        least, greatest = self.answers
        return bool(((area >= least) & (area <= greatest)).all())


_known: Final[dict[tuple[int, ...], list[_Pattern]]] = {}
"""Sizes of loops → the last patterns of such regions."""
_MOST_ALIKE: Final = 6
_MOST_KNOWN: Final = 128


def _swept(points: Floats, loop_sizes: Sequence[int]) -> _Pattern:
    """The triangles, found by a sweep."""
    runs = _Runs.of(points)
    aligned = runs.aligned(points)
    order = np.lexsort(aligned[::-1])
    rank = np.empty_like(order)
    rank[order] = np.arange(len(order))
    successor = np.arange(1, len(points) + 1)
    ends = np.cumsum(loop_sizes)
    successor[ends - 1] = ends - loop_sizes
    following = np.empty_like(order)
    following[rank] = rank[successor]
    sweep = Sweep(aligned[:, order].T, following)
    triangles = order[np.array(sweep.run(), dtype=np.int32).reshape(-1, 3) >> 1].astype(np.int32)
    triangles.flags.writeable = False
    asked = np.array(sweep.asked, dtype=np.intp).reshape(-1, 4)
    return _Pattern(runs, order[asked[:, :3].T >> 1], ANSWERS[asked[:, 3]].T, triangles)


def _convex(points: list[list[float]]) -> bool:
    """Whether a loop turns left at every vertex."""
    return all(
        (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0]) > FLAT
        for a, b, c in zip(points[-1:] + points[:-1], points, points[1:] + points[:1], strict=True)
    )
