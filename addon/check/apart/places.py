"""Where the units of an exploded view go: what is demanded of those places, and the least distances that meet it.

Each demand is a difference, one place so much farther out than another, and the least distances are then the longest
ways from home through a graph (Bellman, On a routing problem, 1958). All of them are least at once, and so is their
sum, which a linear program would have to search for.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from ...sizes.tolerances import CONTACT
from .blocking import DIRECTIONS, VECTORS

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from numpy.typing import NDArray

    from .graph import Graph
    from .units import Units

    Floats = NDArray[np.float64]
    _Amount = tuple[int, int, float]
    Show = Callable[[int, tuple[int, ...], tuple[int, ...]], float]


@dataclass(frozen=True)
class Demand:
    """Place `outer` has to be at least `least` mm farther from home than place `inner`; numbers of places."""

    inner: int
    outer: int
    least: float


class ContradictionError(ValueError):
    """No distances meet all demands."""


def least_distances(count: int, demands: Sequence[Demand]) -> Floats:
    """The least distance of each place from home that meets all demands, (count,) mm; place 0 is home.

    No distance is negative.

    Raises
    ------
    ContradictionError
        if no distances do, because demands go round in a circle
    """
    distances = np.zeros(count)
    inner = np.array([one.inner for one in demands], dtype=np.intp)
    outer = np.array([one.outer for one in demands], dtype=np.intp)
    least = np.array([one.least for one in demands])
    for _ in range(count + 1):
        before = distances.copy()
        np.maximum.at(distances, outer, distances[inner] + least)
        if (distances == before).all():
            return distances
    raise ContradictionError("the demands contradict each other")


HOME: Final = 0
"""The number of the place of all that does not move."""


@dataclass(frozen=True, eq=False)
class Places:
    """Numbered places, each somewhere along one direction from home.

    Parameters
    ----------
    of : for each unit, axis → number of the place that tells how far along it the unit is; axes left out: stowed
    own : for each unit, the number of the place that it goes to itself, other than with what it hangs on
    layers : for each place, the units whose own it is; none for `HOME`
    ways : for each place, the number of its direction
    demands : between places
    """

    of: tuple[dict[int, int], ...]
    own: dict[int, int]
    layers: tuple[tuple[int, ...], ...]
    ways: tuple[int, ...]
    demands: tuple[Demand, ...]

    def offsets(self, distances: Floats) -> Floats:
        """(n, 3) float, mm: how far each unit is from home, by the distances of the places."""
        found = np.zeros((len(self.of), 3))
        for unit, places in enumerate(self.of):
            for place in places.values():
                found[unit] += distances[place] * VECTORS[DIRECTIONS[self.ways[place]]]
        return found


def places_of(
    units: Units, graph: Graph, gaps: Floats, show: Show | None = None, *, beside: bool = True
) -> Places:
    """The places of units and what is demanded of them.

    Parameters
    ----------
    gaps : (6,) float, mm; what has to be free, along each direction, between units that lie on one line
    show : for the number of a direction and the units on its inner and its outer side, how far these have to go at
        least so that they and those are seen, mm
    beside : whether units of one kind that hang on the same unit, go the same way and lie at one height stay beside
        each other, unless one is fixed to the other; the demands may then contradict each other
    """
    of: list[dict[int, int]] = [{} for _ in range(len(units))]
    layers: list[tuple[int, ...]] = [()]
    own: dict[int, int] = {}
    ways = [0]
    keys: dict[object, int] = {}
    begin, end = units.reach
    depths = _depths(units, graph)
    for one in graph.from_the_base():
        way = DIRECTIONS.index(one.direction)
        above = of[one.parent].get(way % 3)
        if above is not None:
            way = ways[above]  # it may come part of the way back, but stays on the same side of home
        extent = round(float(begin[way, one.unit]), 1), round(float(end[way, one.unit]), 1)
        alike = units.kinds[one.unit], one.parent, one.direction, extent, depths[one.unit]
        key = alike if beside else one.unit
        if key not in keys:
            keys[key] = len(layers)
            layers.append(())
            ways.append(way)
        own[one.unit] = keys[key]
        layers[keys[key]] += (one.unit,)
        of[one.unit] = of[one.parent] | {way % 3: keys[key]}
    for group in graph.together:
        for unit in group[1:]:
            of[unit] = of[group[0]]
    found = Places(tuple(of), own, tuple(layers), tuple(ways), ())
    demands = _Demands(units, graph, found, gaps, show).all()
    return Places(found.of, found.own, found.layers, found.ways, demands)


def _depths(units: Units, graph: Graph) -> dict[int, int]:
    """For each unit that leaves, how many units like it hold each other up to it."""
    depths: dict[int, int] = {}
    for one in graph.from_the_base():
        kind = units.kinds[one.unit]
        below = [
            depths[other]
            for other in units.held_by[one.unit]
            if other in depths and kind == units.kinds[other]
        ]
        depths[one.unit] = 1 + max(below, default=-1)
    return depths


class _Demands:
    """Collects what is demanded of places."""

    def __init__(self, units: Units, graph: Graph, places: Places, gaps: Floats, show: Show | None) -> None:
        self.units, self.graph, self.places, self.gaps, self.show = units, graph, places, gaps, show
        self.parents = graph.parents
        self.rank = {one.unit: number for number, one in enumerate(graph.departures)}
        self.begin, self.end = units.reach

    def all(self) -> tuple[Demand, ...]:
        """All demands, none twice."""
        least: dict[tuple[int, int], float] = {}
        for inner, outer, amount in (*self._on_parents(), *self._in_line(), *self._beside()):
            if inner != outer:
                least[inner, outer] = max(least.get((inner, outer), 0.0), amount)
        return tuple(Demand(inner, outer, amount) for (inner, outer), amount in least.items())

    def _apart(self, way: int, inner: tuple[int, ...], outer: tuple[int, ...]) -> float:
        """How far the outer units have to go for a gap to the inner ones, and both to be seen."""
        reach = self.end[way, list(inner)].max() - self.begin[way, list(outer)].min()
        seen = self.show(way, inner, outer) if self.show else 0.0
        return max(float(reach) + float(self.gaps[way]), seen)

    def _on_parents(self) -> Iterator[_Amount]:
        """Away from what it hangs on; what comes part of the way back also from what that hangs on."""
        for place, layer in enumerate(self.places.layers):
            if place == HOME:
                continue
            way, parent = self.places.ways[place], self.parents[layer[0]]
            above = self.places.of[parent].get(way % 3, HOME)
            if not self._outward(layer[0]):
                yield place, above, self._apart(way, layer, (parent,))
                yield HOME, place, self._apart(way, (self.parents[parent],), layer)
            else:
                yield above, place, self._apart(way, (parent,), layer)

    def _in_line(self) -> Iterator[_Amount]:
        """Units that go the same way keep their order, and do not stay behind in what stays stowed."""
        home = tuple(unit for unit, places in enumerate(self.places.of) if not places)
        for outer, layer in enumerate(self.places.layers):
            for inner, behind in enumerate(self.places.layers):
                way = self.places.ways[outer]
                if outer == HOME or inner == outer or (inner != HOME and self.places.ways[inner] != way):
                    continue
                others = home if inner == HOME else behind
                pairs = [
                    (other, unit) for other in others for unit in layer if self._is_behind(way, other, unit)
                ]
                if pairs:
                    inside, outside = (tuple(dict.fromkeys(side)) for side in zip(*pairs, strict=True))
                    yield inner, outer, self._apart(way, inside, outside)

    def _is_behind(self, way: int, unit: int, other: int) -> bool:
        """Whether a unit is on one line with another that has to be out before it."""
        if np.isfinite(self.units.room[way, unit, other]):
            return True
        across = [axis for axis in range(3) if axis != way % 3]
        low, high = self.units.low[:, across], self.units.high[:, across]
        in_line = (low[unit] < high[other] - CONTACT) & (low[other] < high[unit] - CONTACT)
        leaves_first = self.rank[other] < self.rank.get(unit, len(self.rank))
        return bool(in_line.all()) and leaves_first and self._outward(other)

    def _outward(self, unit: int) -> bool:
        """Whether a unit goes the way of its place, and not part of the way back."""
        return (
            self.graph.departures[self.rank[unit]].direction
            == DIRECTIONS[self.places.ways[self.places.own[unit]]]
        )

    def _beside(self) -> Iterator[_Amount]:
        """Of units that touch and go the same way, those that leave first go out of all touch of the others."""
        for outer, layer in enumerate(self.places.layers):
            way = self.places.ways[outer]
            for inner, behind in enumerate(self.places.layers):
                if HOME in (inner, outer) or inner == outer or self.places.ways[inner] != way:
                    continue
                if self._hangs_on(inner, outer):
                    continue
                for unit, other in np.argwhere(self.units.touching[np.ix_(layer, behind)]).tolist():
                    if self._outward(layer[unit]) and self.rank[layer[unit]] < self.rank[behind[other]]:
                        reach = self.end[way, behind[other]] - self.begin[way, layer[unit]]
                        yield inner, outer, float(reach + self.gaps[way])

    def _hangs_on(self, inner: int, outer: int) -> bool:
        """Whether what is at one place hangs, also by way of others, on what is at another."""
        unit = self.places.layers[inner][0]
        while unit in self.parents:
            unit = self.parents[unit]
            if self.places.own.get(unit) == outer:
                return True
        return False
