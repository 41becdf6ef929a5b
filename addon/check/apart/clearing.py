"""Whether parts that move at the same time, each along straight lines, run into each other: exact.

Where they do, it is worked out what has to be demanded besides so that they keep clear of each other.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from ...sizes.tolerances import CONTACT
from ...wood.pieces import Pieces
from ..clearance.kernel import Mover, Run, StaticScene
from .places import HOME, ContradictionError, Demand, least_distances

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    import numpy as np
    from numpy.typing import NDArray

    from .blocking import Blocking
    from .graph import Graph
    from .places import Places
    from .units import Units

    Floats = NDArray[np.float64]
    Bools = NDArray[np.bool_]


class Collision(NamedTuple):
    """Two parts that run into each other on a straight stretch of their ways; depth in mm."""

    one: str
    other: str
    depth: float


class Movements:
    """Looks for collisions between parts on the move.

    While all parts move evenly, one of two parts slides past the other by the difference of both, so that the
    kernel's slide of the first against the second standing still is exact.
    """

    def __init__(self, blocking: Blocking) -> None:
        self.blocking = blocking
        owner = np.repeat(np.arange(len(blocking.pieces)), [len(one) for one in blocking.pieces])
        self._scene = StaticScene(Pieces.concatenate(blocking.pieces), owner, len(blocking.pieces))
        self._movers = [Mover(one) for one in blocking.pieces]
        self._ignored = np.eye(len(blocking.pieces), dtype=bool)
        for one, other in blocking.overlapping:
            a, b = blocking.number[one], blocking.number[other]
            self._ignored[a, b] = self._ignored[b, a] = True

    def collisions(self, start: Floats, end: Floats) -> list[Collision]:
        """Pairs of parts that overlap by more than `CONTACT` somewhere on the way; (n, 3) offsets from home, mm.

        Parts that overlap stowed already are not looked at.
        """
        runs: list[Run] = []
        moved = end - start
        near = self._may_meet(start, moved)
        for part in np.flatnonzero(near.any(axis=1)).tolist():
            others = np.flatnonzero(near[part])
            ways = np.concatenate([start[part] - start[others], moved[part] - moved[others]], axis=1)
            for way in np.unique(ways, axis=0):
                apart = np.ones(len(near), dtype=bool)
                apart[others[(ways == way).all(axis=1)]] = False
                skip = np.flatnonzero(apart).tolist()
                runs.append(Run(self._movers[part], way[3:], way[:3], skip))
        labels, found = self.blocking.labels, []
        movers = {id(mover): part for part, mover in enumerate(self._movers)}
        for run, slide in zip(runs, self._scene.slides(runs), strict=True):
            for part in np.flatnonzero(slide.clearance < -CONTACT).tolist():
                depth = -float(slide.clearance[part])
                found.append(Collision(labels[movers[id(run.mover)]], labels[part], depth))
        return found

    def _may_meet(self, start: Floats, moved: Floats) -> Bools:
        """(n, n) bool, each pair once; whether the box of one, as it slides past the other, meets that one's box."""
        low, high = self.blocking.low, self.blocking.high
        shift = start[:, None] - start
        travel = moved[:, None] - moved
        begin = low[:, None] + shift + np.minimum(travel, 0.0)
        finish = high[:, None] + shift + np.maximum(travel, 0.0)
        meet = ((begin < high - CONTACT) & (finish > low + CONTACT)).all(axis=2)
        return np.triu(meet & (travel != 0).any(axis=2) & ~self._ignored)


def clearing(
    units: Units, graph: Graph, places: Places, gaps: Floats, collisions: Sequence[Collision]
) -> tuple[Demand, ...]:
    """All demands, and another for each collision: of two units, the one that leaves first goes on until it has
    passed the other, along the direction in which that is least of those in which it goes anyway.

    A demand that contradicts the others is left out.

    Parameters
    ----------
    gaps : as of `places_of`
    """
    rank = {one.unit: number for number, one in enumerate(graph.departures)}
    found = places.demands
    for pair in dict.fromkeys(frozenset({units.of[one.one], units.of[one.other]}) for one in collisions):
        first, later = sorted(pair, key=lambda unit: rank.get(unit, len(rank)))
        for demand in sorted(_passing(units, places, gaps, first, later), key=lambda one: one.least):
            try:
                least_distances(len(places.layers), (*found, demand))
            except ContradictionError:
                continue
            found = (*found, demand)
            break
    return found


def _passing(units: Units, places: Places, gaps: Floats, first: int, later: int) -> Iterator[Demand]:
    begin, end = units.reach
    for axis, place in places.of[first].items():
        way = places.ways[place]
        other = places.of[later].get(axis, HOME)
        if other != place and (other == HOME or places.ways[other] == way):
            amount = float(end[way, later] - begin[way, first] + gaps[way])
            if amount > 0:
                yield Demand(other, place, amount)
