"""Leaves that come too near to something on their way: the changes that clear it."""

from __future__ import annotations

from math import hypot, inf
from typing import TYPE_CHECKING, Final

import numpy as np

from ....sizes.declare import parameters
from ....sizes.tolerances import ARC, CONTACT
from ....wood.fasteners import Fastener
from ....wood.roles import END_STOP, LEG
from ...findings import Change, Remedy
from ..lanes import room_of
from ..parameters import Leaves
from .case import MARGIN, Advice, both
from .lengths import leg_past_way, narrower_legs, other_fastener

if TYPE_CHECKING:
    from ....check.causes import Gaps, TooNear
    from ....check.facts import Fact
    from .case import Case

WHERE: Final = {"side_clearance": "beside", "clearance_above": "above", "clearance_below": "below"}


def too_near(case: Case, fact: Fact, cause: TooNear) -> Advice:
    """A leaf that is stopped, or passes with less than the minimum clearance."""
    part, leaf = fact.parts
    of_part, remedy = f"{part} ({cause.near})", _more_room(case, fact, cause)
    amount = case.words(fact.amount)
    travel = case.place(fact.travel or 0.0)
    if fact.rule == "leaf-blocked":
        return Advice(
            f"{of_part} stands {amount} in the way of {leaf} and stops it at {travel} of its travel.", remedy
        )
    if fact.amount <= CONTACT:
        return Advice(f"{leaf} is touching {of_part} from {travel} of its travel.", remedy)
    return Advice(f"{leaf} passes {of_part} with {amount} at {travel} of its travel.", remedy)


def _more_room(case: Case, fact: Fact, cause: TooNear) -> Remedy:
    """The drawing, or more room on every side where it lacks."""
    remedy = case.as_drawn(fact.parts)
    if remedy is not None:
        return remedy
    if cause.room is not None:
        clearance = -fact.amount if fact.rule == "leaf-blocked" else fact.amount
        return _in_opening(case, fact.leaf, cause.room, clearance)
    return _past_board(case, fact.parts[0], fact.leaf, cause)


# -- in the leaf's own slot or window
# ------------------------------------------------------------------------------------------------------------


def _in_opening(case: Case, leaf: str, room: Gaps, clearance: float) -> Remedy:
    table = case.table
    least = table.limits.min_clearance
    rooms = {
        "side_clearance": min((gap for gap in (room.left, room.right) if gap is not None), default=inf),
        "clearance_above": inf if room.above is None else room.above,
        "clearance_below": inf if room.below is None else room.below,
    }
    rests = abs(rooms["clearance_below"]) <= CONTACT
    lacks = {
        name: least - gap
        for name, gap in rooms.items()
        if gap < least and not (rests and name == "clearance_below")
    }
    beside = rooms["side_clearance"] + lacks.get("side_clearance", 0.0)
    upright = min(rooms[name] + lacks.get(name, 0.0) for name in ("clearance_above", "clearance_below"))
    radius, edge = table.sides.corner_radius, table.leaves.edge_radius
    if corner_room(radius, edge, beside, upright) >= least + ARC:
        return _clearances(case, leaf, lacks or dict.fromkeys(rooms, least - clearance))
    remedy = _to_pass_the_corner(case, radius, edge)
    return both(_clearances(case, leaf, lacks), remedy) if lacks else remedy


def _to_pass_the_corner(case: Case, radius: float, edge: float) -> Remedy:
    """Edges as round as the corners, or, on leaves too thin for that, corners as round as the edges."""
    table = case.table
    thickness = next(stock.thickness for stock in table.stock if stock.name == table.leaves.stock)
    most = next(one.high or inf for one in parameters(Leaves) if one.name == "edge_radius")
    if 2 * radius < thickness and radius <= most:
        return Remedy(
            f"Round the leaves' edges to {case.given(radius)}, the corner radius of the slots",
            (Change("leaves.edge_radius", radius),),
        )
    return Remedy(
        f"Cut the slots and windows with corners of {case.given(edge)}, the radius of the leaves' edges",
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


def _clearances(case: Case, leaf: str, lacks: dict[str, float]) -> Remedy:
    """Greater clearances, of this leaf alone where it has its own."""
    table, index = case.table, case.assembly.path_of(leaf).position
    words, changes = [], []
    for name, missing in lacks.items():
        own = index < len(table.stow) and getattr(table.stow[index], name) is not None
        value = case.room(getattr(table.stow[index] if own else table.stowing, name) + missing + MARGIN)
        words.append(f"{case.given(value)} {WHERE[name]} {leaf if own else 'every leaf'}")
        changes.append(Change(f"stow[{index}].{name}" if own else f"stowing.{name}", value))
    return Remedy(f"Leave {' and '.join(words)}", tuple(changes))


# -- past other boards
# ------------------------------------------------------------------------------------------------------------


def _past_board(case: Case, label: str, leaf: str, cause: TooNear) -> Remedy:
    table, part, path = case.table, case.assembly.body[label], case.assembly.path_of(leaf)
    if isinstance(part, Fastener):
        return other_fastener(part)
    if part.role == END_STOP:
        return Remedy("Leave the end stops out", (Change("stowing.end_stops", False),))
    if part.role == LEG:
        past = leg_past_way(part, case.assembly.by_label[leaf], path)
        return narrower_legs(case, past + table.limits.min_clearance + MARGIN)
    missing = table.limits.min_clearance - cause.apart
    if cause.where in ("ahead", "behind"):
        return farther_out(case, missing + MARGIN)
    if cause.where in ("above", "below"):
        return _clearances(case, leaf, {f"clearance_{cause.where}": missing})
    index = path.position
    now = room_of(table, table.stow[index])[0] if table.stow else cause.apart
    if cause.apart > now + CONTACT:  # a rib amid two ways, which follows both by half
        left = np.cross([0.0, 0.0, 1.0], -path.outward)
        away = -float(left.sum()) if cause.where == "left" else float(left.sum())
        offset = table.stow[index].offset + 2 * (missing + MARGIN) * away
        offset = case.more(offset) if away > 0 else case.less(offset)
        return Remedy(
            f"Move {leaf} to {case.given(offset)} from the middle of its side",
            (Change(f"stow[{index}].offset", offset),),
        )
    return _clearances(case, leaf, {"side_clearance": missing})


def farther_out(case: Case, by: float) -> Remedy:
    """Leaves that stay farther out of the table; negative: farther in."""
    way = "out" if by > 0 else "in"
    by = case.more(by) if by > 0 else case.less(by)
    return Remedy(
        f"Stow the leaves {case.given(abs(by))} farther {way}",
        (Change("stowing.set_back", case.table.stowing.set_back - by),),
    )
