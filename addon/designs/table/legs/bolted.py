"""An L of two boards that comes off: two bolts hold it in a corner block that is glued and screwed into the body.

  |short |_______ _____        The block stands against the short side, the leg's first board against the block. Nuts
  | side | block |first|       are let into the block's outer face before it goes in, and held there by the side; bolts
  |      |       |board|____   go in from inside, along the table, where there is room for a wrench. The block's
__|      |_______|_____|____|  end only stands against the long side.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import floor, hypot
from typing import Final

import numpy as np

from ....sizes.tolerances import CONTACT
from ....sizes.units import MM_PER_INCH, Units
from ....wood.fasteners import Sizes
from ....wood.features import Hole
from ....wood.part import Part, Placement, Shape, rectangle
from ....wood.roles import BLOCK
from ..refusals import at_least, refuse
from .boards import Plan, add_board
from .corners import Body, Corner, Room, check_width
from .feet import add_block

_INCH: Final = float(MM_PER_INCH)
_BOLT: Final[dict[Units, tuple[float, float, float, float, float]]] = {
    "mm": (8.0, 16.0, 6.9, 15.0, 6.8),
    "in": (5 / 16 * _INCH, 11 / 16 * _INCH, 17 / 64 * _INCH, 9 / 16 * _INCH, 17 / 64 * _INCH),
}
"""Shank, head with its washer and their height, nut and its height: a hexagon bolt of 8 mm (ISO 4017, ISO 7089,
ISO 4032, from memory) or 5/16 in (common sizes, no source; measure yours). The nut counts as wide as its hole, which is
a bit's size: tapped in, its corners bite (common practice, no source)."""
_STEP: Final[dict[Units, float]] = {"mm": 5.0, "in": 0.25 * _INCH}
"""Bolts are sold in lengths that are multiples of it (common practice, no source)."""
_PLAY: Final[dict[Units, float]] = {"mm": 0.5, "in": 1 / 32 * _INCH}
"""How much wider than the bolt its hole is, so that it is a drill's size (common practice, no source)."""
_WRENCH: Final = 2.0
"""Room between the head and the second board, mm: a socket goes round it (common practice, no source)."""


def rooms(corner: Corner) -> tuple[Room, ...]:
    """What block and boards take of the body's plan."""
    t, width = corner.stock.thickness, corner.width
    return corner.room((0.0, 2 * t), (0.0, width)), corner.room((2 * t, width), (0.0, t))


def add(corner: Corner, body: Body) -> list[Part]:
    """Both boards of the leg, its block and its bolts. Raises ParameterError."""
    bill, t, width = body.bill, corner.stock.thickness, corner.width
    shank, head, *_ = _BOLT[corner.layout.table.units]
    check_width(
        corner.layout,
        t + head + 2 * shank,
        "the two boards make an L round the corner block, and a wrench has room",
    )
    places = _bolts(corner)
    first = add_board(corner, body, Plan(
        "leg board", (t, 2 * t), (0.0, width), corner.heights, "b", "short side",
        ("b-", "b+", "a-"), (("b+", "a-"), ("b+", "a+"), ("b-", "a-")), places, _hole(corner),
    ))  # fmt: skip
    block = _block(corner, body, places, first)
    second = add_board(corner, body, Plan(
        "leg board", (2 * t, width), (0.0, t), corner.heights, "a", "long side",
        ("b-", "a+"), (("a+", "b-"), ("a+", "b+")),
    ))  # fmt: skip
    bill.join(first, block, "face", fastening="bolt")
    bill.join(first, body.sides[corner.long_side], "butt", fastening="dry")
    bill.join(second, body.sides[corner.long_side], "face", fastening="dry")
    bill.join(second, first, "face")
    for part in (first, second):
        bill.join(part, body.bottom, "butt", "end", fastening="dry")
    _bolt(corner, body, places, first, block)
    return [first, second, *add_block(corner, body, (2 * t, t), (first, second), width)]


def _bolts(corner: Corner) -> tuple[tuple[float, float], ...]:
    """Two, one above the other in the middle of what the second board leaves of the first, or, in a body too low for
    that, one toward the long side, low, and one far from it, high: `b` and height, mm.

    Raises ParameterError where there is no room for them.
    """
    layout, (low, high) = corner.layout, (corner.layout.body_bottom, corner.layout.panel_bottom)
    _, head, _, nut, _ = _BOLT[layout.table.units]
    wood = layout.table.limits.least_wood
    edge = nut / 2 + wood
    near, far = corner.stock.thickness + head / 2 + _WRENCH, corner.width - edge
    middle = (corner.stock.thickness + corner.width) / 2
    if high - low - 2 * edge >= nut + wood - CONTACT:
        edge = max(edge, (high - low) / 4)
        return (middle, low + edge), (middle, high - edge)
    if min(far - near, high - low - 2 * edge) < 0 or hypot(far - near, high - low - 2 * edge) < nut + wood:
        least = at_least(layout.table, near + nut + wood + edge)
        refuse(
            layout.table,
            "legs.width",
            layout.table.legs.width,
            least,
            "two bolts have no room in the corner block",
        )
    return (near, low + edge), (far, high - edge)


def _block(corner: Corner, body: Body, places: Iterable[tuple[float, float]], leg: Part) -> Part:
    """As high as the ribs, with holes for the bolts and, from outside, for their nuts."""
    layout, bill, t = corner.layout, body.bill, corner.stock.thickness
    _, _, _, nut, nut_height = _BOLT[layout.table.units]
    (x0, x1), (y0, y1) = corner.room((0.0, t), (0.0, corner.width))
    low, high = layout.body_bottom, layout.panel_bottom
    x_sign, y_sign = corner.signs
    depth = t - _length(corner) + t + nut_height
    holes = (
        Hole(
            b if y_sign < 0 else corner.width - b, up - low, _hole(corner), face="front" if x_sign < 0 else "back",
            counterbore_diameter=nut, counterbore_depth=depth,
        )
        for b, up in places
    )  # fmt: skip
    shape = Shape(rectangle(corner.width, high - low), t, tuple(holes))
    place = Placement.along("+y", "+z", (x0, y0, low))
    block = bill.add(BLOCK, "corner block", corner.stock, shape, place, of=leg.label, which=(corner.name,))
    bill.boxes[block.label] = (x0, y0, low), (x1, y1, high)
    bill.join(block, body.sides[corner.short_side], "face", fastening="screw")
    bill.join(block, body.sides[corner.long_side], "butt", "start" if y_sign < 0 else "end", fastening="dry")
    bill.join(block, body.bottom, "face")
    return block


def _hole(corner: Corner) -> float:
    """Diameter of a bolt's hole, mm."""
    units = corner.layout.table.units
    return _BOLT[units][0] + _PLAY[units]


def _length(corner: Corner) -> float:
    """The longest bolt that is sold and ends within the block, mm."""
    step = _STEP[corner.layout.table.units]
    return step * floor(2 * corner.stock.thickness / step + CONTACT)


def _bolt(corner: Corner, body: Body, places: Iterable[tuple[float, float]], leg: Part, block: Part) -> None:
    shank, head, head_height, nut, nut_height = _BOLT[corner.layout.table.units]
    sizes = Sizes(_length(corner) + head_height, shank, head, head_height, nut, nut_height)
    x_sign, y_sign = corner.signs
    for b, up in places:
        a = 2 * corner.stock.thickness + head_height
        start = np.array([x_sign * (corner.layout.inner[0] - a), y_sign * (corner.layout.inner[1] - b), up])
        body.bill.fasten("bolt", start, np.array([float(x_sign), 0.0, 0.0]), sizes, leg, block)
