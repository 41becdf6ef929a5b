"""A square leg of solid wood in each inner corner, as wide as `legs.width`, glued and screwed from outside.

It is planed from solid stock of its own; face grain glues to the sides, end grain only stands against the panel.
"""

from __future__ import annotations

from ....wood.part import Part
from ....wood.stock import Stock
from .boards import Plan, add_board
from .corners import Body, Corner, Room, check_width
from .feet import INTO_PLAIN, level

_SPARE = 40.0
"""How much longer than the leg its blank is, mm (common practice, no source)."""


def rooms(corner: Corner) -> tuple[Room, ...]:
    """What it takes of the body's plan."""
    return (corner.room((0.0, corner.width), (0.0, corner.width)),)


def add(corner: Corner, body: Body) -> list[Part]:
    """The leg. Raises ParameterError."""
    width, bill = corner.width, body.bill
    check_width(corner.layout, 0.0, "the leg stands in the corner")
    leg = add_board(corner, body, Plan(
        "leg", (0.0, width), (0.0, width), corner.heights, "a", "solid wood", ("a-", "a+", "b-", "b+"),
        (("a+", "b+"), ("a+", "b-"), ("a-", "b+"), ("a-", "b-")),
    ), _solid(corner))  # fmt: skip
    bill.join(leg, body.sides[corner.long_side], "face", fastening="screw")
    bill.join(leg, body.sides[corner.short_side], "face", fastening="screw")
    bill.join(leg, body.bottom, "butt", "end")
    level(corner, body, (width / 2, width / 2), leg, INTO_PLAIN)
    return [leg]


def _solid(corner: Corner) -> Stock:
    """A blank for one leg, planed to size: no sheet."""
    low, high = corner.heights
    return Stock(
        "solid wood for legs", corner.width, corner.width, spread_within=0.0, spread_between=0.0,
        sheet_length=high - low + _SPARE, sheet_width=corner.width, density=700.0,
    )  # fmt: skip
