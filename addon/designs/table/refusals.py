"""What cannot be built is refused in one sentence: key, value, what is allowed, and why."""

from __future__ import annotations

from typing import TYPE_CHECKING, NoReturn

from ...sizes.errors import ParameterError
from ...sizes.units import format_at_least, format_at_most, format_given, format_size
from .intervals import overlap
from .parameters import key_in_words

if TYPE_CHECKING:
    from .lanes import Lane
    from .layout import Layout
    from .parameters import Table

MIN_LEAF_WIDTH = 40.0
"""A narrower leaf is a stick; mm (common practice, no source)."""

BEHIND_GROOVE = 4.0
"""Least wood behind the bottom panel's groove, mm (common practice, no source)."""

BESIDE_HOLE = 1.0
"""Least wood between a finger hole and the leaf's edges, mm (common practice, no source)."""

BETWEEN_CHAMFERS = 1.0
"""Least wood between the chamfers of two openings, mm (common practice, no source)."""


def refuse(table: Table, key: str, value: float | str, allowed: str, reason: str) -> NoReturn:
    """Raise the ParameterError for a value that cannot be built, lengths in words of the table's unit."""
    shown = format_given(value, table.units) if isinstance(value, float) else str(value)
    raise ParameterError(key, value, allowed, reason, shown, key_in_words(key))


def size(table: Table, mm: float) -> str:
    """A size in words, in the table's unit."""
    return format_size(mm, table.units)


def at_most(table: Table, mm: float) -> str:
    """A bound in words; whoever keeps to it is not refused again."""
    return f"at most {format_at_most(mm, table.units)}"


def at_least(table: Table, mm: float) -> str:
    """A need in words; whoever meets it is not refused again."""
    return f"at least {format_at_least(mm, table.units)}"


def between(table: Table, low: float, high: float) -> str:
    """A range in words, rounded inward."""
    return f"between {format_at_least(low, table.units)} and {format_at_most(high, table.units)}"


def check_sizes(table: Table, side: float, leaf: float, rib: float) -> None:
    """Refuse cuts that run into each other or through a board; thicknesses in mm."""
    sides, bottom, leaves, ribs, well = table.sides, table.bottom, table.leaves, table.ribs, table.well
    no_more = [
        ("bottom.groove_depth", bottom.groove_depth, side - BEHIND_GROOVE,
         f"{size(table, BEHIND_GROOVE)} of the side must stay behind the groove"),
        ("well.ledger_height", well.ledger_height, well.depth, "the ledger would stand below the bottom panel"),
    ]  # fmt: skip
    less_than = [
        (
            "bottom.groove_slack",
            bottom.groove_slack,
            bottom.groove_depth,
            "the bottom panel would fall out of its groove",
        ),
        ("sides.slot_chamfer", sides.slot_chamfer, side / 2, "the chamfers of both faces would meet"),
        ("ribs.window_chamfer", ribs.window_chamfer, rib / 2, "the chamfers of both faces would meet"),
        ("sides.lower_round_over", sides.lower_round_over, side, "the side is no thicker"),
        ("leaves.edge_radius", leaves.edge_radius, leaf / 2, "the round-overs of both faces would meet"),
        ("leaves.lead_chamfer", leaves.lead_chamfer, leaf / 2, "the chamfers of both faces would meet"),
    ]
    more_than = [
        (
            "sides.wood_above_slots",
            sides.wood_above_slots,
            sides.slot_chamfer,
            "the slots' chamfer would meet the bottom panel's groove",
        ),
        (
            "sides.wood_above_slots",
            sides.wood_above_slots,
            ribs.window_chamfer,
            "the windows' chamfer would run out of the ribs' upper edge",
        ),
        (
            "sides.wood_below_slots",
            sides.wood_below_slots,
            sides.slot_chamfer + sides.lower_round_over,
            "the slots' chamfer would meet the round-over below",
        ),
        (
            "sides.wood_below_slots",
            sides.wood_below_slots,
            ribs.window_chamfer,
            "the windows' chamfer would run out of the ribs' lower edge",
        ),
    ]
    for key, value, limit, reason in no_more:
        if value > limit:
            refuse(table, key, value, at_most(table, limit), reason)
    for key, value, limit, reason in less_than:
        if value >= limit and value > 0:
            refuse(table, key, value, f"less than {format_at_most(limit, table.units)}", reason)
    for key, value, limit, reason in more_than:
        if value <= limit:
            refuse(table, key, value, f"more than {format_at_least(limit, table.units)}", reason)


