"""Two boards in each inner corner, an L in plan, from the foot to the underside of the bottom panel.

One stands against the long side, the other against the short side, butted to the first. Both are glued to their
sides, and screwed where `fastening.legs` says so.
"""

from __future__ import annotations

from ....wood.part import Part
from .boards import Plan, add_board
from .corners import Body, Corner, Room, check_width
from .feet import add_block


def rooms(corner: Corner) -> tuple[Room, ...]:
    """What its boards take of the body's plan."""
    t, width = corner.stock.thickness, corner.width
    return corner.room((0.0, width), (0.0, t)), corner.room((0.0, t), (t, width))


def add(corner: Corner, body: Body) -> list[Part]:
    """Both boards, joined to each other, to the sides and to the bottom panel. Raises ParameterError."""
    bill, t, width = body.bill, corner.stock.thickness, corner.width
    check_width(corner.layout, t, "the two boards make an L in the corner")
    first = add_board(corner, body, Plan(
        "leg board", (0.0, width), (0.0, t), corner.heights, "a", "long side",
        ("a-", "a+", "b-"), (("a+", "b-"), ("a+", "b+"), ("a-", "b-")), along_table=True,
    ))  # fmt: skip
    bill.join(first, body.sides[corner.long_side], "face")
    bill.join(first, body.sides[corner.short_side], "butt")
    second = add_board(corner, body, Plan(
        "leg board", (0.0, t), (t, width), corner.heights, "b", "short side",
        ("a-", "b+"), (("b+", "a-"), ("b+", "a+")), along_table=True,
    ))  # fmt: skip
    bill.join(second, body.sides[corner.short_side], "face")
    bill.join(second, first, "face")
    for part in (first, second):
        bill.join(part, body.bottom, "butt", "end")
    return [first, second, *add_block(corner, body, (t, t), (first, second), width)]
