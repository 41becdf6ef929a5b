"""What the eye sees on either side of an edge, close beside it.

A grid of cells over the paper, to find what lies near what.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from ...sizes.tolerances import CONTACT

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from .surface import Surface

    Floats = NDArray[np.float64]
    Ints = NDArray[np.intp]
    Bools = NDArray[np.bool_]


@dataclass(frozen=True)
class Grid:
    """Square cells, numbered row by row."""

    left: float
    bottom: float
    size: float
    columns: int
    rows: int

    @classmethod
    def over(cls, points: Floats, across: int) -> Grid:
        """A grid over (n, 2) points whose longer side has `across` cells."""
        low, high = points.min(axis=0), points.max(axis=0)
        size = max(float((high - low).max()) / across, CONTACT)
        columns, rows = (np.floor((high - low) / size).astype(int) + 1).tolist()
        return cls(float(low[0]), float(low[1]), size, columns, rows)

    def cell(self, points: Floats) -> Ints:
        """(n,) int: the cell of each of (n, 2) points."""
        column, row = self._column(points[:, 0]), self._row(points[:, 1])
        return row * self.columns + column

    def cells(self, rings: Floats) -> tuple[Ints, Ints]:
        """Which of (n, k, 2) convex rings lie in which cell: pairs of a ring's number and a cell.

        Each ring is cut into the rows of the grid; in a row it lies in all cells between its least and greatest x.
        """
        low, high = rings[:, :, 1].min(axis=1) - CONTACT, rings[:, :, 1].max(axis=1) + CONTACT
        ring, row = spread(self._row(low), self._row(high))
        bottom = self.bottom + row * self.size - CONTACT
        top = bottom + self.size + 2 * CONTACT
        least, greatest = np.full(len(ring), np.inf), np.full(len(ring), -np.inf)
        count = rings.shape[1]
        for corner in range(count):
            a, b = rings[ring, corner], rings[ring, (corner + 1) % count]
            rise = b[:, 1] - a[:, 1]
            for border in (bottom, top):
                share = np.divide(border - a[:, 1], rise, out=np.zeros(len(ring)), where=rise != 0)
                within = (share >= 0) & (share <= 1)
                x = a[:, 0] + share * (b[:, 0] - a[:, 0])
                least = np.where(within & (x < least), x, least)
                greatest = np.where(within & (x > greatest), x, greatest)
            inside = (a[:, 1] >= bottom) & (a[:, 1] <= top)
            least = np.where(inside & (a[:, 0] < least), a[:, 0], least)
            greatest = np.where(inside & (a[:, 0] > greatest), a[:, 0], greatest)
        there = least <= greatest
        ring, row = ring[there], row[there]
        entry, column = spread(self._column(least[there] - CONTACT), self._column(greatest[there] + CONTACT))
        return ring[entry], row[entry] * self.columns + column

    def _column(self, x: Floats) -> Ints:
        return np.clip(np.floor((x - self.left) / self.size), 0, self.columns - 1).astype(np.intp)

    def _row(self, y: Floats) -> Ints:
        return np.clip(np.floor((y - self.bottom) / self.size), 0, self.rows - 1).astype(np.intp)


def spread(first: Ints, last: Ints) -> tuple[Ints, Ints]:
    """All numbers from `first` to `last`, (n,) int, of each entry: the entry's number and the number."""
    count = last - first + 1
    entry = np.repeat(np.arange(len(first)), count)
    start = np.repeat(first - np.cumsum(count) + count, count)
    return entry, start + np.arange(len(entry))


class Sorted:
    """Things by the cell that they lie in."""

    def __init__(self, thing: Ints, cell: Ints) -> None:
        order = np.argsort(cell, kind="stable")
        self._things = thing[order]
        self._cells = cell[order]

    def meet(self, cell: Ints) -> tuple[Ints, Ints]:
        """For places in (n,) cells: pairs of a place's number and a thing in its cell."""
        first = np.searchsorted(self._cells, cell, side="left")
        last = np.searchsorted(self._cells, cell, side="right") - 1
        place, at = spread(first, last)
        return place, self._things[at]


NOTHING: Final = -1
"""In place of a part's number: the paper."""

_ON_LINE: Final = 1e-7
"""Distance on the paper within which a point lies on a triangle's side, mm: a tenth of `CONTACT`, which is the length
of the shortest interval."""

_POINTS: Final = 20_000
"""Points looked at at once."""


