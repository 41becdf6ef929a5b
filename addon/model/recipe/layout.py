"""Where things go: heights, leaf sizes and the lanes that the leaves take. Refuses what cannot be built."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from ..errors import ParameterError

if TYPE_CHECKING:
    from ..parameters import Stow, Table
    from ..stock import Stock

SideName = Literal["front", "back", "left", "right"]
Interval = tuple[float, float]

SIDE_LABELS: dict[str, str] = {"front": "S1", "back": "S2", "left": "S3", "right": "S4"}

MIN_LEAF_WIDTH = 40.0
"""A narrower leaf is a stick; mm (common practice, no source)."""


@dataclass(frozen=True)
class Lane:
    """The way of one leaf below the floor: a straight lane from its slot to home."""

    leaf: str
    key: str
    """Key of its entry in the table file."""
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
    mouth: float
    """Outer face of the side, on the travel axis, mm."""
    outer: float
    """Outer end of the leaf at home."""
    nose: float
    """Nose of the leaf at home."""

    @property
    def passage(self) -> Interval:
        """The leaf and its side clearance, across the travel, mm."""
        return self.lo - self.side_clearance, self.hi + self.side_clearance

    @property
    def reach(self) -> Interval:
        """What the lane takes along the travel, mm."""
        return min(self.mouth, self.nose), max(self.mouth, self.nose)

    @property
    def home(self) -> Interval:
        """What the leaf takes along the travel at home, mm."""
        return min(self.outer, self.nose), max(self.outer, self.nose)


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
    side, leaf, floor = (
        stocks[name].thickness for name in (table.sides.stock, table.leaves.stock, table.floor.stock)
    )
    inner = (table.table.length / 2 - side, table.table.width / 2 - side)
    size = _leaf_size(table, inner, leaf)
    cover_bottom = table.table.height - leaf
    floor_top = cover_bottom - table.well.depth
    floor_bottom = floor_top - floor
    _check_sizes(table, side, leaf)
    stows = table.stow or automatic_stow(table, inner, size)
    if len(stows) != table.leaves.count:
        raise ParameterError(
            "leaves.count", table.leaves.count, f"{len(stows)}, or as many [[stow]] entries as leaves",
            "every leaf has a stow place",
        )  # fmt: skip
    levels = _tier_levels(table, stows, floor_bottom, leaf)
    lanes = tuple(_lane(table, index, stow, levels, inner, size) for index, stow in enumerate(stows))
    body_bottom = min(lane.slot_bottom for lane in lanes) - table.sides.rail
    if body_bottom < 0:
        needed = table.table.height - body_bottom
        raise ParameterError(
            "table.height",
            table.table.height,
            f"at least {needed:.4g} mm",
            "the body would reach below the room's floor",
        )
    layout = Layout(table, stocks, inner, cover_bottom, floor_top, floor_bottom, body_bottom, size, lanes)
    _check_lanes(layout)
    return layout


def _leaf_size(table: Table, inner: tuple[float, float], thickness: float) -> tuple[float, float, float]:
    leaves = table.leaves
    along, across = (0, 1) if leaves.lie == "across" else (1, 0)
    room = 2 * inner[along]
    if leaves.cover_length is not None:
        if leaves.cover_length > room:
            raise ParameterError(
                "leaves.cover_length",
                leaves.cover_length,
                f"at most {room:.4g} mm",
                "the well is no longer than that",
            )
        room = leaves.cover_length
    width = (room - (leaves.count + 1) * leaves.gap) / leaves.count
    length = 2 * inner[across] - 2 * leaves.end_gap
    if width < MIN_LEAF_WIDTH:
        most = int(room // (MIN_LEAF_WIDTH + leaves.gap))
        raise ParameterError(
            "leaves.count",
            leaves.count,
            f"at most {max(most, 1)}",
            f"leaves would be only {width:.3g} mm wide",
        )
    if length < width:
        other = "along" if leaves.lie == "across" else "across"
        raise ParameterError(
            "leaves.lie", leaves.lie, f"'{other}', or more leaves", "leaves would be wider than they are long"
        )
    return length, width, thickness


def _check_sizes(table: Table, side: float, leaf: float) -> None:
    """Refuse cuts that run into each other or through a board."""
    sides, floor, leaves = table.sides, table.floor, table.leaves
    checks = [
        ("floor.groove_depth", floor.groove_depth, floor.groove_depth <= side - 4, f"at most {side - 4:.4g} mm",
         "4 mm of the side must stay behind the groove"),
        ("floor.groove_slack", floor.groove_slack, floor.groove_slack < floor.groove_depth,
         f"less than {floor.groove_depth:.4g} mm", "the floor would fall out of its groove"),
        ("sides.roof", sides.roof, sides.roof > sides.slot_chamfer, f"more than {sides.slot_chamfer:.4g} mm",
         "the slots' chamfer would meet the floor's groove"),
        ("sides.roof", sides.roof, sides.roof > table.ribs.window_chamfer, f"more than {table.ribs.window_chamfer:.4g} mm",
         "the windows' chamfer would run out of the ribs' upper edge"),
        ("sides.rail", sides.rail, sides.rail > sides.slot_chamfer + sides.lower_round_over,
         f"more than {sides.slot_chamfer + sides.lower_round_over:.4g} mm",
         "the slots' chamfer would meet the round-over below"),
        ("sides.rail", sides.rail, sides.rail > table.ribs.window_chamfer, f"more than {table.ribs.window_chamfer:.4g} mm",
         "the windows' chamfer would run out of the ribs' lower edge"),
        ("sides.slot_chamfer", sides.slot_chamfer, 2 * sides.slot_chamfer < side, f"less than {side / 2:.4g} mm",
         "the chamfers of both faces would meet"),
        ("ribs.window_chamfer", table.ribs.window_chamfer, 2 * table.ribs.window_chamfer < leaf_or_rib(table),
         f"less than {leaf_or_rib(table) / 2:.4g} mm", "the chamfers of both faces would meet"),
        ("sides.lower_round_over", sides.lower_round_over, sides.lower_round_over < side, f"less than {side:.4g} mm",
         "the side is no thicker"),
        ("leaves.edge_radius", leaves.edge_radius, 2 * leaves.edge_radius < leaf, f"less than {leaf / 2:.4g} mm",
         "the round-overs of both faces would meet"),
        ("well.ledger_height", table.well.ledger_height, table.well.ledger_height <= table.well.depth,
         f"at most {table.well.depth:.4g} mm", "the ledger would stand below the floor"),
    ]  # fmt: skip
    for key, value, sound, allowed, reason in checks:
        if not sound:
            raise ParameterError(key, value, allowed, reason)


def leaf_or_rib(table: Table) -> float:
    """Thickness of the ribs, mm."""
    return next(stock.thickness for stock in table.stock if stock.name == table.ribs.stock)


def room_of(table: Table, stow: Stow) -> tuple[float, float, float]:
    """Clearances of one stow place: beside, above, below, mm."""
    own = (stow.side_clearance, stow.clearance_above, stow.clearance_below)
    common = (table.stowing.side_clearance, table.stowing.clearance_above, table.stowing.clearance_below)
    beside, above, below = (
        mine if mine is not None else ours for mine, ours in zip(own, common, strict=True)
    )
    return beside, above, below


def _tier_levels(
    table: Table, stows: tuple[Stow, ...], floor_bottom: float, thickness: float
) -> dict[str, float]:
    """Underside of a stowed leaf in each tier that is used, mm."""
    levels: dict[str, float] = {}
    ceiling = floor_bottom - table.sides.roof
    for tier in ("upper", "lower"):
        rooms = [room_of(table, stow) for stow in stows if stow.tier == tier]
        if not rooms:
            continue
        levels[tier] = ceiling - max(room[1] for room in rooms) - thickness
        ceiling = levels[tier] - max(room[2] for room in rooms) - table.stowing.tier_gap
    return levels


def _lane(
    table: Table,
    index: int,
    stow: Stow,
    levels: dict[str, float],
    inner: tuple[float, float],
    size: tuple[float, float, float],
) -> Lane:
    axis = 1 if stow.side in ("front", "back") else 0
    sign = 1 if stow.side in ("front", "left") else -1
    outside = (table.table.length / 2, table.table.width / 2)
    travel, lateral = _turned(table, size, axis, inner, index)
    mouth = -sign * outside[axis]
    outer = mouth + sign * table.stowing.recess
    beside, above, below = room_of(table, stow)
    bottom = levels[stow.tier]
    return Lane(
        leaf=f"L{index + 1}",
        key=f"stow[{index}]",
        side=stow.side,  # type: ignore[arg-type]
        tier=stow.tier,
        axis=axis,
        sign=sign,
        lo=stow.offset - lateral / 2,
        hi=stow.offset + lateral / 2,
        side_clearance=beside,
        slot_bottom=bottom - below,
        leaf_bottom=bottom,
        slot_top=bottom + size[2] + above,
        mouth=mouth,
        outer=outer,
        nose=outer + sign * travel,
    )


def _turned(
    table: Table, size: tuple[float, float, float], axis: int, inner: tuple[float, float], index: int
) -> tuple[float, float]:
    """Leaf size along and across its travel: lengthwise where the body takes its length, else broadside."""
    depth = 2 * inner[axis] + leaf_or_rib(table) - table.stowing.recess
    for travel, lateral in ((size[0], size[1]), (size[1], size[0])):
        if travel <= depth and lateral + 2 * MIN_LEAF_WIDTH <= 2 * inner[1 - axis]:
            return travel, lateral
    stow = table.stow[index].side if table.stow else "this side"
    raise ParameterError(
        f"stow[{index}].side",
        stow,
        "another side, or smaller leaves",
        f"a leaf of {size[0]:.4g} x {size[1]:.4g} mm does not fit into the body through it",
    )


def _check_lanes(layout: Layout) -> None:
    for lane in layout.lanes:
        _check_slot_in_side(layout, lane)
    for index, lane in enumerate(layout.lanes):
        for other in layout.lanes[:index]:
            _check_pair(layout, lane, other)


def _check_slot_in_side(layout: Layout, lane: Lane) -> None:
    wood = layout.table.ribs.least_post + layout.table.sides.slot_chamfer
    half = layout.inner[1 - lane.axis] - wood
    low, high = lane.passage
    if low < -half or high > half:
        farthest = half - (high - low) / 2
        raise ParameterError(
            f"{lane.key}.offset",
            (lane.lo + lane.hi) / 2,
            f"between {-farthest:.4g} and {farthest:.4g} mm" if farthest >= 0 else "a longer side",
            f"{lane.leaf}'s slot would run out of the {lane.side} side",
        )


def overlap(a: Interval, b: Interval, room: float = 0.0) -> bool:
    """Whether two intervals come nearer to each other than `room`, mm."""
    return a[0] < b[1] + room and b[0] < a[1] + room


def _check_pair(layout: Layout, lane: Lane, other: Lane) -> None:
    """Two lanes must not share wood: cross on one tier, or have slots or windows that run together."""
    table = layout.table
    centre = (lane.lo + lane.hi) / 2
    if lane.axis != other.axis:
        if (
            lane.tier == other.tier
            and overlap(lane.reach, other.passage)
            and overlap(other.reach, lane.passage)
        ):
            raise ParameterError(
                f"{lane.key}.tier", lane.tier, "'lower'" if lane.tier == "upper" else "'upper'",
                f"{lane.leaf} and {other.leaf} would cross on the {lane.tier} tier",
            )  # fmt: skip
        return
    same_wood = lane.side == other.side or overlap(lane.reach, other.reach)
    chamfer = table.sides.slot_chamfer if lane.side == other.side else table.ribs.window_chamfer
    if not same_wood:
        return
    if lane.tier == other.tier:
        between = max(layout.rib_thickness, 2 * chamfer + 1)
        if overlap(lane.passage, other.passage, between):
            raise ParameterError(
                f"{lane.key}.offset", centre,
                f"a place at least {between + (lane.hi - lane.lo + other.hi - other.lo) / 2 + lane.side_clearance + other.side_clearance:.4g} mm"
                f" from that of {other.leaf}",
                f"the ways of {lane.leaf} and {other.leaf} would run together",
            )  # fmt: skip
    elif overlap(lane.passage, other.passage, 2 * chamfer + 1) and table.stowing.tier_gap <= 2 * chamfer:
        raise ParameterError(
            "stowing.tier_gap", table.stowing.tier_gap, f"more than {2 * chamfer:.4g} mm",
            f"{lane.leaf} and {other.leaf} pass one above the other and their openings would meet",
        )  # fmt: skip


def automatic_stow(
    table: Table, inner: tuple[float, float], size: tuple[float, float, float]
) -> tuple[Stow, ...]:
    """Stow places for a table whose file gives none: long sides above, short sides below, spread over each side."""
    from ..parameters import Stow

    plan: list[tuple[str, str]] = []
    order = [("front", "upper"), ("back", "upper"), ("right", "lower"), ("left", "lower")]
    for index in range(table.leaves.count):
        plan.append(order[index % 4] if table.leaves.count > 2 else order[index % 2])
    return tuple(
        Stow(side=side, tier=tier, offset=_spread(plan, index, inner, size, table))
        for index, (side, tier) in enumerate(plan)
    )


def _spread(
    plan: list[tuple[str, str]],
    index: int,
    inner: tuple[float, float],
    size: tuple[float, float, float],
    table: Table,
) -> float:
    """Centre of lane `index` among those that travel along the same axis, spread evenly from end to end."""
    axis = 1 if plan[index][0] in ("front", "back") else 0
    pairs = {1: ("front", "back"), 0: ("left", "right")}[axis]
    mates = [other for other, (side, _) in enumerate(plan) if side in pairs]
    legs = table.legs.width if table.legs.fitted else 0.0
    edge = inner[1 - axis] - max(legs, table.ribs.least_post + table.sides.slot_chamfer) - leaf_or_rib(table)
    half = size[1] / 2 + table.stowing.side_clearance
    low, high = -edge + half, edge - half
    if len(mates) == 1:
        return 0.0
    return low + (high - low) * mates.index(index) / (len(mates) - 1)
