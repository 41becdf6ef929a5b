"""What a leg stands on: a foot block in the angle of its L, and a leveling foot that screws into it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

import numpy as np

from ....sizes.units import MM_PER_INCH, Units
from ....wood.fasteners import Sizes
from ....wood.part import Part
from ....wood.roles import FOOT
from .corners import Body, Corner, on_rule

_INCH: Final = float(MM_PER_INCH)
_LEVELING: Final[dict[Units, tuple[float, float, float]]] = {
    "mm": (8.0, 30.0, 10.0),
    "in": (5 / 16 * _INCH, 1.25 * _INCH, 3 / 8 * _INCH),
}
"""Thread, pad and height of the pad of a leveling foot (common sizes, no source; measure yours)."""

INTO_PLAIN: Final = 30.0
"""How far the thread goes into a plain leg, mm (common practice, no source)."""


def add_block(
    corner: Corner,
    body: Body,
    inner: tuple[float, float],
    boards: Iterable[Part],
    reach: float,
    *,
    always: bool = False,
) -> list[Part]:
    """A board lying flat in the angle of an L, glued to its boards, where leveling feet need it; none elsewhere.

    Parameters
    ----------
    inner : inner faces of the L, along `a` and along `b`, mm
    reach : how far its boards reach, mm
    always : whether there is one without leveling feet as well
    """
    legs, t = corner.layout.table.legs, corner.stock.thickness
    if not (legs.leveling_feet or always):
        return []
    taken = legs.taper_amount if legs.taper != "none" else 0.0
    a, b = ((face, face + on_rule(corner, reach - taken - face, "down")) for face in inner)
    box = corner.box(a, b, (corner.foot, corner.foot + t))
    block = body.bill.add_box(FOOT, "foot block", corner.stock, box, "+x", "+y", which=(corner.name,))
    for board in boards:
        body.bill.join(block, board, "butt")
    level(corner, body, ((a[0] + a[1]) / 2, (b[0] + b[1]) / 2), block, t)
    return [block]


def level(corner: Corner, body: Body, at: tuple[float, float], holder: Part, room: float) -> None:
    """A leveling foot, if there are any, its pad on the room's floor and its thread in what holds it.

    Parameters
    ----------
    at : its axis, `a` and `b`, mm
    room : for the thread, mm
    """
    legs = corner.layout.table.legs
    if not legs.leveling_feet:
        return
    thread, pad, height = _LEVELING[corner.layout.table.units]
    (x_sign, y_sign), (x, y) = corner.signs, corner.layout.inner
    start = np.array([x_sign * (x - at[0]), y_sign * (y - at[1]), 0.0])
    sizes = Sizes(legs.foot_height + room, thread, pad, min(height, legs.foot_height))
    body.bill.fasten("leveling foot", start, np.array([0.0, 0.0, 1.0]), sizes, holder)
