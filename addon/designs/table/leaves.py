"""The leaves: as cover and stowed, the ways between, and their worked face: the rim glued onto it, the tray recess
and the recessed pull routed into it.

A leaf with a rim is drawn as one board as thick as both, less the field that the strips enclose: the same solid.
Recesses are drawn with square corners; a router bit leaves them round, which changes no clearance.
"""

from __future__ import annotations

from typing import Literal

import numpy as np

from ...wood.assembly import Move, StowPath
from ...wood.features import EdgeTreatment, Face, Groove, Hole
from ...wood.part import GluedStrip, Part, Placement, Shape, rectangle
from ...wood.roles import LEAF
from .bill import Bill
from .lanes import SIDE_LABELS, Lane, Layout
from .parameters import Leaves, Table
from .refusals import BESIDE_HOLE, at_least, at_most, refuse, size

UNDER_RECESS = 4.0
"""Least wood under a tray recess or a pull, mm (common practice, no source)."""

BESIDE_RECESS = 1.0
"""Least wood between a recess and what is next to it, mm (common practice, no source)."""

LEAST_INSIDE = 10.0
"""A field or tray recess narrower than this is no recess but a groove, mm (common practice, no source)."""

LEAST_DEPTH = 0.1
"""A shallower recess or lower rim is none, mm (common practice, no source)."""

RUN_OUT = 1.0
"""How far a pull that runs out of the leaf's end is drawn past it, mm."""


def add_leaf(layout: Layout, bill: Bill, lane: Lane) -> Part:
    """One leaf stowed, u along its length; edges along its travel rounded, hole and pull near its outer end."""
    layout = layout.of_leaf(lane.index)
    leaves = layout.table.leaves
    length, width, t = layout.leaf_size
    lengthwise = _lengthwise(lane, length)
    home = _home(lane, lengthwise, lane.leaf_bottom + t if leaves.turned_over else None)
    shape = Shape(
        rectangle(length, width),
        t,
        (
            *recesses(layout, lane, lengthwise),
            *_finger_hole(layout, lane, lengthwise),
            *_eased_edges(layout, lane, lengthwise, home),
        ),
    )
    strips = rim_strips(layout)
    return bill.add(LEAF, "cover leaf", layout.stocks[leaves.stock], shape, home, strips)


def _eased_edges(layout: Layout, lane: Lane, lengthwise: bool, home: Placement) -> tuple[EdgeTreatment, ...]:
    """Round-overs of the edges along the travel, and the chamfer of the end that goes in first, on both faces."""
    leaves = layout.table.leaves
    along, across = home.axes[0 if lengthwise else 1][lane.axis], (1, 3) if lengthwise else (2, 0)
    leading = across[0] if along * lane.sign > 0 else across[1]
    treatments: list[tuple[int, Literal["chamfer", "round-over"], float]] = []
    for edge in ((0, 2) if lengthwise else (1, 3)) if leaves.edge_radius > 0 else ():
        treatments.append((edge, "round-over", leaves.edge_radius))
    if leaves.lead_chamfer > 0:
        treatments.append((leading, "chamfer", leaves.lead_chamfer))
    faces: tuple[Face, ...] = ("front", "back")
    return tuple(EdgeTreatment(edge, face, kind, size) for edge, kind, size in treatments for face in faces)


def _lengthwise(lane: Lane, length: float) -> bool:
    return abs(abs(lane.nose - lane.outer) - length) < 1e-6


def _finger_hole(layout: Layout, lane: Lane, lengthwise: bool) -> tuple[Hole, ...]:
    leaves = layout.table.leaves
    length, width, _ = layout.leaf_size
    if leaves.finger_hole == 0:
        return ()
    travel, lateral = (length, width) if lengthwise else (width, length)
    along = lane.from_outer_end(leaves.finger_hole_inset, travel, lengthwise)
    u, v = (along, lateral / 2) if lengthwise else (lateral / 2, along)
    return (Hole(u, v, leaves.finger_hole),)


