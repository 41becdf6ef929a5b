"""How near a part comes to others on a straight slide, and which parts overlap: exact, without sampling.

A straight slide of a convex piece passes through a convex body, its sweep, and the distance from that sweep to a
standing piece is the smallest clearance of the whole slide. So one slide is a set of pairs of convex bodies, and
nearly all of them are settled by bounding boxes: exactly, where flat faces look at each other, or by a lower bound
that is more than enough. What is left goes through facets to the exact distance, nearest first.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from ..model.tolerances import CONTACT, WELD
from .broad import ACROSS, DIAGONALS, Bounds, box_distance, box_gaps, crossing_boxes, facet_bound
from .polytope import Polytope, Separation, contact_interval, signed_distance, sweep

if TYPE_CHECKING:
    from collections.abc import Collection

    from numpy.typing import NDArray

    from ..model.convex import Pieces

    Floats = NDArray[np.float64]
    Ints = NDArray[np.intp]

_REST = np.zeros(3)


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


class Overlap(NamedTuple):
    """Two parts that overlap: their numbers, how deep, where, and the direction of the shortest way out for `b`."""

    a: int
    b: int
    depth: float
    place: Floats
    axis: Floats


class Mover(Bounds):
    """Pieces that slide, with their bounds. Prepare it once for a part that slides several times."""


class StaticScene:
    """Pieces that stand still, by part, prepared for many slides.

    Parameters
    ----------
    pieces : N convex pieces
    owner : (N,) int; number of the part that each piece belongs to; pieces of one part need not follow each other
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
        self.part_starts = np.searchsorted(owner, np.append(self.parts, self.part_count))
        self.bounds = Bounds(pieces)

    @cached_property
    def row_of_piece(self) -> Ints:
        """(N,) int; place in `parts` of the part that each piece belongs to."""
        return np.searchsorted(self.parts, self.owner)

    def of_part(self, part: int) -> slice:
        """The pieces of one part."""
        start, stop = np.searchsorted(self.owner, [part, part + 1])
        return slice(int(start), int(stop))

    def slide(
        self,
        mover: Mover,
        travel: Floats,
        start: Floats = _REST,
        threshold: float = 0.0,
        skip: Collection[int] = (),
    ) -> Slide:
        """Smallest signed distance between each part and what the mover passes through.

        Parameters
        ----------
        mover : the pieces that move. A body with through holes may be given as its hull when the travel is at least
            as long as every hole is along it: then both pass through the same space.
        travel : (3,) float, mm
        start : (3,) float, mm; where the move begins, as an offset of the mover's pieces
        threshold : mm; parts nearer than this, and the nearest part however far, get their exact clearance, the
            others at least a lower bound of it that is no less than this
        skip : numbers of parts to leave out, such as the mover itself
        """
        return Slide(
            self, mover, np.asarray(travel, dtype=float), np.asarray(start, dtype=float), threshold, skip
        )


