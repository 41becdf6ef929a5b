"""The leaves: as cover and stowed, the ways between, end stops and the strips that carry and guide them."""

from __future__ import annotations

from typing import Literal

import numpy as np

from ...wood.assembly import Move, StowPath
from ...wood.features import EdgeTreatment, Face, Hole
from ...wood.part import Part, Placement, Shape, rectangle
from ...wood.roles import END_STOP, LEAF
from .bill import Bill
from .lanes import SIDE_LABELS, Lane, Layout
from .ribs import Standing
from .worked_face import recesses, rim_strips


def add_leaf(layout: Layout, bill: Bill, lane: Lane) -> Part:
    """One leaf stowed, u along its length; edges along its travel rounded, hole and pull near its outer end."""
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


def add_end_stop(
    layout: Layout, bill: Bill, lane: Lane, ribs: list[Standing], sides: dict[str, Part]
) -> Part | None:
    """A board across the lane behind the nose, glued to the ribs on either side; None where a side or rib does it.

    Lanes side by side with no rib between them share one.
    """
    stowing = layout.table.stowing
    if not stowing.end_stops:
        return None
    t = layout.rib_thickness
    near = lane.nose + lane.sign * stowing.stop_gap
    far = near + lane.sign * t
    if lane.sign * (lane.sign * layout.inner[lane.axis] - far) < 0:
        return None
    low, high = sorted((near, far))
    middle = (lane.lo + lane.hi) / 2
    if any(
        rib.along != lane.axis
        and rib.across()[0] < high
        and rib.across()[1] > low
        and rib.start <= middle <= rib.end
        for rib in ribs
    ):
        return None
    holders = _beside(layout, lane, (low, high), ribs, sides)
    bottom, top = _stop_height(layout, lane)
    a, b = holders[0][0], holders[1][0]
    corner_low, corner_high = [0.0, 0.0, bottom], [0.0, 0.0, top]
    corner_low[lane.axis], corner_high[lane.axis] = low, high
    corner_low[1 - lane.axis], corner_high[1 - lane.axis] = a, b
    along = "+y" if lane.axis == 0 else "+x"
    box = ((corner_low[0], corner_low[1], bottom), (corner_high[0], corner_high[1], top))
    for shared in bill.parts:
        if shared.role == END_STOP and bill.boxes[shared.label] == box:
            return shared
    stock = layout.stocks[layout.table.ribs.stock]
    stop = bill.add_box(END_STOP, "end stop", stock, box, along, "+z", of=lane.leaf)
    bill.join(stop, holders[0][1], "butt", "start")
    bill.join(stop, holders[1][1], "butt", "end")
    return stop


def _stop_height(layout: Layout, lane: Lane) -> tuple[float, float]:
    """From the body's lower edge to the slot's top, or, above leaves that cross below, over the slot's height alone."""
    crossed_below = any(other.slot_top <= lane.slot_bottom for other in layout.lanes)
    return (lane.slot_bottom if crossed_below else layout.body_bottom), lane.slot_top


def _beside(
    layout: Layout, lane: Lane, span: tuple[float, float], ribs: list[Standing], sides: dict[str, Part]
) -> tuple[tuple[float, Part], tuple[float, Part]]:
    """Nearest faces below and above the lane, on the axis across it, of ribs that run past `span`, or of the sides."""
    wall = layout.inner[1 - lane.axis]
    names = ("left", "right") if lane.axis == 1 else ("front", "back")
    below, above = (-wall, sides[names[0]]), (wall, sides[names[1]])
    for rib in ribs:
        if rib.along != lane.axis or rib.start > span[0] or rib.end < span[1]:
            continue
        low, high = rib.across()
        if high <= lane.lo and high > below[0]:
            below = (high, rib.part)
        if low >= lane.hi and low < above[0]:
            above = (low, rib.part)
    return below, above
