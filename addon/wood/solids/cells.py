"""A part's wood as convex cells: boxes in the part's frame, cut by a few planes or beveled around an opening.

Around arcs, whose facets are many and alike, wood comes as ready-made wedges instead: one set for each kind of arc.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import cos, inf, pi, sin, sqrt
from typing import Final, NamedTuple

from ...sizes.tolerances import WELD
from .bases import Plane, Triple
from .pieces import Tag

HALF: Final = sqrt(0.5)
"""Both components of the unit normal of a 45 degree chamfer."""


class Flare(NamedTuple):
    """The chamfered face that a cell turns to an opening: on which axis, on which side, and both chamfers' legs."""

    axis: int
    sign: int
    """+1 where the cell lies on the greater side of the opening's edge."""
    front: float
    back: float
    land: float
    """Where the opening's edge lies between its chamfers, mm; the cell may begin beyond it."""


class Cell(NamedTuple):
    """A convex region: a box, chamfers at openings, and further planes that cut it."""

    low: Triple
    high: Triple
    thickness: float
    """Of the board, mm: where the back face lies."""
    tag: Tag = Tag()
    flares: tuple[Flare, ...] = ()
    planes: tuple[Plane, ...] = ()
    """(nx, ny, nz, offset) each, n·x <= offset, n of unit length"""

    def within(self, axis: int, low: float = -inf, high: float = inf) -> Cell:
        """What lies between two limits on one axis."""
        lows, highs = [-inf] * 3, [inf] * 3
        lows[axis], highs[axis] = low, high
        return self.narrowed(lows, highs, self.tag, self.flares, ())

    def narrowed(
        self,
        low: Sequence[float],
        high: Sequence[float],
        tag: Tag,
        flares: tuple[Flare, ...],
        planes: tuple[Plane, ...],
    ) -> Cell:
        """What lies within limits and further planes, named and with the flares that it turns to openings."""
        (u0, v0, w0), (u1, v1, w1) = self.low, self.high
        return Cell(
            (max(u0, low[0]), max(v0, low[1]), max(w0, low[2])),
            (min(u1, high[0]), min(v1, high[1]), min(w1, high[2])),
            self.thickness,
            tag,
            flares,
            (*self.planes, *planes) if planes else self.planes,
        )

    def is_empty(self) -> bool:
        """Whether the box has no inside."""
        low, high = self.low, self.high
        return high[0] - low[0] <= WELD or high[1] - low[1] <= WELD or high[2] - low[2] <= WELD

    def cutting_planes(self) -> list[Plane] | None:
        """Chamfers and other planes that really cut the box; None if one leaves nothing of it."""
        planes = list(self.planes)
        for flare in self.flares:
            planes += self._chamfers(flare)
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

    def _chamfers(self, flare: Flare) -> list[Plane]:
        """The chamfer planes of a flare."""
        offset = -flare.sign * flare.land
        u, v = (-flare.sign * HALF, 0.0) if flare.axis == 0 else (0.0, -flare.sign * HALF)
        planes = []
        if flare.front > 0:
            planes.append((u, v, -HALF, (offset - flare.front) * HALF))
        if flare.back > 0:
            planes.append((u, v, HALF, (offset - flare.back + self.thickness) * HALF))
        return planes


class Arc(NamedTuple):
    """A faceted quarter arc about (0, 0), for u, v >= 0, from w = 0 up, which may widen toward either end; mm."""

    steps: int
    """Between the directions of its facets."""
    radius: float
    height: float
    cones: tuple[tuple[float, float], ...] = ()
    """(radius at w = 0, its growth per mm of w) of cones and chamfers that widen it."""

    @property
    def wide(self) -> float:
        """Its greatest radius, mm."""
        ends = [radius + growth * w for radius, growth in self.cones for w in (0.0, self.height)]
        return max(self.radius, *ends) if ends else self.radius

    def facets(self) -> Iterator[tuple[float, float]]:
        """Outward directions of the facets between the first and the last."""
        for k in range(1, self.steps):
            angle = k * pi / 2 / self.steps
            yield cos(angle), sin(angle)


class Wedges(NamedTuple):
    """The wood beyond the facets of an arc, within the square that bounds it: which arc, mirrored how, and where."""

    arc: Arc
    sign_u: int
    sign_v: int
    center: Triple
    tag: Tag

    def square(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Lowest and highest (u, v) of the square that they lie in, mm."""
        wide = self.arc.wide
        (u0, u1), (v0, v1) = (
            sorted((middle, middle + sign * wide))
            for middle, sign in zip(self.center, (self.sign_u, self.sign_v), strict=False)
        )
        return (u0, v0), (u1, v1)

    def within(self, cell: Cell) -> Iterator[Cell]:
        """The wedges as cells, one a facet, within another cell."""
        (u0, v0), (u1, v1) = self.square()
        base = self.center[2]
        box = cell.within(0, u0, u1).within(1, v0, v1).within(2, base, base + self.arc.height)
        if box.is_empty():
            return
        for along_u, along_v in self.arc.facets():
            u, v = self.sign_u * along_u, self.sign_v * along_v
            middle = u * self.center[0] + v * self.center[1]
            planes: list[Plane] = [(-u, -v, 0.0, -(middle + self.arc.radius))]
            for radius, growth in self.arc.cones:
                unit = sqrt(1 / (1 + growth * growth))
                offset = growth * base - middle - radius
                planes.append((-u * unit, -v * unit, growth * unit, offset * unit))
            yield Cell(box.low, box.high, cell.thickness, self.tag, box.flares, (*box.planes, *planes))
