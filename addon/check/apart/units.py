"""What is taken off a table in one piece, a part or parts that are glued up, and which unit leaves next, which way.

    what could leave     A up    A left   C up    D up ...
    units in the set      1       1        1       2        few go before many
    left hanging          0       0        1       0        nothing shall stay behind in the air
    pressed against       0       2        0       0        nothing that stands close by shall be hit
    mm out of touch      18     360       18      18        the nearest way out
    held by it            2       2        0       0        what holds little goes before what holds much
                          ^ next

Compared column by column, from the top on. For a single unit all of it can be counted: how many of those that are left
it would run into, touches, holds. These counts change little when one unit leaves, so they are kept and not counted
anew; only for units that others would follow, and for sets, it is gone through as it stands in the list.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ...sizes.arrays import Bools, Floats, Ints
from ...wood.assembly import Assembly
from .blocking import Blocking


@dataclass(frozen=True, eq=False)
class Units:
    """Groups of parts that go together, with what they are to each other.

    Parameters
    ----------
    members : labels of the parts of each of n units
    kinds : what each is: the word of its first part's role
    room : (6, n, n) float, mm; as in `Blocking`, between units
    touching : (n, n) bool; whether they touch or are joined
    fixed_to : (n, n) bool; whether a joint fixes the first to the second
    low, high : (n, 3) float, mm; of the bounding boxes
    """

    members: tuple[tuple[str, ...], ...]
    kinds: tuple[str, ...]
    room: Floats
    touching: Bools
    fixed_to: Bools
    low: Floats
    high: Floats

    def __len__(self) -> int:
        return len(self.members)

    @cached_property
    def of(self) -> dict[str, int]:
        """Label → number of its unit."""
        return {label: number for number, labels in enumerate(self.members) for label in labels}

    @cached_property
    def held_by(self) -> tuple[frozenset[int], ...]:
        """For each unit, those that it is fixed to."""
        return tuple(frozenset(np.flatnonzero(row).tolist()) for row in self.fixed_to)

    @cached_property
    def holds(self) -> tuple[frozenset[int], ...]:
        """For each unit, those that are fixed to it."""
        return tuple(frozenset(np.flatnonzero(column).tolist()) for column in self.fixed_to.T)

    @cached_property
    def reach(self) -> tuple[Floats, Floats]:
        """(6, n) float each, mm; from where to where each unit reaches along the six directions."""
        low, high = self.low.T, self.high.T
        return np.concatenate([low, -high]), np.concatenate([high, -low])

    @cached_property
    def blocks(self) -> Bools:
        """(6, n, n) bool; whether the first unit runs into the second one on its way along a direction."""
        return np.isfinite(self.room)

    @cached_property
    def hits(self) -> Bools:
        """(6, n, n) bool; whether it does so before it is out of its own place."""
        sizes = (self.high - self.low).T[[0, 1, 2, 0, 1, 2]]
        return np.asarray(self.room < sizes[:, :, None])


def glued_up(assembly: Assembly) -> tuple[tuple[str, ...], ...]:
    """Labels of the parts of each unit, in the assembly's order.

    Parts of one role that are joined face to face, such as the two boards of a leg, are glued up first and go in as
    one (common practice, no source).
    """
    first = {part.label: part.label for part in assembly.parts}
    role = {part.label: part.role for part in assembly.parts}
    for joint in assembly.joints:
        if joint.kind == "face" and joint.fastening != "dry" and role[joint.a] == role[joint.b]:
            old, new = first[joint.a], first[joint.b]
            first = {label: new if one == old else one for label, one in first.items()}
    groups: dict[str, list[str]] = {}
    for part in assembly.parts:
        groups.setdefault(first[part.label], []).append(part.label)
    return tuple(tuple(group) for group in groups.values())


def units_of(assembly: Assembly, blocking: Blocking, members: Sequence[Sequence[str]]) -> Units:
    """Units of the given parts; parts in none of them are left out.

    Parameters
    ----------
    members : labels of the parts of each unit
    """
    groups = [blocking.numbers(labels) for labels in members]
    count = len(groups)
    order = np.concatenate([np.zeros(0, dtype=np.intp), *groups])
    starts = np.cumsum([0, *map(len, groups)])[:-1]

    def reduced(how: np.ufunc, values: NDArray) -> NDArray:
        values = values[..., order[:, None], order]
        return how.reduceat(how.reduceat(values, starts, axis=-1), starts, axis=-2)

    fixed = np.zeros((len(blocking.labels),) * 2, dtype=bool)
    for joint in assembly.joints:
        fixed[blocking.number[joint.a], blocking.number[joint.b]] = True
    room = reduced(np.minimum, blocking.room)
    fixed_to = reduced(np.logical_or, fixed)
    touching = reduced(np.logical_or, blocking.touching) | fixed_to | fixed_to.T
    room[:, np.arange(count), np.arange(count)] = np.inf
    touching[np.arange(count), np.arange(count)] = fixed_to[np.arange(count), np.arange(count)] = False
    low = np.minimum.reduceat(blocking.low[order], starts, axis=0)
    high = np.maximum.reduceat(blocking.high[order], starts, axis=0)
    kinds = tuple(assembly.by_label[labels[0]].role.word for labels in members)
    return Units(tuple(map(tuple, members)), kinds, room, touching, fixed_to, low, high)


_Cost = tuple[int, int, int, float, int, int, int]


_NEAR: Final = 2.0
"""How many times as far a way may be if more units of the kind can go that way."""


class Remaining:
    """The units that are still together while a set of them comes apart.

    What each of them could do next is counted over all the others. The counts are kept up as units leave, so that a
    step does not go through all pairs anew.

    Attributes
    ----------
    left : the units
    here, movable : (n,) bool; the same, and the same without the base
    blocked : (6, n) int; how many of them each would run into along each direction
    kind : (n,) int
    touched : (n, kinds) int; how many of them each touches
    beside_hit : (6, n) int; how many of those beside which all may come to stand each would hit
    gone_hit : (6, n, kinds) int; the same of those that have left
    reach : (6, n) float, mm; how far those of them reach that each touches
    holders, holding : (n,) int; to how many of them each is fixed, and how many are fixed to it
    """

    def __init__(self, units: Units, members: frozenset[int], base: int, beside: frozenset[int]) -> None:
        self.units, self.base, self.beside = units, base, beside
        self.members, self.left = members, set(members)
        own = np.array(sorted(members))
        self.here = np.zeros(len(units), dtype=bool)
        self.here[own] = True
        self.movable = self.here & (np.arange(len(units)) != base)
        self.kind = np.unique(units.kinds, return_inverse=True)[1]
        kinds = np.eye(int(self.kind.max()) + 1, dtype=np.intp)[self.kind]
        self.blocked = units.blocks[:, :, own].sum(axis=2)
        self.touched = units.touching[:, own] @ kinds[own]
        self.beside_hit = units.hits[:, :, sorted(beside)].sum(axis=2)
        self.gone_hit = np.zeros((6, *self.touched.shape), dtype=np.intp)
        self.holders, self.holding = units.fixed_to[:, own].sum(axis=1), units.fixed_to[own].sum(axis=0)
        self.reach = np.full((6, len(units)), -np.inf)
        self._reach_anew(own)

    def leave(self, moving: Collection[int]) -> None:
        """Take some units out."""
        for unit in moving:
            kind = self.kind[unit]
            self.left.remove(unit)
            self.here[unit] = self.movable[unit] = False
            self.blocked -= self.units.blocks[:, :, unit]
            self.touched[:, kind] -= self.units.touching[:, unit]
            self.gone_hit[:, :, kind] += self.units.hits[:, :, unit]
            self.holders -= self.units.fixed_to[:, unit]
            self.holding -= self.units.fixed_to[unit]
        near = self.units.touching[:, sorted(moving)].any(axis=1)
        self._reach_anew(np.flatnonzero(near & self.here))

    def _reach_anew(self, rows: Ints) -> None:
        there = self.units.touching[rows] & self.here
        for way, end in enumerate(self.units.reach[1]):
            self.reach[way, rows] = np.where(there, end, -np.inf).max(axis=1, initial=-np.inf)

    def next(self) -> tuple[frozenset[int], int, float] | None:
        """The set that leaves next, its direction and how far it has to go: the smallest set, then the nearest way."""
        free = np.asarray((self.blocked == 0) & self.movable)
        if free.any():
            unit, way = self._next_single(free)
            moving = frozenset({unit})
        else:
            groups = self._groups()
            if not groups:
                return None
            moving, way = min(groups, key=lambda group: self._cost(*group))
        return moving, way, _escape(self.units, moving, self.left - moving, way)

    def _next_single(self, free: Bools) -> tuple[int, int]:
        """The single unit that leaves next, and its direction.

        Parameters
        ----------
        free : (6, n) bool; which units can leave, along each direction
        """
        ways, numbers = free.nonzero()
        hanging = self.movable & (self.holders == 1) & ~self.units.fixed_to[self.base]
        leads = np.asarray(self.units.fixed_to[hanging].any(axis=0))[
            numbers
        ]  # what hangs on it may follow it
        pressed = (self.beside_hit + ((self.touched > 0) * self.gone_hit).sum(axis=2))[ways, numbers]
        escape = np.maximum(self.reach[ways, numbers] - self.units.reach[0][ways, numbers], 0.0)

        def cost(at: int) -> _Cost:
            way, unit = int(ways[at]), int(numbers[at])
            if leads[at]:
                return self._cost(frozenset({unit}), way)
            return 1, 0, int(pressed[at]), round(float(escape[at]), 1), int(self.holding[unit]), unit, way

        alone = ~leads
        for values, rounded in ((pressed, 0.0), (escape, 0.2)):
            if alone.any():
                alone &= values <= values[alone].min() + rounded
        best = min(map(cost, np.flatnonzero(leads | alone).tolist()))
        *_, unit, way = best
        others = [cost(at) for at in np.flatnonzero(numbers == unit).tolist()]
        near = [one[-1] for one in others if one[2] <= best[2] and one[3] <= _NEAR * best[3]]
        count = free[:, self.kind == self.kind[unit]].sum(axis=1)
        return unit, max(near, key=lambda other: (count[other], other == way))

    def _groups(self) -> list[tuple[frozenset[int], int]]:
        """The smallest sets of units that can leave together, with their directions: all that one pushes before it."""
        here = np.flatnonzero(self.here)
        pushed = self.units.blocks[:, here[:, None], here] | np.eye(len(here), dtype=bool)
        base = here == self.base
        closed = np.stack([_closure(one) for one in pushed])
        # Where each would push the base along, all the others could go the opposite way, and so one of them, with what
        # it pushes.
        ways, numbers = np.nonzero(~(closed & base).any(axis=2))
        moving = closed[ways, numbers]
        sizes = moving.sum(axis=1)
        smallest = np.flatnonzero(sizes == sizes.min(initial=len(here)))
        sets = ((frozenset(here[moving[at]].tolist()), int(ways[at])) for at in smallest)
        return list(dict.fromkeys(sets))

    def _cost(self, moving: frozenset[int], way: int) -> _Cost:
        """What lets a set leave before others: it is small, leaves little hanging, presses against little, gets out
        soon and holds little.
        """
        units = self.units
        stand = self.left - with_followers(units, moving, self.left, self.base, way)
        left = sum(
            _hangs_on(units, unit, moving, stand, self.base) for unit in _fixed_to(units, moving) & stand
        )
        held = sum(len(units.holds[unit] & stand) for unit in moving)
        gone = self.members - self.left
        pressed = _pressed(units, moving, self.beside | _alike(units, gone, moving, stand), way)
        escape = round(_escape(units, moving, self.left - moving, way), 1)
        return len(moving), left, pressed, escape, held, min(moving), way


def _closure(pushed: Bools) -> Bools:
    """(n, n) bool: all that a unit pushes before it, also by way of others."""
    while True:
        steps = pushed.astype(np.float32)  # whose products are worked out fast; no count is too large for it
        farther = (steps @ steps) > 0
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
    kinds = {units.kinds[other] for unit in moving for other in near(units, unit, stand)}
    return frozenset(unit for unit in gone if units.kinds[unit] in kinds)


def with_followers(
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


def near(units: Units, unit: int, others: Collection[int]) -> set[int]:
    """Those of the others that a unit touches or is joined to."""
    which = np.array(sorted(others), dtype=np.intp)
    return set(which[units.touching[unit, which]].tolist())
