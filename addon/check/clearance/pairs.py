"""All pairs of a sliding and a standing piece: bounds of their distances, raised until those that matter are exact.

    the four leaves of the quilting table            pairs left
    a leaf and a part, by their boxes                   160       18 of them may be near enough to matter
    a leaf and a piece of such a part                 1,088       a lower bound each: boxes with trimmed edges
    the lowest of each part                              34       flat faces look at each other: that is the distance,
    facets of both bodies                                 0         and less than the bounds of all the others
    exact distance, the nearest first                     0       until nothing that is undecided can be nearer

Every pair has a lower bound of its signed distance over the whole slide. Bounds are raised by ever dearer means,
and only where they still decide something. Several slides are worked out together: numpy's calls cost more than the
arithmetic behind them.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ...sizes.arrays import Bools, Floats, Ints
from ...sizes.tolerances import CONTACT, WELD
from .broad import Runs, Standing, axis_gaps, box_distance, facet_begin, facet_bound, points_within
from .separation import Polytope, Separation, signed_distance, sweep

_FIRST_LIMIT = 2.0
"""mm; a first guess of the smallest clearance, which a leaf in its slot seldom exceeds. It only spares work."""


class Pairs:
    """Pairs of a moving and a standing piece, of several runs. A row is one moving piece of one run.

    Boxes of whole parts come first: only the pieces of parts that are near enough to matter become pairs, all
    those of a row and a part in one block.

    Attributes
    ----------
    row, column : (n,) int; the moving and the standing piece of each pair
    bound : (n,) float, mm; lower bounds of the signed distances
    decided : (n,) bool; where the bound is the distance
    known : (runs, parts) float, mm; smallest decided distance; parts are those of `Standing.parts`
    """

    def __init__(self, scene: Standing, runs: Runs) -> None:
        self.scene, self.runs = scene, runs
        self._part_bound = (runs.turned[:, :, None] + scene.part_shadows[:, None]).max(axis=0)
        self._part_bound[runs.skipped.take(scene.parts, axis=1)] = np.inf
        self.known = np.full((len(runs), len(scene.parts)), np.inf)
        self.row = self.column = self._known_of = np.zeros(0, dtype=np.intp)
        self._block_starts = self._block_sizes = self._known_of_block = self.row
        self._sides, self.bound, self.decided = np.zeros((6, 0)), np.zeros(0), np.zeros(0, dtype=bool)
        self._sweeps: dict[int, Polytope] = {}
        self._separations: dict[int, Separation] = {}

    def _admit(self, near: Bools) -> None:
        """Take up the pieces of parts, by (rows, parts) bool; none that are there already."""
        rows, parts = near.nonzero()
        if not len(rows):
            return
        self._part_bound[near] = np.inf
        sizes = self.scene.part_sizes[parts]
        stops = sizes.cumsum()
        starts = stops - sizes
        columns = np.arange(stops[-1]) + (self.scene.part_starts[parts] - starts).repeat(sizes)
        sides = self.scene.bounds.shadows.take(
            columns, axis=1, mode="clip"
        )  # quicker, as no index is checked
        sides += self.runs.turned[:, rows].repeat(sizes, axis=1)
        known_of = self.runs.run_of_row[rows] * len(self.scene.parts) + parts
        self._block_starts = _joined(self._block_starts, starts + len(self.row))
        self._block_sizes = _joined(self._block_sizes, sizes)
        self._known_of_block = _joined(self._known_of_block, known_of)
        self.row = _joined(self.row, rows.repeat(sizes))
        self.column = _joined(self.column, columns)
        self._known_of = _joined(self._known_of, known_of.repeat(sizes))
        self._sides = _joined(self._sides, sides[:6])
        self.bound = _joined(self.bound, sides.max(axis=0))
        self.decided = _joined(self.decided, np.zeros(len(columns), dtype=bool))

    def decide(self, threshold: float) -> tuple[Floats, Bools]:
        """Make exact all that is below the threshold, and the smallest of each run.

        Returns
        -------
        (runs, parts) float mm and bool: the smallest distance so far, and whether that is exact
        """
        limit = np.full(len(self.runs), max(threshold, _FIRST_LIMIT))
        while True:
            self._admit(self._part_bound < limit[self.runs.run_of_row, None])
            self._work_out(limit)
            rest = self._undecided()
            exact = (self.known <= rest + 2 * WELD) & (self.known < np.inf)
            lowest = rest.min(axis=1)
            settled = (self.known.min(axis=1) <= lowest + 2 * WELD) | ~(lowest < np.inf)
            if settled.all():
                return np.where(exact, self.known, rest), exact
            limit = np.where(settled, -np.inf, np.maximum(lowest + CONTACT, 2 * limit))

    def _undecided(self) -> Floats:
        """(runs, parts) float, mm; the smallest bound of what is not decided, pairs and parts without pairs."""
        least = np.minimum.reduceat(self._part_bound, self.runs.starts[:-1], axis=0)
        if len(self._block_starts):
            rest = np.minimum.reduceat(np.where(self.decided, np.inf, self.bound), self._block_starts)
            np.minimum.at(least.reshape(-1), self._known_of_block, rest)
        return least

    def near(self, run: int, parts: Ints, reach: float) -> Ints:
        """The pairs of a run with these parts that may be as near as `reach`."""
        pairs = self._of_parts(run, parts, reach)
        for step in (self._by_boxes, self._by_nearest_points):
            pairs = pairs[self.bound[pairs] <= reach]
            step(pairs[~self.decided[pairs]])
        return pairs[self.bound[pairs] <= reach]

    def _of_parts(self, run: int, parts: Ints, reach: float) -> Ints:
        places = self.scene.place_of_part[parts]
        rows = slice(self.runs.starts[run], self.runs.starts[run + 1])
        near = self._part_bound[rows, places] <= reach
        if near.any():
            which = np.zeros(self._part_bound.shape, dtype=bool)
            which[rows, places] = near
            self._admit(which)
        wanted = run * len(self.scene.parts) + places
        blocks = np.flatnonzero((self._known_of_block == wanted[:, None]).any(axis=0))
        starts, sizes = self._block_starts[blocks], self._block_sizes[blocks]
        ends = sizes.cumsum()
        return np.arange(sizes.sum()) + (starts - ends + sizes).repeat(sizes)

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
        gaps = axis_gaps(self._sides[:, pair])
        settled = self.decided[pair] and pair not in self._separations
        return int(gaps.argmax()) if settled and np.count_nonzero(gaps > 0) <= 1 else None

    def begins(self, pairs: Ints, within: float) -> Floats:
        """For each pair, a share of the move before which it is farther apart than `within`; inf: it always is."""
        rows, columns = self.row[pairs], self.column[pairs]
        found = np.zeros(len(pairs))
        for row in np.unique(rows):
            of_row = rows == row
            body, travel = self.runs.begin(int(row)), self.runs.travel[:, row]
            found[of_row] = facet_begin(body, travel, self.scene.pieces, columns[of_row], within)
        return found

    def _sweep(self, row: int) -> Polytope:
        if row not in self._sweeps:
            self._sweeps[row] = sweep(self.runs.begin(row), self.runs.travel[:, row])
        return self._sweeps[row]

    def _work_out(self, limit: Floats) -> None:
        """Decide pairs as far as they can lower the clearance of their part, and that below the limit.

        Where the lowest of each part show flat faces to each other, which is the rule, they settle all others.
        """
        self._by_nearest_points(self._lowest(limit))
        for step in (self._by_boxes, self._by_nearest_points, self._by_facets):
            pairs = self._open(limit)
            if not len(pairs):
                return
            step(pairs)
        pairs = self._open(limit)
        while len(pairs):
            self.separation(int(pairs[self.bound[pairs].argmin()]))
            pairs = self._open(limit)

    def _open(self, limit: Floats) -> Ints:
        """Pairs that can lower the clearance of their part, and that below the limit."""
        ceiling = self._ceiling(limit).repeat(self._block_sizes)
        return ((self.bound < ceiling) & ~self.decided).nonzero()[0]

    def _lowest(self, limit: Floats) -> Ints:
        """Of the pairs of each block, those with the lowest bound, where that is below the limit."""
        if not len(self._block_starts):
            return self._block_starts
        lowest = np.minimum.reduceat(self.bound, self._block_starts)
        lowest = np.where(lowest < self._ceiling(limit), lowest + WELD, -np.inf)
        return (self.bound <= lowest.repeat(self._block_sizes)).nonzero()[0]

    def _ceiling(self, limit: Floats) -> Floats:
        """(blocks,) float, mm; what a pair of each block has to lie below to matter."""
        return np.minimum(self.known, limit[:, None]).reshape(-1)[self._known_of_block] - WELD

    def _settle(self, pairs: Ints, distances: Floats) -> None:
        self.bound[pairs] = distances
        self.decided[pairs] = True
        np.minimum.at(self.known.reshape(-1), self._known_of[pairs], distances)

    def _by_boxes(self, pairs: Ints) -> None:
        """The distance of the boxes, which is exact for boxes."""
        distances = box_distance(self._sides[:, pairs])
        self.bound[pairs] = np.maximum(self.bound[pairs], distances)
        if self.runs.sweeps_a_box.any():
            boxes = self.runs.sweeps_a_box[self.row[pairs]] & self.scene.bounds.is_box[self.column[pairs]]
            self._settle(pairs[boxes], distances[boxes])

    def _by_nearest_points(self, pairs: Ints) -> None:
        """The distance of the boxes, which is exact where their nearest points belong to both pieces.

        So it is where flat faces look at each other.
        """
        distances = box_distance(self._sides[:, pairs])
        may = (distances > -WELD) & (self.bound[pairs] <= distances + WELD)
        pairs, distances = pairs[may], distances[may]
        if len(pairs):
            reached = self._reach_each_other(pairs)
            self._settle(pairs[reached], distances[reached])

    def _reach_each_other(self, pairs: Ints) -> Bools:
        """Whether the nearest points of the boxes of pairs belong to the pieces.

        Tried in the middle of what the boxes share across their gap, with the mover's middle brought as near as
        the slide allows.
        """
        runs, rows, columns = self.runs, self.row[pairs], self.column[pairs]
        here, there = runs.shadows[:6, rows], self.scene.bounds.shadows[:6, columns]
        shared = np.maximum(here, there)
        middle = (shared[:3] - shared[3:]) / 2
        on_part = np.minimum(np.maximum(middle, there[:3]), -there[3:])
        on_mover = np.minimum(np.maximum(middle, here[:3]), -here[3:])
        from_middle = on_mover - runs.middle[:, rows]
        done = (from_middle * runs.pace[:, rows]).sum(axis=0)
        on_mover -= np.minimum(np.maximum(done, 0.0), 1.0) * runs.travel[:, rows]
        inside = points_within(runs.planes, runs.plane_starts, rows, on_mover)
        starts = self.scene.pieces.plane_starts
        return inside & points_within(self.scene.bounds.planes, starts, columns, on_part)

    def _by_facets(self, pairs: Ints) -> None:
        if len(pairs) == 1:
            return
        rows, columns = self.row[pairs], self.column[pairs]
        for row in np.unique(rows):
            of_row = rows == row
            bounds = facet_bound(self._sweep(int(row)), self.scene.pieces, columns[of_row])
            self.bound[pairs[of_row]] = np.maximum(self.bound[pairs[of_row]], bounds)


def _joined(some: NDArray, more: NDArray) -> NDArray:
    """Both one after the other, along the last axis."""
    return np.concatenate([some, more], axis=-1) if some.size else more
