"""More room for a leaf: the changes to the table file that clear its way."""

from __future__ import annotations

from math import hypot, inf
from typing import TYPE_CHECKING

import numpy as np

from ..designs.table.lanes import room_of
from ..designs.table.parameters import Leaves
from ..sizes.declare import parameters
from ..sizes.tolerances import ARC, CONTACT
from ..wood.roles import END_STOP, LEG
from .findings import Change, Remedy
from .remedies import MARGIN, as_drawn, in_words, narrower_legs

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from ..designs.table.parameters import Table
    from ..wood.assembly import StowPath
    from ..wood.part import Part
    from .drawn_way import Meeting
    from .findings import Gaps
    from .prepared import Prepared

    Floats = NDArray[np.float64]

WHERE = {"side_clearance": "beside", "clearance_above": "above", "clearance_below": "below"}


def for_meeting(table: Table, prepared: Prepared, path: StowPath, meeting: Meeting) -> Remedy:
    """For a leaf that comes too near to another part: the drawing, or more room on every side where it lacks."""
    remedy = as_drawn(table, prepared.assembly, (meeting.part, meeting.leaf))
    if remedy is not None:
        return remedy
    if meeting.room is not None:
        return _in_opening(table, path, meeting, meeting.room)
    return _past_board(table, prepared, path, meeting)


# -- in the leaf's own slot or window
# ------------------------------------------------------------------------------------------------------------


def _in_opening(table: Table, path: StowPath, meeting: Meeting, room: Gaps) -> Remedy:
    least = table.limits.min_clearance
    rooms = {
        "side_clearance": min((gap for gap in (room.left, room.right) if gap is not None), default=np.inf),
        "clearance_above": room.above,
        "clearance_below": room.below,
    }
    rests = abs(room.below) <= CONTACT
    lacks = {
        name: least - gap
        for name, gap in rooms.items()
        if gap < least and not (rests and name == "clearance_below")
    }
    beside = rooms["side_clearance"] + lacks.get("side_clearance", 0.0)
    upright = min(rooms[name] + lacks.get(name, 0.0) for name in ("clearance_above", "clearance_below"))
    radius, edge = table.sides.corner_radius, table.leaves.edge_radius
    if corner_room(radius, edge, beside, upright) >= least + ARC:
        return _more_room(table, path, lacks or dict.fromkeys(rooms, least - meeting.clearance))
    remedy = _to_pass_the_corner(table, radius, edge)
    return _both(_more_room(table, path, lacks), remedy) if lacks else remedy


def _to_pass_the_corner(table: Table, radius: float, edge: float) -> Remedy:
    """Edges as round as the corners, or, on leaves too thin for that, corners as round as the edges."""
    thickness = next(stock.thickness for stock in table.stock if stock.name == table.leaves.stock)
    most = next(one.high or inf for one in parameters(Leaves) if one.name == "edge_radius")
    if 2 * radius < thickness and radius <= most:
        return Remedy(
            f"Round the leaves' edges to {in_words(table, radius)}, the corner radius of the slots",
            (Change("leaves.edge_radius", radius),),
        )
    return Remedy(
        f"Cut the slots and windows with corners of {in_words(table, edge)}, the radius of the leaves' edges",
        (Change("sides.corner_radius", edge),),
    )


def corner_room(radius: float, edge: float, beside: float, upright: float) -> float:
    """Room between a leaf's eased edge and the round corner that it passes, mm; inf where the corner is out of reach.

    Parameters
    ----------
    radius, edge : of the opening's corner and of the leaf's edge, mm
    beside, upright : room from the leaf's faces to those of the opening, mm
    """
    off = hypot(max(radius - edge - beside, 0.0), max(radius - edge - upright, 0.0))
    return radius - edge - off if min(radius - edge - beside, radius - edge - upright) > 0 else inf


def _more_room(table: Table, path: StowPath, lacks: dict[str, float]) -> Remedy:
    """Greater clearances, of this leaf alone where it has its own."""
    index = path.position
    words, changes = [], []
    for name, missing in lacks.items():
        own = index < len(table.stow) and getattr(table.stow[index], name) is not None
        value = getattr(table.stow[index] if own else table.stowing, name) + missing + MARGIN
        words.append(f"{in_words(table, value)} {WHERE[name]} {path.leaf if own else 'every leaf'}")
        changes.append(Change(f"stow[{index}].{name}" if own else f"stowing.{name}", value))
    return Remedy(f"Leave {' and '.join(words)}", tuple(changes))


def _both(one: Remedy, other: Remedy) -> Remedy:
    text = other.text[0].lower() + other.text[1:]
    return Remedy(f"{one.text}, and {text}", (*one.set, *other.set))


# -- past other boards
# ------------------------------------------------------------------------------------------------------------


def _past_board(table: Table, prepared: Prepared, path: StowPath, meeting: Meeting) -> Remedy:
    part = prepared.assembly.by_label[meeting.part]
    if part.role == END_STOP:
        return Remedy("Leave the end stops out", (Change("stowing.end_stops", False),))
    if part.role == LEG:
        return narrower_legs(table, _leg_past(prepared, path, part) + table.limits.min_clearance + MARGIN)
    gaps, ahead = _apart(prepared, path, meeting.part)
    axis = int(gaps.argmax())
    missing = table.limits.min_clearance - float(gaps[axis])
    if axis == int(np.abs(path.outward).argmax()):
        return farther_out(table, missing + MARGIN)
    if axis == 2:
        return _more_room(table, path, {"clearance_above" if ahead[2] else "clearance_below": missing})
    index = path.position
    now = room_of(table, table.stow[index])[0] if table.stow else gaps[axis]
    if gaps[axis] > now + CONTACT:  # a rib amid two ways, which follows both by half
        offset = table.stow[index].offset + 2 * (missing + MARGIN) * (-1 if ahead[axis] else 1)
        return Remedy(
            f"Move {path.leaf} to {in_words(table, offset)} from the middle of its side",
            (Change(f"stow[{index}].offset", offset),),
        )
    return _more_room(table, path, {"side_clearance": missing})


def _leg_past(prepared: Prepared, path: StowPath, leg: Part) -> float:
    """How far a leg board reaches past the edge of a leaf's way that is nearer to the wall, mm; inf where its width
    runs along the way, so that a narrower one stands in it as well."""
    axis = int(np.abs(leg.placement.axes[1]).argmax())
    if axis == int(np.abs(path.outward).argmax()):
        return inf
    (low, high), (leg_low, leg_high) = prepared.bounds(path.leaf), prepared.bounds(leg.label)
    if leg_low[axis] + leg_high[axis] > 0:
        return float(high[axis] - leg_low[axis])
    return float(leg_high[axis] - low[axis])


def _apart(prepared: Prepared, path: StowPath, label: str) -> tuple[Floats, NDArray[np.bool_]]:
    """(3,) gaps of the boxes around a leaf's whole way and around a part, and whether it lies on the upper side."""
    (low, high), (there_low, there_high) = prepared.bounds(path.leaf), prepared.bounds(label)
    ends = np.array([offset for move in path.moves for offset in (move.start, move.end)])
    low, high = low + ends.min(axis=0), high + ends.max(axis=0)
    return np.maximum(there_low - high, low - there_high), there_low + there_high > low + high


def farther_out(table: Table, by: float) -> Remedy:
    """Leaves that stay farther out of the table; negative: farther in."""
    way = "out" if by > 0 else "in"
    return Remedy(
        f"Stow the leaves {in_words(table, abs(by))} farther {way}",
        (Change("stowing.set_back", table.stowing.set_back - by),),
    )
