"""The grid below the bottom panel: through ribs across the table, rows of segments between them, windows in both.

Ribs stand beside the leaves' ways, never in them.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import ceil

from ...sizes.tolerances import WELD
from ...wood.features import Opening
from ...wood.part import Part, Placement, Shape, rectangle
from ...wood.roles import RIB
from .bill import Bill
from .lanes import Interval, Lane, Layout, overlap
from .legs.kinds import leg_rooms
from .refusals import at_least, between, refuse, size

Holder = tuple[float, "Part"]
"""Where the face of a board is on which a rib butts, mm, and that board."""

KEYS = {0: "ribs.through_at", 1: "ribs.rows_at"}


def rib_positions(layout: Layout, axis: int) -> tuple[float, ...]:
    """Center lines of the ribs that are spread along table axis `axis`: 0 the through ribs, 1 the rows, mm.

    Raises ParameterError where a position given in the file stands in a leaf's way.
    """
    given = layout.table.ribs.through_at if axis == 0 else layout.table.ribs.rows_at
    free = free_intervals(layout, axis)
    if given is not None:
        return _checked(layout, axis, tuple(sorted(given)), free)
    wall = layout.inner[axis]
    positions: list[float] = []
    for low, high in free:
        positions += _in_interval(layout, low, high, at_low_wall=low == -wall, at_high_wall=high == wall)
    return tuple(positions)


def free_intervals(layout: Layout, axis: int) -> list[Interval]:
    """What the leaves that travel across `axis` leave free of it, between the sides' inner faces, mm."""
    wall = layout.inner[axis]
    passages = sorted(lane.passage for lane in layout.lanes if lane.axis != axis)
    free: list[Interval] = []
    start = -wall
    for low, high in passages:
        if low > start:
            free.append((start, low))
        start = max(start, high)
    if start < wall:
        free.append((start, wall))
    return free


def _in_interval(
    layout: Layout, low: float, high: float, *, at_low_wall: bool, at_high_wall: bool
) -> list[float]:
    """Ribs for one free interval.

    Between a side and a leaf's way one rib stands beside the way, as far back as ribs stand off, and guides the leaf's
    edge. Between two ways stand two ribs, a post away from either, or one in the middle where there is no room for two.
    """
    ribs, t = layout.table.ribs, layout.rib_thickness
    off = min(ribs.stand_off, max(high - low - t, 0.0))
    width = high - low
    if at_low_wall and at_high_wall:
        bays = max(2, ceil(width / ribs.max_bay))
        return [low + width * k / bays for k in range(1, bays)]
    if width < t:
        return []
    if at_low_wall or at_high_wall:
        guide = high - off - t / 2 if at_low_wall else low + off + t / 2
        wall = low if at_low_wall else high
        return sorted([guide, *_between(wall, guide, ribs.max_bay)])
    if width < 2 * t + 2 * ribs.wood_beside_window + ribs.least_wood_beside_window:
        return [(low + high) / 2]
    first, second = low + ribs.wood_beside_window + t / 2, high - ribs.wood_beside_window - t / 2
    return sorted([first, second, *_between(first, second, ribs.max_bay)])


def _between(start: float, end: float, max_bay: float) -> list[float]:
    """Ribs that divide the room between two others into equal bays no wider than `max_bay`."""
    bays = ceil(abs(end - start) / max_bay)
    return [start + (end - start) * k / bays for k in range(1, bays)]


def _checked(layout: Layout, axis: int, given: tuple[float, ...], free: list[Interval]) -> tuple[float, ...]:
    table, t = layout.table, layout.rib_thickness
    rooms = [(low + t / 2, high - t / 2) for low, high in free if high - low >= t]
    words = " or ".join(between(table, low, high) for low, high in rooms) or "no rib at all"
    for position in given:
        if not any(low - WELD <= position <= high + WELD for low, high in rooms):
            refuse(
                table,
                KEYS[axis],
                position,
                words,
                "a rib elsewhere would stand in a leaf's way or outside the body",
            )
    for first, second in pairwise(given):
        if second - first < 2 * t:
            apart = f"{at_least(table, 2 * t)} from the rib at {size(table, first)}"
            refuse(table, KEYS[axis], second, apart, "ribs need room between them")
    return given


@dataclass(frozen=True)
class Standing:
    """A rib in plan: it runs along table axis `along` from `start` to `end`, centered at `at` on the other axis."""

    part: Part
    along: int
    at: float
    start: float
    end: float

    def across(self) -> Interval:
        """Its two faces, on the axis across it, mm."""
        half = self.part.shape.thickness / 2
        return self.at - half, self.at + half


