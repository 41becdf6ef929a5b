"""How far each part can move along each axis of the table until it runs into another: exact, all pairs at once.

              +---+
      +---+   |   |         room[+x, a, b] = how far apart a and b are
      | a |-->| b |         room[+x, b, c] = 0: they touch
      +---+   |   +---+     room[+z, a, b] = inf: a passes b for ever
              +---+ c |     a can leave along a direction when its room to all others there is inf
                  +---+

Parts that touch may slide along each other (within `CONTACT`). Parts that overlap as they stand, which only a faulty
table has, let each other go the shorter way out along each axis.

Parts are convex pieces, and for a pair of pieces there is one interval of shifts in which they overlap (`intervals`).
Boxes tell most of them; a line through the middle of what two boxes share often shows that the boxes' answer is exact;
facets and edges settle the rest, and only where no other pair of the same two parts meets earlier.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final, Literal

import numpy as np

from ...sizes.arrays import Bools, Floats, Ints, ragged_rows
from ...sizes.tolerances import ANGLE, CONTACT
from ...wood.part import Part, Placement
from ...wood.solids.pieces import Pieces
from ...wood.solids.solids import placed
from ..clearance.intervals import AT_ONCE, Moves

Direction = Literal["+x", "+y", "+z", "-x", "-y", "-z"]

DIRECTIONS: Final[tuple[Direction, ...]] = ("+x", "+y", "+z", "-x", "-y", "-z")
"""The order of the six directions wherever they are numbered."""

VECTORS: Final = dict(zip(DIRECTIONS, np.concatenate([np.eye(3), -np.eye(3)]), strict=True))
"""Direction → (3,) float, unit."""

_TOUCH: Final = 4 * CONTACT
"""Parts that a shorter move along an axis brings into each other touch, mm."""

_ROUNDS: Final = 3
"""How often rays are tried; it only spares work."""

_PIECES: Final = 200_000
"""Pairs of pieces that are looked at together, about; it bounds the memory."""


def opposite(direction: Direction) -> Direction:
    """The other way."""
    return DIRECTIONS[(DIRECTIONS.index(direction) + 3) % 6]


@dataclass(frozen=True, eq=False)
class Blocking:
    """What stands in the way of what.

    Parameters
    ----------
    labels : of n parts
    pieces : of each part, where it stands
    room : (6, n, n) float, mm; how far part a can move along a direction until it runs into part b; inf: for ever
    overlapping : pairs of labels of parts that overlap as they stand
    """

    labels: tuple[str, ...]
    pieces: tuple[Pieces, ...]
    room: Floats
    overlapping: tuple[tuple[str, str], ...]

    @cached_property
    def number(self) -> dict[str, int]:
        """Label → number of the part."""
        return {label: number for number, label in enumerate(self.labels)}

    @cached_property
    def low(self) -> Floats:
        """(n, 3) float, mm; lower corners of the parts' bounding boxes."""
        return np.array([one.low.min(axis=0) for one in self.pieces])

    @cached_property
    def high(self) -> Floats:
        """(n, 3) float, mm; upper corners."""
        return np.array([one.high.max(axis=0) for one in self.pieces])

    @cached_property
    def touching(self) -> Bools:
        """(n, n) bool; whether a face of one part lies on the other."""
        return np.asarray((self.room <= _TOUCH).any(axis=0))

    def numbers(self, labels: Iterable[str]) -> Ints:
        """Numbers of parts. Raises KeyError for labels that there are not."""
        return np.array([self.number[label] for label in labels], dtype=np.intp)

    def rooms(self, moving: Collection[str], standing: Collection[str]) -> dict[Direction, float]:
        """How far parts can move together along each direction until one of them runs into one that stands, mm."""
        rows, columns = self.numbers(moving), self.numbers(standing)
        least = self.room[:, rows[:, None], columns].min(axis=(1, 2), initial=np.inf)
        return dict(zip(DIRECTIONS, least.tolist(), strict=True))

    def ways_out(
        self, moving: Collection[str], standing: Collection[str], distance: float = np.inf
    ) -> tuple[Direction, ...]:
        """Directions in which parts can leave together, past all that stands; turned round, in which they arrive.

        Parameters
        ----------
        distance : mm; how far they have to get
        """
        rooms = self.rooms(moving, standing)
        return tuple(way for way, room in rooms.items() if room >= distance)

    def blockers(
        self,
        moving: Collection[str],
        standing: Collection[str],
        direction: Direction,
        distance: float = np.inf,
    ) -> tuple[str, ...]:
        """The standing parts that parts run into when they move together so far, mm, along a direction."""
        rows, columns = self.numbers(moving), self.numbers(standing)
        room = self.room[DIRECTIONS.index(direction)][rows[:, None], columns]
        return tuple(self.labels[column] for column in columns[(room < distance).any(axis=0)])