class Slide:
    """The outcome of one straight move.

    Attributes
    ----------
    clearance : (P,) float, mm; smallest signed distance of each part over the whole move; inf for parts left out
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
        """The part with the smallest clearance; among equals the one that is reached first. None without parts."""
        if not len(self.clearance) or not np.isfinite(self.clearance.min()):
            return None
        equal = np.flatnonzero(self.exact & (self.clearance <= self.clearance.min() + CONTACT))
        if len(equal) == 1:
            return int(equal[0])
        return int(min(equal, key=lambda part: self.contact(int(part)).fraction))

    def contact(self, part: int) -> Contact:
        """Where and when the move comes nearest to a part (begins to overlap it). Only for exact clearances."""
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

    # -- bounds, then exact values -----------------------------------------------------------------------------

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
        """Raise the bounds of the pairs that may matter, then work out the exact distance of those that do."""
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

    # -- when and where ----------------------------------------------------------------------------------------

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
        """When and where two flat faces along the axes first look at each other, in the middle of the shared area."""
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


def slide_clearances(
    mover: Pieces,
    travel: Floats,
    static: Pieces,
    owner: Ints,
    threshold: float = 0.0,
    hull: Pieces | None = None,
) -> Slide:
    """One slide, all in one call; see `StaticScene.slide` for many against the same parts.

    Parameters
    ----------
    mover : pieces that move by `travel` (3,) mm
    static, owner : standing pieces and the part that each belongs to
    threshold : mm; see `StaticScene.slide`
    hull : one piece that passes through the same space as the mover, to be used in its stead
    """
    return StaticScene(static, owner).slide(
        Mover(mover if hull is None else hull), travel, threshold=threshold
    )


def part_gap(a: Pieces, b: Pieces) -> Separation:
    """Exact signed distance of two parts; overlapping parts: the deepest overlap of two of their pieces."""
    slide = slide_clearances(a, _REST, b, np.zeros(len(b), dtype=np.intp))
    contact = slide.contact(0)
    return Separation(contact.clearance, contact.axis, contact.on_mover, contact.on_part)


def static_overlaps(scene: StaticScene, skip: Collection[tuple[int, int]] = ()) -> list[Overlap]:
    """All pairs of parts that overlap by more than `CONTACT`, in order of part numbers.

    The depth of two parts is that of their deepest pair of pieces.

    Parameters
    ----------
    skip : pairs of part numbers (lower first) that are not looked at
    """
    columns_a, columns_b = _crossing_pieces(scene)
    if not len(columns_a):
        return []
    bound = np.full(len(columns_a), -np.inf)
    for column in np.unique(columns_a):
        of_column = columns_a == column
        bound[of_column] = facet_bound(scene.bounds.polytope(int(column)), scene.pieces, columns_b[of_column])
    deepest: dict[tuple[int, int], Overlap] = {}
    for at in np.argsort(bound, kind="stable"):
        if bound[at] >= -CONTACT:
            break
        i, j = int(columns_a[at]), int(columns_b[at])
        parts = int(scene.owner[i]), int(scene.owner[j])
        if parts in skip or (parts in deepest and bound[at] >= -deepest[parts].depth):
            continue
        found = signed_distance(scene.bounds.polytope(i), scene.bounds.polytope(j))
        if found.distance < -CONTACT and (parts not in deepest or -found.distance > deepest[parts].depth):
            deepest[parts] = Overlap(*parts, -found.distance, found.place, found.axis)
    return [deepest[parts] for parts in sorted(deepest)]


def _crossing_pieces(scene: StaticScene) -> tuple[Ints, Ints]:
    """Pairs of pieces of different parts (lower part first) whose bounds cross along all axes and diagonals."""
    bounds, starts = scene.bounds, scene.part_starts
    low = np.minimum.reduceat(bounds.low, starts[:-1], axis=1)
    high = np.maximum.reduceat(bounds.high, starts[:-1], axis=1)
    first, second = crossing_boxes(low, high, CONTACT)
    counts = np.diff(starts)
    sides = []
    for part, other in ((first, second), (second, first)):
        number = np.repeat(np.arange(len(part)), counts[part])
        ends = np.cumsum(counts[part])
        pieces = np.arange(len(number)) + np.repeat(starts[part] - ends + counts[part], counts[part])
        box = other[number]
        gaps = box_gaps(bounds.low[:, pieces], bounds.high[:, pieces], low[:, box], high[:, box])
        near = (gaps < -CONTACT).all(axis=0)
        sides.append((pieces[near], np.bincount(number[near], minlength=len(part))))
    (pieces_a, counts_a), (pieces_b, counts_b) = sides
    number = np.repeat(np.arange(len(first)), counts_a)
    rows = counts_b[number]
    i = np.repeat(pieces_a, rows)
    ends = np.cumsum(rows)
    begin_b = (np.cumsum(counts_b) - counts_b)[number]
    j = pieces_b[np.arange(len(i)) + np.repeat(begin_b - ends + rows, rows)]
    for of_low, of_high in ((bounds.low, bounds.high), (bounds.reach_low, bounds.reach_high)):
        near = (box_gaps(of_low[:, i], of_high[:, i], of_low[:, j], of_high[:, j]) < -CONTACT).all(axis=0)
        i, j = i[near], j[near]
    return i, j
