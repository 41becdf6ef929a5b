"""Strips of one sheet glued up to an L-shaped channel that slides up over the corner of the body.

outer   channel   inner
 ____    ____     ____        Outer boards show outside, inner ones stand in the body, the core below it is as
|    |  | side|  |    |       wide as the channel, so that the leg slides up until the core meets the sides'
|    |  |_____|  |    |       lower edges. Glue holds it, on both faces of both sides.
|    | core     |    |
"""

from __future__ import annotations

from typing import Final

from ....wood.part import Part
from .boards import Plan, add_board
from .channels import channel_width
from .corners import Body, Corner, Room, check_width, on_rule
from .feet import add_block

_STEP: Final = 2.0
"""How far each layer's edges stand back from those of the one outside it, mm: glue is wiped off there, and nothing has
to be planed flush (common practice, no source)."""


def rooms(corner: Corner) -> tuple[Room, ...]:
    """What the inner boards take of the body's plan."""
    t, width = corner.stock.thickness, corner.width
    return corner.room((0.0, width), (0.0, t)), corner.room((0.0, t), (t, width))


def add(corner: Corner, body: Body) -> list[Part]:
    """Inner, core and outer boards, two of each, and the foot block. Raises ParameterError."""
    bill, layout, t, width = body.bill, corner.layout, corner.stock.thickness, corner.width
    check_width(layout, t + 2 * _STEP, "the boards make an L in the corner")
    wide = channel_width(layout)
    core, side = layout.stocks[layout.table.sides.stock], layout.side_thickness
    below = corner.foot, layout.body_bottom
    out, middle, least = wide + t, width - _STEP, width - 2 * _STEP
    inner = (
        add_board(corner, body, Plan(
            "inner board", (0.0, least), (0.0, t), corner.heights, "a", "long side", ("a+",), (("a+", "b+"),)
        )),
        add_board(corner, body, Plan(
            "inner board", (0.0, t), (t, least), corner.heights, "b", "short side", ("b+",), (("b+", "a+"),)
        )),
    )  # fmt: skip
    cores = (
        add_board(
            corner,
            body,
            Plan("core board", (-wide, middle), (-side, 0.0), below, "a", "long side", ("a+",)),
            core,
        ),
        add_board(
            corner,
            body,
            Plan("core board", (-side, 0.0), (0.0, middle), below, "b", "short side", ("b+",)),
            core,
        ),
    )
    outer = (
        add_board(corner, body, Plan(
            "outer board", (width - on_rule(corner, width + out, "up"), width), (-out, -wide), corner.heights, "a",
            "long side",
            ("a-", "a+", "b-"), (("a-", "b-"), ("a+", "b-")),
        )),
        add_board(corner, body, Plan(
            "outer board", (-out, -wide), (-wide, width), corner.heights, "b", "short side",
            ("a-", "b+"), (("b+", "a-"),),
        )),
    )  # fmt: skip
    for number, name in enumerate((corner.long_side, corner.short_side)):
        panel = body.sides[name]
        bill.join(inner[number], panel, "face")
        bill.join(inner[number], body.bottom, "butt", "end")
        bill.join(cores[number], inner[number], "face")
        bill.join(cores[number], panel, "butt", "end")
        bill.join(outer[number], cores[number], "face", gap=wide - side)
        bill.join(outer[number], panel, "face", gap=wide - side)
    for first, second in (inner, cores, outer):
        bill.join(second, first, "face")
    block = add_block(corner, body, (t, t), inner, least, always=True)
    return [*inner, *cores, *outer, *block]
