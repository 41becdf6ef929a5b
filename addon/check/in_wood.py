"""Screws, brads and bolts in the boards that they join, all at once: where they run, and how near to what.

A fastener runs straight through each of its boards, which have frames of their own (u along, v across, w through the
thickness). All distances are signed and from the steel's surface, in closed form:

- from a box, the square of the distance is convex along the axis and its slope is linear between the places where the
  axis passes the box's faces, so that the nearest place is where that slope is 0;
- from a plane, the nearest place is one of the two ends;
- where steel and box overlap, the shortest way along one of the board's axes that takes them apart.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import radians, tan
from typing import Final, NamedTuple

import numpy as np

from ..sizes.arrays import Bools, Floats, Ints, ragged_rows, reduce_ragged
from ..sizes.tolerances import CONTACT, WELD
from ..wood.fasteners import Fastener
from ..wood.part import Part
from ..wood.voids import rim_of, voids_of

WANDER: Final = 5.0
"""A brad may leave its line by so many degrees, in any direction (common practice, no source)."""

_OWN: Final = 1.0
"""A round hole whose axis lies within this of a fastener's, mm, is drilled for it."""


class Boards:
    """Boards as arrays, one row each: their frames, blanks, cuts and outlines.

    Parameters
    ----------
    parts : the boards, numbered so
    """

    def __init__(self, parts: Sequence[Part]) -> None:
        self.parts = parts
        self.number = {part.label: at for at, part in enumerate(parts)}
        self.axes = np.array([part.placement.axes for part in parts]).reshape(-1, 3, 3)
        self.origin = np.array([part.placement.origin for part in parts]).reshape(-1, 3)
        self.low = np.array([(*part.shape.blank.low, 0.0) for part in parts]).reshape(-1, 3)
        self.high = np.array([(*part.shape.blank.high, part.shape.thickness) for part in parts]).reshape(
            -1, 3
        )

    @cached_property
    def voids(self) -> tuple[Ints, Floats, Floats, Floats, Floats, Floats]:
        """Where each board's cuts start, and of all cuts low and high corner, slope, bore and chamfer (`Voids`)."""
        voids = [voids_of(part.shape) for part in self.parts]
        low, high, slope, bore, chamfer = (
            np.concatenate([getattr(one, name) for one in voids])
            for name in ("low", "high", "slope", "bore", "chamfer")
        )
        return _starts([len(one.words) for one in voids]), low, high, slope, bore, chamfer

    @cached_property
    def rims(self) -> tuple[Ints, Floats, Floats, Bools]:
        """Where the outline of each board starts, and of all edges from where to where, and which are ends."""
        rims = [rim_of(part.shape) for part in self.parts]
        start, stop = (np.concatenate([getattr(one, name) for one in rims]) for name in ("start", "stop"))
        return (
            _starts([len(one.start) for one in rims]),
            start,
            stop,
            np.concatenate([one.is_end for one in rims]),
        )


def _starts(counts: Sequence[int]) -> Ints:
    return np.concatenate([[0], np.cumsum(counts)]).astype(np.intp)


