"""Whether parts that move at the same time, each along straight lines, run into each other: exact.

Where they do, it is worked out what has to be demanded besides so that they keep clear of each other.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final, NamedTuple

import numpy as np

from ...sizes.arrays import Bools, Floats, Ints, ragged_rows
from ...sizes.tolerances import CONTACT
from ...wood.solids.pieces import Pieces
from ..clearance.broad import SIDES, Bounds, crossing_boxes, turned
from ..clearance.intervals import Moves
from .blocking import Blocking
from .graph import Graph
from .places import STILL, Demand, DemandsMet, Places
from .units import Units

_AT_ONCE: Final = 256
"""Pairs of parts that are looked at together; it bounds the memory."""


class Collision(NamedTuple):
    """Two parts, by label, that run into each other on a straight stretch of their ways."""

    one: str
    other: str


class Movements:
    """Looks for collisions between parts on the move.

    While all parts move evenly, one of two parts slides past the other by the difference of both, so that it is enough
    to let each piece of the first move past each piece of the second, standing still: that is exact.
    """

    def __init__(self, blocking: Blocking) -> None:
        self.blocking = blocking
        self._starts = np.cumsum([0, *map(len, blocking.pieces)])
        self._bounds = Bounds(Pieces.concatenate(blocking.pieces))
        self._moves = Moves(self._bounds.pieces)
        self._ignored = np.eye(len(blocking.pieces), dtype=bool)
        for one, other in blocking.overlapping:
            a, b = blocking.number[one], blocking.number[other]
            self._ignored[a, b] = self._ignored[b, a] = True

    def collisions(self, start: Floats, end: Floats) -> list[Collision]:
        """Pairs of parts that overlap by more than `CONTACT` somewhere on the way.

        Parts that overlap where they belong are not looked at.

        Parameters
        ----------
        start, end : (n, 3) float, mm; how far each part is from where it belongs, before and after
        """
        a, b = self._may_meet(start, end)
        offset, travel = start[a] - start[b], (end - start)[a] - (end - start)[b]
        meets = np.zeros(len(a), dtype=bool)
        for first in range(0, len(a), _AT_ONCE):
            chunk = slice(first, first + _AT_ONCE)
            meets[chunk] = self._meet(a[chunk], b[chunk], offset[chunk], travel[chunk])
        labels = self.blocking.labels
        return [
            Collision(labels[one], labels[other]) for one, other in np.stack([a, b], axis=1)[meets].tolist()
        ]

    def _may_meet(self, start: Floats, end: Floats) -> tuple[Ints, Ints]:
        """Pairs of parts, (n,) int each, whose boxes meet as one of them slides past the other."""
        low, high = self.blocking.low, self.blocking.high
        # What meets is at one place at one time, so that also what both pass through overlaps.
        passed = low + np.minimum(start, end), high + np.maximum(start, end)
        a, b = crossing_boxes(passed[0].T, passed[1].T, 0.0)
        order = np.lexsort([b, a])
        a, b = a[order], b[order]
        shift, travel = start[a] - start[b], (end - start)[a] - (end - start)[b]
        begin, finish = low[a] + shift + np.minimum(travel, 0.0), high[a] + shift + np.maximum(travel, 0.0)
        meet = ((begin < high[b] - CONTACT) & (finish > low[b] + CONTACT)).all(axis=1)
        meet &= (travel != 0).any(axis=1) & ~self._ignored[a, b]
        return a[meet], b[meet]

    def _meet(self, a: Ints, b: Ints, offset: Floats, travel: Floats) -> Bools:
        """(n,) bool; whether parts a, from an offset on a straight way, (n, 3) mm each, come into parts b."""
        i, at = ragged_rows(self._starts, a)
        pair = np.repeat(np.arange(len(a)), np.diff(at))
        ways = _ways(offset, travel)
        of_parts = turned(self._shadows_of(b))
        near = (self._bounds.shadows[:, i] + ways[:, pair] + of_parts[:, pair]).max(axis=0) < -CONTACT
        i, pair = i[near], pair[near]
        j, at = ragged_rows(self._starts, b[pair])
        i, pair = np.repeat(i, np.diff(at)), np.repeat(pair, np.diff(at))
        shadows = self._bounds.shadows
        near = (shadows[:, i] + ways[:, pair] + turned(shadows[:, j])).max(axis=0) < -CONTACT
        i, j, pair = i[near], j[near], pair[near]
        begin, finish = np.zeros(len(i)), np.ones(len(i))
        for how in (self._moves.by_facets, self._moves.by_edges):
            from_then, until = how(i, j, travel[pair], offset[pair])
            begin, finish = np.maximum(begin, from_then), np.minimum(finish, until)
            left = begin < finish
            i, j, pair, begin, finish = i[left], j[left], pair[left], begin[left], finish[left]
        meets = np.zeros(len(a), dtype=bool)
        meets[pair] = True
        return meets

    def _shadows_of(self, parts: Ints) -> Floats:
        """(18, n) float, mm; of whole parts, as `Bounds.shadows`."""
        return np.minimum.reduceat(self._bounds.shadows, self._starts[:-1], axis=1)[:, parts]


def _ways(offset: Floats, travel: Floats) -> Floats:
    """(18, n) float, mm: what straight ways (n, 3) from offsets (n, 3) on add to the shadows of what moves."""
    return SIDES @ offset.T + np.minimum(SIDES @ travel.T, 0.0)


def clearing(
    units: Units, graph: Graph, places: Places, gaps: Floats, collisions: Sequence[Collision]
) -> tuple[Demand, ...]:
    """All demands, and another for each collision: of two units, the one that leaves first goes on until it has
    passed the other, along the direction in which that is least of those in which it goes anyway.

    A demand that contradicts the others is left out.

    Parameters
    ----------
    gaps : as of `Needs.demands`
    """
    rank = {one.unit: number for number, one in enumerate(graph.departures)}
    met = DemandsMet(len(places.layers), places.demands)
    found = []
    for pair in dict.fromkeys(frozenset({units.of[one.one], units.of[one.other]}) for one in collisions):
        first, later = sorted(pair, key=lambda unit: rank.get(unit, len(rank)))
        ways = sorted(_passing(units, places, gaps, first, later), key=lambda one: one.least)
        demand = next((one for one in ways if met.add(one)), None)
        if demand is not None:
            found.append(demand)
    return (*places.demands, *found)


def _passing(units: Units, places: Places, gaps: Floats, first: int, later: int) -> Iterator[Demand]:
    begin, end = units.reach
    for axis, place in places.of[first].items():
        way = places.ways[place]
        other = places.of[later].get(axis, STILL)
        if other != place and (other == STILL or places.ways[other] == way):
            amount = float(end[way, later] - begin[way, first] + gaps[way])
            if amount > 0:
                yield Demand(other, place, amount)
