"""What is taken off a table in one piece: a part, or parts that are glued up before they go in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ...sizes.arrays import Bools, Floats
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
