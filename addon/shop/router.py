"""What a router does with a bushing, a straightedge, a fence or a bearing: arithmetic on lengths, all in mm.

   bushing, outer diameter B                 A template's edge guides the bushing, so that the bit's edge stays
 ____|_________                              (B - d) / 2 inside of it: offset.
|  |  bit d |  |
|  |        |  |_____ template               Running inside an opening, the template's opening is larger than the
|__|        |__|_____                        cut by B - d each way; around a part, it is as much smaller than that.
   |        |
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, sqrt
from typing import Final

from ..sizes.tolerances import CONTACT

WALL: Final = 0.75
"""What a bushing's wall and the air around the bit take on either side at least, mm (common practice, no source)."""

STRAIGHT: Final = 4.0
"""Height of straight wood that a bearing runs on safely, mm (common practice, no source)."""

LEFT_BY_SAW: Final = 2.0
"""Wood that the saw leaves for the router along a cut, mm (common practice, no source)."""


@dataclass(frozen=True)
class Pair:
    """A bushing and a bit.

    Parameters
    ----------
    bushing : outer diameter
    bit : diameter
    """

    bushing: float
    bit: float

    @property
    def add(self) -> float:
        """What a template's opening is larger than the cut, each way."""
        return self.bushing - self.bit

    @property
    def offset(self) -> float:
        """From the template's edge to the cut's."""
        return self.add / 2

    @property
    def fits(self) -> bool:
        """Whether the bit passes through the bushing with some air."""
        return self.offset >= WALL - CONTACT

    def inside(self, cut: float, walls: int = 2) -> float:
        """The template's opening for a cut, along one way; one that runs out of the board has one wall, or none."""
        return cut + walls * self.offset

    def corner(self, template: float = 0.0) -> float:
        """The corner radius that an inside corner of the template leaves in the work; square ones have radius 0."""
        return max(template, self.bushing / 2) - self.offset


def beside_fence(base_edge: float, bit: float) -> tuple[float, float]:
    """From a straightedge to the near and to the far edge of what a bit cuts whose base runs along it."""
    return base_edge - bit / 2, base_edge + bit / 2


def fence_settings(height: float, width: float, bit: float) -> tuple[float, ...]:
    """From the fence of a router table to the bit's near edge, pass by pass, for a groove so high above its edge.

    The pass nearest to the fence comes first: then each of the others takes wood on the side away from the fence,
    where feeding from right to left goes against the rotation.
    """
    count = max(ceil((width - bit) / bit - CONTACT) + 1, 1)
    if count == 1:
        return (height,)
    step = (width - bit) / (count - 1)
    return tuple(height + number * step for number in range(count))


def passes(depth: float, deepest: float) -> tuple[float, ...]:
    """Depths to set one after the other: as deep as one pass goes, until the depth is reached."""
    count = max(ceil(depth / deepest - CONTACT), 1)
    return tuple(min(number * deepest, depth) for number in range(1, count + 1))


def short_in_corner(bearing: float, corner_radius: float) -> float:
    """How much smaller a chamfer comes out in the middle of an inside corner than along its sides.

    A bearing of diameter D touches both walls at D/2 from each; the middle of a corner of radius r stays away from it
    by (√2 - 1)(D/2 - r): both arcs touch the same two walls, and their middles lie on the diagonal.
    """
    return max((sqrt(2.0) - 1.0) * (bearing / 2 - corner_radius), 0.0)


def chamfer_face(size: float) -> float:
    """Width of a 45° chamfer's own face."""
    return size * sqrt(2.0)