def _home(lane: Lane, lengthwise: bool, turned_top: float | None) -> Placement:
    """Leaf with its length along y: v runs to -x; along x: v runs to +y.

    The upper face stays up, or, with `turned_top` (the upside's height), lies down: the leaf is turned about its way,
    so that what is at its outer end stays there.
    """
    bottom, along_y = lane.leaf_bottom, (lane.axis == 1) == lengthwise
    start, stop = sorted(lane.home)
    low, high = ((lane.lo, start), (lane.hi, stop)) if lane.axis == 1 else ((start, lane.lo), (stop, lane.hi))
    if turned_top is None:
        if along_y:
            return Placement.along("+y", "-x", (high[0], low[1], bottom))
        return Placement.along("+x", "+y", (low[0], low[1], bottom))
    if along_y and lengthwise:
        return Placement.along("+y", "+x", (low[0], low[1], turned_top))
    if along_y:
        return Placement.along("-y", "-x", (high[0], high[1], turned_top))
    if lengthwise:
        return Placement.along("+x", "-y", (low[0], high[1], turned_top))
    return Placement.along("-x", "+y", (high[0], low[1], turned_top))


def cover_placement(layout: Layout, index: int) -> Placement:
    """Where leaf number `index` lies as part of the table's top."""
    leaves = layout.table.leaves
    length, width, _ = layout.leaf_size
    covered = leaves.count * (width + leaves.gap) + leaves.gap
    low = -covered / 2 + leaves.gap + index * (width + leaves.gap)
    if leaves.direction == "across":
        return Placement.along("+y", "-x", (low + width, -length / 2, layout.cover_bottom))
    return Placement.along("+x", "+y", (-length / 2, low, layout.cover_bottom))


def stow_path(layout: Layout, lane: Lane, end_stop: str | None) -> StowPath:
    """One straight move: from `approach` before the slot, nose first, to home."""
    inward = np.zeros(3)
    inward[lane.axis] = lane.sign
    approach = layout.table.stowing.approach
    distance = abs(lane.nose - lane.slot_face) + approach
    move = Move(-inward * distance, np.zeros(3))
    return StowPath(lane.leaf, SIDE_LABELS[lane.side], (move,), approach, -inward, end_stop, lane.index)


# -- the worked face


def rim_strips(layout: Layout) -> tuple[GluedStrip, ...]:
    """The strips of one leaf's rim: two along its length, two between them."""
    leaves = layout.table.leaves
    if leaves.rim_height == 0:
        return ()
    length, width, _ = layout.leaf_size
    between = width - 2 * leaves.rim_width
    return (
        GluedStrip(length, leaves.rim_width, leaves.rim_height, 2),
        GluedStrip(between, leaves.rim_width, leaves.rim_height, 2),
    )


def recesses(layout: Layout, lane: Lane, lengthwise: bool) -> tuple[Groove, ...]:
    """What is lower than the rest of the worked face: the field within the rim, the tray recess, the pull."""
    leaves = layout.table.leaves
    face: Face = "back" if leaves.face == "upper" else "front"
    length, width, _ = layout.leaf_size
    found = []
    if leaves.rim_height > 0:
        rim = leaves.rim_width
        found.append(Groove(rim, length - rim, rim, width - rim, leaves.rim_height, face, "field"))
    if leaves.tray_depth > 0:
        border, depth = leaves.tray_border, leaves.rim_height + leaves.tray_depth
        found += [
            Groove(start, stop, border, width - border, depth, face, "tray")
            for start, stop in _between_dividers(layout)
        ]
    if leaves.pull_length > 0:
        found.append(_pull(layout, lane, lengthwise, face))
    return tuple(found)


def _between_dividers(layout: Layout) -> list[tuple[float, float]]:
    """From where to where along the leaf's length each compartment of its tray recess goes, all alike, mm."""
    leaves, length = layout.table.leaves, layout.leaf_size[0]
    count, wall = leaves.tray_dividers, leaves.divider_width
    size = (length - 2 * leaves.tray_border - count * wall) / (count + 1)
    starts = [leaves.tray_border + number * (size + wall) for number in range(count + 1)]
    return [(start, start + size) for start in starts]