def blocking_of(parts: Sequence[Part], places: dict[str, Placement] | None = None) -> Blocking:
    """Who is in whose way among parts.

    Parameters
    ----------
    places : label → where a part stands, other than where the assembly has it; such as `Assembly.cover`

    Raises
    ------
    PartError : for features that run together
    """
    places = places or {}
    stand = placed([replace(part, placement=places.get(part.label, part.placement)) for part in parts])
    labels = tuple(part.label for part in parts)
    room, overlapping = rooms_between(stand.together, np.array(stand.starts))
    pairs = tuple((labels[a], labels[b]) for a, b in zip(*overlapping.nonzero(), strict=True))
    return Blocking(labels, tuple(stand.of_all()), room, pairs)


def rooms_between(pieces: Pieces, starts: Ints) -> tuple[Floats, Bools]:
    """`Blocking.room`, and which parts overlap, (n, n) bool for a < b."""
    count = len(starts) - 1
    room = np.full((6, count, count), np.inf)
    overlapping = np.zeros((count, count), dtype=bool)
    shifts = _Shifts(pieces)
    for axis in range(3):
        for a, b in _in_line(pieces, starts, axis):
            pair, i, j = _pieces_in_line(pieces, starts, a, b, axis)
            start, end = _intervals(shifts, pair, i, j, axis)
            forth, back = np.where(end > 0, start, np.inf), np.where(start < 0, -end, np.inf)
            inside = (start < -_TOUCH) & (end > _TOUCH)
            if inside.any():
                overlapping[a[pair[inside]], b[pair[inside]]] = True
                _let_go(pair, inside, start, end, forth, back)
            for way, values in ((axis, forth), (axis + 3, back)):
                least = np.full(len(a), np.inf)
                np.minimum.at(least, pair, np.maximum(values, 0.0))
                room[way, a, b] = np.minimum(room[way, a, b], least)
                other = (way + 3) % 6
                room[other, b, a] = np.minimum(room[other, b, a], least)
    return room, overlapping


def _let_go(pair: Ints, inside: Bools, start: Floats, end: Floats, forth: Floats, back: Floats) -> None:
    """Parts that overlap as they stand do not keep each other from the shorter way out along the axis."""
    numbers, group = np.unique(pair[inside], return_inverse=True)
    way_forth, way_back = np.zeros(len(numbers)), np.zeros(len(numbers))
    np.maximum.at(way_forth, group, end[inside])
    np.maximum.at(way_back, group, -start[inside])
    which = np.flatnonzero(inside)
    forth[which[(way_forth <= way_back)[group]]] = np.inf
    back[which[(way_back <= way_forth)[group]]] = np.inf


def _meet(low_a: Floats, high_a: Floats, low_b: Floats, high_b: Floats) -> Bools:
    """Whether boxes, (..., 2) float mm each, overlap."""
    return np.asarray(((low_a < high_b - CONTACT) & (low_b < high_a - CONTACT)).all(axis=-1))


