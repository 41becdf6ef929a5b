"""What has to be demanded besides so that parts that ran into each other keep clear of each other."""

from __future__ import annotations

from typing import TYPE_CHECKING

from .offsets import ContradictionError, Demand, least_distances
from .places import HOME

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    import numpy as np
    from numpy.typing import NDArray

    from .collisions import Collision
    from .graph import Graph
    from .places import Places
    from .units import Units

    Floats = NDArray[np.float64]


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
