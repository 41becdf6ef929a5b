"""Where things go: heights, leaf sizes, the lanes that the leaves take, stow positions where the file gives none.

Refuses what cannot be built.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from .lanes import along_and_across, make_lane, tier_levels
from .parameters import Stow
from .refusals import MIN_LEAF_WIDTH, at_least, at_most, check_lanes, check_sizes, refuse, size
from .worked_face import check_worked_face

if TYPE_CHECKING:
    from ...wood.stock import Stock
    from .lanes import Lane, Size
    from .parameters import Table

SIDES = {1: ("front", "back"), 0: ("right", "left")}
"""Sides by the axis that leaves travel along through them, in the order in which they are filled."""


def automatic_stow(table: Table, inner: tuple[float, float], size: Size, rib: float) -> tuple[Stow, ...]:
    """As many leaves through the long sides as through the short ones where both have room, spread over each side.

    Parameters
    ----------
    inner : half the inner length and width, mm
    size : length, width and thickness of a leaf, mm
    rib : thickness of a rib, mm
    """
    numbers = _share_out(table.leaves.count, [_capacity(table, axis, inner, size, rib) for axis in (0, 1)])
    stows = []
    for axis in (1, 0):
        farthest = _farthest(table, axis, inner, size, rib)
        tier = "upper" if axis == 1 or not numbers[1] else "lower"
        for index in range(numbers[axis]):
            share = 0.5 if numbers[axis] == 1 else index / (numbers[axis] - 1)
            sign = 1 if axis == 1 else -1
            stows.append(
                Stow(side=SIDES[axis][index % 2], tier=tier, offset=sign * farthest * (2 * share - 1))
            )
    return tuple(stows)


def _share_out(count: int, capacity: list[int]) -> tuple[int, int]:
    """Leaves that travel along x and along y. Up to two go through the long sides, more are shared evenly."""
    wanted = count if count <= 2 else (count + 1) // 2
    through_long = min(wanted, capacity[1])
    through_short = min(count - through_long, capacity[0])
    return through_short, count - through_short


def _farthest(table: Table, axis: int, inner: tuple[float, float], size: Size, rib: float) -> float:
    """How far from the middle of a side the outermost lane may lie: clear of legs and of a rib beside it, mm."""
    _, lateral = along_and_across(table, axis, inner, size) or (0.0, size[0])
    legs = table.legs.width if table.legs.fitted else 0.0
    taken = max(legs, table.ribs.least_wood_beside_window + table.sides.slot_chamfer) + rib
    return inner[1 - axis] - taken - lateral / 2 - table.stowing.side_clearance


def _capacity(table: Table, axis: int, inner: tuple[float, float], size: Size, rib: float) -> int:
    """How many lanes fit side by side along an axis, with a rib between each two."""
    turned = along_and_across(table, axis, inner, size)
    farthest = _farthest(table, axis, inner, size, rib)
    if turned is None or farthest < 0:
        return 0
    chamfers = 2 * table.sides.slot_chamfer + 1
    lane = turned[1] + 2 * table.stowing.side_clearance + max(rib, chamfers)
    return 1 + int(2 * farthest / lane + 1e-9)


@dataclass(frozen=True)
class Layout:
    """Sizes and heights that the whole recipe shares, mm."""

    table: Table
    stocks: dict[str, Stock]
    inner: tuple[float, float]
    """Half the inner length and half the inner width."""
    cover_bottom: float
    """Underside of the cover leaves."""
    panel_top: float
    panel_bottom: float
    body_bottom: float
    leaf_size: tuple[float, float, float]
    """Length, width and thickness; the thickness includes the rim."""
    lanes: tuple[Lane, ...]

    def thickness(self, stock: str) -> float:
        """Finished thickness of a stock by name, mm."""
        return self.stocks[stock].thickness

    @property
    def rib_thickness(self) -> float:
        """mm"""
        return self.thickness(self.table.ribs.stock)

    @property
    def side_thickness(self) -> float:
        """mm"""
        return self.thickness(self.table.sides.stock)

    @property
    def groove_top(self) -> float:
        """Upper edge of the bottom panel's groove: its measured thickness plus the fit allowance."""
        return self.panel_top + self.table.limits.fit_allowance


def lay_out(table: Table) -> Layout:
    """Heights, leaf sizes and lanes of a table. Raises ParameterError for what cannot be built."""
    stocks = {stock.name: stock for stock in table.stock}
    side, leaf, bottom, rib = (
        stocks[name].thickness
        for name in (table.sides.stock, table.leaves.stock, table.bottom.stock, table.ribs.stock)
    )
    leaf += table.leaves.rim_height
    inner = (table.table.length / 2 - side, table.table.width / 2 - side)
    leaf_size = _leaf_size(table, inner, leaf)
    check_sizes(table, side, leaf, rib)
    cover_bottom = table.table.height - leaf
    panel_top = cover_bottom - table.well.depth
    panel_bottom = panel_top - bottom
    stows = table.stow or automatic_stow(table, inner, leaf_size, rib)
    if len(stows) != table.leaves.count:
        allowed = f"{len(stows)}, or as many [[stow]] entries as leaves"
        refuse(table, "leaves.count", str(table.leaves.count), allowed, "every leaf has a stow position")
    levels = tier_levels(table, stows, panel_bottom, leaf)
    lanes = tuple(
        make_lane(table, index, stow, levels[stow.tier], inner, leaf_size) for index, stow in enumerate(stows)
    )
    body_bottom = min(lane.slot_bottom for lane in lanes) - table.sides.wood_below_slots
    if body_bottom < 0:
        least = at_least(table, table.table.height - body_bottom)
        refuse(
            table, "table.height", table.table.height, least, "the body would reach below the room's floor"
        )
    layout = Layout(
        table, stocks, inner, cover_bottom, panel_top, panel_bottom, body_bottom, leaf_size, lanes
    )
    check_lanes(layout)
    check_worked_face(layout)
    return layout


def _leaf_size(table: Table, inner: tuple[float, float], thickness: float) -> Size:
    """Length, width and thickness of a leaf, mm."""
    leaves = table.leaves
    along, across = (0, 1) if leaves.direction == "across" else (1, 0)
    room = 2 * inner[along]
    if leaves.cover_length is not None:
        if leaves.cover_length > room:
            most = at_most(table, room)
            refuse(table, "leaves.cover_length", leaves.cover_length, most, "the well is no longer than that")
        room = leaves.cover_length
    width = (room - (leaves.count + 1) * leaves.gap) / leaves.count
    length = 2 * inner[across] - 2 * leaves.end_gap
    if width < MIN_LEAF_WIDTH:
        most = f"at most {max(int(room // (MIN_LEAF_WIDTH + leaves.gap)), 1)}"
        reason = f"leaves would be only {size(table, width)} wide"
        refuse(table, "leaves.count", str(leaves.count), most, reason)
    if length < width:
        other = "'along'" if leaves.direction == "across" else "'across'"
        refuse(
            table,
            "leaves.direction",
            leaves.direction,
            f"{other}, or more leaves",
            "leaves would be wider than long",
        )
    return length, width, thickness