def _in_line(pieces: Pieces, starts: Ints, axis: int) -> Iterator[tuple[Ints, Ints]]:
    """Pairs of parts a < b, (n,) int each, whose boxes overlap on the two axes other than this one, block by block."""
    across = [k for k in range(3) if k != axis]
    low = np.minimum.reduceat(pieces.low[:, across], starts[:-1], axis=0)
    high = np.maximum.reduceat(pieces.high[:, across], starts[:-1], axis=0)
    a, b = np.triu(_meet(low[:, None], high[:, None], low, high), 1).nonzero()
    sizes = np.diff(starts)
    block = np.cumsum(sizes[a] * sizes[b]) // _PIECES
    for some in np.split(np.arange(len(a)), np.flatnonzero(np.diff(block)) + 1):
        yield a[some], b[some]


def _pieces_in_line(pieces: Pieces, starts: Ints, a: Ints, b: Ints, axis: int) -> tuple[Ints, Ints, Ints]:
    """Of pairs of parts: the number of the pair and the pieces, of the one and of the other, whose boxes overlap so."""
    across = [k for k in range(3) if k != axis]
    low, high = pieces.low[:, across], pieces.high[:, across]
    box_low = np.minimum.reduceat(low, starts[:-1], axis=0)
    box_high = np.maximum.reduceat(high, starts[:-1], axis=0)
    i, at = ragged_rows(starts, a)
    pair = np.repeat(np.arange(len(a)), np.diff(at))
    near = _meet(low[i], high[i], box_low[b[pair]], box_high[b[pair]])
    i, pair = i[near], pair[near]
    j, at = ragged_rows(starts, b[pair])
    i, pair = np.repeat(i, np.diff(at)), np.repeat(pair, np.diff(at))
    near = _meet(low[i], high[i], low[j], high[j])
    return pair[near], i[near], j[near]


def _intervals(shifts: _Shifts, pair: Ints, i: Ints, j: Ints, axis: int) -> tuple[Floats, Floats]:
    """Shifts along the axis between which pieces i overlap pieces j, mm, exact where that matters to their parts.

    Where it does not, because another pair of the same parts meets earlier, it is an interval that has the exact one
    in it, and where they never overlap, or it does not matter either way, it may be empty.

    Parameters
    ----------
    pair : (n,) int; number of the pair of parts that the pieces belong to
    """

    def narrow(how: Callable[[Ints, Ints, int], tuple[Floats, Floats]], which: Ints) -> None:
        begin, finish = how(i[which], j[which], axis)
        begin, finish = np.maximum(start[which], begin), np.minimum(end[which], finish)
        start[which] = np.where(begin < finish, begin, np.inf)
        end[which] = np.where(begin < finish, finish, -np.inf)

    start, end = shifts.of_boxes(i, j, axis)
    exact = shifts.is_box[i] & shifts.is_box[j]
    for _ in range(_ROUNDS):  # flat faces that look at each other settle nearly all parts
        first = _first(pair, start, end, exact)
        begin, finish = shifts.by_rays(i[first], j[first], axis)
        exact[first] = (begin <= start[first] + CONTACT) & (finish >= end[first] - CONTACT)
    narrow(shifts.by_facets, np.flatnonzero(_matters(pair, start, end, exact).any(axis=0)))
    while len(first := _first(pair, start, end, exact)):
        narrow(shifts.by_edges, first)
        exact[first] = True
    return start, end


def _first(pair: Ints, start: Floats, end: Floats, exact: Bools) -> Ints:
    """Of the pairs of pieces that may be the first of their parts to meet, those that most likely are."""
    chosen = np.zeros(len(pair), dtype=bool)
    for matters, begin in zip(_matters(pair, start, end, exact), (start, -end), strict=True):
        least = np.full(int(pair.max(initial=0)) + 1, np.inf)
        np.minimum.at(least, pair[matters], begin[matters])
        chosen |= matters & (begin <= least[pair] + CONTACT)
    return np.flatnonzero(chosen)


