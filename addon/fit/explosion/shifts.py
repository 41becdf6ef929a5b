"""By how far a convex piece, moved along an axis of the table, overlaps another: exact, for many pairs at once.

Two convex polytopes overlap unless a direction parts their shadows; the directions that can are the facet normals of
either and the cross products of their edges (Gottschalk, Lin and Manocha, SIGGRAPH 1996). The gap between the shadows
changes evenly with the shift, so each direction leaves a half-line of shifts, and all together an interval.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from ...model.ragged import ragged_rows
from ...model.tolerances import ANGLE, CONTACT
from ..clearance.polytope import Polytope

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from ...model.convex import Pieces

    Floats = NDArray[np.float64]
    Ints = NDArray[np.intp]

_AT_ONCE = 1024
"""Pairs that are worked out together; more would not fit the processor's cache."""

_MANY = 12
"""Facets from which on a piece is worked out apart from the small ones, which would have to wait for it."""


class Shifts:
    """Convex pieces, laid out so that pairs of them are worked out together."""

    def __init__(self, pieces: Pieces) -> None:
        self.pieces = pieces
        self.low, self.high, self.is_box = pieces.low, pieces.high, pieces.is_box
        self._large = np.diff(pieces.plane_starts) > _MANY
        self._row = np.where(self._large, np.cumsum(self._large), np.cumsum(~self._large)) - 1
        self._sizes = [_Size(pieces.select(np.flatnonzero(self._large == large))) for large in (False, True)]

    def of_boxes(self, i: Ints, j: Ints, axis: int) -> tuple[Floats, Floats]:
        """Shifts along an axis between which the boxes of pieces i overlap those of pieces j: (n,) mm each.

        The boxes have to overlap on the other two axes.
        """
        start = self.low[j, axis] - self.high[i, axis] + CONTACT
        return start, self.high[j, axis] - self.low[i, axis] - CONTACT

    def by_rays(self, i: Ints, j: Ints, axis: int) -> tuple[Floats, Floats]:
        """An interval, (n,) mm each, in which pieces i, shifted along the axis, do overlap pieces j; may be empty.

        That in which the line along the axis through the middle of what their boxes share has points of both.
        """
        middle = (np.maximum(self.low[i], self.low[j]) + np.minimum(self.high[i], self.high[j])) / 2
        first, last = self._chord(i, middle, axis)
        other_first, other_last = self._chord(j, middle, axis)
        return other_first - last + CONTACT, other_last - first - CONTACT

    def _chord(self, which: Ints, points: Floats, axis: int) -> tuple[Floats, Floats]:
        """From where to where, (n,) mm along the axis, lines through (n, 3) points lie in a piece each."""
        rows, starts = ragged_rows(self.pieces.plane_starts, which)
        planes = self.pieces.planes[rows]
        from_plane = planes[:, 3] - (planes[:, :3] * points.repeat(np.diff(starts), axis=0)).sum(axis=1)
        slope = planes[:, axis]
        still = np.abs(slope) <= ANGLE
        reach = from_plane / np.where(still, 1.0, slope)
        outside = np.where(still & (from_plane < CONTACT), -np.inf, np.inf)
        last = np.minimum.reduceat(np.where(slope > ANGLE, reach, outside), starts[:-1])
        first = np.maximum.reduceat(np.where(slope < -ANGLE, reach, -np.inf), starts[:-1])
        return first + points[:, axis], last + points[:, axis]

    def by_facets(self, i: Ints, j: Ints, axis: int) -> tuple[Floats, Floats]:
        """An interval, (n,) mm each, outside of which pieces i, shifted along the axis, do not overlap pieces j."""
        return self._in_chunks(_by_facets, i, j, axis)

    def by_edges(self, i: Ints, j: Ints, axis: int) -> tuple[Floats, Floats]:
        """The same from the directions square to an edge of both; what is in both intervals is exact."""
        return self._in_chunks(_by_edges, i, j, axis)

    def _in_chunks(self, how: _How, i: Ints, j: Ints, axis: int) -> tuple[Floats, Floats]:
        starts, ends = np.empty(len(i)), np.empty(len(i))
        for one in (False, True):
            for other in (False, True):
                which = np.flatnonzero((self._large[i] == one) & (self._large[j] == other))
                for first in range(0, len(which), _AT_ONCE):
                    chunk = which[first : first + _AT_ONCE]
                    rows, others = self._row[i[chunk]], self._row[j[chunk]]
                    starts[chunk], ends[chunk] = how(self._sizes[one], rows, self._sizes[other], others, axis)
        return starts, ends


