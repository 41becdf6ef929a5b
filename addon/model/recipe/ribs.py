"""The grid below the floor: through ribs across the table, rows of segments between them, windows in both."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..part import Opening, Part, Placement, Shape, rectangle
from ..tolerances import WELD
from .grid import rib_positions
from .intervals import overlap

if TYPE_CHECKING:
    from .bill import Bill
    from .intervals import Interval
    from .lanes import Lane
    from .layout import Layout


@dataclass(frozen=True)
class Standing:
    """A rib in plan: it runs along table axis `along` from `start` to `end`, centred at `at` on the other axis."""

    part: Part
    along: int
    at: float
    start: float
    end: float

    def across(self) -> Interval:
        """Its two faces, on the axis across it, mm."""
        half = self.part.shape.thickness / 2
        return self.at - half, self.at + half


def add_ribs(layout: Layout, bill: Bill, sides: dict[str, Part], floor: Part) -> list[Standing]:
    """Through ribs along y, then the segments along x, each joined at both ends and to the floor."""
    through_at, rows_at = rib_positions(layout, 0), rib_positions(layout, 1)
    half = layout.inner[1]
    through: list[Standing] = []
    for position in through_at:
        rib = _rib(layout, bill, 1, position, (-half, half), "through rib")
        if rib is not None:
            bill.join(rib.part, sides["front"], "butt", "start")
            bill.join(rib.part, sides["back"], "butt", "end")
            through.append(rib)
    segments: list[Standing] = []
    for position in rows_at:
        segments += _row(layout, bill, position, through, sides)
    for rib in (*through, *segments):
        bill.join(rib.part, floor, "face")
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
    for (start, a), (end, b) in zip(faces[::2], faces[1::2], strict=True):
        if end - start < layout.rib_thickness:
            continue
        segment = _rib(layout, bill, 0, position, (start, end), "rib segment")
        if segment is not None:
            bill.join(segment.part, a, "butt", "start")
            bill.join(segment.part, b, "butt", "end")
            row.append(segment)
    return row


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
    height = layout.floor_bottom - layout.body_bottom
    shape = Shape(rectangle(end - start, height), t, tuple(windows))
    z = layout.body_bottom
    place = (
        Placement.along("+x", "+z", (start, at + t / 2, z))
        if along == 0
        else Placement.along("+y", "+z", (at - t / 2, start, z))
    )
    part = bill.add("rib", name, layout.stocks[layout.table.ribs.stock], shape, place)
    return Standing(part, along, at, start, end)


def _window(layout: Layout, lane: Lane, run: Interval) -> Opening | None:
    """The window for one lane in a rib that runs over `run`; None if nothing would be left beside it."""
    ribs = layout.table.ribs
    start, end = run
    low, high = lane.passage
    least = ribs.least_post + ribs.window_chamfer
    opens_start, opens_end = low - start < least - WELD, end - high < least - WELD
    if opens_start and opens_end:
        return None
    return Opening(
        0.0 if opens_start else low - start,
        end - start if opens_end else high - start,
        lane.slot_bottom - layout.body_bottom,
        lane.slot_top - layout.body_bottom,
        min(layout.table.sides.corner_radius, (lane.slot_top - lane.slot_bottom) / 2),
        ribs.window_chamfer,
        ribs.window_chamfer,
        open_end="start" if opens_start else "end" if opens_end else None,
        leaf=lane.leaf,
    )
