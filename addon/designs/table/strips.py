"""What carries, guides and stops the leaves between the ribs, and what holds these.

Runners are under a leaf's way, kickers above it and guides beside it, bay by bay; end stops stand behind its nose,
corner blocks where its window takes the end of a rib.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from typing import Final

from ...wood.features import Opening
from ...wood.part import Part
from ...wood.roles import BLOCK, END_STOP, GUIDE, KICKER, LEG, RUNNER, SIDE, Role
from .bill import Bill, Box, LeadIn, boxes_meet
from .lanes import Interval, Lane, Layout, overlap
from .refusals import LEAST_STRIP
from .ribs import Standing

BLOCK_LENGTH: Final = 60.0
"""Of a block along the rib, mm (common practice, no source)."""
LEAST_BLOCK: Final = 12.0
"""A lower block holds no screw, mm (common practice, no source)."""
BELOW_SILL: Final = 12.0
"""How far a block stays below a leaf's sill, mm: no nose that the sill's chamfer catches meets it (common practice, no
source)."""


def add_strips(
    layout: Layout, bill: Bill, ribs: list[Standing], sides: dict[str, Part], bottom: Part
) -> None:
    """Strips in every bay where nothing else passes or stands, joined to what they butt against.

    Kickers of leaves whose windows are open above hang under the bottom panel and run through those windows.
    """
    stowing, stock = layout.table.stowing, layout.stocks[layout.table.ribs.stock]
    fitted = {RUNNER: stowing.runners, KICKER: stowing.kickers, GUIDE: stowing.guides}
    taken = [bill.box_of(part) for part in bill.parts if part.role in (END_STOP, LEG, BLOCK)]
    taken += [*layout.lane_boxes, *given_boxes(bill)]
    for lane in layout.lanes:
        others = [box for box in taken if box != lane.box]
        if lane.open_above:
            taken += _hang_kickers(layout, bill, lane, sides, bottom, others)
        for (start, a), (end, b) in _bays(layout, lane, ribs, sides):
            for role, lateral, heights in _sections(layout, lane, ribs, (start, end)):
                if not fitted[role] or (role == KICKER and lane.open_above):
                    continue
                box = _box(lane.axis, (start, end), lateral, heights)
                lead_in = _lead_in(layout, lane, role, lateral, heights)
                flat = end - start - 2 * lead_in.size
                if min(heights[1] - heights[0], flat) < LEAST_STRIP or any(
                    boxes_meet(box, other) for other in others
                ):
                    continue
                u = "+x" if lane.axis == 0 else "+y"
                strip = bill.add_box(role, role.one, stock, box, u, "+z", lead_in, of=lane.leaf)
                bill.join(strip, a, "butt", "start")
                bill.join(strip, b, "butt", "end")
                taken.append(box)
                others.append(box)


def given_boxes(bill: Bill) -> list[Box]:
    """The boxes around the maker's own parts, for which all else makes way."""
    return [bill.box_of(part) for part in bill.parts if part.given]


def _hang_kickers(
    layout: Layout, bill: Bill, lane: Lane, sides: dict[str, Part], bottom: Part, others: list[Box]
) -> list[Box]:
    """A kicker along either edge of the leaf, from its side's inner face to its nose; the boxes that they fill."""
    stowing = layout.table.stowing
    wall = -lane.sign * layout.inner[lane.axis]
    run = (min(wall, lane.nose), max(wall, lane.nose))
    heights = (lane.slot_top, layout.panel_bottom)
    boxes: list[Box] = []
    for lateral in ((lane.lo, lane.lo + stowing.strip_width), (lane.hi - stowing.strip_width, lane.hi)):
        box = _box(lane.axis, run, lateral, heights)
        if any(boxes_meet(box, other) for other in others):
            continue
        u = "+x" if lane.axis == 0 else "+y"
        lead_in = _lead_in(layout, lane, KICKER, lateral, heights)
        stock = layout.stocks[layout.table.ribs.stock]
        strip = bill.add_box(KICKER, KICKER.one, stock, box, u, "+z", lead_in, of=lane.leaf)
        bill.join(strip, bottom, "face")
        bill.join(strip, sides[lane.side], "butt", "start" if lane.sign > 0 else "end")
        boxes.append(box)
    return boxes


def _lead_in(layout: Layout, lane: Lane, role: Role, lateral: Interval, heights: Interval) -> LeadIn:
    """Chamfered ends as those of the windows that the strip leads to; at most a third of the strip."""
    size = layout.table.ribs.window_chamfer
    if role != GUIDE:
        size = min(size, (heights[1] - heights[0]) / 3)
        return LeadIn(size, "upper edge" if role == RUNNER else "lower edge")
    below_lane = lateral[1] <= lane.lo
    # A strip along x has its front at the greater y, one along y at the smaller x.
    looks_up = "front" if lane.axis == 0 else "back"
    looks_down = "back" if lane.axis == 0 else "front"
    return LeadIn(min(size, (lateral[1] - lateral[0]) / 3), looks_up if below_lane else looks_down)


