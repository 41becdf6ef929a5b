"""Where the units of an exploded view go: what is demanded of those places, and the least distances that meet it.

    place 0         place 1            place 2        demands:  1 at least 40 farther out than 0
     B ------------- R R --------------- S                      2 at least 60 farther out than 1
     0               40                 100                     2 at least 80 farther out than 0

Units of one kind that go the same way share a place, so that they stay in line. Each demand is a difference, one place
so much farther out than another: a gap, order, or that something is to be seen. The least distances are then the
longest ways from place 0, that of what stays, through a graph whose edges are the demands (Bellman, On a routing
problem, 1958): here 0 + 40 + 60. All of them are least at once, and so is their sum, which a linear program would have
to search for. Where demands go round in a circle, no distances meet them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from ...sizes.arrays import Bools, Floats
from ...sizes.tolerances import CONTACT
from .blocking import DIRECTIONS, VECTORS
from .graph import Graph
from .units import Units

Show = Callable[[int, tuple[int, ...], tuple[int, ...]], float]


@dataclass(frozen=True)
class Demand:
    """Place `outer` has to be at least `least` mm farther out than place `inner`; numbers of places."""

    inner: int
    outer: int
    least: float


class ContradictionError(ValueError):
    """No distances meet all demands."""


def least_distances(count: int, demands: Sequence[Demand]) -> Floats:
    """The least distance of each place from place 0, which stays, that meets all demands: (count,) mm.

    No distance is negative.

    Raises
    ------
    ContradictionError
        if no distances do, because demands go round in a circle
    """
    return DemandsMet(count, demands).distances


class DemandsMet:
    """Least distances that meet demands, to which more demands may be added.

    Attributes
    ----------
    distances : (count,) float, mm

    Raises
    ------
    ContradictionError
        as of `least_distances`
    """

    def __init__(self, count: int, demands: Sequence[Demand]) -> None:
        self._inner = np.array([one.inner for one in demands], dtype=np.intp)
        self._outer = np.array([one.outer for one in demands], dtype=np.intp)
        self._least = np.array([one.least for one in demands])
        self.distances = np.zeros(count)
        for _ in range(count + 1):
            farther = self._pushed(self.distances)
            if (farther == self.distances).all():
                return
            self.distances = farther
        raise ContradictionError("the demands contradict each other")

    def _pushed(self, distances: Floats) -> Floats:
        """The distances, after each demand has pushed its outer place once."""
        farther = distances.copy()
        np.maximum.at(farther, self._outer, distances[self._inner] + self._least)
        return farther

    def add(self, one: Demand) -> bool:
        """Demand more; returns whether that was possible. A demand that contradicts the others is left out."""
        distances = self.distances.copy()
        distances[one.outer] = max(distances[one.outer], distances[one.inner] + one.least)
        for _ in range(len(distances) + 1):
            farther = self._pushed(distances)
            if farther[one.inner] > self.distances[one.inner]:
                break  # what it pushes out pushes out what it is measured from
            if (farther == distances).all():
                self.distances = distances
                self._inner, self._outer = (
                    np.append(self._inner, one.inner),
                    np.append(self._outer, one.outer),
                )
                self._least = np.append(self._least, one.least)
                return True
            distances = farther
        return False


STILL: Final = 0
"""The number of the place of all that does not move."""


@dataclass(frozen=True, eq=False)
class Places:
    """Numbered places, each somewhere along one direction from where its units belong.

    Parameters
    ----------
    of : for each unit, axis → number of the place that tells how far along it the unit is; axes left out: stowed
    own : for each unit, the number of the place that it goes to itself, other than with what it hangs on
    layers : for each place, the units whose own it is; none for `STILL`
    ways : for each place, the number of its direction
    demands : between places
    """

    of: tuple[dict[int, int], ...]
    own: dict[int, int]
    layers: tuple[tuple[int, ...], ...]
    ways: tuple[int, ...]
    demands: tuple[Demand, ...]

    def offsets(self, distances: Floats) -> Floats:
        """(n, 3) float, mm: how far each unit is from where it belongs, by the distances of the places."""
        found = np.zeros((len(self.of), 3))
        for unit, places in enumerate(self.of):
            for place in places.values():
                found[unit] += distances[place] * VECTORS[DIRECTIONS[self.ways[place]]]
        return found


@dataclass(frozen=True)
class Need:
    """What is demanded of two places, before it is known how wide gaps are and what has to be seen.

    Parameters
    ----------
    inner, outer : numbers of places, as of a `Demand`
    way : number of a direction
    reach : mm; by how much what is inside reaches beyond where what is outside begins, along it
    inside, outside : units that have to be seen besides; none where a gap is enough
    """

    inner: int
    outer: int
    way: int
    reach: float
    inside: tuple[int, ...] = ()
    outside: tuple[int, ...] = ()


@dataclass(frozen=True, eq=False)
class Needs:
    """All that is demanded of the places of units, whatever the gaps."""

    places: Places
    all: tuple[Need, ...]

    def demands(self, gaps: Floats, show: Show | None) -> Places:
        """The places with their demands, none twice.

        Parameters
        ----------
        gaps : (6,) float, mm; what has to be free, along each direction, between units that lie on one line
        show : for the number of a direction and the units on its inner and its outer side, how far these have to go
            at least so that they and those are seen, mm
        """
        least: dict[tuple[int, int], float] = {}
        for one in self.all:
            amount = one.reach + float(gaps[one.way])
            if show and one.inside:
                amount = max(amount, show(one.way, one.inside, one.outside))
            key = one.inner, one.outer
            least[key] = max(least.get(key, 0.0), amount)
        demands = tuple(Demand(inner, outer, amount) for (inner, outer), amount in least.items())
        return replace(self.places, demands=demands)


def needs_of(units: Units, graph: Graph, *, beside: bool) -> Needs:
    """The places of units, and between which of them something is demanded.

    Parameters
    ----------
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
    for one in graph.from_the_base:
        way = DIRECTIONS.index(one.direction)
        above = of[one.parent].get(way % 3)
        if above is not None:
            way = ways[above]  # it may come part of the way back, but stays on the same side
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
    places = Places(tuple(of), own, tuple(layers), tuple(ways), ())
    return Needs(places, tuple(_Needs(units, graph, places).all()))


