"""How far each part can move along each axis of the table until it runs into another: exact, all pairs at once.

Parts that touch may slide along each other (within `CONTACT`). Parts that overlap as they stand, which only a faulty
table has, let each other go the shorter way out along each axis.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Final, Literal

import numpy as np

from ...model.placed import placed
from ...model.ragged import ragged_rows
from ...model.tolerances import CONTACT
from .shifts import Shifts

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Sequence

    from numpy.typing import NDArray

    from ...model.convex import Pieces
    from ...model.part import Part, Placement

    Floats = NDArray[np.float64]
    Ints = NDArray[np.intp]
    Bools = NDArray[np.bool_]

Direction = Literal["+x", "+y", "+z", "-x", "-y", "-z"]

DIRECTIONS: Final[tuple[Direction, ...]] = ("+x", "+y", "+z", "-x", "-y", "-z")
"""The order of the six directions wherever they are numbered."""

VECTORS: Final = dict(zip(DIRECTIONS, np.concatenate([np.eye(3), -np.eye(3)]), strict=True))
"""Direction → (3,) float, unit."""

_TOUCH: Final = 4 * CONTACT
"""Parts that a shorter move along an axis brings into each other touch, mm."""

_ROUNDS: Final = 3
"""How often rays are tried; it only spares work."""


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
    shifts = Shifts(pieces)
    owner = np.repeat(np.arange(count), np.diff(starts))
    for axis in range(3):
        i, j = _in_line(pieces, starts, axis)
        start, end = _intervals(shifts, owner, i, j, axis)
        pair = owner[i] * count + owner[j]
        forth, back = np.where(end > 0, start, np.inf), np.where(start < 0, -end, np.inf)
        inside = (start < -_TOUCH) & (end > _TOUCH)
        if inside.any():
            overlapping.reshape(-1)[pair[inside]] = True
            _let_go(pair, inside, start, end, forth, back)
        for way, values in ((axis, forth), (axis + 3, back)):
            least = np.full(count * count, np.inf)
            np.minimum.at(least, pair, np.maximum(values, 0.0))
            room[way] = np.minimum(room[way], least.reshape(count, count))
            other = (way + 3) % 6
            room[other] = np.minimum(room[other], least.reshape(count, count).T)
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


def _in_line(pieces: Pieces, starts: Ints, axis: int) -> tuple[Ints, Ints]:
    """Pairs of pieces of different parts, lower part first, whose boxes overlap on the two axes other than this one."""
    across = [k for k in range(3) if k != axis]
    low, high = pieces.low[:, across], pieces.high[:, across]
    box_low = np.minimum.reduceat(low, starts[:-1], axis=0)
    box_high = np.maximum.reduceat(high, starts[:-1], axis=0)

    def meet(low_a: Floats, high_a: Floats, low_b: Floats, high_b: Floats) -> Bools:
        return np.asarray(((low_a < high_b - CONTACT) & (low_b < high_a - CONTACT)).all(axis=-1))

    a, b = np.triu(meet(box_low[:, None], box_high[:, None], box_low, box_high), 1).nonzero()
    i, at = ragged_rows(starts, a)
    number = np.repeat(np.arange(len(a)), np.diff(at))
    near = meet(low[i], high[i], box_low[b[number]], box_high[b[number]])
    i, number = i[near], number[near]
    j, at = ragged_rows(starts, b[number])
    i = np.repeat(i, np.diff(at))
    near = meet(low[i], high[i], low[j], high[j])
    return i[near], j[near]


def _intervals(shifts: Shifts, owner: Ints, i: Ints, j: Ints, axis: int) -> tuple[Floats, Floats]:
    """Shifts along the axis between which pieces i overlap pieces j, mm, exact where that matters to their parts.

    Where it does not, because another pair of the same parts meets earlier, it is an interval that has the exact one
    in it, and where they never overlap, or it does not matter either way, it may be empty.
    """

    def narrow(how: Callable[[Ints, Ints, int], tuple[Floats, Floats]], which: Ints) -> None:
        begin, finish = how(i[which], j[which], axis)
        begin, finish = np.maximum(start[which], begin), np.minimum(end[which], finish)
        start[which] = np.where(begin < finish, begin, np.inf)
        end[which] = np.where(begin < finish, finish, -np.inf)

    start, end = shifts.of_boxes(i, j, axis)
    exact = shifts.is_box[i] & shifts.is_box[j]
    pair = owner[i] * (int(owner[-1]) + 1) + owner[j]
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
