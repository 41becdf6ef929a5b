"""Where things go: heights, leaf sizes, the lanes that the leaves take. Refuses what cannot be built."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from ...sizes.declare import parameters
from ...sizes.errors import ParameterError
from ...sizes.units import format_at_least, format_at_most
from .body import check_supports
from .lanes import Lane, Layout, Size, make_lane, overlap, tier_levels
from .leaf_parameters import OWN, own_of
from .leaves import check_worked_face
from .parameters import Bottom, Stow, Table, key_in_words
from .positions import automatic_stow
from .push_holes import check_push_hole
from .refusals import (
    BESIDE_HOLE,
    BETWEEN_CHAMFERS,
    LEAST_STRIP,
    MIN_LEAF_WIDTH,
    at_least,
    at_most,
    between,
    refuse,
    size,
)

BEHIND_GROOVE = 4.0
"""Least wood behind the bottom panel's groove, mm (common practice, no source)."""


def lay_out(table: Table) -> Layout:
    """Heights, leaf sizes and lanes of a table. Raises ParameterError for what cannot be built."""
    stocks = {stock.name: stock for stock in table.stock}
    side, leaf, bottom, rib = (
        stocks[name].thickness
        for name in (table.sides.stock, table.leaves.stock, table.bottom.stock, table.ribs.stock)
    )
    board = leaf
    leaf += max(own_of(table.leaves, stow).rim_height for stow in table.stow or (Stow("front", 0.0),))
    inner = (table.table.length / 2 - side, table.table.width / 2 - side)
    leaf_size = _leaf_size(table, inner, leaf)
    _check_sizes(table, side, leaf, rib)
    cover_bottom = table.table.height - leaf
    panel_top = cover_bottom - table.well.depth
    panel_bottom = panel_top - bottom
    stows = table.stow or automatic_stow(table, inner, leaf_size, rib)
    if len(stows) != table.leaves.count:
        allowed = f"{len(stows)}, or as many [[stow]] entries as leaves, or none"
        refuse(table, "leaves.count", str(table.leaves.count), allowed, "every leaf has a stow position")
    thickness = tuple(board + own_of(table.leaves, stow).rim_height for stow in stows)
    levels = tier_levels(table, stows, panel_bottom, thickness)
    lanes = tuple(
        make_lane(table, index, stow, levels[stow.tier], inner, (*leaf_size[:2], thick))
        for index, (stow, thick) in enumerate(zip(stows, thickness, strict=True))
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
    _check_lanes(layout)
    _check_own_rims(table)
    for lane in lanes:
        with _own_keys(table, lane.index):
            check_worked_face(layout.of_leaf(lane.index), lane)
            check_push_hole(layout.of_leaf(lane.index), lane)
    check_supports(layout)
    return layout


@contextmanager
def _own_keys(table: Table, index: int) -> Iterator[None]:
    """Has a refusal name the key of the one leaf where the value is its own."""
    try:
        yield
    except ParameterError as error:
        section, _, name = error.key.partition(".")
        if section != "leaves" or name not in OWN or not table.stow:
            raise
        if getattr(table.stow[index], name) is None:
            raise
        key = f"stow[{index}].{name}"
        raise ParameterError(
            key, error.value, error.allowed, error.reason, error.shown, key_in_words(key)
        ) from None


def _check_own_rims(table: Table) -> None:
    """Leaves that lie on their rims have to lie as high as all others."""
    own = [own_of(table.leaves, stow) for stow in table.stow]
    lifted = [leaves.rim_height if leaves.face == "lower" else 0.0 for leaves in own]
    if len(set(lifted)) > 1:
        highest = lifted.index(max(lifted))
        key = "leaves.face" if table.stow[highest].face is None else f"stow[{highest}].face"
        reason = "leaves that lie on rims of unlike heights make no even top"
        refuse(table, key, "lower", "'upper', or rims of one height", reason)


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


def _check_sizes(table: Table, side: float, leaf: float, rib: float) -> None:
    """Refuse cuts that run into each other or through a board; thicknesses in mm."""
    sides, bottom, leaves, ribs, well = table.sides, table.bottom, table.leaves, table.ribs, table.well
    shallowest = next(one.low or 0.0 for one in parameters(Bottom) if one.name == "groove_depth")
    if side < shallowest + BEHIND_GROOVE:
        thick = f"a sheet {at_least(table, shallowest + BEHIND_GROOVE)} thick"
        refuse(
            table,
            "sides.stock",
            sides.stock,
            thick,
            "no groove for the bottom panel can be cut into a thinner one",
        )
    no_more = [
        ("bottom.groove_depth", bottom.groove_depth, side - BEHIND_GROOVE,
         f"{size(table, BEHIND_GROOVE)} of the side must stay behind the groove"),
        *_stopped_groove(table, side),
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
    if ribs.upper_windows == "closed":
        reason = "the windows' chamfer would run out of the ribs' upper edge"
        more_than.append(("sides.wood_above_slots", sides.wood_above_slots, ribs.window_chamfer, reason))
    elif sides.wood_above_slots < LEAST_STRIP:
        least = at_least(table, LEAST_STRIP)
        reason = "kickers under the bottom panel would be no thicker"
        refuse(table, "sides.wood_above_slots", sides.wood_above_slots, least, reason)
    for key, value, limit, reason in no_more:
        if value > limit:
            refuse(table, key, value, at_most(table, limit), reason)
    for key, value, limit, reason in less_than:
        if value >= limit and value > 0:
            refuse(table, key, value, f"less than {format_at_most(limit, table.units)}", reason)
    for key, value, limit, reason in more_than:
        if value <= limit:
            refuse(table, key, value, f"more than {format_at_least(limit, table.units)}", reason)


def _stopped_groove(table: Table, side: float) -> list[tuple[str, float, float, str]]:
    """The run-on of grooves that stop within the ends of the long sides, and the corners that are cut off the panel:
    what is no more than so much, mm, and why."""
    bottom = table.bottom
    room = min(table.table.length, table.table.width) / 4
    found = [("bottom.corner_cut", bottom.corner_cut, room, "little would be left of the panel's edges")]
    if table.table.corner_joint != "mitered":
        most, reason = (
            side - bottom.groove_depth - BETWEEN_CHAMFERS,
            "the groove would come out of the sides' ends",
        )
        found.append(("bottom.groove_run_on", bottom.groove_run_on, most, reason))
    return found


def _check_lanes(layout: Layout) -> None:
    """Refuse slots that run out of their side, and lanes that cross or run together."""
    for lane in layout.lanes:
        with _own_keys(layout.table, lane.index):
            _check_finger_hole(layout.of_leaf(lane.index), lane)
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