class _Size:
    """Pieces of about one size, each with as many vertices, facets and directions of edges."""

    def __init__(self, pieces: Pieces) -> None:
        self.pieces = pieces
        self.vertices = _padded(pieces.vertices, pieces.starts)
        self.planes = _padded(pieces.planes, pieces.plane_starts)

    @cached_property
    def directions(self) -> Floats:
        """(N, k, 3) float, unit."""
        each = [Polytope.of(self.pieces, piece).directions for piece in range(len(self.pieces))]
        return _padded(np.concatenate(each), np.cumsum([0, *map(len, each)]))


_How = Callable[[_Size, "Ints", _Size, "Ints", int], tuple["Floats", "Floats"]]


def _by_facets(one: _Size, i: Ints, other: _Size, j: Ints, axis: int) -> tuple[Floats, Floats]:
    start, end = _facet_intervals(one.planes[i], other.vertices[j], axis)
    back_start, back_end = _facet_intervals(other.planes[j], one.vertices[i], axis)
    return np.maximum(start, -back_end), np.minimum(end, -back_start)


def _facet_intervals(planes: Floats, vertices: Floats, axis: int) -> tuple[Floats, Floats]:
    heights = planes[:, :, :3] @ vertices.transpose(0, 2, 1)
    return _interval(heights.min(axis=2) - planes[:, :, 3], planes[:, :, axis])


def _by_edges(one: _Size, i: Ints, other: _Size, j: Ints, axis: int) -> tuple[Floats, Floats]:
    along = np.cross(one.directions[i][:, :, None], other.directions[j][:, None]).reshape(len(i), -1, 3)
    length = np.sqrt((along * along).sum(axis=2))
    there = length > ANGLE
    along /= np.where(there, length, 1.0)[:, :, None]
    here = along @ one.vertices[i].transpose(0, 2, 1)
    beyond = along @ other.vertices[j].transpose(0, 2, 1)
    ahead = np.where(there, beyond.min(axis=2) - here.max(axis=2), -np.inf)
    behind = np.where(there, here.min(axis=2) - beyond.max(axis=2), -np.inf)
    closing = np.where(there, along[:, :, axis], 0.0)
    first, second = _interval(ahead, closing), _interval(behind, -closing)
    return np.maximum(first[0], second[0]), np.minimum(first[1], second[1])


def _interval(gaps: Floats, closing: Floats) -> tuple[Floats, Floats]:
    """Shifts, (n,) mm from and to, by which all of (n, k) gaps that close at their rates are overlaps."""
    rest = gaps + CONTACT
    still = np.abs(closing) <= ANGLE
    never = (still & (rest >= 0)).any(axis=1)
    when = rest / np.where(still, 1.0, closing)
    start = np.where(closing > ANGLE, when, -np.inf).max(axis=1)
    end = np.where(closing < -ANGLE, when, np.inf).min(axis=1)
    return np.where(never, np.inf, start), np.where(never, -np.inf, end)


def _padded(rows: Floats, starts: Ints) -> Floats:
    """(N, k, c) float: the rows of each of N runs, the last one repeated where a run has fewer than k."""
    sizes = np.diff(starts)
    which = np.minimum(np.arange(sizes.max(initial=1)), sizes[:, None] - 1)
    return rows[starts[:-1, None] + which]