def _bays(
    layout: Layout, lane: Lane, ribs: list[Standing], sides: dict[str, Part]
) -> list[tuple[tuple[float, Part], tuple[float, Part]]]:
    """(face, part) at either end of each bay that the lane passes, along its travel, from low to high."""
    wall = layout.inner[lane.axis]
    names = ("left", "right") if lane.axis == 0 else ("front", "back")
    crossing = sorted(
        (rib for rib in ribs if rib.along != lane.axis and overlap((rib.start, rib.end), lane.passage)),
        key=lambda rib: rib.at,
    )
    faces: list[tuple[float, Part]] = [(-wall, sides[names[0]])]
    for rib in crossing:
        low, high = rib.across()
        faces += [(low, rib.part), (high, rib.part)]
    faces.append((wall, sides[names[1]]))
    bays = list(zip(faces[::2], faces[1::2], strict=True))
    return [bay for bay in bays if overlap((bay[0][0], bay[1][0]), lane.home)]


def _sections(
    layout: Layout, lane: Lane, ribs: list[Standing], span: Interval
) -> list[tuple[Role, Interval, Interval]]:
    """Role, extent across the travel and height of each strip of one bay."""
    stowing = layout.table.stowing
    width, height = stowing.strip_width, stowing.strip_height
    low, high = lane.passage
    below = (max(lane.slot_bottom - height, layout.body_bottom), lane.slot_bottom)
    above = (lane.slot_top, min(lane.slot_top + height, layout.panel_bottom))
    sections: list[tuple[Role, Interval, Interval]] = []
    for edge in ((low, low + width), (high - width, high)):
        sections.append((RUNNER, edge, below))
        sections.append((KICKER, edge, above))
    for edge in ((low - width, low), (high, high + width)):
        if (
            not _rib_within(ribs, lane.axis, edge, span)
            and max(-edge[0], edge[1]) <= layout.inner[1 - lane.axis]
        ):
            sections.append((GUIDE, edge, (lane.slot_bottom, lane.slot_top)))
    return sections


def _rib_within(ribs: list[Standing], along: int, edge: Interval, span: Interval) -> bool:
    return any(
        rib.along == along and overlap(rib.across(), edge) and overlap((rib.start, rib.end), span)
        for rib in ribs
    )


# -- end stops


def add_end_stop(
    layout: Layout, bill: Bill, lane: Lane, ribs: list[Standing], sides: dict[str, Part]
) -> Part | None:
    """A board across the lane behind the nose, glued to the ribs on either side; None where a side or rib does it.

    It stands behind a rib in whose window the nose ends.

    Lanes side by side with no rib between them share one.
    """
    stowing = layout.table.stowing
    if not stowing.end_stops:
        return None
    t = layout.rib_thickness
    near = lane.nose + lane.sign * stowing.stop_gap
    far = near + lane.sign * t
    for rib in ribs:
        across = rib.across()
        if (
            rib.along == lane.axis
            or not rib.start <= lane.center <= rib.end
            or not overlap(across, _span(near, far))
        ):
            continue
        if not overlap(lane.reach, across):
            return None
        near = max(across, key=lambda face: lane.sign * face)  # the nose stands in this rib's window
        far = near + lane.sign * t
    if lane.sign * (lane.sign * layout.inner[lane.axis] - far) < 0:
        return None
    low, high = _span(near, far)
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
    if any(boxes_meet(box, given) for given in given_boxes(bill)):
        return None  # what the maker gave stays; the check says what stops the leaf
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


# -- corner blocks


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
    along = (rib.start, rib.start + BLOCK_LENGTH) if at_start else (rib.end - BLOCK_LENGTH, rib.end)
    bar_top = layout.body_bottom + opening.v0
    taken = [bill.box_of(part) for part in bill.parts if part is not rib.part and part.role != SIDE]
    (sign,) = {lane.sign for lane in layout.lanes if lane.leaf == opening.leaf}
    faces = [*zip(rib.across(), (-1, 1), strict=True)][::-sign]
    for top, (face, outward) in product(_tops(layout, bar_top), faces):
        beside = _span(face, face + outward * layout.rib_thickness)
        box = _box(rib.along, along, beside, (layout.body_bottom, top))
        if rib.end - rib.start < BLOCK_LENGTH or any(
            boxes_meet(box, other) for other in taken + layout.lane_boxes
        ):
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
    tops = {bar_top - BELOW_SILL} | {
        lane.slot_bottom - BELOW_SILL for lane in layout.lanes if lane.slot_bottom < bar_top
    }
    yield from sorted((top for top in tops if top - layout.body_bottom >= LEAST_BLOCK), reverse=True)


def _span(a: float, b: float) -> Interval:
    return min(a, b), max(a, b)


def _box(axis: int, along: Interval, lateral: Interval, heights: Interval) -> Box:
    if axis == 0:
        return (along[0], lateral[0], heights[0]), (along[1], lateral[1], heights[1])
    return (lateral[0], along[0], heights[0]), (lateral[1], along[1], heights[1])
