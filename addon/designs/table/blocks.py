"""Corner blocks: where a window that is open above takes the end of a rib, its bar is screwed to the next board."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from typing import Final

from ...wood.features import Opening
from ...wood.part import Part
from ...wood.roles import BLOCK, SIDE
from .bill import Bill, Box, boxes_meet
from .lanes import Interval, Layout
from .ribs import Standing

LENGTH: Final = 60.0
"""Of a block along the rib, mm (common practice, no source)."""
LEAST_HEIGHT: Final = 12.0
"""A lower block holds no screw, mm (common practice, no source)."""
BELOW: Final = 12.0
"""How far a block stays below a leaf's sill, mm: no nose that the sill's chamfer catches meets it (common practice, no
source)."""


def add_blocks(layout: Layout, bill: Bill, ribs: list[Standing]) -> list[Part]:
    """One block in the corner between each such bar and the board that it butts on, on whichever face it has room: if
    it can be, the one that the leaf comes to last.

    It is almost as high as the bar, or as what leaves that cross below leave of that. Where there is no room on either
    face there is none: the check says so.
    """
    blocks: list[Part] = []
    for rib in ribs:
        for opening in rib.part.shape.openings:
            if opening.open_above and opening.open_end is not None:
                block = _block(layout, bill, rib, opening)
                blocks += [block] if block is not None else []
    return blocks


def _block(layout: Layout, bill: Bill, rib: Standing, opening: Opening) -> Part | None:
    at_start = opening.open_end == "start"
    along = (rib.start, rib.start + LENGTH) if at_start else (rib.end - LENGTH, rib.end)
    bar_top = layout.body_bottom + opening.v0
    taken = [bill.box_of(part) for part in bill.parts if part is not rib.part and part.role != SIDE]
    (sign,) = {lane.sign for lane in layout.lanes if lane.leaf == opening.leaf}
    faces = [*zip(rib.across(), (-1, 1), strict=True)][::-sign]
    for top, (face, outward) in product(_tops(layout, bar_top), faces):
        beside = _span(face, face + outward * layout.rib_thickness)
        box = _box(rib.along, along, beside, (layout.body_bottom, top))
        if rib.end - rib.start < LENGTH or any(boxes_meet(box, other) for other in taken + layout.lane_boxes):
            continue
        u = "+x" if rib.along == 0 else "+y"
        stock = layout.stocks[layout.table.ribs.stock]
        block = bill.add_box(BLOCK, "corner block", stock, box, u, "+z", of=rib.part.label)
        bill.join(block, rib.part, "face", fastening="screw")
        end = "start" if at_start else "end"
        holder = next(joint.b for joint in bill.joints if (joint.a, joint.part_end) == (rib.part.label, end))
        bill.join(block, bill.part(holder), "butt", end, fastening="screw")
        return block
    return None


def _tops(layout: Layout, bar_top: float) -> Iterator[float]:
    """Heights that a block may have, the highest first, mm."""
    tops = {bar_top - BELOW} | {
        lane.slot_bottom - BELOW for lane in layout.lanes if lane.slot_bottom < bar_top
    }
    yield from sorted((top for top in tops if top - layout.body_bottom >= LEAST_HEIGHT), reverse=True)


def _span(a: float, b: float) -> Interval:
    return min(a, b), max(a, b)


def _box(axis: int, along: Interval, beside: Interval, heights: Interval) -> Box:
    (a0, a1), (b0, b1), (z0, z1) = along, beside, heights
    return ((a0, b0, z0), (a1, b1, z1)) if axis == 0 else ((b0, a0, z0), (b1, a1, z1))