@dataclass(frozen=True, eq=False)
class InWood:
    """One row for each fastener and board that it goes through.

    Parameters
    ----------
    number : (n,) int; of the fastener
    board : (n,) int; of the board
    is_first, is_last : (n,) bool; whether the board is the one under the head, and the one that the tip is in
    start, direction : (n, 3) float; top of the head, and unit vector to the tip, in the board's frame
    length, shank : (n,) float; from the top of the head to the tip, and the shank's radius, mm
    brad, pocket, bolt : (n,) bool; of which kind it is
    enters, leaves : (n,) float; where the axis is in the board's blank, mm from the top of the head; a row of a
        fastener that misses its board has `leaves` below `enters`
    axis : (n,) int; that of the board's frame along which it runs most: 2 through the faces
    """

    fasteners: Sequence[Fastener]
    boards: Boards
    number: Ints
    board: Ints
    is_first: Bools
    is_last: Bools
    start: Floats
    direction: Floats
    length: Floats
    shank: Floats
    brad: Bools
    pocket: Bools
    bolt: Bools
    enters: Floats
    leaves: Floats
    axis: Ints

    @classmethod
    def of(cls, fasteners: Sequence[Fastener], boards: Boards) -> InWood:
        """All fasteners in all of their boards that are there."""
        rows = [
            (at, boards.number[label], k == 0, k == len(one.joins) - 1)
            for at, one in enumerate(fasteners)
            for k, label in enumerate(one.joins)
            if label in boards.number
        ]
        number, board, first, last = np.array(rows, dtype=np.intp).reshape(-1, 4).T
        start = np.array([one.start for one in fasteners], dtype=float).reshape(-1, 3)[number]
        direction = np.array([one.direction for one in fasteners], dtype=float).reshape(-1, 3)[number]
        length = np.array([one.sizes.length for one in fasteners])[number]
        shank = np.array([one.sizes.shank / 2 for one in fasteners])[number]
        kinds = np.array([one.kind for one in fasteners])[number]
        own_start = np.einsum("nij,nj->ni", boards.axes[board], start - boards.origin[board])
        own_direction = np.einsum("nij,nj->ni", boards.axes[board], direction)
        own_direction[np.abs(own_direction) < WELD] = 0.0
        enters, leaves = within(own_start, own_direction, boards.low[board], boards.high[board], length)
        axis = np.abs(own_direction).argmax(axis=1)
        return cls(
            fasteners, boards, number, board, first == 1, last == 1, own_start, own_direction, length, shank,
            kinds == "brad", kinds == "pocket screw", kinds == "bolt", enters, leaves, axis,
        )  # fmt: skip

    @cached_property
    def wander(self) -> Floats:
        """(n,) how much farther off line it may be, mm for each mm from the head."""
        return np.where(self.brad, tan(radians(WANDER)), 0.0)

    def at(self, travel: Floats) -> Floats:
        """(n, 3) float, mm: the point of each row's axis so far from the top of the head, in the board's frame."""
        return self.start + travel[:, None] * self.direction

    def part(self, row: int) -> Part:
        """The board of a row."""
        return self.boards.parts[self.board[row]]

    def ahead(self, margin: float) -> tuple[Floats, Floats, Bools]:
        """(n,) wood between the tip and the face ahead of it or, where that falls shorter, the nearest face beside it;
        how much there should be, mm; and whether it is beside. Negative where the tip stands out.

        Beside a brad, all that it may wander is margin enough.
        """
        tip = self.at(self.length)
        low, high = self.boards.low[self.board], self.boards.high[self.board]
        rows = np.arange(len(tip))
        forward = self.direction[rows, self.axis] > 0
        beside = np.minimum(tip - low, high - tip)
        beside[rows, self.axis] = np.inf
        front = np.where(forward, (high - tip)[rows, self.axis], (tip - low)[rows, self.axis])
        least = beside.min(axis=1) - self.shank - self.wander * self.length
        need = np.where(self.brad, 0.0, margin)
        aside = least - need < front - margin
        return np.where(aside, least, front), np.where(aside, need, margin), aside

    def from_cuts(self) -> NearCuts:
        """How far each fastener stays from each cut of its boards that was not made for it."""
        return _near_cuts(self)

    def from_rim(self) -> tuple[Floats, Floats]:
        """(n,) distances of the axis from the nearest long edge and from the nearest end of the board, mm.

        Of one that goes in through an edge or end, the faces count as edges, and what it goes in through not at all.
        """
        starts, begin, stop, is_end = self.boards.rims
        rows, runs = ragged_rows(starts, self.board)
        row = np.repeat(np.arange(len(self.board)), np.diff(runs))
        run = (stop - begin)[rows]
        points = np.stack([self.at(self.enters)[:, :2], self.at(self.leaves)[:, :2]])[:, row]
        away = points - begin[rows]
        share = np.clip((away * run).sum(axis=2) / (run**2).sum(axis=1), 0.0, 1.0)
        found = np.linalg.norm(away - share[..., None] * run, axis=2).min(axis=0)
        into_face = self.axis == 2
        across = np.abs((self.direction[row, :2] * run).sum(axis=1)) < 0.5 * np.linalg.norm(run, axis=1)
        found = np.where(across & ~into_face[row], np.inf, found)
        ends = is_end[rows]
        edge = reduce_ragged(np.minimum, np.where(ends, np.inf, found), runs)
        end = reduce_ragged(np.minimum, np.where(ends, found, np.inf), runs)
        thick = self.boards.high[self.board, 2]
        through = np.stack([self.at(self.enters)[:, 2], self.at(self.leaves)[:, 2]])
        face = np.minimum(through, thick - through).min(axis=0)
        return np.where(into_face, edge, np.minimum(face, edge)), end

    def diameters_to_rim(self, rule: EdgeRule) -> tuple[Floats, Floats, Floats]:
        """(n,) distances from edges and ends, mm, and the thickest shank for which both are enough.

        A pocket goes through its own board between the faces, and the heads of bolts press on those: none counts.
        """
        edge, end = self.from_rim()
        need = rule.needs(self.brad, self.axis != 2)
        most = np.minimum(edge / need[0], end / need[1])
        return edge, end, np.where(self.bolt | (self.pocket & self.is_first), np.inf, most)