def _matters(pair: Ints, start: Floats, end: Floats, exact: Bools) -> Bools:
    """(2, n) bool; whether a pair of pieces may be the first of its parts to meet, forth and back along the axis."""
    matters = np.zeros((2, len(pair)), dtype=bool)
    for way, (begin, finish) in enumerate(((start, end), (-end, -start))):
        known = np.full(int(pair.max(initial=0)) + 1, np.inf)
        ahead = finish > 0
        np.minimum.at(known, pair[exact & ahead], begin[exact & ahead])
        matters[way] = ahead & ~exact & (begin < known[pair] - CONTACT)
    return matters


class _Shifts:
    """Convex pieces, and between which shifts along an axis of the table they overlap each other.

    Pairs are given by numbers of pieces, (n,) int: `i` are shifted, `j` stay.
    """

    def __init__(self, pieces: Pieces) -> None:
        self.pieces = pieces
        self.low, self.high, self.is_box = pieces.low, pieces.high, pieces.is_box
        self._moves = Moves(pieces)

    def of_boxes(self, i: Ints, j: Ints, axis: int) -> tuple[Floats, Floats]:
        """Shifts along an axis between which the boxes of pieces i overlap those of pieces j: (n,) mm each.

        The boxes have to overlap on the other two axes.
        """
        start = self.low[j, axis] - self.high[i, axis] + CONTACT
        return start, self.high[j, axis] - self.low[i, axis] - CONTACT

    def by_rays(self, i: Ints, j: Ints, axis: int) -> tuple[Floats, Floats]:
        """An interval, (n,) mm each, in which pieces i, shifted along the axis, do overlap pieces j; may be empty.

        That in which the line along the axis through the middle of what their boxes share has points of both.
        """
        starts, ends = np.empty(len(i)), np.empty(len(i))
        for begin in range(0, len(i), AT_ONCE):
            chunk = slice(begin, begin + AT_ONCE)
            one, other = i[chunk], j[chunk]
            low, high = (
                np.maximum(self.low[one], self.low[other]),
                np.minimum(self.high[one], self.high[other]),
            )
            first, last = self._chord(one, (low + high) / 2, axis)
            other_first, other_last = self._chord(other, (low + high) / 2, axis)
            starts[chunk], ends[chunk] = other_first - last + CONTACT, other_last - first - CONTACT
        return starts, ends

    def _chord(self, which: Ints, points: Floats, axis: int) -> tuple[Floats, Floats]:
        """From where to where, (n,) mm along the axis, lines through (n, 3) points lie in a piece each."""
        rows, starts = ragged_rows(self.pieces.plane_starts, which)
        planes = self.pieces.planes[rows]
        from_plane = planes[:, 3] - (planes[:, :3] * points.repeat(np.diff(starts), axis=0)).sum(axis=1)
        slope = planes[:, axis]
        still = np.abs(slope) <= ANGLE
        reach = from_plane / np.where(still, 1.0, slope)
        outside = np.where(still & (from_plane < CONTACT), -np.inf, np.inf)
        last = np.minimum.reduceat(np.where(slope > ANGLE, reach, outside), starts[:-1])
        first = np.maximum.reduceat(np.where(slope < -ANGLE, reach, -np.inf), starts[:-1])
        return first + points[:, axis], last + points[:, axis]

    def by_facets(self, i: Ints, j: Ints, axis: int) -> tuple[Floats, Floats]:
        """An interval, (n,) mm each, outside of which pieces i, shifted along the axis, do not overlap pieces j."""
        return self._moves.by_facets(i, j, np.broadcast_to(np.eye(3)[axis], (len(i), 3)))

    def by_edges(self, i: Ints, j: Ints, axis: int) -> tuple[Floats, Floats]:
        """The same from the directions square to an edge of both; what is in both intervals is exact."""
        return self._moves.by_edges(i, j, np.broadcast_to(np.eye(3)[axis], (len(i), 3)))