class Seen:
    """The triangles that face the eye, sorted by where they are on the paper.

    What is turned away from the eye hides nothing that the front of the same closed part does not hide.
    """

    def __init__(self, surface: Surface, grid: Grid) -> None:
        corners = surface.points[surface.triangles]
        flat = corners[:, :, :2]
        one, two = flat[:, 1] - flat[:, 0], flat[:, 2] - flat[:, 0]
        area = one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]
        front = np.flatnonzero((surface.facing > 0) & (area > 0))
        self._grid = grid
        self._normals = surface.normals[front]
        self._offsets = np.einsum("ij,ij->i", self._normals, corners[front, 0])
        self._part = surface.part[front]
        start, end = flat[front], np.roll(flat[front], -1, axis=1)
        length = np.hypot(*np.moveaxis(end - start, 2, 0))
        # Inward unit normals of the three sides: (-dy, dx) for sides that go counter-clockwise.
        self._inward = np.stack([start[:, :, 1] - end[:, :, 1], end[:, :, 0] - start[:, :, 0]], axis=2)
        self._inward /= length[:, :, None]
        self._sides = np.einsum("ijk,ijk->ij", self._inward, start)
        self._sorted = Sorted(*grid.cells(flat[front]))

    def hidden(self, points: Floats, left: Floats) -> Bools:
        """Whether points are hidden just beside them, on the left and on the right: (n, 2) bool.

        A face nearer to the eye than `CONTACT`, or that far behind, touches the point and does not hide it.

        Parameters
        ----------
        points : (n, 3) float, in no triangle's corner
        left : (n, 2) float, the unit direction to the left on the paper
        """
        covered = np.zeros((len(points), 2), dtype=bool)
        for start in range(0, len(points), _POINTS):
            some = slice(start, start + _POINTS)
            place, wall = self._sorted.meet(self._grid.cell(points[some, :2]))
            behind = self._distance(points[some], place, wall) < -CONTACT
            place, wall = place[behind], wall[behind]
            for side, over in enumerate(self._over(points[some], left[some], place, wall)):
                covered[start + place[over], side] = True
        return covered

    def foremost(self, points: Floats, left: Floats, own: Ints) -> Ints:
        """The number of the part seen just beside points, on the left and on the right: (n, 2) int, or `NOTHING`.

        Parameters
        ----------
        own : (n,) int, the part that is meant where several lie equally near to the eye
        """
        found = np.full((len(points), 2), NOTHING, dtype=np.intp)
        for start in range(0, len(points), _POINTS):
            some = slice(start, start + _POINTS)
            place, wall = self._sorted.meet(self._grid.cell(points[some, :2]))
            for side, over in enumerate(self._over(points[some], left[some], place, wall)):
                at, seen = place[over], wall[over]
                nearer = -self._distance(points[some], at, seen) / self._normals[seen, 2]
                is_own = self._part[seen] == own[start + at]
                nearer = nearer + np.where(is_own, 2 * CONTACT, 0.0)
                order = np.lexsort((nearer, at))
                last = np.flatnonzero(np.diff(at[order], append=-1))
                found[start + at[order][last], side] = self._part[seen[order][last]]
        return found

    def _distance(self, points: Floats, place: Ints, wall: Ints) -> Floats:
        """How far points are in front of the planes of triangles, mm."""
        normal = self._normals[wall]
        x, y, z = points[:, 0][place], points[:, 1][place], points[:, 2][place]
        return normal[:, 0] * x + normal[:, 1] * y + normal[:, 2] * z - self._offsets[wall]

    def _over(self, points: Floats, left: Floats, place: Ints, wall: Ints) -> tuple[Bools, Bools]:
        """Whether triangles cover points on the paper, just to the left and just to the right."""
        at, toward = points[place, :2], left[place]
        to_left, to_right = np.ones(len(place), dtype=bool), np.ones(len(place), dtype=bool)
        for side in range(3):
            inward = self._inward[wall, side]
            inside = inward[:, 0] * at[:, 0] + inward[:, 1] * at[:, 1] - self._sides[wall, side]
            slope = inward[:, 0] * toward[:, 0] + inward[:, 1] * toward[:, 1]
            clear, on = inside > _ON_LINE, np.abs(inside) <= _ON_LINE
            to_left &= clear | (on & (slope >= 0))
            to_right &= clear | (on & (slope <= 0))
        return to_left, to_right
