"""The order in which a table comes apart, and what each part hangs on in an exploded view.

After Li, Agrawala, Curless and Salesin, Automated generation of interactive 3D exploded view diagrams (SIGGRAPH
2008): again and again the part goes that can leave the rest in a straight line, first the one that has the shortest
way out of what it touches. Where no single part can, the smallest set goes that can: all that a part would push
before it. A set that pushes nothing else can always leave, and there is no other, so that what is left together
cannot be taken apart by straight moves along the axes.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from .blocking import DIRECTIONS

if TYPE_CHECKING:
    from collections.abc import Collection

    from numpy.typing import NDArray

    from .blocking import Direction
    from .units import Units

    Bools = NDArray[np.bool_]

_NEAR: Final = 2.0
"""How many times as far a way may be if more units of the kind can go that way."""


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

    @property
    def parents(self) -> dict[int, int]:
        """Unit → the one that it hangs on, also for those that stay together with another."""
        found = {one.unit: one.parent for one in self.departures}
        found |= {unit: group[0] for group in self.together for unit in group[1:]}
        return found

    def from_the_base(self) -> list[Departure]:
        """The departures, each after that of what it hangs on; else the last ones first."""
        parents, depth = self.parents, {}
        order = {one.unit: number for number, one in enumerate(self.departures)}

        def depth_of(unit: int) -> int:
            if unit not in depth:
                depth[unit] = 1 + depth_of(parents[unit]) if unit in parents else 0
            return depth[unit]

        return sorted(self.departures, key=lambda one: (depth_of(one.unit), -order[one.unit]))


def explosion_graph(units: Units) -> Graph:
    """How units come apart."""
    taken: list[_Taken] = []
    together: list[tuple[int, ...]] = []
    everything = frozenset(range(len(units)))
    base = _take_apart(units, everything, frozenset(), taken, together)
    parents = {unit: group[0] for group in together for unit in group[1:]}
    for one in reversed(taken):
        beside = {other for unit in one.moving for other in _near(units, unit, one.standing)}
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
    rest = set(members)
    while len(rest) > 1:
        found = _next(units, rest, base, beside, members - rest)
        if found is None:
            together.append((base, *sorted(rest - {base})))
            break
        moving, way, escape = found
        moving = _with_followers(units, moving, rest, base, way)
        rest -= moving
        at = len(taken)
        gone = {unit for one in taken if one.direction == DIRECTIONS[way] for unit in one.moving}
        head = _take_apart(units, moving, frozenset(rest), taken, together, frozenset(rest | gone) - moving)
        taken.insert(at, _Taken(head, moving, DIRECTIONS[way], escape, frozenset(rest), base))
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


def _next(
    units: Units, rest: set[int], base: int, beside: frozenset[int], gone: frozenset[int]
) -> tuple[frozenset[int], int, float] | None:
    """The set that leaves next, its direction and how far it has to go: the smallest set, then the nearest way."""
    here = np.array(sorted(rest))
    pushed = np.isfinite(units.room[:, here[:, None], here])
    pushed |= np.eye(len(here), dtype=bool)
    sets: dict[tuple[frozenset[int], int], None] = {}
    single = ~(pushed.sum(axis=2) > 1) & (here != base)
    for way, at in np.argwhere(single):
        sets[frozenset({int(here[at])}), int(way)] = None
    if not sets:
        for way in range(6):
            for row in _closure(pushed[way]):
                closed = frozenset(here[row].tolist())
                if base not in closed:
                    sets[closed, way] = None
                elif len(closed) < len(rest):
                    sets[frozenset(rest) - closed, (way + 3) % 6] = None
    if not sets:
        return None

    def cost(candidate: tuple[frozenset[int], int]) -> tuple[int, int, int, float, int, int, int]:
        moving, way = candidate
        stand = rest - _with_followers(units, moving, rest, base, way)
        fixed = _fixed_to(units, moving) & stand
        left = sum(_hangs_on(units, unit, moving, stand, base) for unit in fixed)
        held = sum(len(units.holds[unit] & stand) for unit in moving)
        pressed = _pressed(units, moving, beside | _alike(units, gone, moving, stand), way)
        escape = round(_escape(units, moving, rest - moving, way), 1)
        return len(moving), left, pressed, escape, held, min(moving), way

    moving, way = min(sets, key=cost)
    if len(moving) == 1:
        (unit,) = moving
        *_, pressed, least = cost((moving, way))[:4]
        near = [(other, cost((moving, other))) for one, other in sets if one == moving]
        ways = [other for other, price in near if price[2] <= pressed and price[3] <= _NEAR * least]
        alike = [one for one in here.tolist() if units.kinds[one] == units.kinds[unit]]
        free = {other: sum((frozenset({one}), other) in sets for one in alike) for other in ways}
        way = max(ways, key=lambda other: (free[other], other == way))
    return moving, way, _escape(units, moving, rest - moving, way)


def _closure(pushed: Bools) -> Bools:
    """(n, n) bool: all that a unit pushes before it, also by way of others."""
    while True:
        farther = (pushed.astype(np.int64) @ pushed.astype(np.int64)) > 0
        if (farther == pushed).all():
            return pushed
        pushed = farther


def _escape(units: Units, moving: Collection[int], standing: Collection[int], way: int) -> float:
    """How far units have to move until they are beyond all standing ones that they touch, mm."""
    begin, end = units.reach
    rows, columns = np.array(sorted(moving)), np.array(sorted(standing))
    touching = units.touching[rows[:, None], columns]
    beyond = end[way, columns] - begin[way, rows][:, None]
    return max(0.0, float(beyond[touching].max(initial=0.0)))


def _pressed(units: Units, moving: Collection[int], others: Collection[int], way: int) -> int:
    """How many of the others stand so near that they would be hit before all that moves is out of its place."""
    rows, columns = np.array(sorted(moving)), np.array(sorted(others), dtype=np.intp)
    extent = (units.high - units.low)[rows, way % 3]
    return int((units.room[way, rows[:, None], columns] < extent[:, None]).any(axis=0).sum())


def _alike(
    units: Units, gone: frozenset[int], moving: Collection[int], stand: Collection[int]
) -> frozenset[int]:
    """Those that are gone and that what they touch still may come to stand beside: units of one kind go one way."""
    kinds = {units.kinds[other] for unit in moving for other in _near(units, unit, stand)}
    return frozenset(unit for unit in gone if units.kinds[unit] in kinds)


def _with_followers(
    units: Units, moving: frozenset[int], rest: set[int], base: int, way: int
) -> frozenset[int]:
    """With the units that are fixed to what moves and to nothing else, where nothing keeps them from going along."""
    changed = True
    while changed:
        changed = False
        for unit in sorted(_fixed_to(units, moving) & rest - moving - {base}):
            stand = rest - moving - {unit}
            if not _hangs_on(units, unit, moving, stand, base) or units.holds[unit] & stand:
                continue
            if not (units.room[way, unit, sorted(stand)] < np.inf).any():
                moving, changed = moving | {unit}, True
    return moving


def _fixed_to(units: Units, some: Collection[int]) -> frozenset[int]:
    """All that is fixed to some units."""
    return frozenset[int]().union(*(units.holds[unit] for unit in some))


def _hangs_on(units: Units, unit: int, some: frozenset[int], others: Collection[int], base: int) -> bool:
    """Whether a unit, other than the base and what holds that, is fixed to some units, but to none of the others."""
    if unit == base or not units.held_by[unit] & some:
        return False
    return not units.held_by[unit].intersection(others) and base not in units.holds[unit]


def _near(units: Units, unit: int, others: Collection[int]) -> set[int]:
    """Those of the others that a unit touches or is joined to."""
    which = np.array(sorted(others), dtype=np.intp)
    return set(which[units.touching[unit, which]].tolist())


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