class EdgeRule(NamedTuple):
    """Least distances in diameters: of screws and of brads, from edges and ends; through a face, or into an edge."""

    source: str
    screw: tuple[float, float]
    brad: tuple[float, float]
    screw_into_edge: tuple[float, float]
    brad_into_edge: tuple[float, float]

    def needs(self, brad: Bools, into_edge: Bools) -> Floats:
        """(2, n) float: from edges and from ends, of brads or screws, into edges or through faces."""
        table = np.array([[self.screw, self.screw_into_edge], [self.brad, self.brad_into_edge]], dtype=float)
        return table[brad.astype(np.intp), into_edge.astype(np.intp)].T


EDGE_RULES: Final[dict[str, EdgeRule]] = {
    "plywood": EdgeRule("EN 1995-1-1 for plywood", (3, 3), (3, 3), (3, 3), (7, 15)),
    "timber": EdgeRule("EN 1995-1-1 for solid wood", (3, 7), (5, 10), (3, 7), (5, 10)),
    "american": EdgeRule("the NDS", (2.5, 10), (2.5, 15), (2.5, 10), (2.5, 15)),
}
"""By the word of `limits.edge_rule`: published distances, screws driven into lead holes, brads not.

EN 1995-1-1 has 8.3.1.3 for plywood (from memory) and table 8.2 for solid wood and for the edges of veneer boards, as
printed in a European handbook on laminated veneer lumber; the US design specification for wood construction (NDS) its
wood screws (from memory).
"""


@dataclass(frozen=True, eq=False)
class NearCuts:
    """One row for each fastener, board and cut.

    Parameters
    ----------
    row : (m,) int; of `InWood`
    cut : (m,) int; of the board's shape
    chamfer : (m,) float; size of the chamfers around it, which are left out of account, mm
    distance : (m,) float; from the steel to the cut, mm; negative by how far it stands in the cut
    along : (m,) float; where that is, mm from the top of the head
    """

    row: Ints
    cut: Ints
    chamfer: Floats
    distance: Floats
    along: Floats


def within(
    start: Floats, direction: Floats, low: Floats, high: Floats, length: Floats
) -> tuple[Floats, Floats]:
    """From where to where lines of some lengths are in boxes."""
    with np.errstate(divide="ignore", invalid="ignore"):
        a, b = (low - start) / direction, (high - start) / direction
    first, last = np.fmin(a, b), np.fmax(a, b)
    still = direction == 0.0
    inside = (start >= low - CONTACT) & (start <= high + CONTACT)
    first = np.where(still, np.where(inside, -np.inf, np.inf), first)
    last = np.where(still, np.where(inside, np.inf, -np.inf), last)
    return np.maximum(first.max(axis=1, initial=-np.inf), 0.0), np.minimum(
        last.min(axis=1, initial=np.inf), length
    )


