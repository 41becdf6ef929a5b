"""One straight slide of a part past standing ones."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from ..model.tolerances import CONTACT, WELD
from .broad import ACROSS, DIAGONALS, Bounds, box_distance, box_gaps, facet_bound
from .polytope import Polytope, sweep
from .separation import Separation, contact_interval, signed_distance

if TYPE_CHECKING:
    from collections.abc import Collection

    from numpy.typing import NDArray

    from .kernel import StaticScene

    Floats = NDArray[np.float64]
    Ints = NDArray[np.intp]


class Contact(NamedTuple):
    """Where a slide comes nearest to a part.

    Parameters
    ----------
    clearance : mm; negative: the sweep overlaps the part by this much
    fraction : share of the move done when the clearance is first reached (when the overlap begins), 0 … 1
    axis : (3,) float, unit; from the mover to the part
    on_mover, on_part : (3,) float, mm; nearest points at that moment (points of contact)
    mover_piece, piece : numbers of the two pieces
    """

    clearance: float
    fraction: float
    axis: Floats
    on_mover: Floats
    on_part: Floats
    mover_piece: int
    piece: int

    @property
    def place(self) -> Floats:
        """(3,) float, mm; half-way between mover and part."""
        return (self.on_mover + self.on_part) / 2


class Mover(Bounds):
    """Pieces that slide, with their bounds. Prepare it once for a part that slides several times."""


class Slide:
    """The outcome of one straight move.

    Attributes
    ----------
    clearance : (P,) float, mm; smallest signed distance of each part over the whole move; inf for parts left
        out
    exact : (P,) bool; False where `clearance` is only a lower bound (no less than the threshold)
    """

    def __init__(
        self,
        scene: StaticScene,
        mover: Mover,
        travel: Floats,
        start: Floats,
        threshold: float,
        skip: Collection[int],
    ) -> None:
        self.scene, self.mover, self.travel, self.start, self.threshold = (
            scene,
            mover,
            travel,
            start,
            threshold,
        )
        self._back, self._forth = np.minimum(travel, 0.0), np.maximum(travel, 0.0)
        self._along_axis = np.count_nonzero(travel) <= 1
        self._sweeps: dict[int, Polytope] = {}
        self._separations: dict[int, Separation] = {}
        self._count = len(scene.bounds)
        shape = (len(mover), self._count)
        self._bound = np.full(shape, np.inf)
        self._value = np.full(shape, np.inf)
        self._facing = np.zeros(0, dtype=np.intp)
        if self._count and len(mover):
            self._look_at_boxes(skip)
            self._look_closer()
        self.clearance, self.exact = self._by_part()

    def tightest(self) -> int | None:
        """The part with the smallest clearance, among equals the one reached first; None without parts."""
        if not len(self.clearance) or not np.isfinite(self.clearance.min()):
            return None
        equal = np.flatnonzero(self.exact & (self.clearance <= self.clearance.min() + CONTACT))
        if len(equal) == 1:
            return int(equal[0])
        return int(min(equal, key=lambda part: self.contact(int(part)).fraction))

    def contact(self, part: int) -> Contact:
        """Where and when the move comes nearest to a part, or begins to overlap it.

        Raises
        ------
        ValueError
            if the clearance of that part is only a lower bound
        """
        clearance = float(self.clearance[part])
        pieces = self.scene.of_part(part)
        least = np.minimum(self._value, self._bound)[:, pieces]
        overlaps = clearance < -CONTACT
        rows, columns = np.nonzero(least < -CONTACT if overlaps else least <= clearance + CONTACT)
        pairs = rows * self._count + columns + pieces.start
        begins = self._earliest(rows, columns + pieces.start, -CONTACT if overlaps else clearance)
        first: Contact | None = None
        for at in np.argsort(begins, kind="stable"):
            if first is not None and begins[at] >= first.fraction:
                break
            here = self._overlap(int(pairs[at])) if overlaps else self._approach(int(pairs[at]), clearance)
            if here is not None and (first is None or here.fraction < first.fraction):
                first = here
        if first is None:
            raise ValueError(f"the clearance of part {part} is not exact")
        return first._replace(clearance=clearance, piece=int(self.scene.original[first.piece]))

    # -- bounds, then exact values
    # -----------------------------------------------------------------------------

    def _look_at_boxes(self, skip: Collection[int]) -> None:
        """Bound every pair by its boxes, and settle those whose flat faces look at each other."""
        scene, mover = self.scene, self.mover
        low = (mover.low.T + (self.start + self._back)).T[:, :, None]
        high = (mover.high.T + (self.start + self._forth)).T[:, :, None]
        there = scene.bounds
        gaps = box_gaps(low, high, there.low[:, None], there.high[:, None])
        bound, greatest = box_distance(gaps)
        for part in skip:
            bound[:, scene.of_part(part)] = np.inf
        self._bound = bound
        if not self._along_axis:
            return
        rows, columns = np.nonzero((bound == greatest) & (greatest > -WELD))
        self._settle_facing(rows, columns, gaps[:, rows, columns])
        if mover.is_box.any():
            both = mover.is_box[:, None] & there.is_box
            np.copyto(self._value, bound, where=both)

    def _settle_facing(self, rows: Ints, columns: Ints, gaps: Floats) -> None:
        face, face_there, _ = self._faces(rows, columns, gaps)
        mover, there = self.mover, self.scene.bounds
        across = ACROSS[face]
        low = mover.face_low[face, :, rows] + (self.start + self._back)[across]
        high = mover.face_high[face, :, rows] + (self.start + self._forth)[across]
        facing = (low <= there.face_high[face_there, :, columns]) & (
            high >= there.face_low[face_there, :, columns]
        )
        full = mover.face_full[face, rows] & there.face_full[face_there, columns]
        settled = facing[:, 0] & facing[:, 1] & full
        rows, columns = rows[settled], columns[settled]
        self._value[rows, columns] = self._bound[rows, columns]
        self._facing = rows * self._count + columns

    def _faces(self, rows: Ints, columns: Ints, gaps: Floats) -> tuple[Ints, Ints, Ints]:
        """For pairs apart along one axis: the face of the mover, the face of the other, and that axis."""
        axis = gaps.argmax(axis=0)
        middle = (
            self.mover.low[axis, rows]
            + self.mover.high[axis, rows]
            + 2 * self.start[axis]
            + self.travel[axis]
        )
        ahead = self.scene.bounds.low[axis, columns] + self.scene.bounds.high[axis, columns] > middle
        return 2 * axis + ahead, 2 * axis + 1 - ahead, axis

    def _look_closer(self) -> None:
        """Raise the bounds of the pairs that may matter, then work out those that still do."""
        open_pairs = self._undecided(np.arange(self._bound.size))
        if not len(open_pairs):
            return
        rows, columns = np.divmod(open_pairs, self._count)
        mover, there = self.mover, self.scene.bounds
        shift, stretch = DIAGONALS @ self.start, DIAGONALS @ self.travel
        low = mover.reach_low[:, rows] + (shift + np.minimum(stretch, 0.0))[:, None]
        high = mover.reach_high[:, rows] + (shift + np.maximum(stretch, 0.0))[:, None]
        gaps = box_gaps(low, high, there.reach_low[:, columns], there.reach_high[:, columns])
        self._raise(open_pairs, gaps.max(axis=0))
        open_pairs = self._undecided(open_pairs)
        if len(open_pairs) > 1:
            rows, columns = np.divmod(open_pairs, self._count)
            for row in np.unique(rows):
                of_row = rows == row
                bound = facet_bound(self._sweep(int(row)), self.scene.pieces, columns[of_row])
                self._raise(open_pairs[of_row], bound)
            open_pairs = self._undecided(open_pairs)
        while len(open_pairs):
            nearest = int(open_pairs[self._bound.flat[open_pairs].argmin()])
            self._evaluate(nearest)
            open_pairs = self._undecided(open_pairs)

    def _raise(self, pairs: Ints, bound: Floats) -> None:
        flat = self._bound.reshape(-1)
        flat[pairs] = np.maximum(flat[pairs], bound)

    def _undecided(self, pairs: Ints) -> Ints:
        """Of these pairs those that can still lower a clearance that has to be exact."""
        known = self._value.min(axis=0) if len(self._value) > 1 else self._value[0]
        by_part = np.minimum.reduceat(known, self.scene.part_starts[:-1])
        ceiling = np.minimum(by_part, max(self.threshold, by_part.min())) - WELD
        bound, value = self._bound.reshape(-1)[pairs], self._value.reshape(-1)[pairs]
        return pairs[(bound < ceiling[self.scene.row_of_piece[pairs % self._count]]) & (value == np.inf)]

    def _evaluate(self, pair: int) -> Separation:
        if pair not in self._separations:
            row, column = divmod(pair, self._count)
            separation = signed_distance(self._sweep(row), self.scene.bounds.polytope(column))
            self._separations[pair] = separation
            self._value[row, column] = self._bound[row, column] = separation.distance
        return self._separations[pair]

    def _by_part(self) -> tuple[Floats, NDArray[np.bool_]]:
        scene = self.scene
        clearance, exact = np.full(scene.part_count, np.inf), np.zeros(scene.part_count, dtype=bool)
        if self._count and len(self.mover):
            starts = scene.part_starts[:-1]
            known = np.minimum.reduceat(self._value.min(axis=0), starts)
            unknown = np.where(self._value == np.inf, self._bound, np.inf)
            unknown = np.minimum.reduceat(unknown.min(axis=0), starts)
            clearance[scene.parts] = np.minimum(known, unknown)
            exact[scene.parts] = (known <= unknown + WELD) & np.isfinite(known)
            clearance[scene.parts] = np.where(exact[scene.parts], known, clearance[scene.parts])
        return clearance, exact

    def _begin(self, row: int) -> Polytope:
        body = self.mover.polytope(row)
        return body.translated(self.start) if self.start.any() else body

    def _sweep(self, row: int) -> Polytope:
        if row not in self._sweeps:
            self._sweeps[row] = sweep(self._begin(row), self.travel)
        return self._sweeps[row]

    # -- when and where
    # ----------------------------------------------------------------------------------------

    def _earliest(self, rows: Ints, columns: Ints, within: float) -> Floats:
        """For each pair, a share of the move before which even the boxes are farther apart than `within`."""
        mover, there = self.mover, self.scene.bounds
        start, travel = self.start[:, None], self.travel[:, None]
        reach = within + WELD
        before = there.low[:, columns] - mover.high[:, rows] - start - reach
        after = mover.low[:, rows] + start - there.high[:, columns] - reach
        with np.errstate(divide="ignore", invalid="ignore"):
            enters = np.where(travel > 0, before / travel, np.where(travel < 0, after / -travel, 0.0))
        return np.clip(enters.max(axis=0), 0.0, 1.0)

    def _approach(self, pair: int, clearance: float) -> Contact | None:
        """The first moment at which a pair is as near as `clearance`, or None if it never is."""
        row, column = divmod(pair, self._count)
        if self._facing_pairs[pair]:
            return self._facing_contact(row, column)
        separation = self._evaluate(pair)
        if separation.distance > clearance + CONTACT:
            return None
        body, other = self._begin(row), self.scene.bounds.polytope(column)
        towards = other.translated(-separation.distance * separation.axis)
        interval = contact_interval(body, self.travel, towards, deeper_than=-WELD)
        fraction = interval[0] if interval else 0.0
        here = signed_distance(body.translated(fraction * self.travel), other)
        return Contact(
            separation.distance, fraction, separation.axis, here.point_a, here.point_b, row, column
        )

    @cached_property
    def _facing_pairs(self) -> NDArray[np.bool_]:
        facing = np.zeros(self._bound.size, dtype=bool)
        facing[self._facing] = True
        return facing

    def _facing_contact(self, row: int, column: int) -> Contact:
        """When two flat faces along the axes first look at each other; where: amid what they share then."""
        mover, there, travel = self.mover, self.scene.bounds, self.travel
        low, high = mover.low[:, row] + self.start, mover.high[:, row] + self.start
        gaps = box_gaps(low + self._back, high + self._forth, there.low[:, column], there.high[:, column])
        one = np.array([row]), np.array([column])
        faces = self._faces(*one, gaps[:, None])
        face, face_there, axis = (int(number[0]) for number in faces)
        ahead = face % 2
        across = ACROSS[face]
        face_low = mover.face_low[face, :, row] + self.start[across]
        face_high = mover.face_high[face, :, row] + self.start[across]
        there_low, there_high = there.face_low[face_there, :, column], there.face_high[face_there, :, column]
        fraction = 1.0 if travel[axis] * (2 * ahead - 1) > 0 else 0.0
        for k, other in enumerate(across):
            if travel[other] > 0:
                fraction = max(fraction, (there_low[k] - face_high[k]) / travel[other])
            elif travel[other] < 0:
                fraction = max(fraction, (there_high[k] - face_low[k]) / travel[other])
        moved = fraction * travel
        on_mover, on_part = np.empty(3), np.empty(3)
        shared_low = np.maximum(face_low + moved[across], there_low)
        shared_high = np.minimum(face_high + moved[across], there_high)
        on_mover[across] = on_part[across] = (shared_low + shared_high) / 2
        on_mover[axis] = (high if ahead else low)[axis] + moved[axis]
        on_part[axis] = (there.low if ahead else there.high)[axis, column]
        direction = np.zeros(3)
        direction[axis] = 2 * ahead - 1
        return Contact(float(gaps[axis]), float(fraction), direction, on_mover, on_part, row, column)

    def _overlap(self, pair: int) -> Contact | None:
        """The moment at which a pair begins to overlap, or None if it never does."""
        row, column = divmod(pair, self._count)
        body, other = self._begin(row), self.scene.bounds.polytope(column)
        interval = contact_interval(body, self.travel, other)
        if interval is None:
            return None
        here = signed_distance(body.translated(interval[0] * self.travel), other)
        return Contact(0.0, interval[0], here.axis, here.point_a, here.point_b, row, column)