def _pull(layout: Layout, lane: Lane, lengthwise: bool, face: Face) -> Groove:
    leaves = layout.table.leaves
    length, width, _ = layout.leaf_size
    travel, lateral = (length, width) if lengthwise else (width, length)
    places = (leaves.pull_inset or -RUN_OUT, leaves.pull_inset + leaves.pull_width)
    ends = sorted(lane.from_outer_end(place, travel, lengthwise) for place in places)
    beside = (lateral - leaves.pull_length) / 2, (lateral + leaves.pull_length) / 2
    (u0, u1), (v0, v1) = (ends, beside) if lengthwise else (beside, ends)
    return Groove(u0, u1, v0, v1, leaves.rim_height + leaves.pull_depth, face, "pull")


# -- what cannot be built


def check_worked_face(layout: Layout, lane: Lane) -> None:
    """Refuse a rim and recesses that a leaf cannot hold or that run into one another.

    Parameters
    ----------
    layout : with the parameters of that leaf
    """
    leaves = layout.table.leaves
    if leaves.rim_height > 0:
        _check_rim(layout)
    if leaves.tray_depth > 0:
        _check_tray(layout)
    if leaves.finger_hole > 0 and leaves.rim_height > 0:
        _check_hole_in_rim(layout, lane)
    if leaves.finger_hole > 0 and leaves.tray_depth > 0:
        _check_hole_at_tray(layout, lane)
    if leaves.pull_length > 0:
        _check_pull(layout, lane)


def _least(table: Table, name: str, limit: float, reason: str) -> None:
    value = getattr(table.leaves, name)
    if value < limit:
        refuse(table, f"leaves.{name}", value, at_least(table, limit), reason)


def _most(table: Table, name: str, limit: float, reason: str) -> None:
    value = getattr(table.leaves, name)
    if value > limit:
        refuse(table, f"leaves.{name}", value, at_most(table, limit), reason)


def _board(layout: Layout) -> float:
    """Thickness of a leaf without its rim, mm."""
    return layout.leaf_size[2] - layout.table.leaves.rim_height


def _flat_from(leaves: Leaves) -> float:
    """Where the field begins, from the leaf's edges, mm."""
    eased = max(leaves.edge_radius, leaves.lead_chamfer) + BESIDE_RECESS
    return max(leaves.rim_width, eased) if leaves.rim_height > 0 else eased


def _widest_border(layout: Layout) -> float:
    return (min(layout.leaf_size[:2]) - LEAST_INSIDE) / 2


def _check_rim(layout: Layout) -> None:
    table, leaves = layout.table, layout.table.leaves
    _least(table, "rim_height", LEAST_DEPTH, "a lower rim holds nothing back; 0 leaves it out")
    eased = max(leaves.edge_radius, leaves.lead_chamfer)
    _least(table, "rim_width", eased + BESIDE_RECESS, "its eased edges would take the rim away")
    _most(table, "rim_width", _widest_border(layout), "the strips of both edges would meet")
    if leaves.face == "lower" and leaves.cover_length is not None:
        reason = "on their rims the leaves would stand above the fixed top boards"
        refuse(table, "leaves.face", leaves.face, "'upper', or leaves that cover all of the well", reason)


def _check_tray(layout: Layout) -> None:
    table, leaves = layout.table, layout.table.leaves
    _least(table, "tray_depth", LEAST_DEPTH, "a shallower recess holds nothing; 0 leaves it out")
    reason = f"{size(table, UNDER_RECESS)} of the leaf must stay under the tray recess"
    _most(table, "tray_depth", _board(layout) - UNDER_RECESS, reason)
    edge = "rim" if leaves.rim_height > 0 else "eased edges"
    _least(table, "tray_border", _flat_from(leaves), f"the tray recess would run into the {edge}")
    _most(table, "tray_border", _widest_border(layout), "nothing would be left of the tray recess")
    room = layout.leaf_size[0] - 2 * leaves.tray_border
    most = int((room - LEAST_INSIDE) / (leaves.divider_width + LEAST_INSIDE))
    if leaves.tray_dividers > most:
        reason = "nothing would be left of the compartments between them"
        refuse(table, "leaves.tray_dividers", str(leaves.tray_dividers), f"at most {most}", reason)


