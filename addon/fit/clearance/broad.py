"""Bounds of convex pieces, and the cheap lower bounds of distance that spare most exact evaluations.

Any direction gives a lower bound of the signed distance of two bodies: the gap between their shadows on it.
The three axes give bounding boxes, the six diagonals across them trim the boxes' edges (which is where the
round corner of a window faces the eased edge of a leaf), the facets of both bodies come last.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from ...model.ragged import ragged_rows
from ...model.tolerances import WELD
from .polytope import Polytope

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from ...model.convex import Pieces

    Floats = NDArray[np.float64]
    Ints = NDArray[np.intp]
    Bools = NDArray[np.bool_]

DIAGONALS = np.array([[1, 1, 0], [1, -1, 0], [1, 0, 1], [1, 0, -1], [0, 1, 1], [0, 1, -1]]) / np.sqrt(2.0)
"""(6, 3) float; the directions across the edges of a bounding box."""

_OTHER_ENDS = np.array([3, 4, 5, 0, 1, 2, *range(12, 18), *range(6, 12)])


class Bounds:
    """Pieces with all that bounds them, laid out so that one numpy call covers one coordinate of all pieces.

    Attributes
    ----------
    shadows : (18, N) float, mm; on the three axes the least coordinates and then minus the greatest, then the same
        on the six `DIAGONALS`
    planes : (4, K) float; the facets of `pieces`
    is_box : (N,) bool
    """

    def __init__(self, pieces: Pieces) -> None:
        self.pieces = pieces
        reach, starts = DIAGONALS @ pieces.vertices.T, pieces.starts[:-1]
        least, greatest = (how.reduceat(reach, starts, axis=1) for how in (np.minimum, np.maximum))
        self.shadows = np.concatenate([pieces.low.T, -pieces.high.T, least, -greatest])
        self.planes = np.ascontiguousarray(pieces.planes.T)
        self.is_box = pieces.is_box
        self._polytopes: dict[int, Polytope] = {}

    def __len__(self) -> int:
        return len(self.is_box)

    def polytope(self, i: int) -> Polytope:
        """Piece i as a body of its own; made once."""
        if i not in self._polytopes:
            self._polytopes[i] = Polytope.of(self.pieces, i)
        return self._polytopes[i]


def turned(shadows: Floats) -> Floats:
    """`Bounds.shadows`, or the first six rows of it, with the ends of each shadow swapped.

    Added to the shadows of another piece, it gives the gap on either side of it in every direction. The greater one
    of two such gaps is that between the shadows, and the greatest of all a lower bound of the signed distance.
    """
    return shadows[_OTHER_ENDS[: len(shadows)]]


def axis_gaps(sides: Floats) -> Floats:
    """(3, …) float, mm; gaps along each axis from those on each side of it, (6, …)."""
    return np.maximum(sides[:3], sides[3:])


def box_distance(sides: Floats) -> Floats:
    """Signed distance of boxes, (…) mm, from the gaps on each side of each axis, (6, …)."""
    gaps = axis_gaps(sides)
    greatest, apart = gaps.max(axis=0), np.maximum(gaps, 0.0)
    return np.where(greatest > 0, np.sqrt((apart * apart).sum(axis=0)), greatest)


def points_within(planes: Floats, plane_starts: Ints, which: Ints, points: Floats) -> Bools:
    """(n,) bool; whether each of (3, n) points lies in the one piece, of (n,), that it is asked for.

    Parameters
    ----------
    planes : (4, K) float; as in `Bounds`
    """
    rows, starts = ragged_rows(plane_starts, which)
    planes = planes.take(rows, axis=1, mode="clip")
    heights = (planes[:3] * points.repeat(starts[1:] - starts[:-1], axis=1)).sum(axis=0) - planes[3]
    return np.maximum.reduceat(heights, starts[:-1]) <= WELD


def facet_bound(body: Polytope, pieces: Pieces, which: Ints) -> Floats:
    """Lower bounds of the signed distance of a body and n pieces, (n,) mm, from the facets of both."""
    gaps_a, gaps_b, planes = _facet_gaps(body, pieces, which)
    return np.maximum(gaps_a.max(axis=0), np.maximum.reduceat(gaps_b, planes.starts))


def facet_begin(body: Polytope, travel: Floats, pieces: Pieces, which: Ints, within: float) -> Floats:
    """Shares of a body's move before which it is farther than `within` from each of n pieces, by the facets of both.

    (n,); inf where it never comes so near.
    """
    gaps_a, gaps_b, planes = _facet_gaps(body, pieces, which)
    begin_a = _begin(gaps_a - within, (body.planes[:, :3] @ travel)[:, None]).max(axis=0)
    begin_b = np.maximum.reduceat(_begin(gaps_b - within, -planes.normals @ travel), planes.starts)
    return np.maximum(np.maximum(begin_a, begin_b), 0.0)


def _begin(gaps: Floats, closing: Floats) -> Floats:
    """When gaps that close at this rate are gone; -inf for gaps that are gone and stay so, inf for those that stay."""
    with np.errstate(divide="ignore", invalid="ignore"):
        when = gaps / closing
    return np.where(closing > 0, when, np.where(gaps > WELD, np.inf, -np.inf))


class _FacetRows(NamedTuple):
    normals: Floats
    starts: Ints


def _facet_gaps(body: Polytope, pieces: Pieces, which: Ints) -> tuple[Floats, Floats, _FacetRows]:
    """Gaps (F, n) from the facets of a body to n pieces, and gaps (K,) from the K facets of those pieces to it."""
    rows, starts = ragged_rows(pieces.starts, which)
    heights = body.planes[:, :3] @ pieces.vertices[rows].T - body.planes[:, 3:]
    gaps_a = np.minimum.reduceat(heights, starts[:-1], axis=1)
    rows, starts = ragged_rows(pieces.plane_starts, which)
    planes = pieces.planes[rows]
    gaps_b = (body.vertices @ planes[:, :3].T).min(axis=0) - planes[:, 3]
    return gaps_a, gaps_b, _FacetRows(planes[:, :3], starts[:-1])


def crossing_boxes(low: Floats, high: Floats, deeper_than: float) -> tuple[Ints, Ints]:
    """All pairs i < j of N boxes that overlap by more than `deeper_than` on every axis.

    Sorted along one axis, a box can only meet those that begin before it ends; the axis with the fewest such
    pairs is taken.

    Parameters
    ----------
    low, high : (3, N) float, mm
    """
    count = low.shape[1]
    best: tuple[int, Ints, Ints] | None = None
    for axis in range(3):
        order = np.argsort(low[axis], kind="stable")
        last = np.searchsorted(low[axis, order], high[axis, order] - deeper_than)
        meets = np.maximum(last - np.arange(1, count + 1), 0)
        total = int(meets.sum())
        if best is None or total < best[0]:
            best = total, order, meets
    if best is None or not best[0]:
        return np.zeros(0, dtype=np.intp), np.zeros(0, dtype=np.intp)
    total, order, meets = best
    first = np.repeat(np.arange(count), meets)
    second = first + 1 + np.arange(total) - np.repeat(np.cumsum(meets) - meets, meets)
    i, j = order[first], order[second]
    gaps = np.maximum(low[:, j] - high[:, i], low[:, i] - high[:, j])
    meet = (gaps < -deeper_than).all(axis=0)
    i, j = i[meet], j[meet]
    return np.minimum(i, j), np.maximum(i, j)
