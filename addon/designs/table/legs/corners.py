"""The four inner corners of the body, in which legs stand, each in terms of its own two sides."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from ....sizes.units import Rounding, division, format_at_least, rounded
from ....wood.part import Part
from ....wood.stock import Stock
from ..bill import Bill, Box
from ..lanes import Interval, Layout
from ..refusals import at_most, refuse

Room = tuple[Interval, Interval]
"""What a board takes along x and along y, mm."""


@dataclass(frozen=True, eq=False)
class Corner:
    """One corner. `a` is the distance from the short side's inner face, along the long side, `b` that from the long
    side's; both grow into the body, and what lies outside the body's room is negative; mm.

    Parameters
    ----------
    signs : of x and of y in this corner
    """

    layout: Layout
    long_side: str
    short_side: str
    signs: tuple[int, int]

    @property
    def name(self) -> str:
        """In words: ``front left``."""
        return f"{self.long_side} {self.short_side}"

    @cached_property
    def stock(self) -> Stock:
        """Of the legs."""
        return self.layout.stocks[self.layout.table.legs.stock]

    @property
    def width(self) -> float:
        """How far the leg reaches from the sides' inner faces, mm."""
        return self.layout.table.legs.width

    @property
    def foot(self) -> float:
        """Height of the leg's lower end, mm."""
        legs = self.layout.table.legs
        return legs.foot_height if legs.leveling_feet else 0.0

    @property
    def heights(self) -> Interval:
        """From the foot to the underside of the bottom panel, mm."""
        return self.foot, self.layout.panel_bottom

    def room(self, a: Interval, b: Interval) -> Room:
        """In the table."""
        (x0, x1), (y0, y1) = (
            sorted(sign * (wall - at) for at in span)
            for sign, wall, span in zip(self.signs, self.layout.inner, (a, b), strict=True)
        )
        return (x0, x1), (y0, y1)

    def box(self, a: Interval, b: Interval, heights: Interval) -> Box:
        """In the table."""
        (x0, x1), (y0, y1) = self.room(a, b)
        return (x0, y0, heights[0]), (x1, y1, heights[1])


@dataclass(frozen=True, eq=False)
class Body:
    """What legs are joined to: the bill, the sides by name, and the bottom panel."""

    bill: Bill
    sides: dict[str, Part]
    bottom: Part


def corners_of(layout: Layout) -> Iterator[Corner]:
    """All four, front ones first."""
    for y_sign, long_side in ((-1, "front"), (1, "back")):
        for x_sign, short_side in ((-1, "left"), (1, "right")):
            yield Corner(layout, long_side, short_side, (x_sign, y_sign))


def check_width(layout: Layout, least: float, reason: str) -> None:
    """Refuse legs too narrow for their boards, or wider than the body. Raises ParameterError.

    Parameters
    ----------
    least : they have to be wider, mm
    """
    legs, most = layout.table.legs, min(layout.inner)
    if not least < legs.width <= most:
        allowed = f"more than {format_at_least(least, layout.table.units)} and {at_most(layout.table, most)}"
        refuse(layout.table, "legs.width", legs.width, allowed, reason)


def on_rule(corner: Corner, mm: float, way: Rounding) -> float:
    """A size that is free to choose, so that the maker's rule shows it and paper needs not round it, mm."""
    table = corner.layout.table
    return rounded(mm, table.units, division(table.limits.rule_division), way)
