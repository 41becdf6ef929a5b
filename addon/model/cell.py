"""A convex region of a part's wood: a box in the part's frame, cut by a few planes or bevelled at openings' mouths."""

from __future__ import annotations

from math import inf, sqrt
from typing import TYPE_CHECKING, Final, NamedTuple

from .tolerances import WELD

if TYPE_CHECKING:
    from .bases import Plane, Triple

HALF: Final = sqrt(0.5)
"""Both components of the unit normal of a 45 degree chamfer."""


class Mouth(NamedTuple):
    """The chamfered face that a cell turns to an opening: on which axis, on which side, and both chamfers' legs."""

    axis: int
    sign: int
    """+1 where the cell lies on the greater side of the opening's edge."""
    front: float
    back: float
    land: float
    """Where the opening's edge lies between its chamfers, mm; the cell may begin beyond it."""


class Cell(NamedTuple):
    """A convex region: a box, chamfers at openings' mouths, and further planes that cut it."""

    low: Triple
    high: Triple
    thickness: float
    """Of the board, mm: where the back face lies."""
    tag: str = "board"
    mouths: tuple[Mouth, ...] = ()
    planes: tuple[Plane, ...] = ()
    """(nx, ny, nz, offset) each, n·x <= offset, n of unit length"""

    def within(self, axis: int, low: float = -inf, high: float = inf) -> Cell:
        """What lies between two limits on one axis."""
        return self.beyond(axis, low, high, self.tag, self.mouths)

    def beyond(self, axis: int, low: float, high: float, tag: str, mouths: tuple[Mouth, ...]) -> Cell:
        """What lies between two limits on one axis, named and with the mouths that it turns there."""
        lows, highs = list(self.low), list(self.high)
        lows[axis], highs[axis] = max(lows[axis], low), min(highs[axis], high)
        limits = (lows[0], lows[1], lows[2]), (highs[0], highs[1], highs[2])
        return Cell(*limits, self.thickness, tag, mouths, self.planes)

    def is_empty(self) -> bool:
        """Whether the box has no inside."""
        low, high = self.low, self.high
        return high[0] - low[0] <= WELD or high[1] - low[1] <= WELD or high[2] - low[2] <= WELD

    def cutting_planes(self) -> list[Plane] | None:
        """Chamfers and other planes that really cut the box; None if one leaves nothing of it."""
        planes = list(self.planes)
        for mouth in self.mouths:
            planes += self._chamfers(mouth)
        if not planes:
            return planes
        (u0, v0, w0), (u1, v1, w1) = self.low, self.high
        mid_u, mid_v, mid_w = (u0 + u1) / 2, (v0 + v1) / 2, (w0 + w1) / 2
        half_u, half_v, half_w = (u1 - u0) / 2, (v1 - v0) / 2, (w1 - w0) / 2
        cutting = []
        for plane in planes:
            nu, nv, nw, offset = plane
            middle = nu * mid_u + nv * mid_v + nw * mid_w
            spread = abs(nu) * half_u + abs(nv) * half_v + abs(nw) * half_w
            if middle - spread >= offset - WELD:
                return None
            if middle + spread > offset + WELD:
                cutting.append(plane)
        return cutting

    def box_planes(self) -> list[Plane]:
        """The planes of the box."""
        (u0, v0, w0), (u1, v1, w1) = self.low, self.high
        return [
            *((-1.0, 0.0, 0.0, -u0), (0.0, -1.0, 0.0, -v0), (0.0, 0.0, -1.0, -w0)),
            *((1.0, 0.0, 0.0, u1), (0.0, 1.0, 0.0, v1), (0.0, 0.0, 1.0, w1)),
        ]

    def _chamfers(self, mouth: Mouth) -> list[Plane]:
        """The chamfer planes at a mouth."""
        offset = -mouth.sign * mouth.land
        u, v = (-mouth.sign * HALF, 0.0) if mouth.axis == 0 else (0.0, -mouth.sign * HALF)
        planes = []
        if mouth.front > 0:
            planes.append((u, v, -HALF, (offset - mouth.front) * HALF))
        if mouth.back > 0:
            planes.append((u, v, HALF, (offset - mouth.back + self.thickness) * HALF))
        return planes
