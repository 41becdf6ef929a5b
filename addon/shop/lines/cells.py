"""A grid of cells over the paper, to find what lies near what."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ...model.tolerances import CONTACT

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.intp]


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