def check_lanes(layout: Layout) -> None:
    """Refuse slots that run out of their side, and lanes that cross or run together."""
    for lane in layout.lanes:
        _check_finger_hole(layout, lane)
        _check_slot_in_side(layout, lane)
    for index, lane in enumerate(layout.lanes):
        for other in layout.lanes[:index]:
            if lane.axis != other.axis:
                _check_crossing(layout, lane, other)
            else:
                _check_beside(layout, lane, other)


def _check_finger_hole(layout: Layout, lane: Lane) -> None:
    """Refuse a finger hole that runs out of its leaf."""
    table, leaves = layout.table, layout.table.leaves
    if leaves.finger_hole == 0:
        return
    wood = leaves.finger_hole / 2 + BESIDE_HOLE
    widest = lane.hi - lane.lo - 2 * (leaves.edge_radius + BESIDE_HOLE)
    if leaves.finger_hole > widest:
        refuse(
            table,
            "leaves.finger_hole",
            leaves.finger_hole,
            at_most(table, widest),
            f"{lane.leaf} is no wider",
        )
    farthest = lane.home[1] - lane.home[0] - wood
    if not wood <= leaves.finger_hole_inset <= farthest:
        allowed = between(table, wood, farthest)
        reason = f"the finger hole would run out of {lane.leaf}"
        refuse(table, "leaves.finger_hole_inset", leaves.finger_hole_inset, allowed, reason)


def _check_slot_in_side(layout: Layout, lane: Lane) -> None:
    table = layout.table
    half = layout.inner[1 - lane.axis] - table.ribs.least_wood_beside_window - table.sides.slot_chamfer
    low, high = lane.passage
    if low >= -half and high <= half:
        return
    farthest = half - (high - low) / 2
    allowed = between(table, -farthest, farthest) if farthest >= 0 else "a longer side"
    refuse(
        table,
        f"{lane.key}.offset",
        lane.center,
        allowed,
        f"{lane.leaf}'s slot would run out of the {lane.side} side",
    )


def _check_crossing(layout: Layout, lane: Lane, other: Lane) -> None:
    if lane.tier != other.tier:
        return
    if overlap(lane.reach, other.passage) and overlap(other.reach, lane.passage):
        free = "'lower'" if lane.tier == "upper" else "'upper'"
        reason = f"{lane.leaf} and {other.leaf} would cross on the {lane.tier} tier"
        refuse(layout.table, f"{lane.key}.tier", lane.tier, free, reason)


def _check_beside(layout: Layout, lane: Lane, other: Lane) -> None:
    """Lanes along the same axis must leave room for a rib between them, or for wood between two openings above
    each other."""
    table = layout.table
    if lane.side != other.side and not overlap(lane.reach, other.reach):
        return
    chamfer = table.ribs.window_chamfer
    if lane.side == other.side:
        chamfer = max(chamfer, table.sides.slot_chamfer)
    if lane.tier == other.tier:
        between = max(layout.rib_thickness, 2 * chamfer + BETWEEN_CHAMFERS)
        if overlap(lane.passage, other.passage, between):
            apart = between + (lane.passage[1] - lane.passage[0] + other.passage[1] - other.passage[0]) / 2
            refuse(
                table, f"{lane.key}.offset", lane.center,
                f"a position {at_least(table, apart)} from that of {other.leaf}",
                f"the ways of {lane.leaf} and {other.leaf} would run together",
            )  # fmt: skip
    elif (
        overlap(lane.passage, other.passage, 2 * chamfer + BETWEEN_CHAMFERS)
        and table.stowing.tier_gap <= 2 * chamfer
    ):
        refuse(
            table, "stowing.tier_gap", table.stowing.tier_gap, f"more than {format_at_least(2 * chamfer, table.units)}",
            f"{lane.leaf} and {other.leaf} pass one above the other and their openings would meet",
        )  # fmt: skip