def _check_hole_in_rim(layout: Layout, lane: Lane) -> None:
    table, leaves = layout.table, layout.table.leaves
    reach = leaves.finger_hole / 2 + BESIDE_HOLE
    reason = f"the finger hole of {lane.leaf} would run into the rim"
    _least(table, "finger_hole_inset", leaves.rim_width + reach, reason)
    farthest = abs(lane.nose - lane.outer) - leaves.rim_width - reach
    _most(table, "finger_hole_inset", farthest, reason)
    _most(table, "rim_width", (lane.hi - lane.lo) / 2 - reach, reason)


def _check_hole_at_tray(layout: Layout, lane: Lane) -> None:
    """The hole lies in the border or in the tray recess, clear of its edge."""
    table, leaves = layout.table, layout.table.leaves
    inset, border, reach = leaves.finger_hole_inset, leaves.tray_border, leaves.finger_hole / 2 + BESIDE_HOLE
    far = abs(lane.nose - lane.outer) - border
    if leaves.tray_dividers > 0:
        lengthwise = _lengthwise(lane, layout.leaf_size[0])
        walls = [stop for _, stop in _between_dividers(layout)[:-1]]
        along = inset if lengthwise else layout.leaf_size[0] / 2
        if any(wall - reach < along < wall + leaves.divider_width + reach for wall in walls):
            reason = f"the finger hole of {lane.leaf} would run into a divider of the tray recess"
            refuse(table, "leaves.tray_dividers", str(leaves.tray_dividers), "another number", reason)
    if inset <= border - reach or inset >= far + reach:
        return
    if border + reach <= min(inset, (lane.hi - lane.lo) / 2) and inset <= far - reach:
        return
    allowed = f"{at_most(table, border - reach)}, or {at_least(table, border + reach)}"
    reason = f"the finger hole of {lane.leaf} would run into the edge of the tray recess"
    refuse(table, "leaves.finger_hole_inset", inset, allowed, reason)


def _check_pull(layout: Layout, lane: Lane) -> None:
    """The pull lies in the field, clear of tray recess and finger hole."""
    table, leaves = layout.table, layout.table.leaves
    reason = f"{size(table, UNDER_RECESS)} of the leaf must stay under the pull"
    _most(table, "pull_depth", _board(layout) - UNDER_RECESS, reason)
    _least(table, "pull_length", LEAST_INSIDE, "no finger gets into it; 0 leaves it out")
    rim = leaves.rim_width if leaves.rim_height > 0 else 0.0
    edge = "rim" if rim else "eased edges"
    widest = lane.hi - lane.lo - 2 * _flat_from(leaves)
    _most(table, "pull_length", widest, f"the pull of {lane.leaf} would run into the {edge}")
    if rim:
        _least(table, "pull_inset", rim, f"the pull of {lane.leaf} would run into the rim")
    elif 0 < leaves.pull_inset < BESIDE_RECESS:
        allowed = f"0, or {at_least(table, BESIDE_RECESS)}"
        reason = "too little wood would stay before the pull"
        refuse(table, "leaves.pull_inset", leaves.pull_inset, allowed, reason)
    farthest = abs(lane.nose - lane.outer) - leaves.pull_width - _flat_from(leaves)
    _most(table, "pull_inset", farthest, f"the pull would run out of {lane.leaf}")
    if leaves.tray_depth > 0:
        least = leaves.pull_inset + leaves.pull_width + BESIDE_RECESS
        _least(table, "tray_border", least, "the pull would run into the tray recess")
    if leaves.finger_hole > 0:
        _check_pull_beside_hole(table)


def _check_pull_beside_hole(table: Table) -> None:
    leaves = table.leaves
    reach = leaves.finger_hole / 2 + BESIDE_HOLE
    before = leaves.finger_hole_inset - reach - leaves.pull_width
    beyond = leaves.finger_hole_inset + reach
    if before < leaves.pull_inset < beyond:
        allowed = at_least(table, beyond)
        if before >= BESIDE_RECESS:
            allowed = f"{at_most(table, before)}, or {allowed}"
        reason = "the pull would run into the finger hole"
        refuse(table, "leaves.pull_inset", leaves.pull_inset, allowed, reason)
