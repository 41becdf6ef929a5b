"""Where things go: heights, leaf sizes and the lanes that the leaves take. Refuses what cannot be built."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from .arrangement import automatic_stow
from .lanes import make_lane, tier_levels
from .refusals import MIN_LEAF_WIDTH, check_lanes, check_sizes, refuse, size
from .worked_face import check_worked_face

if TYPE_CHECKING:
    from ..parameters import Table
    from ..stock import Stock
    from .lanes import Lane, Size


@dataclass(frozen=True)
class Layout:
    """Sizes and heights that the whole recipe shares, mm."""

    table: Table
    stocks: dict[str, Stock]
    inner: tuple[float, float]
    """Half the inner length and half the inner width."""
    cover_bottom: float
    """Underside of the cover leaves."""
    floor_top: float
    floor_bottom: float
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
        """Upper edge of the floor's groove: its measured thickness plus the fit allowance."""
        return self.floor_top + self.table.limits.fit_allowance


def lay_out(table: Table) -> Layout:
    """Heights, leaf sizes and lanes of a table. Raises ParameterError for what cannot be built."""
    stocks = {stock.name: stock for stock in table.stock}
    side, leaf, floor, rib = (
        stocks[name].thickness
        for name in (table.sides.stock, table.leaves.stock, table.floor.stock, table.ribs.stock)
    )
    leaf += table.leaves.rim_height
    inner = (table.table.length / 2 - side, table.table.width / 2 - side)
    leaf_size = _leaf_size(table, inner, leaf)
    check_sizes(table, side, leaf, rib)
    cover_bottom = table.table.height - leaf
    floor_top = cover_bottom - table.well.depth
    floor_bottom = floor_top - floor
    stows = table.stow or automatic_stow(table, inner, leaf_size, rib)
    if len(stows) != table.leaves.count:
        allowed = f"{len(stows)}, or as many [[stow]] entries as leaves"
        refuse(table, "leaves.count", str(table.leaves.count), allowed, "every leaf has a stow place")
    levels = tier_levels(table, stows, floor_bottom, leaf)
    lanes = tuple(
        make_lane(table, index, stow, levels[stow.tier], inner, leaf_size) for index, stow in enumerate(stows)
    )
    body_bottom = min(lane.slot_bottom for lane in lanes) - table.sides.rail
    if body_bottom < 0:
        least = f"at least {size(table, table.table.height - body_bottom)}"
        refuse(
            table, "table.height", table.table.height, least, "the body would reach below the room's floor"
        )
    layout = Layout(
        table, stocks, inner, cover_bottom, floor_top, floor_bottom, body_bottom, leaf_size, lanes
    )
    check_lanes(layout)
    check_worked_face(layout)
    return layout


def _leaf_size(table: Table, inner: tuple[float, float], thickness: float) -> Size:
    """Length, width and thickness of a leaf, mm."""
    leaves = table.leaves
    along, across = (0, 1) if leaves.lie == "across" else (1, 0)
    room = 2 * inner[along]
    if leaves.cover_length is not None:
        if leaves.cover_length > room:
            most = f"at most {size(table, room)}"
            refuse(table, "leaves.cover_length", leaves.cover_length, most, "the well is no longer than that")
        room = leaves.cover_length
    width = (room - (leaves.count + 1) * leaves.gap) / leaves.count
    length = 2 * inner[across] - 2 * leaves.end_gap
    if width < MIN_LEAF_WIDTH:
        most = f"at most {max(int(room // (MIN_LEAF_WIDTH + leaves.gap)), 1)}"
        reason = f"leaves would be only {size(table, width)} wide"
        refuse(table, "leaves.count", str(leaves.count), most, reason)
    if length < width:
        other = "'along'" if leaves.lie == "across" else "'across'"
        refuse(table, "leaves.lie", leaves.lie, f"{other}, or more leaves", "leaves would be wider than long")
    return length, width, thickness