def _depths(units: Units, graph: Graph) -> dict[int, int]:
    """For each unit that leaves, how many units like it hold each other up to it."""
    depths: dict[int, int] = {}
    for one in graph.from_the_base:
        kind = units.kinds[one.unit]
        below = [
            depths[other]
            for other in units.held_by[one.unit]
            if other in depths and kind == units.kinds[other]
        ]
        depths[one.unit] = 1 + max(below, default=-1)
    return depths


class _Needs:
    """Collects what is demanded of places."""

    def __init__(self, units: Units, graph: Graph, places: Places) -> None:
        self.units, self.places = units, places
        self.parents = graph.parents
        self.begin, self.end = units.reach
        count = len(units)
        self.rank = np.full(count, len(graph.departures))
        self.rank[[one.unit for one in graph.departures]] = np.arange(len(graph.departures))
        self.outward = np.zeros(count, dtype=bool)
        """(u,) bool; whether a unit goes the way of its place, and not part of the way back."""
        self.place = np.full(count, -1)
        """(u,) int; own places of units, `STILL` for those that do not move, -1 for those that others take along."""
        self.place[[unit for unit, of in enumerate(places.of) if not of]] = STILL
        for one in graph.departures:
            self.place[one.unit] = places.own[one.unit]
            self.outward[one.unit] = one.direction == DIRECTIONS[places.ways[places.own[one.unit]]]

    def all(self) -> Iterator[Need]:
        """All of them; several may be between the same places."""
        for one in (*self._on_parents(), *self._in_line(), *self._beside()):
            if one.inner != one.outer:
                yield one

    def _need(self, inner: int, outer: int, way: int, inside: Sequence[int], outside: Sequence[int]) -> Need:
        """That units at the outer place go as far as it takes for a gap to those at the inner one, and to be seen."""
        reach = self.end[way, list(inside)].max() - self.begin[way, list(outside)].min()
        return Need(inner, outer, way, float(reach), tuple(inside), tuple(outside))

    def _on_parents(self) -> Iterator[Need]:
        """Away from what it hangs on; what comes part of the way back also from what that hangs on."""
        for place, layer in enumerate(self.places.layers):
            if place == STILL:
                continue
            way, parent = self.places.ways[place], self.parents[layer[0]]
            above = self.places.of[parent].get(way % 3, STILL)
            if not self.outward[layer[0]]:
                yield self._need(place, above, way, layer, (parent,))
                yield self._need(STILL, place, way, (self.parents[parent],), layer)
            else:
                yield self._need(above, place, way, (parent,), layer)

    def _in_line(self) -> Iterator[Need]:
        """Units that go the same way keep their order, and do not stay behind in what stays stowed."""
        ways = np.array(self.places.ways)
        behind: dict[int, Bools] = {}
        for outer, layer in enumerate(self.places.layers):
            if outer == STILL:
                continue
            way = self.places.ways[outer]
            if way not in behind:
                behind[way] = self._behind(way)
            pairs = behind[way][:, layer]
            rows = np.flatnonzero(pairs.any(axis=1) & (self.place >= 0) & (self.place != outer))
            of_rows = self.place[rows]
            for inner in np.unique(of_rows).tolist():
                if inner == STILL or ways[inner] == way:
                    inside = rows[of_rows == inner]
                    outside = np.array(layer)[pairs[inside].any(axis=0)]
                    yield self._need(inner, outer, way, inside.tolist(), outside.tolist())

    def _behind(self, way: int) -> Bools:
        """(u, u) bool; whether the first unit is on one line with the second, which has to be out before it."""
        across = [axis for axis in range(3) if axis != way % 3]
        low, high = self.units.low[:, across], self.units.high[:, across]
        in_line = ((low[:, None] < high - CONTACT) & (low < high[:, None] - CONTACT)).all(axis=2)
        leaves_first = self.rank < self.rank[:, None]
        return self.units.blocks[way] | (in_line & leaves_first & self.outward)

    def _beside(self) -> Iterator[Need]:
        """Of units that touch and go the same way, those that leave first go out of all touch of the others."""
        ways = np.array(self.places.ways)
        unit, other = np.nonzero(self.units.touching & (self.rank[:, None] < self.rank))
        outer, inner = self.place[unit], self.place[other]
        goes = self.outward[unit] & (outer > STILL) & (inner > STILL) & (outer != inner)
        goes &= ways[outer] == ways[inner]
        unit, other, outer, inner = unit[goes], other[goes], outer[goes], inner[goes]
        order = np.lexsort([inner, outer])
        for at in order.tolist():
            if not self._hangs_on(int(inner[at]), int(outer[at])):
                way = int(ways[outer[at]])
                reach = float(self.end[way, other[at]] - self.begin[way, unit[at]])
                yield Need(int(inner[at]), int(outer[at]), way, reach)

    def _hangs_on(self, inner: int, outer: int) -> bool:
        """Whether what is at one place hangs, also by way of others, on what is at another."""
        unit = self.places.layers[inner][0]
        while unit in self.parents:
            unit = self.parents[unit]
            if self.places.own.get(unit) == outer:
                return True
        return False