def add_ribs(layout: Layout, bill: Bill, sides: dict[str, Part], bottom: Part) -> list[Standing]:
    """Through ribs along y, then the segments along x, each joined at both ends and to the bottom panel.

    What would stand in a leg ends at it; `butt_on_legs` joins it there.
    """
    through_at, rows_at = rib_positions(layout, 0), rib_positions(layout, 1)
    half = layout.inner[1]
    through: list[Standing] = []
    for position in through_at:
        rib = _between_holders(
            layout, bill, 1, position, ((-half, sides["front"]), (half, sides["back"])), "through rib"
        )
        if rib is not None:
            through.append(rib)
    segments: list[Standing] = []
    for position in rows_at:
        segments += _row(layout, bill, position, through, sides)
    for rib in (*through, *segments):
        bill.join(rib.part, bottom, "face")
    return [*through, *segments]


def _row(
    layout: Layout, bill: Bill, position: float, through: list[Standing], sides: dict[str, Part]
) -> list[Standing]:
    """The segments of one row; a bay that windows would cut in two gets none."""
    wall = layout.inner[0]
    faces = [(-wall, sides["left"])]
    for rib in through:
        low, high = rib.across()
        faces += [(low, rib.part), (high, rib.part)]
    faces.append((wall, sides["right"]))
    row = []
    for holders in zip(faces[::2], faces[1::2], strict=True):
        segment = _between_holders(layout, bill, 0, position, holders, "rib segment")
        if segment is not None:
            row.append(segment)
    return row


def _between_holders(
    layout: Layout, bill: Bill, along: int, at: float, holders: tuple[Holder, Holder], name: str
) -> Standing | None:
    """A rib from one board's face to another's, or to a leg before it; None where too little would be left."""
    (start, a), (end, b) = holders
    run = _clear_of_legs(layout, along, at, (start, end))
    if run[1] - run[0] < layout.rib_thickness:
        return None
    rib = _rib(layout, bill, along, at, run, name)
    if rib is not None:
        if run[0] == start:
            bill.join(rib.part, a, "butt", "start")
        if run[1] == end:
            bill.join(rib.part, b, "butt", "end")
    return rib


def _clear_of_legs(layout: Layout, along: int, at: float, run: Interval) -> Interval:
    """What the legs' boards leave of a rib's run, mm."""
    half = layout.rib_thickness / 2
    start, end = run
    for room in leg_rooms(layout):
        (low, high), beside = room[along], room[1 - along]
        if overlap(beside, (at - half, at + half)) and overlap((low, high), (start, end)):
            if low + high > 0:
                end = min(end, low)
            else:
                start = max(start, high)
    return start, end


def butt_on_legs(bill: Bill, ribs: list[Standing], legs: list[Part]) -> None:
    """Join the ribs that end at a leg to it."""
    for rib in ribs:
        own_low, own_high = rib.part.box
        for leg in legs:
            low, high = leg.box
            beside = 1 - rib.along
            if not overlap((low[beside], high[beside]), (own_low[beside], own_high[beside])):
                continue
            if abs(high[rib.along] - rib.start) <= WELD:
                bill.join(rib.part, leg, "butt", "start")
            if abs(low[rib.along] - rib.end) <= WELD:
                bill.join(rib.part, leg, "butt", "end")


def _rib(layout: Layout, bill: Bill, along: int, at: float, run: Interval, name: str) -> Standing | None:
    t = layout.rib_thickness
    start, end = run
    windows: list[Opening] = []
    for lane in layout.lanes:
        if lane.axis == along or not overlap(lane.reach, (at - t / 2, at + t / 2)):
            continue
        if not overlap(lane.passage, run):
            continue
        window = _window(layout, lane, run)
        if window is None:
            return None
        windows.append(window)
    shape = Shape(rectangle(end - start, layout.rib_height), t, tuple(windows))
    z = layout.body_bottom
    place = (
        Placement.along("+x", "+z", (start, at + t / 2, z))
        if along == 0
        else Placement.along("+y", "+z", (at - t / 2, start, z))
    )
    part = bill.add(RIB, name, layout.stocks[layout.table.ribs.stock], shape, place)
    return Standing(part, along, at, start, end)


def _window(layout: Layout, lane: Lane, run: Interval) -> Opening | None:
    """The window for one lane in a rib that runs over `run`; None if nothing would be left beside it."""
    ribs = layout.table.ribs
    start, end = run
    low, high = lane.passage
    least = ribs.least_wood_beside_window + ribs.window_chamfer
    opens_start, opens_end = low - start < least - WELD, end - high < least - WELD
    if opens_start and opens_end:
        return None
    return Opening(
        0.0 if opens_start else low - start,
        end - start if opens_end else high - start,
        lane.slot_bottom - layout.body_bottom,
        layout.rib_height if lane.open_above else lane.slot_top - layout.body_bottom,
        min(layout.table.sides.corner_radius, (lane.slot_top - lane.slot_bottom) / 2),
        ribs.window_chamfer,
        ribs.window_chamfer,
        open_end="start" if opens_start else "end" if opens_end else None,
        leaf=lane.leaf,
        open_above=lane.open_above,
    )
