"""What is seen as areas: the visible lines cut where they meet, with what lies on both sides of each piece.

The border of all that is seen of a part consists of such pieces, so its area is a sum over them (Green's theorem), and
chained they are the rings to be filled. Nothing is sampled but one point close beside each side of a piece.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Final

import numpy as np

from ...sizes.arrays import Bools, Floats, Ints
from .chains import merged
from .hidden import lines_of
from .seen import NOTHING, Grid, Seen, Sorted, Surface

_SAME: Final = 2e-4
"""Points nearer than this are one, mm."""

_BESIDE: Final = 1e-3
"""How far beside a line it is looked what is seen there, mm."""

_ACROSS: Final = 160
"""Cells along the longer side of the drawing."""

_PARALLEL: Final = 1e-9
"""Sine of the angle below which two lines do not cross."""


@dataclass(frozen=True, eq=False)
class Seams:
    """Pieces of visible lines that meet at their ends only, mm at full size in the plane of the picture."""

    ends: Floats
    """(n, 2, 2) float"""
    beside: Ints
    """(n, 2) int: the number of the part seen on the left and on the right, or `NOTHING`."""

    def within(self, parts: Collection[int]) -> Bools:
        """(n, 2) bool: whether one of these parts is seen on the left and on the right."""
        return np.isin(self.beside, np.array(sorted(parts), dtype=np.intp))

    def area(self, part: int) -> float:
        """Area of all that is seen of a part, mm²."""
        (ax, ay), (bx, by) = np.moveaxis(self.ends, 0, 2)
        sides = (self.beside == part).astype(float)
        return float(((ax * by - ay * bx) * (sides[:, 0] - sides[:, 1])).sum() / 2)

    def rings(self, parts: Collection[int]) -> list[Floats]:
        """Borders, (k, 2) float each, of all that is seen of some parts together; rings in others are holes."""
        inside = self.within(parts)
        border = inside[:, 0] != inside[:, 1]
        ends = self.ends[border]
        return _chained(np.where(inside[border, 0][:, None, None], ends, ends[:, ::-1]))


def seams_of(surface: Surface) -> Seams:
    """The pieces of all visible lines of a surface."""
    lines = lines_of(surface)
    segments = merged([lines.ends[lines.visible][:, :, :2]])[0]
    ends = _cut(segments)
    along = ends[:, 1] - ends[:, 0]
    left = np.stack([-along[:, 1], along[:, 0]], axis=1) / np.hypot(along[:, 0], along[:, 1])[:, None]
    seen = Seen(surface, Grid.over(surface.points[:, :2], _ACROSS))
    middle = ends.mean(axis=1)
    beside = [_foremost(seen, middle + side * _BESIDE * left, left) for side in (1, -1)]
    return Seams(ends, np.stack(beside, axis=1))


def _foremost(seen: Seen, points: Floats, left: Floats) -> Ints:
    at = np.concatenate([points, np.zeros((len(points), 1))], axis=1)
    return seen.foremost(at, left, np.full(len(points), NOTHING))[:, 0]


def _cut(segments: Floats) -> Floats:
    """(n, 2, 2) segments, none on another, cut wherever they meet."""
    start, along = segments[:, 0], segments[:, 1] - segments[:, 0]
    length = np.hypot(along[:, 0], along[:, 1])
    one, other = _near(segments)
    dx, dy, ex, ey = along[one, 0], along[one, 1], along[other, 0], along[other, 1]
    gx, gy = (start[other] - start[one]).T
    across = dx * ey - dy * ex
    crossing = np.abs(across) > _PARALLEL * length[one] * length[other]
    one, other, across = one[crossing], other[crossing], across[crossing]
    gx, gy, dx, dy, ex, ey = (each[crossing] for each in (gx, gy, dx, dy, ex, ey))
    at, their = (gx * ey - gy * ex) / across, (gx * dy - gy * dx) / across
    slack, margin = _SAME / length[other], _SAME / length[one]
    meets = (their >= -slack) & (their <= 1 + slack) & (at > margin) & (at < 1 - margin)
    numbers = np.arange(len(segments))
    edge = np.concatenate([numbers, one[meets], numbers])
    share = np.concatenate([np.zeros(len(segments)), at[meets], np.ones(len(segments))])
    order = np.lexsort((share, edge))
    edge, share = edge[order], share[order]
    apart = (share == 0) | (share == 1) | (np.diff(share, prepend=-1.0) * length[edge] > _SAME)
    edge, share = edge[apart], share[apart]
    same = edge[1:] == edge[:-1]
    own, bounds = edge[:-1][same], np.stack([share[:-1][same], share[1:][same]], axis=1)
    return start[own][:, None] + bounds[:, :, None] * along[own][:, None]


def _near(segments: Floats) -> tuple[Ints, Ints]:
    """Pairs of segments in one cell, each both ways round."""
    grid = Grid.over(segments.reshape(-1, 2), _ACROSS)
    which, cell = grid.cells(segments)
    place, other = Sorted(which, cell).meet(cell)
    one = which[place]
    pair = np.unique(np.stack([one, other], axis=1)[one != other], axis=0)
    return pair[:, 0], pair[:, 1]


def _chained(segments: Floats) -> list[Floats]:
    """Directed segments, (n, 2, 2) float, as closed rings, the area on the left."""
    node = _nodes(segments.reshape(-1, 2)).reshape(-1, 2)
    along = segments[:, 1] - segments[:, 0]
    turn = np.arctan2(along[:, 1], along[:, 0])
    leaving: dict[int, list[int]] = {}
    for number, first in enumerate(node[:, 0].tolist()):
        leaving.setdefault(first, []).append(number)
    found, used = [], np.zeros(len(segments), dtype=bool)
    for start in range(len(segments)):
        ring, at = [], start
        while not used[at]:
            used[at] = True
            ring.append(segments[at, 0])
            onward = [one for one in leaving.get(int(node[at, 1]), []) if not used[one]]
            if not onward:
                break
            # The sharpest turn to the left: rings that touch at a corner stay apart.
            at = max(onward, key=lambda one, at=at: (turn[one] - turn[at] + np.pi) % (2 * np.pi))
        if len(ring) > 2:
            found.append(np.array(ring))
    return found


def _nodes(points: Floats) -> Ints:
    """The same number for points that are one."""
    column = _runs(points[:, 0], np.zeros(len(points), dtype=np.intp))
    return _runs(points[:, 1], column)


def _runs(values: Floats, group: Ints) -> Ints:
    """Numbers of runs of values, within a group, that follow each other closely."""
    order = np.lexsort((values, group))
    apart = (np.diff(group[order], prepend=-1) != 0) | (np.diff(values[order], prepend=-np.inf) > _SAME)
    number = np.empty(len(values), dtype=np.intp)
    number[order] = np.cumsum(apart) - 1
    return number
