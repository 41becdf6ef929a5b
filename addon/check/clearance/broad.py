"""Straight slides of convex pieces, stacked for numpy, and cheap lower bounds that spare most exact distances.

Any direction gives a lower bound of the signed distance of two bodies: the gap between their shadows on it.
The three axes give bounding boxes, the six diagonals across them trim the boxes' edges (which is where the
round corner of a window faces the eased edge of a leaf), the facets of both bodies come last.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

from ...sizes.arrays import Bools, Floats, Ints, joined_starts, ragged_rows
from ...sizes.tolerances import WELD
from ...wood.solids.pieces import Pieces
from .separation import Polytope

DIAGONALS = np.array([[1, 1, 0], [1, -1, 0], [1, 0, 1], [1, 0, -1], [0, 1, 1], [0, 1, -1]]) / np.sqrt(2.0)
"""(6, 3) float; the directions across the edges of a bounding box."""

WAYS = np.concatenate([np.eye(3), -np.eye(3), DIAGONALS, -DIAGONALS])
"""(18, 3) float; the directions of the gaps of `turned`, from the one piece to the other."""

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


SIDES = np.concatenate([np.eye(3), -np.eye(3), DIAGONALS, -DIAGONALS])
"""(18, 3) float; the directions of the rows of `Bounds.shadows`."""


class Mover(Bounds):
    """Pieces that slide, with their bounds. Prepare it once for a part that slides several times."""


@dataclass(frozen=True, eq=False)
class Run:
    """One straight slide.

    Parameters
    ----------
    mover : the pieces that move
    travel : (3,) float, mm
    start : (3,) float, mm; where the move begins, as an offset of the mover's pieces
    skip : numbers of parts to leave out, such as the mover itself
    """

    mover: Mover
    travel: Floats
    start: Floats = field(default_factory=lambda: np.zeros(3))
    skip: Collection[int] = ()


class Runs:
    """All that several slides are in themselves, whatever they meet. A row is one moving piece of one run.

    Prepare it once for slides that are worked out several times.

    Parameters
    ----------
    runs : R slides
    part_count : how many parts the scenes have that these slides are for

    Attributes
    ----------
    starts : (R + 1,) int; the first row of each run
    run_of_row : (rows,) int
    start, travel : (3, rows) float, mm
    pace : (3, rows) float, 1/mm; times a way (3,), the share of the travel that leads along it
    middle : (3, rows) float, mm; of each piece's bounding box where the slide begins
    shadows, turned : (18, rows) float, mm; of what each piece passes through, as in `Bounds`
    sweeps_a_box : (rows,) bool; whether it passes through a box along the axes
    planes, plane_starts : facets of the pieces where the slide begins, as in `Bounds`
    skipped : (rows, part_count) bool
    """

    def __init__(self, runs: Sequence[Run], part_count: int) -> None:
        self.runs = tuple(runs)
        movers = [run.mover for run in runs] or [Mover(Pieces.empty())]
        sizes = [len(mover) for mover in movers]
        self.starts = np.cumsum([0, *sizes])
        self.run_of_row = np.repeat(np.arange(len(movers)), sizes)
        start = np.array([run.start for run in runs], dtype=float).reshape(-1, 3).T
        travel = np.array([run.travel for run in runs], dtype=float).reshape(-1, 3).T
        self.start, self.travel = start[:, self.run_of_row], travel[:, self.run_of_row]
        square = (self.travel * self.travel).sum(axis=0)
        self.pace = self.travel / np.where(square > 0, square, 1.0)

        at_start = np.concatenate([mover.shadows for mover in movers], axis=1) + SIDES @ self.start
        self.middle = (at_start[:3] - at_start[3:6]) / 2
        self.shadows = at_start + np.minimum(SIDES @ self.travel, 0.0)
        self.turned = turned(self.shadows)
        straight = np.count_nonzero(self.travel, axis=0) <= 1
        self.sweeps_a_box = np.concatenate([mover.is_box for mover in movers]) & straight

        self.planes = np.concatenate([mover.planes for mover in movers], axis=1)
        run_of_plane = np.repeat(np.arange(len(movers)), [mover.planes.shape[1] for mover in movers])
        self.planes[3] += (self.planes[:3] * start[:, run_of_plane]).sum(axis=0)
        self.plane_starts = joined_starts([mover.pieces.plane_starts for mover in movers])

        skipped = np.zeros((len(runs), part_count), dtype=bool)
        for number, run in enumerate(runs):
            skipped[number, list(run.skip)] = True
        self.skipped = skipped[self.run_of_row]

    def __len__(self) -> int:
        return len(self.runs)

    def begin(self, row: int) -> Polytope:
        """A moving piece where its slide begins."""
        run = self.run_of_row[row]
        body = self.runs[run].mover.polytope(int(row - self.starts[run]))
        return body.translated(self.start[:, row]) if self.start[:, row].any() else body


class Standing:
    """Pieces that stand still, by part, prepared for many slides.

    Parameters
    ----------
    pieces : N convex pieces
    owner : (N,) int; number of the part that each piece belongs to; pieces of one part need not follow each
        other
    part_count : how many parts there are; by default the highest owner + 1
    """

    def __init__(self, pieces: Pieces, owner: Ints, part_count: int | None = None) -> None:
        owner = np.asarray(owner, dtype=np.intp)
        order = np.argsort(owner, kind="stable")
        if (order[1:] < order[:-1]).any():
            pieces, owner = pieces.select(order), owner[order]
        self.pieces, self.owner = pieces, owner
        self.original = order
        """(N,) int; number of each piece before sorting by part."""
        self.part_count = int(part_count if part_count is not None else owner.max(initial=-1) + 1)
        self.parts = np.unique(owner)
        """Numbers of the parts that have pieces."""
        self.place_of_part = np.full(self.part_count, -1)
        """(part_count,) int; where each part stands in `parts`; -1 for parts without pieces."""
        self.place_of_part[self.parts] = np.arange(len(self.parts))
        self.part_starts = np.searchsorted(owner, np.append(self.parts, self.part_count))
        self.part_sizes = np.diff(self.part_starts)
        """(parts,) int; how many pieces each of `parts` has."""
        self.bounds = Bounds(pieces)
        self.part_shadows = np.minimum.reduceat(self.bounds.shadows, self.part_starts[:-1], axis=1)
        """(18, parts) float, mm; of whole `parts`, as in `Bounds.shadows`."""
