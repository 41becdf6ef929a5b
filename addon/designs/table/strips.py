"""Runners under a leaf's way, kickers above it and guides beside it, bay by bay between ribs."""

from __future__ import annotations

from ...wood.part import Part
from ...wood.roles import BLOCK, END_STOP, GUIDE, KICKER, LEG, RUNNER, Role
from .bill import Bill, Box, LeadIn, boxes_meet
from .lanes import Interval, Lane, Layout, overlap
from .refusals import LEAST_STRIP
from .ribs import Standing


def add_strips(
    layout: Layout, bill: Bill, ribs: list[Standing], sides: dict[str, Part], bottom: Part
) -> None:
    """Strips in every bay where nothing else passes or stands, joined to what they butt against.

    Kickers of leaves whose windows are open above hang under the bottom panel and run through those windows.
    """
    stowing, stock = layout.table.stowing, layout.stocks[layout.table.ribs.stock]
    fitted = {RUNNER: stowing.runners, KICKER: stowing.kickers, GUIDE: stowing.guides}
    taken = [bill.box_of(part) for part in bill.parts if part.role in (END_STOP, LEG, BLOCK)]
    taken += layout.lane_boxes
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


def _box(axis: int, along: Interval, lateral: Interval, heights: Interval) -> Box:
    if axis == 0:
        return (along[0], lateral[0], heights[0]), (along[1], lateral[1], heights[1])
    return (lateral[0], along[0], heights[0]), (lateral[1], along[1], heights[1])
