"""What a stowed leaf is drawn out by from below: its finger hole, or a recessed pull on the face that is down."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING

import numpy as np

from ..designs.table.parameters import Leaves
from ..designs.table.refusals import BESIDE_HOLE
from ..designs.table.worked_face import BESIDE_RECESS
from ..sizes.declare import parameters

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from ..designs.table.parameters import Table
    from ..wood.features import Groove
    from ..wood.part import Part

    Floats = NDArray[np.float64]

WOOD_BEYOND_HOLE = 5.0
"""Wood between a hole and the leaf's outer end, mm (common practice, no source)."""


@dataclass(frozen=True, eq=False)
class Grip:
    """A hole or pull of a leaf stowed, lengths in mm."""

    name: str
    short: str
    verb: str
    """How it is made: ``drill`` or ``rout``."""
    at: Floats
    """(3,) float, mm; its middle, on the leaf's underside."""
    along: float
    """Its size along the leaf's way."""
    across: float
    key: str
    """Parameter that says how far it is from the leaf's outer end."""
    inset: float
    """Value of that parameter."""
    least: float
    """Smallest value that the leaf can take without other changes."""
    most: float

    @property
    def least_size(self) -> float:
        """What a finger has to pass, mm."""
        return min(self.along, self.across)


def grip_of(table: Table, leaf: Part, axis: int) -> Grip | None:
    """What fingers find below a leaf that lies stowed and travels along table axis `axis`; None for nothing."""
    leaves = table.leaves
    if leaf.shape.holes:
        hole = leaf.shape.holes[0]
        inset = leaves.finger_hole_inset
        least, most = _room_for_hole(table, hole.diameter, inset)
        at = _underside(leaf, hole.u, hole.v)
        size = hole.diameter
        key = "leaves.finger_hole_inset"
        return Grip("finger hole", "hole", "drill", at, size, size, key, inset, least, most)
    pull = pull_of(leaf)
    if pull is None or not _is_below(leaf, pull):
        return None
    length, width, _ = leaf.shape.size
    (u0, u1), (v0, v1) = (max(pull.u0, 0.0), min(pull.u1, length)), (max(pull.v0, 0.0), min(pull.v1, width))
    at = _underside(leaf, (u0 + u1) / 2, (v0 + v1) / 2)
    sizes = (u1 - u0, v1 - v0) if abs(leaf.placement.axes[0, axis]) > 0.5 else (v1 - v0, u1 - u0)
    least = leaves.rim_width if leaves.rim_height > 0 else BESIDE_RECESS
    most = leaves.tray_border - leaves.pull_width - BESIDE_RECESS if leaves.tray_depth > 0 else inf
    return Grip("pull", "pull", "rout", at, *sizes, "leaves.pull_inset", leaves.pull_inset, least, most)


def pull_of(leaf: Part) -> Groove | None:
    """The recessed pull of a leaf, if it has one."""
    return next((groove for groove in leaf.shape.grooves if groove.kind == "pull"), None)


def hole_inset(table: Table, diameter: float) -> float:
    """The place for a hole of some diameter that is nearest to what the table says, mm from the outer end."""
    inset = max(table.leaves.finger_hole_inset, _least_inset(table, diameter))
    least, most = _room_for_hole(table, diameter, inset)
    return max(min(inset, most), least)


def _least_inset(table: Table, diameter: float) -> float:
    low = next(one.low or 0.0 for one in parameters(Leaves) if one.name == "finger_hole_inset")
    rim = table.leaves.rim_width + diameter / 2 + BESIDE_HOLE if table.leaves.rim_height > 0 else 0.0
    return max(diameter / 2 + WOOD_BEYOND_HOLE, low, rim)


def _room_for_hole(table: Table, diameter: float, inset: float) -> tuple[float, float]:
    """Smallest and greatest inset of a hole, mm: on the side of the tray recess's edge that it is on, if it can be."""
    least, border = _least_inset(table, diameter), table.leaves.tray_border
    reach = diameter / 2 + BESIDE_HOLE
    if table.leaves.tray_depth == 0:
        return least, inf
    if inset < border and least <= border - reach:
        return least, border - reach
    return max(least, border + reach), inf


def _underside(leaf: Part, u: float, v: float) -> Floats:
    at = leaf.placement.to_table(np.array([[u, v, 0.0], [u, v, leaf.shape.thickness]]))
    return at[at[:, 2].argmin()]


def _is_below(leaf: Part, pull: Groove) -> bool:
    """Whether the face that the pull is in is down."""
    upright = leaf.placement.axes[2, 2] > 0
    return upright == (pull.face == "front")
