"""Straight slides of convex pieces, stacked so that one numpy call covers all of them."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from ...model.convex import Pieces
from ...model.ragged import joined_starts
from .broad import DIAGONALS, Bounds, turned

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from numpy.typing import NDArray

    from .polytope import Polytope

    Floats = NDArray[np.float64]


_SIDES = np.concatenate([np.eye(3), -np.eye(3), DIAGONALS, -DIAGONALS])
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

        at_start = np.concatenate([mover.shadows for mover in movers], axis=1) + _SIDES @ self.start
        self.middle = (at_start[:3] - at_start[3:6]) / 2
        self.shadows = at_start + np.minimum(_SIDES @ self.travel, 0.0)
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
