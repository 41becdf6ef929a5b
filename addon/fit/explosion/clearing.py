"""What has to be demanded besides so that parts that ran into each other keep clear of each other."""

from __future__ import annotations

from typing import TYPE_CHECKING

from .offsets import Demand
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
    """Demands that are not met yet, one for each collision: of two units, the one that leaves first goes on until it
    has passed the other along a direction in which it goes anyway.

    Parameters
    ----------
    gaps : as of `places_of`
    """
    rank = {one.unit: number for number, one in enumerate(graph.departures)}
    found: dict[tuple[int, int], Demand] = {}
    for one in collisions:
        pair = sorted({units.of[one.one], units.of[one.other]}, key=lambda unit: rank.get(unit, len(rank)))
        ways = [*_passing(units, places, gaps, *pair)]
        if ways:
            least = min(ways, key=lambda demand: demand.least)
            found[least.inner, least.outer] = max(
                least, found.get((least.inner, least.outer), least), key=lambda demand: demand.least
            )
    return tuple(found.values())


def _passing(units: Units, places: Places, gaps: Floats, first: int, later: int) -> Iterator[Demand]:
    begin, end = units.reach
    for axis, place in places.of[first].items():
        way = places.ways[place]
        other = places.of[later].get(axis, HOME)
        if other != place and (other == HOME or places.ways[other] == way):
            amount = float(end[way, later] - begin[way, first] + gaps[way])
            if amount > 0:
                yield Demand(other, place, amount)
