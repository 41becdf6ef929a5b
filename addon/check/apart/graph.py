"""The order in which a table comes apart, and what each part hangs on in an exploded view.

          T                  taken off, one after the other     hangs on
          |                  1. T  up      (nearest way out)     S
      S   |   S              2. L  to the left                   B
      |=======|   parts      3. S  up, both                      B
    L-|   B   |              B   stays: the base
      |_______|

After Li, Agrawala, Curless and Salesin, Automated generation of interactive 3D exploded view diagrams (SIGGRAPH
2008): again and again the part goes that can leave the rest in a straight line, first the one that has the shortest
way out of what it touches. It hangs on what it touched: when that moves farther out, it goes along. Where no single
part can leave, the smallest set goes that can, all that a part would push before it, and is taken apart by itself. A
set that pushes nothing else can always leave, and there is no other, so that what is left together cannot be taken
apart by straight moves along the axes.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from .blocking import DIRECTIONS, Direction
from .units import Remaining, Units, near, with_followers


@dataclass(frozen=True)
class Departure:
    """One unit's straight move away from what it hangs on, with all that hangs on it.

    Parameters
    ----------
    unit : its number
    parent : the unit that it hangs on
    direction : of its move
    escape : mm; the move that takes it out of all it touches
    standing : the units that are still where they belong, or on which what is there hangs, when it goes
    """

    unit: int
    parent: int
    direction: Direction
    escape: float
    standing: frozenset[int]


@dataclass(frozen=True)
class Graph:
    """How units come apart.

    Parameters
    ----------
    base : the unit that stays
    departures : of all units that leave, in order
    together : sets of units that cannot be taken apart; one of each may be the base or a unit that leaves, the
        others stay with it
    """

    base: int
    departures: tuple[Departure, ...]
    together: tuple[tuple[int, ...], ...]

    @cached_property
    def parents(self) -> dict[int, int]:
        """Unit → the one that it hangs on, also for those that stay together with another."""
        found = {one.unit: one.parent for one in self.departures}
        found |= {unit: group[0] for group in self.together for unit in group[1:]}
        return found

    @cached_property
    def from_the_base(self) -> tuple[Departure, ...]:
        """The departures, each after that of what it hangs on; else the last ones first."""
        return tuple(one for level in self.levels for one in level)

    @cached_property
    def levels(self) -> tuple[tuple[Departure, ...], ...]:
        """The departures by how many units there are from what they hang on to the base; the last ones first."""
        depth: dict[int, int] = {}
        parents = self.parents
        for one in self.departures:
            chain = [one.unit]
            while chain[-1] in parents and chain[-1] not in depth:
                chain.append(parents[chain[-1]])
            first = depth.get(chain[-1], 0)
            for steps, unit in enumerate(reversed(chain)):
                depth[unit] = first + steps
        levels: list[list[Departure]] = [[] for _ in range(max(depth.values(), default=0) + 1)]
        for one in reversed(self.departures):
            levels[depth[one.unit]].append(one)
        return tuple(tuple(level) for level in levels if level)


def explosion_graph(units: Units) -> Graph:
    """How units come apart."""
    taken: list[_Taken] = []
    together: list[tuple[int, ...]] = []
    everything = frozenset(range(len(units)))
    base = _take_apart(units, everything, frozenset(), taken, together)
    parents = {unit: group[0] for group in together for unit in group[1:]}
    for one in reversed(taken):
        beside = {other for unit in one.moving for other in near(units, unit, one.standing)}
        parents[one.unit] = _common(parents, beside or {one.base})
    departures = [
        Departure(one.unit, parents[one.unit], one.direction, one.escape, one.standing) for one in taken
    ]
    return Graph(base, tuple(departures), tuple(together))


@dataclass(frozen=True)
class _Taken:
    """A departure, before it is known what hangs on what."""

    unit: int
    moving: frozenset[int]
    direction: Direction
    escape: float
    standing: frozenset[int]
    base: int


def _take_apart(
    units: Units,
    members: frozenset[int],
    outside: frozenset[int],
    taken: list[_Taken],
    together: list[tuple[int, ...]],
    beside: frozenset[int] = frozenset(),
) -> int:
    """Take members apart and return the one that stays.

    Parameters
    ----------
    outside : the units that it all hangs on
    beside : others beside which it all may come to stand
    """
    base = _base(units, members, outside)
    if len(members) == 1:
        return base
    rest = Remaining(units, members, base, beside)
    while len(rest.left) > 1:
        found = rest.next()
        if found is None:
            together.append((base, *sorted(rest.left - {base})))
            break
        moving, way, escape = found
        moving = with_followers(units, moving, rest.left, base, way)
        rest.leave(moving)
        standing = frozenset(rest.left)
        at = len(taken)
        gone = {unit for one in taken if one.direction == DIRECTIONS[way] for unit in one.moving}
        head = _take_apart(units, moving, standing, taken, together, (standing | gone) - moving)
        taken.insert(at, _Taken(head, moving, DIRECTIONS[way], escape, standing, base))
    return base


def _base(units: Units, members: Collection[int], outside: Collection[int]) -> int:
    """The unit that stays: of all that hangs on others, the one that touches most of those; else the largest.

    The largest is the one with the largest face, of those that touch at least half as many others as any.
    """
    here, there = sorted(members), sorted(outside)
    extents = np.sort(units.high - units.low, axis=1)
    face = extents[:, 1] * extents[:, 2]
    touching = units.touching[:, here].sum(axis=1)
    most = touching[here].max()

    def worth(unit: int) -> tuple[int, int, float]:
        count = int(touching[unit])
        if not there:
            return int(2 * count >= most), 0, float(face[unit])
        return int(units.touching[unit, there].sum()), count, float(face[unit])

    return max(here, key=worth)


def _common(parents: dict[int, int], some: Collection[int]) -> int:
    """The unit nearest to these that they all hang on, or are."""
    chains = []
    for unit in some:
        chain = [unit]
        while chain[-1] in parents:
            chain.append(parents[chain[-1]])
        chains.append(chain)
    shared = set(chains[0]).intersection(*chains[1:])
    return next(unit for unit in chains[0] if unit in shared)
