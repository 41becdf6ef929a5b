"""Reserved spaces reckoned with plain boxes, and such spaces put where they are in the way: a tray in a leaf's way, a
cable across a slot, a board of the maker's own that a rib runs across.

A space is a box, a straight cable along an axis a box that is round across: it is out of another box where it is moved
along the axis on which that takes least.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from addon.designs.table.build import build
from addon.designs.table.own_parameters import OwnPart
from addon.sizes.errors import DryAssemblyError
from addon.wood.reserved import Reserved
from defects import Case, Kind, some_amount
from plain_boxes import SLIVER, PlainTable

if TYPE_CHECKING:
    from random import Random

    from numpy.typing import NDArray

    from addon.designs.table.parameters import Table
    from addon.wood.assembly import Assembly, StowPath
    from addon.wood.part import Part

    Floats = NDArray[np.float64]

Fault = tuple[str, frozenset[str], str]

BEFORE = 12.0
"""From the outer face of a slot to a space before it, mm; leaves come from farther out."""


def space_faults(table: Table, boxes: PlainTable) -> dict[Fault, float]:
    """Leaves that pass through a reserved space, and boards that stand in one, with how deep, mm."""
    found: dict[Fault, float] = {}
    for number, entry in enumerate(table.reserved):
        label, (low, high) = f"RES{number + 1}", _box(entry)
        for path in boxes.assembly.stow_paths:
            depth = _depth((low, high), boxes.sweep(path.leaf))
            if depth > SLIVER and entry.leaf != path.leaf:
                found["space-crossed", frozenset((label, path.leaf)), ""] = depth
        for board, cells in boxes.wood.items():
            if boxes.boards[board].part.role.word != "leaf":
                depth = _depth((low, high), cells)
                if depth > SLIVER:
                    found["space-taken", frozenset((label, board)), ""] = depth
    return found


def _box(entry: Reserved) -> tuple[Floats, Floats]:
    points = np.array(entry.points, dtype=float)
    low, high = points.min(axis=0), points.max(axis=0)
    if entry.form == "cable":
        thick = np.where(high - low > SLIVER, 0.0, entry.diameter / 2)
        low, high = low - thick, high + thick
    return low, high


def _depth(one: tuple[Floats, Floats], cells: tuple[Floats, Floats]) -> float:
    """The least that a box has to be moved along an axis to be out of the worst of some boxes, mm."""
    out = np.minimum(one[1] - cells[0], cells[1] - one[0]).min(axis=1)
    return float(out.max())


def _before(
    path: StowPath, table: Table, drawn: Assembly, aside: float, out: float
) -> tuple[Floats, Floats, int]:
    """A place before the slot of a leaf: its point at the height of the leaf's underside, the leaf's upper corner, and
    the axis of its way.

    Parameters
    ----------
    aside : where across the leaf, as a share of its width
    out : of the slot's outer face, mm
    """
    low, high = drawn.by_label[path.leaf].box
    axis = int(np.abs(path.outward).argmax())
    at = np.array(low, dtype=float)
    half = (table.table.length if axis == 0 else table.table.width) / 2
    at[axis] = float(path.outward[axis]) * (half + out)
    at[1 - axis] = low[1 - axis] + aside * (high[1 - axis] - low[1 - axis])
    return at, np.asarray(high, dtype=float), axis


def tray(random: Random, table: Table, drawn: Assembly) -> Reserved | None:
    """A small box that reaches into a leaf's way from below."""
    if not drawn.stow_paths:
        return None
    at, _, _ = _before(random.choice(drawn.stow_paths), table, drawn, random.choice((0.2, 0.8)), BEFORE)
    x, y = ((float(one) - 4.0, float(one) + 4.0) for one in at[:2])
    return Reserved("pin tray", "box", x, y, (float(at[2]) - 2.0, float(at[2]) + some_amount(random)))


def cable(random: Random, table: Table, drawn: Assembly) -> Reserved | None:
    """A cable across a slot, somewhere in the leaf's thickness."""
    if not drawn.stow_paths:
        return None
    path = random.choice(drawn.stow_paths)
    at, high, axis = _before(path, table, drawn, 0.0, BEFORE)
    z = random.uniform(float(at[2]), float(high[2]))
    ends = [(float(at[axis]),) * 2, (float(at[1 - axis]) - 20.0, float(high[1 - axis]) + 20.0)]
    x, y = ends if axis == 0 else ends[::-1]
    return Reserved("lamp cable", "cable", x, y, (z, z), diameter=6.0)


@dataclass(frozen=True)
class ReservedSpace(Kind):
    """A reserved space in the way."""

    def inject(self, random: Random, table: Table, drawn: Assembly, boxes: PlainTable) -> Case | None:
        """The table with it; None where no leaf slides."""
        entry = (cable if self.dimension == "cable" else tray)(random, table, drawn)
        return None if entry is None else Case(self.name, replace(table, reserved=(entry,)), boxes)


@dataclass(frozen=True)
class AcrossGiven(Kind):
    """A board of the maker's own where a rib runs: what is generated runs across what is given."""

    def inject(self, random: Random, table: Table, drawn: Assembly, boxes: PlainTable) -> Case | None:  # noqa: ARG002
        """The table with it; None where there is no rib, or the board cannot stand there."""
        ribs, panels, by = drawn.with_role("rib"), drawn.with_role("bottom"), some_amount(random)
        places = [(rib, share) for rib in ribs for share in (0.2, 0.5, 0.8)]
        for rib, share in random.sample(places, min(_TRIED, len(places))) if panels else ():
            found = self._at(table, rib, panels[0], share, by)
            if found is not None:
                return found
        return None

    def _at(self, table: Table, rib: Part, panel: Part, share: float, by: float) -> Case | None:
        """The table with a board across a rib; None where it cannot stand there, or is in a leaf's way."""
        low, high = rib.box
        along = int((high - low)[:2].argmax())
        if by >= high[1 - along] - low[1 - along]:
            return None
        corner = np.array([*(low[:2] + share * (high[:2] - low[:2])), panel.box[0][2] - 20.0])
        corner[1 - along] = high[1 - along] - by
        given = OwnPart(
            "divider", stock=table.ribs.stock, length=30.0, width=20.0, length_along="+x" if along == 0 else "+y",
            width_along="+z", x=float(corner[0]), y=float(corner[1]), z=float(corner[2]), joined_to=panel.label,
        )  # fmt: skip
        changed = replace(table, own_part=(given,))
        try:
            boxes = PlainTable(build(changed))
        except DryAssemblyError:
            return None
        label = next(part.label for part in boxes.assembly.parts if part.given)
        near = [boxes.gaps(path.leaf)[label] for path in boxes.assembly.stow_paths]
        return Case(self.name, changed, boxes) if min(near, default=by) > table.limits.min_clearance else None


_TRIED = 8
"""Places along ribs that are tried for a board."""


SPACES: tuple[Kind, ...] = (
    ReservedSpace("tray in a leaf's way", (), "tray"),
    ReservedSpace("cable across a slot", (), "cable"),
    AcrossGiven("rib across a board given", (), ""),
)
