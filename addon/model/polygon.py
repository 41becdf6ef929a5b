"""Triangles for flat regions bounded by loops, and a memory for regions that differ in sizes alone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from .polygon_sweep import ANSWERS, FLAT, Sweep
from .tolerances import WELD

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Numbers = NDArray[np.intp]
    Ints = NDArray[np.int32]

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
