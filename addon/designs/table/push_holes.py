"""Holes in the bottom panel through which covering leaves are pushed up from below.

front                           back      Along the leaf's center line. What stands below the panel or on it takes
|====|-----o-----|====|----------|        its width and the hole's radius on either side; of the places that are
     rib         rib                      left, the one nearest to the middle, and first those under which no leaf
     |<- free -->|                        is stowed.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from ...sizes.arrays import Floats
from ...wood.features import Hole
from ...wood.part import Part
from ...wood.roles import BOTTOM
from .bill import Bill
from .lanes import Lane, Layout
from .leaves import cover_placement
from .refusals import BESIDE_HOLE, at_most, between, refuse

LEAST_BESIDE: Final = 3.0
"""From a hole to what stands beside it, at least, where its place is chosen, mm (common practice, no source)."""


@dataclass(frozen=True)
class Under:
    """Where a leaf lies as cover: its low end and its middle, mm in the table, and its size.

    Parameters
    ----------
    axis : along which it lies
    """

    leaf: str
    axis: int
    low: float
    across: float
    length: float
    width: float

    @classmethod
    def of(cls, cover: Part) -> Under:
        """Of a leaf where it covers."""
        low, high = cover.box
        axis = int((high - low)[:2].argmax())
        length, width = float(high[axis] - low[axis]), float(high[1 - axis] - low[1 - axis])
        return cls(cover.label, axis, float(low[axis]), float(low[1 - axis]) + width / 2, length, width)

    def center(self, inset: float, offset: float) -> Floats:
        """(3,) float: a place under it, at height 0."""
        found = np.zeros(3)
        found[self.axis], found[1 - self.axis] = self.low + inset, self.across + offset
        return found


def drill_push_holes(layout: Layout, bill: Bill) -> None:
    """Adds a hole to the panel below each leaf that has one."""
    for lane in layout.lanes:
        leaves = layout.of_leaf(lane.index).table.leaves
        if leaves.push_hole == 0:
            continue
        leaf = next(part for part in bill.parts if part.label == lane.leaf)
        under = Under.of(replace(leaf, placement=cover_placement(layout, lane.index)))
        inset, offset = leaves.push_hole_inset, leaves.push_hole_offset
        if inset is None or offset is None:
            free = free_places(bill.parts, under, leaves.push_hole, inset, offset)
            inset, offset = free[0] if free else (inset or under.length / 2, offset or 0.0)
        center = under.center(inset, offset)
        for number, part in enumerate(bill.parts):
            if part.role == BOTTOM and _covers(part, center):
                u, v, _ = part.placement.to_part(center[None])[0].tolist()
                hole = Hole(u, v, leaves.push_hole, leaf=lane.leaf)
                shape = part.shape.with_features((*part.shape.features, hole))
                bill.parts[number] = replace(part, shape=shape)
                break


def check_push_hole(layout: Layout, lane: Lane) -> None:
    """Refuse a hole that is not under its leaf.

    Parameters
    ----------
    layout : with the parameters of that leaf
    """
    table, leaves = layout.table, layout.table.leaves
    if leaves.push_hole == 0:
        return
    length, width, _ = layout.leaf_size
    widest, reach = width - 2 * BESIDE_HOLE, leaves.push_hole / 2 + BESIDE_HOLE
    if leaves.push_hole > widest:
        reason = f"{lane.leaf} is no wider"
        refuse(table, "leaves.push_hole", leaves.push_hole, at_most(table, widest), reason)
    for name, least, most in (
        ("push_hole_inset", reach, length - reach), ("push_hole_offset", reach - width / 2, width / 2 - reach)
    ):  # fmt: skip
        value = getattr(leaves, name)
        if value is not None and not least <= value <= most:
            reason = f"the push-up hole would not be under {lane.leaf}"
            refuse(table, f"leaves.{name}", value, between(table, least, most), reason)


def free_places(
    parts: Iterable[Part],
    under: Under,
    diameter: float,
    inset: float | None = None,
    offset: float | None = None,
) -> list[tuple[float, float]]:
    """Insets and offsets at which nothing stands below or on the panel, mm; the best first.

    Parameters
    ----------
    inset, offset : where one of them is given
    """
    reach = diameter / 2 + LEAST_BESIDE
    standing, stowed = [], []
    for part in parts:
        if part.role == BOTTOM or part.label == under.leaf:
            continue
        low, high = part.box
        ends = [
            (float(low[axis]) - reach - start, float(high[axis]) + reach - start)
            for axis, start in ((under.axis, under.low), (1 - under.axis, under.across))
        ]
        (stowed if part.role.slides else standing).append([*ends[0], *ends[1]])
    found: list[tuple[float, float]] = []
    for taken in (np.array([*standing, *stowed]), np.array(standing).reshape(-1, 4)):
        along = [under.length / 2, *taken[:, :2].ravel()] if inset is None else [inset]
        across = [0.0, *taken[:, 2:].ravel()] if offset is None else [offset]
        u, v = (grid.ravel() for grid in np.meshgrid(along, across))
        inside = (u >= reach) & (u <= under.length - reach) & (np.abs(v) <= under.width / 2 - reach)
        u, v = u[inside], v[inside]
        over = (taken[:, 0] < u[:, None]) & (u[:, None] < taken[:, 1])
        over &= (taken[:, 2] < v[:, None]) & (v[:, None] < taken[:, 3])
        free = np.flatnonzero(~over.any(axis=1))
        order = free[np.argsort(np.hypot(u[free] - under.length / 2, v[free]), kind="stable")]
        found += [(float(u[one]), float(v[one])) for one in order]
    return list(dict.fromkeys(found))


def _covers(part: Part, center: Floats) -> bool:
    low, high = part.box
    return bool((low[:2] < center[:2]).all() and (center[:2] < high[:2]).all())
