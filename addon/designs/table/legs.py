"""Plain legs: an L of two boards in each inner corner, from the room's floor to the underside of the bottom panel."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...sizes.units import format_at_least
from ...wood.roles import LEG
from .refusals import at_most, refuse

if TYPE_CHECKING:
    from ...wood.part import Part
    from .bill import Bill
    from .lanes import Layout


def add_legs(layout: Layout, bill: Bill, sides: dict[str, Part], bottom: Part) -> None:
    """Two boards a corner: one against the long side, one against the short side, butted to the first."""
    legs = layout.table.legs
    if not legs.fitted:
        return
    stock = layout.stocks[legs.stock]
    t, width, top = stock.thickness, legs.width, layout.panel_bottom
    most = min(layout.inner)
    if not t < width <= most:
        allowed = f"more than {format_at_least(t, layout.table.units)} and {at_most(layout.table, most)}"
        refuse(layout.table, "legs.width", width, allowed, "the two boards make an L in the corner")
    for y_sign, long_side in ((-1, "front"), (1, "back")):
        for x_sign, short_side in ((-1, "left"), (1, "right")):
            x, y = x_sign * layout.inner[0], y_sign * layout.inner[1]
            corner = f"{long_side} {short_side}"
            first_x, first_y = sorted((x, x - x_sign * width)), sorted((y, y - y_sign * t))
            first_box = ((first_x[0], first_y[0], 0.0), (first_x[1], first_y[1], top))
            first = bill.add_box(LEG, "leg board", stock, first_box, "+z", "+x", which=(corner, "long side"))
            second_x, second_y = sorted((x, x - x_sign * t)), sorted((y - y_sign * t, y - y_sign * width))
            second_box = ((second_x[0], second_y[0], 0.0), (second_x[1], second_y[1], top))
            second = bill.add_box(
                LEG, "leg board", stock, second_box, "+z", "+y", which=(corner, "short side")
            )
            bill.join(first, sides[long_side], "face")
            bill.join(second, sides[short_side], "face")
            bill.join(second, first, "face")
            bill.join(first, bottom, "butt", "end")
            bill.join(second, bottom, "butt", "end")
