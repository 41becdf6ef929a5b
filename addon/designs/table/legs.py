"""Plain legs: an L of two boards in each inner corner, from the room's floor to the underside of the bottom panel."""

from __future__ import annotations

from typing import NamedTuple

from ...sizes.units import format_at_least
from ...wood.part import Part
from ...wood.roles import LEG
from .bill import Bill
from .lanes import Interval, Layout
from .refusals import at_most, refuse


class LegBoard(NamedTuple):
    """One board of a leg in plan."""

    corner: str
    """In words: ``front left``."""
    side: str
    """The side that it stands against: ``front``."""
    spans: tuple[Interval, Interval]
    """What it takes along x and along y, mm."""


def leg_boards(layout: Layout) -> tuple[LegBoard, ...]:
    """Two boards a corner: one against the long side, one against the short side, butted to the first."""
    legs = layout.table.legs
    if not legs.fitted:
        return ()
    t, width = layout.stocks[legs.stock].thickness, legs.width
    boards = []
    for y_sign, long_side in ((-1, "front"), (1, "back")):
        for x_sign, short_side in ((-1, "left"), (1, "right")):
            x, y = x_sign * layout.inner[0], y_sign * layout.inner[1]
            corner = f"{long_side} {short_side}"
            first = _span(x, x - x_sign * width), _span(y, y - y_sign * t)
            second = _span(x, x - x_sign * t), _span(y - y_sign * t, y - y_sign * width)
            boards += [LegBoard(corner, long_side, first), LegBoard(corner, short_side, second)]
    return tuple(boards)


def _span(a: float, b: float) -> Interval:
    return min(a, b), max(a, b)


def add_legs(layout: Layout, bill: Bill, sides: dict[str, Part], bottom: Part) -> list[Part]:
    """All boards of the legs, joined to each other, to the sides and to the bottom panel."""
    legs = layout.table.legs
    if not legs.fitted:
        return []
    stock = layout.stocks[legs.stock]
    most = min(layout.inner)
    if not stock.thickness < legs.width <= most:
        least = format_at_least(stock.thickness, layout.table.units)
        allowed = f"more than {least} and {at_most(layout.table, most)}"
        refuse(layout.table, "legs.width", legs.width, allowed, "the two boards make an L in the corner")
    parts: list[Part] = []
    for board in leg_boards(layout):
        (x0, x1), (y0, y1) = board.spans
        against_long = board.side in ("front", "back")
        which = (board.corner, "long side" if against_long else "short side")
        box = (x0, y0, 0.0), (x1, y1, layout.panel_bottom)
        part = bill.add_box(LEG, "leg board", stock, box, "+z", "+x" if against_long else "+y", which=which)
        bill.join(part, sides[board.side], "face")
        if against_long:
            bill.join(part, sides[board.corner.split()[1]], "butt")
        else:
            bill.join(part, parts[-1], "face")
            bill.join(parts[-1], bottom, "butt", "end")
            bill.join(part, bottom, "butt", "end")
        parts.append(part)
    return parts
