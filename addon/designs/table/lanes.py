"""The way of each leaf below the bottom panel, a straight lane from its slot on; sizes and heights that all share."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from ...wood.roles import LEAF
from ...wood.stock import Stock
from .bill import Box
from .leaf_parameters import own_of
from .parameters import Stow, Table
from .refusals import refuse
from .refusals import size as size_in_words

Interval = tuple[float, float]


def overlap(a: Interval, b: Interval, room: float = 0.0) -> bool:
    """Whether two intervals come nearer to each other than `room`, mm."""
    return a[0] < b[1] + room and b[0] < a[1] + room


SideName = Literal["front", "back", "left", "right"]
Size = tuple[float, float, float]

SIDE_LABELS: dict[str, str] = {"front": "S1", "back": "S2", "left": "S3", "right": "S4"}

BESIDE_BROADSIDE = 80.0
"""A leaf goes in broadside only where this much of the side is left in all, mm (common practice, no source)."""


@dataclass(frozen=True)
class Lane:
    """The way of one leaf."""

    index: int
    """Number of its entry in the table file, from 0."""
    leaf: str
    """Label of the leaf that takes it."""
    side: SideName
    tier: str
    axis: int
    """Table axis that it travels along: 0 for x, 1 for y."""
    sign: int
    """+1 or -1: inward along that axis."""
    lo: float
    hi: float
    """Edges of the leaf on the other axis, mm."""
    side_clearance: float
    slot_bottom: float
    leaf_bottom: float
    slot_top: float
    slot_face: float
    """Outer face of the side, on the travel axis, mm."""
    outer: float
    """Outer end of the leaf stowed."""
    nose: float
    """Nose of the leaf stowed."""
    open_above: bool = False
    """Whether its windows are open to the bottom panel."""

    @property
    def key(self) -> str:
        """Key of its entry in the table file."""
        return f"stow[{self.index}]"

    @property
    def center(self) -> float:
        """Center line on the axis across the travel, mm."""
        return (self.lo + self.hi) / 2

    @property
    def passage(self) -> Interval:
        """The leaf and its side clearance, across the travel, mm."""
        return self.lo - self.side_clearance, self.hi + self.side_clearance

    @property
    def reach(self) -> Interval:
        """What the lane takes along the travel, mm."""
        return min(self.slot_face, self.nose), max(self.slot_face, self.nose)

    def from_outer_end(self, distance: float, travel: float, lengthwise: bool) -> float:
        """The leaf's own u (lengthwise) or v of a place on its way, counted from its outer end; mm.

        Parameters
        ----------
        travel : size of the leaf along its way
        """
        along = distance if self.sign > 0 else travel - distance
        # v of a leaf that goes in broadside runs along +y or -x
        return along if lengthwise or self.axis == 1 else travel - along

    @property
    def box(self) -> Box:
        """All that the leaf takes on its way, with the room around it, mm."""
        (a0, a1), (b0, b1), low, high = self.reach, self.passage, self.slot_bottom, self.slot_top
        return ((a0, b0, low), (a1, b1, high)) if self.axis == 0 else ((b0, a0, low), (b1, a1, high))

    @property
    def home(self) -> Interval:
        """What the leaf takes along the travel stowed, mm."""
        return min(self.outer, self.nose), max(self.outer, self.nose)


def room_of(table: Table, stow: Stow) -> tuple[float, float, float]:
    """Clearances of one stow position: beside, above, below, mm."""
    own = (stow.side_clearance, stow.clearance_above, stow.clearance_below)
    common = (table.stowing.side_clearance, table.stowing.clearance_above, table.stowing.clearance_below)
    beside, above, below = (
        mine if mine is not None else ours for mine, ours in zip(own, common, strict=True)
    )
    return beside, above, below


def set_back(table: Table) -> float:
    """How far a stowed leaf's outer end lies inside the side's outer face, mm.

    Left out, a leaf that spans the table lies in the middle of the body, as far from either side as when it covers.
    """
    if table.stowing.set_back is not None:
        return table.stowing.set_back
    side = next(stock for stock in table.stock if stock.name == table.sides.stock)
    return side.thickness + table.leaves.end_gap


def tier_levels(
    table: Table, stows: tuple[Stow, ...], panel_bottom: float, thickness: tuple[float, ...]
) -> dict[str, float]:
    """Underside of a stowed leaf in each tier that is used, mm.

    Parameters
    ----------
    thickness : of each leaf
    """
    levels: dict[str, float] = {}
    ceiling = panel_bottom - table.sides.wood_above_slots
    for tier in ("upper", "lower"):
        rooms = [
            (thick + above, below)
            for stow, thick in zip(stows, thickness, strict=True)
            if stow.tier == tier
            for _, above, below in [room_of(table, stow)]
        ]
        if not rooms:
            continue
        levels[tier] = ceiling - max(high for high, _ in rooms)
        ceiling = levels[tier] - max(below for _, below in rooms) - table.stowing.tier_gap
    return levels


def make_lane(
    table: Table, index: int, stow: Stow, level: float, inner: tuple[float, float], size: Size
) -> Lane:
    """The lane of leaf number `index`, whose underside is at `level` when stowed."""
    axis = 1 if stow.side in ("front", "back") else 0
    sign = 1 if stow.side in ("front", "left") else -1
    outside = (table.table.length / 2, table.table.width / 2)
    turned = along_and_across(table, axis, inner, size)
    if turned is None:
        reason = f"a leaf {size_in_words(table, size[0])} long does not fit into the body through it"
        refuse(table, f"stow[{index}].side", stow.side, "another side, or smaller leaves", reason)
    travel, lateral = turned
    slot_face = -sign * outside[axis]
    outer = slot_face + sign * set_back(table)
    beside, above, below = room_of(table, stow)
    return Lane(
        index=index,
        leaf=f"{LEAF.prefix}{index + 1}",
        side=stow.side,  # type: ignore[arg-type]
        tier=stow.tier,
        axis=axis,
        sign=sign,
        lo=stow.offset - lateral / 2,
        hi=stow.offset + lateral / 2,
        side_clearance=beside,
        slot_bottom=level - below,
        leaf_bottom=level,
        slot_top=level + size[2] + above,
        slot_face=slot_face,
        outer=outer,
        nose=outer + sign * travel,
        open_above=stow.tier == "upper" and table.ribs.upper_windows == "open",
    )


def along_and_across(
    table: Table, axis: int, inner: tuple[float, float], size: Size
) -> tuple[float, float] | None:
    """Leaf size along and across its travel along an axis, mm.

    Lengthwise where the body takes its length, else broadside; None where it does not fit either way.
    """
    outside = (table.table.length, table.table.width)
    depth = outside[axis] - set_back(table)
    if size[0] <= depth:
        return size[0], size[1]
    if size[1] <= depth and size[0] + BESIDE_BROADSIDE <= 2 * inner[1 - axis]:
        return size[1], size[0]
    return None


@dataclass(frozen=True)
class Layout:
    """Sizes and heights that all modules share, mm."""

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
    """Length, width and thickness of the thickest; the thickness includes the rim."""
    lanes: tuple[Lane, ...]

    def of_leaf(self, index: int) -> Layout:
        """The same with the parameters and the size of one leaf in the place of those of all."""
        if not self.table.stow:
            return self
        leaves = own_of(self.table.leaves, self.table.stow[index])
        if leaves is self.table.leaves and not self._own_rims:
            return self
        board = self.thickness(leaves.stock)
        return replace(
            self,
            table=replace(self.table, leaves=leaves),
            leaf_size=(*self.leaf_size[:2], board + leaves.rim_height),
        )

    @property
    def _own_rims(self) -> bool:
        """Whether a leaf has a rim of its own, so that not all are as thick as the thickest."""
        return any(stow.rim_height is not None for stow in self.table.stow)

    def thickness(self, stock: str) -> float:
        """Finished thickness of a stock by name, mm."""
        return self.stocks[stock].thickness

    @property
    def rib_height(self) -> float:
        """From the lower edge of the body and the ribs to the bottom panel, mm."""
        return self.panel_bottom - self.body_bottom

    @property
    def rib_thickness(self) -> float:
        """mm"""
        return self.thickness(self.table.ribs.stock)

    @property
    def side_thickness(self) -> float:
        """mm"""
        return self.thickness(self.table.sides.stock)

    @property
    def lane_boxes(self) -> list[Box]:
        """What the leaves take on their ways, mm."""
        return [lane.box for lane in self.lanes]

    @property
    def groove_top(self) -> float:
        """Upper edge of the bottom panel's groove: its measured thickness plus the fit allowance."""
        return self.panel_top + self.table.limits.fit_allowance
