"""All pairs of a sliding and a standing piece: bounds of their distances, raised until those that matter are exact.

Every pair has a lower bound of its signed distance over the whole slide. Bounds are raised by ever dearer means,
and only where they still decide something. Several slides are worked out together: numpy's calls cost more than the
arithmetic behind them.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from ..model.ragged import joined_starts, ragged_rows
from ..model.tolerances import CONTACT, WELD
from .broad import DIAGONALS, Bounds, box_gaps, facet_begin, facet_bound, points_within
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
    """Pairs of a moving and a standing piece, of several runs. A row is one moving piece of one run.

    Boxes of whole parts come first: only the pieces of parts that are near enough to matter become pairs.

    Attributes
    ----------
    row, column : (n,) int; the moving and the standing piece of each pair
    bound : (n,) float, mm; lower bounds of the signed distances
    decided : (n,) bool; where the bound is the distance
    known : (runs, parts) float, mm; smallest decided distance; parts are those of `StaticScene.parts`
    """

    def __init__(self, scene: StaticScene, runs: Sequence[Run]) -> None:
        self.scene, self.runs = scene, runs
        movers = [run.mover for run in runs]
        sizes = [len(mover) for mover in movers]
        self.run_starts = np.cumsum([0, *sizes])
        self.run_of_row = np.repeat(np.arange(len(runs)), sizes)
        self.start = np.array([run.start for run in runs], dtype=float)[self.run_of_row].T
        self.travel = np.array([run.travel for run in runs], dtype=float)[self.run_of_row].T
        low = np.concatenate([mover.low for mover in movers], axis=1)
        high = np.concatenate([mover.high for mover in movers], axis=1)
        self._middle = (low + high) / 2
        self._low = low + self.start + np.minimum(self.travel, 0.0)
        self._high = high + self.start + np.maximum(self.travel, 0.0)
        stretch, shift = DIAGONALS @ self.travel, DIAGONALS @ self.start
        self._reach_low = np.concatenate([mover.reach_low for mover in movers], axis=1) + shift
        self._reach_low += np.minimum(stretch, 0.0)
        self._reach_high = np.concatenate([mover.reach_high for mover in movers], axis=1) + shift
        self._reach_high += np.maximum(stretch, 0.0)
        straight = np.count_nonzero(self.travel, axis=0) <= 1
        self._sweeps_a_box = np.concatenate([mover.is_box for mover in movers]) & straight
        self._planes = np.concatenate([mover.pieces.planes for mover in movers])
        self._plane_starts = joined_starts([mover.pieces.plane_starts for mover in movers])
        self._sweeps: dict[int, Polytope] = {}
        self._separations: dict[int, Separation] = {}

        low, high = self._low[:, :, None], self._high[:, :, None]
        self._part_bound = _box_distance(
            box_gaps(low, high, scene.part_low[:, None], scene.part_high[:, None])
        )
        for row, run in enumerate(self.run_of_row.tolist()):
            places = scene.place_of_part[list(runs[run].skip)]
            self._part_bound[row, places[places >= 0]] = np.inf
        self._admitted = np.isinf(self._part_bound)

        self.row = self.column = self._known_of = np.zeros(0, dtype=np.intp)
        self._gaps, self.bound, self.decided = np.zeros((3, 0)), np.zeros(0), np.zeros(0, dtype=bool)
        self.known = np.full((len(runs), len(scene.parts)), np.inf)

    def _admit(self, near: Bools) -> None:
        """Take up the pieces of parts, by (rows, parts) bool, that are not yet there."""
        rows, parts = np.nonzero(near & ~self._admitted)
        if not len(rows):
            return
        self._admitted[rows, parts] = True
        columns, starts = ragged_rows(self.scene.part_starts, parts)
        counts = np.diff(starts)
        row = rows.repeat(counts)
        there = self.scene.bounds
        gaps = box_gaps(self._low[:, row], self._high[:, row], there.low[:, columns], there.high[:, columns])
        known_of = (self.run_of_row[rows] * len(self.scene.parts) + parts).repeat(counts)
        self.row = np.concatenate([self.row, row])
        self.column = np.concatenate([self.column, columns])
        self._known_of = np.concatenate([self._known_of, known_of])
        self._gaps = np.concatenate([self._gaps, gaps], axis=1)
        self.bound = np.concatenate([self.bound, gaps.max(axis=0)])
        self.decided = np.concatenate([self.decided, np.zeros(len(row), dtype=bool)])

    def decide(self, threshold: float) -> None:
        """Make exact all that is below the threshold, and the smallest of each run."""
        limit = np.full(len(self.runs), max(threshold, _FIRST_LIMIT))
        while True:
            self._admit(self._part_bound < limit[self.run_of_row, None])
            self._work_out(np.flatnonzero(self.bound < limit[self.run_of_row[self.row]]), limit)
            lowest = self._least(np.where(self.decided, np.inf, self.bound)).min(axis=1)
            settled = (self.known.min(axis=1) <= lowest + 2 * WELD) | ~(lowest < np.inf)
            if settled.all():
                return
            limit = np.where(settled, -np.inf, np.maximum(lowest + CONTACT, 2 * limit))

    def by_part(self) -> tuple[Floats, Bools]:
        """(runs, parts) float mm and bool: the smallest distance so far, and whether that is exact."""
        least = self._least(self.bound)
        exact = (self.known <= least + 2 * WELD) & np.isfinite(least)
        return np.where(exact, self.known, least), exact

    def _least(self, bound: Floats) -> Floats:
        """(runs, parts) float, mm; the smallest of these bounds of pairs and those of parts without pairs."""
        waiting = np.where(self._admitted & np.isfinite(self._part_bound), np.inf, self._part_bound)
        least = np.minimum.reduceat(waiting, self.run_starts[:-1], axis=0)
        np.minimum.at(least.reshape(-1), self._known_of, bound)
        return least

    def near(self, run: int, parts: Ints, reach: float) -> Ints:
        """The pairs of a run with these parts that may be as near as `reach`."""
        pairs = self._of_parts(run, parts, reach)
        for step in (self._by_boxes, self._by_diagonals, self._by_flat_faces):
            pairs = pairs[self.bound[pairs] <= reach]
            step(pairs[~self.decided[pairs]])
        return pairs[self.bound[pairs] <= reach]

    def _of_parts(self, run: int, parts: Ints, reach: float) -> Ints:
        rows = self.run_of_row == run
        which = np.zeros(self.known.shape, dtype=bool)
        which[run, self.scene.place_of_part[parts]] = True
        self._admit(which[self.run_of_row] & (self._part_bound <= reach) & rows[:, None])
        return np.flatnonzero(which.reshape(-1)[self._known_of])

    def nearest(self, run: int, part: int) -> int:
        """The decided pair of a run that is nearest to a part."""
        pairs = self._of_parts(run, np.array([part]), -np.inf)
        return int(pairs[np.where(self.decided[pairs], self.bound[pairs], np.inf).argmin()])

    def separation(self, pair: int) -> Separation:
        """The exact signed distance of a pair over the whole slide, worked out once."""
        if pair not in self._separations:
            other = self.scene.bounds.polytope(int(self.column[pair]))
            separation = signed_distance(self._sweep(int(self.row[pair])), other)
            self._separations[pair] = separation
            self._settle(np.array([pair]), np.array([separation.distance]))
        return self._separations[pair]

    def facing_axis(self, pair: int) -> int | None:
        """The axis along which flat faces look at each other where the pair is nearest; None if that is not how."""
        gaps = self._gaps[:, pair]
        settled = self.decided[pair] and pair not in self._separations
        return int(gaps.argmax()) if settled and np.count_nonzero(gaps > 0) <= 1 else None

    def begins(self, pairs: Ints, within: float) -> Floats:
        """For each pair, a share of the move before which it is farther apart than `within`; inf: it always is."""
        rows, columns = self.row[pairs], self.column[pairs]
        found = np.zeros(len(pairs))
        for row in np.unique(rows):
            of_row = rows == row
            body, travel = self.begin(int(row)), self.travel[:, row]
            found[of_row] = facet_begin(body, travel, self.scene.pieces, columns[of_row], within)
        return found

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
        self._raise(pairs, _box_distance(self._gaps[:, pairs]))
        if self._sweeps_a_box.any():
            boxes = pairs[self._sweeps_a_box[self.row[pairs]] & self.scene.bounds.is_box[self.column[pairs]]]
            self._settle(boxes, self.bound[boxes])

    def _by_diagonals(self, pairs: Ints) -> None:
        rows, columns = self.row[pairs], self.column[pairs]
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
        rows, columns = self.row[pairs], self.column[pairs]
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
        from_middle = on_mover - self._middle[:, rows]
        done = (from_middle * travel).sum(axis=0) / np.where(square > 0, square, 1.0)
        on_mover -= np.minimum(np.maximum(done, 0.0), 1.0) * travel
        inside = points_within(self._planes, self._plane_starts, rows, on_mover)
        pieces = self.scene.pieces
        return inside & points_within(pieces.planes, pieces.plane_starts, columns, on_part)

    def _by_facets(self, pairs: Ints) -> None:
        if len(pairs) == 1:
            return
        rows, columns = self.row[pairs], self.column[pairs]
        for row in np.unique(rows):
            of_row = rows == row
            bounds = facet_bound(self._sweep(int(row)), self.scene.pieces, columns[of_row])
            self._raise(pairs[of_row], bounds)


def _box_distance(gaps: Floats) -> Floats:
    """Signed distance of boxes from the gaps between them, (3, …) to (…), mm."""
    greatest, apart = gaps.max(axis=0), np.maximum(gaps, 0.0)
    return np.where(greatest > 0, np.sqrt((apart * apart).sum(axis=0)), greatest)
