"""A leg of a kind that the table does not have: three boards glued face to face in each corner of the body.

As the guide for contributors says how to add one: a function that puts its boards into the bill and joins each to what
holds it, in the place of `designs.table.legs.add_legs`.
"""

from __future__ import annotations

from addon.designs.table.bill import Bill
from addon.designs.table.lanes import Layout
from addon.wood.part import Part
from addon.wood.roles import LEG

LAYERS = 3


def add_layered_legs(layout: Layout, bill: Bill, sides: dict[str, Part], bottom: Part) -> list[Part]:
    """Boards as wide as the arms of the table's own legs, the first against the long side, up to the bottom panel."""
    legs, boards = layout.table.legs, []
    stock = layout.stocks[legs.stock]
    for y_sign, long_side in ((-1, "front"), (1, "back")):
        for x_sign, short_side in ((-1, "left"), (1, "right")):
            wall_x, wall_y = x_sign * layout.inner[0], y_sign * layout.inner[1]
            x0, x1 = sorted((wall_x, wall_x - x_sign * legs.width))
            before = sides[long_side]
            for layer in range(LAYERS):
                near = wall_y - y_sign * stock.thickness * layer
                y0, y1 = sorted((near, near - y_sign * stock.thickness))
                box = ((x0, y0, 0.0), (x1, y1, layout.panel_bottom))
                which = (f"{long_side} {short_side}", ("outer", "middle", "inner")[layer])
                board = bill.add_box(LEG, "leg layer", stock, box, "+z", "+x", which=which)
                bill.join(board, before, "face")
                bill.join(board, sides[short_side], "butt")
                bill.join(board, bottom, "butt", "end")
                before = board
                boards.append(board)
    return boards