def _near_cuts(rows: InWood) -> NearCuts:
    starts, lows, highs, slopes, bores, chamfers = rows.boards.voids
    inside = np.flatnonzero(rows.leaves > rows.enters)
    which, runs = ragged_rows(starts, rows.board[inside])
    row = np.repeat(inside, np.diff(runs))
    cut = which - starts[rows.board[row]]
    low, high, slope = lows[which], highs[which], slopes[which]
    direction, radius, wander = rows.direction[row], rows.shank[row], rows.wander[row]
    first, last = rows.enters[row], rows.leaves[row]
    start = rows.start[row] + first[:, None] * direction
    at, apart = _from_boxes(start, direction, last - first, low, high)
    along = first + at
    deep = _overlap(start, start + (last - first)[:, None] * direction, low, high)
    distance = np.where(apart > 0, apart, -deep) - radius - wander * along
    ends = np.stack([first, last], axis=1)
    heights = [np.einsum("ni,ni->n", slope[:, :3], rows.start[row] + t[:, None] * direction) for t in ends.T]
    beyond = slope[:, 3:] - np.stack(heights, axis=1) - radius[:, None] - wander[:, None] * ends
    nearer = beyond.argmin(axis=1)
    plane, its = beyond[np.arange(len(row)), nearer], ends[np.arange(len(row)), nearer]
    by_plane = plane > distance
    own = _is_own(rows.start[row], direction, bores[which])
    return NearCuts(
        row[~own],
        cut[~own],
        chamfers[which][~own],
        np.where(by_plane, plane, distance)[~own],
        np.where(by_plane, its, along)[~own],
    )


def _is_own(start: Floats, direction: Floats, bore: Floats) -> Bools:
    """(n,) whether a round hole runs along a fastener."""
    with np.errstate(invalid="ignore"):
        off = np.linalg.norm(np.cross(bore[:, :3] - start, direction), axis=1)
        turned = np.linalg.norm(np.cross(bore[:, 3:], direction), axis=1)
        return (off < _OWN) & (turned < 0.05)


def _from_boxes(
    start: Floats, direction: Floats, length: Floats, low: Floats, high: Floats
) -> tuple[Floats, Floats]:
    """(n,) where segments are nearest to boxes, mm from their start, and how far they are then; 0 where they meet."""
    with np.errstate(divide="ignore", invalid="ignore"):
        passed = np.concatenate([(low - start) / direction, (high - start) / direction], axis=1)
    passed = np.where(np.isfinite(passed), passed, 0.0)
    places = np.sort(np.clip(passed, 0.0, length[:, None]), axis=1)
    places = np.concatenate([0 * length[:, None], places, length[:, None]], axis=1)
    points = start[:, None] + places[..., None] * direction[:, None]
    out = np.maximum(points - high[:, None], 0.0) - np.maximum(low[:, None] - points, 0.0)
    slope = (out * direction[:, None]).sum(axis=2)
    rising = slope >= 0.0
    next_ = np.where(rising.any(axis=1), rising.argmax(axis=1), places.shape[1] - 1)
    before = np.maximum(next_ - 1, 0)
    rows = np.arange(len(start))
    a, b = slope[rows, before], slope[rows, next_]
    share = np.where(b - a > WELD, np.clip(-a / np.where(b - a > WELD, b - a, 1.0), 0.0, 1.0), 1.0)
    at = places[rows, before] + share * (places[rows, next_] - places[rows, before])
    nearest = start + at[:, None] * direction
    away = np.maximum(np.maximum(nearest - high, low - nearest), 0.0)
    return at, np.linalg.norm(away, axis=1)


def _overlap(start: Floats, stop: Floats, low: Floats, high: Floats) -> Floats:
    """(n,) the shortest way along an axis that takes segments out of boxes, mm."""
    first, last = np.minimum(start, stop), np.maximum(start, stop)
    return np.minimum(last - low, high - first).min(axis=1)
