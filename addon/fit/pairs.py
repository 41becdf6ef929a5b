"""All pairs of a sliding and a standing piece: bounds of their distances, raised until those that matter are exact.

Every pair has a lower bound of its signed distance over the whole slide. Bounds are raised by ever dearer means,
and only where they still decide something. Several slides are worked out together: numpy's calls cost more than the
arithmetic behind them.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from ..model.ragged import joined_starts
from ..model.tolerances import CONTACT, WELD
from .broad import DIAGONALS, Bounds, box_gaps, facet_bound, points_within
from .polytope import Polytope, sweep
from .separation import Separation, signed_distance

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from numpy.typing import NDArray

    from .kernel import StaticScene

    Floats = NDArray[np.float64]
    Ints = NDArray[np.intp]
    Bools = NDArray[np.bool_]

_FIRST_LIMIT = 2.0
"""mm; a first guess of the smallest clearance, which a leaf in its slot seldom exceeds. It only spares work."""


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


class Pairs:
    """The pairs of several runs. A row is one moving piece of one run, a column one standing piece.

    Pairs are numbered row times count of columns plus column.

    Attributes
    ----------
    bound : (rows·columns,) float, mm; lower bounds of the signed distances
    decided : (rows·columns,) bool; where the bound is the distance
    known : (runs, parts) float, mm; smallest decided distance; parts are those of `StaticScene.parts`
    """

    def __init__(self, scene: StaticScene, runs: Sequence[Run]) -> None:
        self.scene, self.runs = scene, runs
        movers = [run.mover for run in runs]
        sizes = [len(mover) for mover in movers]
        self.columns = len(scene.bounds)
        self.run_starts = np.cumsum([0, *sizes])
        self.run_of_row = np.repeat(np.arange(len(runs)), sizes)
        self.start = np.array([run.start for run in runs], dtype=float)[self.run_of_row].T
        self.travel = np.array([run.travel for run in runs], dtype=float)[self.run_of_row].T
        self.low = np.concatenate([mover.low for mover in movers], axis=1)
        self.high = np.concatenate([mover.high for mover in movers], axis=1)
        self._low = self.low + self.start + np.minimum(self.travel, 0.0)
        self._high = self.high + self.start + np.maximum(self.travel, 0.0)
        straight = np.count_nonzero(self.travel, axis=0) <= 1
        self._sweeps_a_box = np.concatenate([mover.is_box for mover in movers]) & straight
        stretch = DIAGONALS @ self.travel
        reach = DIAGONALS @ self.start
        self._reach_low = np.concatenate([mover.reach_low for mover in movers], axis=1) + reach
        self._reach_low += np.minimum(stretch, 0.0)
        self._reach_high = np.concatenate([mover.reach_high for mover in movers], axis=1) + reach
        self._reach_high += np.maximum(stretch, 0.0)
        self._planes = np.concatenate([mover.pieces.planes for mover in movers])
        self._plane_starts = joined_starts([mover.pieces.plane_starts for mover in movers])
        self._sweeps: dict[int, Polytope] = {}
        self._separations: dict[int, Separation] = {}

        there = scene.bounds
        gaps = box_gaps(
            self._low[:, :, None], self._high[:, :, None], there.low[:, None], there.high[:, None]
        )
        bound = gaps.max(axis=0)
        for row, run in enumerate(self.run_of_row.tolist()):
            for part in runs[run].skip:
                bound[row, scene.of_part(part)] = np.inf
        self._gaps = gaps.reshape(3, -1)
        self.bound = bound.reshape(-1)
        self.decided = np.zeros(len(self.bound), dtype=bool)
        self.known = np.full((len(runs), len(scene.parts)), np.inf)
        self._known_of = (self.run_of_row[:, None] * len(scene.parts) + scene.row_of_piece).reshape(-1)

    def decide(self, threshold: float) -> None:
        """Make exact all that is below the threshold, and the smallest of each run."""
        limit = np.full(len(self.runs), max(threshold, _FIRST_LIMIT))
        shape = len(self.run_of_row), self.columns
        while True:
            below = self.bound.reshape(shape) < limit[self.run_of_row, None]
            self._work_out(np.flatnonzero(below), limit)
            undecided = np.where(self.decided, np.inf, self.bound).reshape(shape).min(axis=1)
            lowest = np.minimum.reduceat(undecided, self.run_starts[:-1])
            settled = (self.known.min(axis=1) <= lowest + 2 * WELD) | (lowest == np.inf)
            if settled.all():
                return
            limit = np.where(settled, -np.inf, np.maximum(lowest + CONTACT, 2 * limit))

    def by_part(self) -> tuple[Floats, Bools]:
        """(runs, parts) float mm and bool: the smallest distance so far, and whether that is exact."""
        of_runs = np.minimum.reduceat(self.bound.reshape(-1, self.columns), self.run_starts[:-1], axis=0)
        least = np.minimum.reduceat(of_runs, self.scene.part_starts[:-1], axis=1)
        exact = (self.known <= least + 2 * WELD) & np.isfinite(least)
        return np.where(exact, self.known, least), exact

    def near(self, run: int, parts: Ints, reach: float) -> Ints:
        """The pairs of a run with these parts that may be as near as `reach`."""
        pairs = self._of_parts(run, parts)
        for step in (self._by_boxes, self._by_diagonals, self._by_flat_faces):
            pairs = pairs[self.bound[pairs] <= reach]
            step(pairs[~self.decided[pairs]])
        return pairs[self.bound[pairs] <= reach]

    def _of_parts(self, run: int, parts: Ints) -> Ints:
        columns = np.flatnonzero(np.isin(self.scene.owner, parts))
        rows = np.arange(self.run_starts[run], self.run_starts[run + 1])
        return (rows[:, None] * self.columns + columns).reshape(-1)

    def nearest(self, run: int, part: int) -> int:
        """The decided pair of a run that is nearest to a part."""
        pairs = self._of_parts(run, np.array([part]))
        return int(pairs[np.where(self.decided[pairs], self.bound[pairs], np.inf).argmin()])

    def separation(self, pair: int) -> Separation:
        """The exact signed distance of a pair over the whole slide, worked out once."""
        if pair not in self._separations:
            row, column = divmod(pair, self.columns)
            separation = signed_distance(self._sweep(row), self.scene.bounds.polytope(column))
            self._separations[pair] = separation
            self._settle(np.array([pair]), np.array([separation.distance]))
        return self._separations[pair]

    def facing_axis(self, pair: int) -> int | None:
        """The axis along which flat faces look at each other where the pair is nearest; None if that is not how."""
        gaps = self._gaps[:, pair]
        settled = self.decided[pair] and pair not in self._separations
        return int(gaps.argmax()) if settled and np.count_nonzero(gaps > 0) <= 1 else None

    def begin(self, row: int) -> Polytope:
        """A moving piece where its slide begins."""
        run = self.run_of_row[row]
        body = self.runs[run].mover.polytope(int(row - self.run_starts[run]))
        return body.translated(self.start[:, row]) if self.start[:, row].any() else body

    def _sweep(self, row: int) -> Polytope:
        if row not in self._sweeps:
            self._sweeps[row] = sweep(self.begin(row), self.travel[:, row])
        return self._sweeps[row]

    def _work_out(self, pairs: Ints, limit: Floats) -> None:
        """Decide these pairs as far as they can lower the clearance of their part, and that below the limit."""
        for step in (self._by_boxes, self._by_diagonals, self._by_flat_faces, self._by_facets):
            pairs = self._open(pairs, limit)
            if not len(pairs):
                return
            step(pairs)
        pairs = self._open(pairs, limit)
        while len(pairs):
            self.separation(int(pairs[self.bound[pairs].argmin()]))
            pairs = self._open(pairs, limit)

    def _open(self, pairs: Ints, limit: Floats) -> Ints:
        ceiling = np.minimum(self.known, limit[:, None]).reshape(-1)[self._known_of[pairs]] - WELD
        return pairs[(self.bound[pairs] < ceiling) & ~self.decided[pairs]]

    def _raise(self, pairs: Ints, bounds: Floats) -> None:
        self.bound[pairs] = np.maximum(self.bound[pairs], bounds)

    def _settle(self, pairs: Ints, distances: Floats) -> None:
        self.bound[pairs] = distances
        self.decided[pairs] = True
        np.minimum.at(self.known.reshape(-1), self._known_of[pairs], distances)

    def _by_boxes(self, pairs: Ints) -> None:
        """The distance of the boxes, which is exact for boxes."""
        gaps = np.maximum(self._gaps[:, pairs], 0.0)
        distances = np.sqrt((gaps * gaps).sum(axis=0))
        self._raise(pairs, np.where(distances > 0, distances, -np.inf))
        if self._sweeps_a_box.any():
            rows, columns = np.divmod(pairs, self.columns)
            boxes = pairs[self._sweeps_a_box[rows] & self.scene.bounds.is_box[columns]]
            self._settle(boxes, self.bound[boxes])

    def _by_diagonals(self, pairs: Ints) -> None:
        rows, columns = np.divmod(pairs, self.columns)
        there = self.scene.bounds
        gaps = box_gaps(
            self._reach_low[:, rows],
            self._reach_high[:, rows],
            there.reach_low[:, columns],
            there.reach_high[:, columns],
        )
        self._raise(pairs, gaps.max(axis=0))

    def _by_flat_faces(self, pairs: Ints) -> None:
        """The gap along one axis, which is exact where flat faces look at each other."""
        gaps = self._gaps[:, pairs]
        greatest = gaps.max(axis=0)
        may_face = np.flatnonzero((greatest > -WELD) & (self.bound[pairs] <= np.maximum(greatest, 0.0)))
        if len(may_face):
            pairs = pairs[may_face]
            facing = self._face_each_other(pairs, gaps[:, may_face].argmax(axis=0))
            self._settle(pairs[facing], greatest[may_face][facing])

    def _face_each_other(self, pairs: Ints, axis: Ints) -> Bools:
        """Whether pairs whose boxes are apart along one axis have a point of each that is just so far away.

        Tried in the middle of what the boxes share across that axis, with the mover's middle brought as near as
        the slide allows.
        """
        rows, columns = np.divmod(pairs, self.columns)
        each = np.arange(len(pairs))
        low, high = self._low[:, rows], self._high[:, rows]
        there_low, there_high = self.scene.bounds.low[:, columns], self.scene.bounds.high[:, columns]
        least, most = np.maximum(low, there_low), np.minimum(high, there_high)
        on_part = (least + most) / 2
        on_mover = on_part - self.start[:, rows]
        ahead = (low + high < there_low + there_high)[axis, each]
        on_part[axis, each] = np.where(ahead, least[axis, each], most[axis, each])
        on_mover[axis, each] = np.where(ahead, most[axis, each], least[axis, each]) - self.start[axis, rows]
        travel = self.travel[:, rows]
        square = (travel * travel).sum(axis=0)
        from_middle = on_mover - (self.low[:, rows] + self.high[:, rows]) / 2
        done = (from_middle * travel).sum(axis=0) / np.where(square > 0, square, 1.0)
        on_mover -= np.minimum(np.maximum(done, 0.0), 1.0) * travel
        inside = points_within(self._planes, self._plane_starts, rows, on_mover)
        pieces = self.scene.pieces
        return inside & points_within(pieces.planes, pieces.plane_starts, columns, on_part)

    def _by_facets(self, pairs: Ints) -> None:
        if len(pairs) == 1:
            return
        rows, columns = np.divmod(pairs, self.columns)
        for row in np.unique(rows):
            of_row = rows == row
            bounds = facet_bound(self._sweep(int(row)), self.scene.pieces, columns[of_row])
            self._raise(pairs[of_row], bounds)
