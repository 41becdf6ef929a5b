"""Leaves that come too near to something on their way: what is behind it, and what clears it."""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot, inf
from typing import Final

import numpy as np

from ....check.causes import Gaps, TooNear
from ....check.facts import Fact
from ....sizes.declare import parameters
from ....sizes.tolerances import ARC, CONTACT
from ....sizes.words import listed
from ....wood.fasteners import Fastener
from ....wood.roles import END_STOP
from ...findings import Candidate, Change, Remedy, Sized, places_text
from ..lanes import room_of, set_back
from ..parameters import Leaves
from .by_hand import Edge, Widening, remade, trimmed, widened
from .case import MARGIN, Advice, Case, Cut, both
from .fasteners import in_the_way
from .overlaps import leg_past_way, narrower_legs, past_legs
from .own_parts import blamed as blamed_own
from .own_parts import own_behind, put_elsewhere

WHERE: Final = {"side_clearance": "beside", "clearance_above": "above", "clearance_below": "below"}

ROOM: Final[dict[Edge, str]] = {
    "upper": "clearance_above",
    "lower": "clearance_below",
    "left": "side_clearance",
    "right": "side_clearance",
}
"""The clearance at each edge of an opening."""

FARTHEST: Final = 30.0
"""So much more than geometry asks for is tried where leaves or parts go elsewhere, mm."""

MORE_ROOM: Final = 5.0
"""So much more than the least clearance is tried around leaves, mm."""


def too_near(case: Case, group: Sequence[Fact]) -> Advice:
    """Leaves that are stopped, or pass with less than the minimum clearance, for one cause; the gravest first."""
    fact, others = group[0], group[1:]
    cause = fact.cause
    assert isinstance(cause, TooNear)
    part, leaf = fact.parts
    of_part = f"{part} ({cause.near})"
    amount = case.words(fact.amount)
    travel = case.place(fact.travel or 0.0)
    if fact.rule == "leaf-blocked":
        words = f"{of_part} stands {amount} in the way of {leaf} and stops it at {travel} of its travel."
    elif fact.amount <= CONTACT:
        words = f"{leaf} is touching {of_part} from {travel} of its travel."
    else:
        words = f"{leaf} passes {of_part} with {amount} at {travel} of its travel."
    if others:
        words += f" Also: {places_text(place for one in others for place in one.places)}."
    need = case.words(_lack(case, fact))
    by_hand = Remedy(f"Take {need} of wood off {part} where {leaf} passes it")
    steel = isinstance(case.assembly.body[fact.parts[0]], Fastener)
    return Advice(words, *_ways_out(case, group), None if steel else by_hand)


# -- what is behind it
# --------------------------------------------------------------------------------------------------------------------


def blamed(case: Case, fact: Fact, cause: TooNear) -> frozenset[str]:
    """The entry of a part that was cut otherwise, or the parameters that leave too little room."""
    cut = _cut_behind(case, fact, cause)
    if cut is not None:
        return frozenset({f"as_cut[{cut.number}]"})
    if own := blamed_own(case, fact):
        return own
    if cause.room is not None:
        keys = {_key(case, fact.leaf, ROOM[edge]) for edge in lacking(case, cause.room)}
        return frozenset(keys or {"corners"})
    part = case.assembly.body[fact.parts[0]]
    if case.is_of_leg(part):
        return frozenset({"legs.width"})
    if isinstance(part, Fastener) or part.role == END_STOP:
        return frozenset({part.label})
    if cause.where in ("ahead", "behind"):
        return frozenset({"stowing.set_back"})
    if cause.where in ("above", "below"):
        return frozenset({_key(case, fact.leaf, f"clearance_{cause.where}")})
    if _is_amid(case, fact.leaf, cause):
        return frozenset({f"stow[{case.assembly.path_of(fact.leaf).position}].offset"})
    return frozenset({_key(case, fact.leaf, "side_clearance")})


def _cut_behind(case: Case, fact: Fact, cause: TooNear) -> Cut | None:
    """The entry of the part or the leaf that is farthest off, if it takes more than the drawing leaves out."""
    part, leaf = fact.parts
    cuts = [one for one in case.cuts((part, leaf)) if one.entry.leaf in (None, leaf)]
    if not cuts:
        return None
    worst = max(cuts, key=lambda one: abs(one.off))
    if cause.room is None:
        # Whatever was cut otherwise takes no more than all of that together; the rest is lacking as drawn.
        lacks = _lack(case, fact) - sum(abs(one.off) for one in cuts)
    else:
        lacks = _lacks_as_drawn(case, fact.leaf, cause.room)
    return worst if abs(worst.off) > lacks else None


def _lacks_as_drawn(case: Case, leaf: str, room: Gaps) -> float:
    """How much room the parameters leave out at those edges of an opening that lack some, mm."""
    stow = case.table.stow
    index = case.assembly.path_of(leaf).position
    stowing = case.table.stowing
    beside, above, below = (
        room_of(case.table, stow[index])
        if index < len(stow)
        else (stowing.side_clearance, stowing.clearance_above, stowing.clearance_below)
    )
    drawn = {"upper": above, "lower": below, "left": beside, "right": beside}
    least = case.table.limits.min_clearance
    return max((least - drawn[edge] for edge in lacking(case, room)), default=0.0)


def lacking(case: Case, room: Gaps) -> dict[Edge, float]:
    """How much room lacks at the edges of an opening, mm; a leaf that rests on its sill lacks none there."""
    rests = room.below is not None and abs(room.below) <= CONTACT
    least = case.table.limits.min_clearance
    return {
        edge: least - gap
        for edge, gap in _gaps(room).items()
        if gap < least - CONTACT and not (rests and edge == "lower")
    }


def _gaps(room: Gaps) -> dict[Edge, float]:
    """The room at each edge of an opening where there is wood, mm."""
    gaps: dict[Edge, float | None] = {
        "upper": room.above, "lower": room.below, "left": room.left, "right": room.right
    }  # fmt: skip
    return {edge: gap for edge, gap in gaps.items() if gap is not None}


def _key(case: Case, leaf: str, name: str) -> str:
    """The key of a clearance: of this leaf alone where it has its own."""
    index = case.assembly.path_of(leaf).position
    stow = case.table.stow
    own = index < len(stow) and getattr(stow[index], name) is not None
    return f"stow[{index}].{name}" if own else f"stowing.{name}"


def _is_amid(case: Case, leaf: str, cause: TooNear) -> bool:
    """Whether what is beside a leaf's way is a rib amid two ways, which follows both by half."""
    table = case.table
    if not table.stow or cause.where not in ("left", "right"):
        return False
    return cause.apart > room_of(table, table.stow[case.assembly.path_of(leaf).position])[0] + CONTACT


# -- ways out
# --------------------------------------------------------------------------------------------------------------------


def _ways_out(case: Case, group: Sequence[Fact]) -> list[Candidate | None]:
    fact = group[0]
    assert isinstance(fact.cause, TooNear)
    edges = _edges(case, group)
    need = max((lack for lacks in edges.values() for lack in lacks.values()), default=0.0)
    every = [Widening(part, leaf, edge) for (part, leaf), lacks in edges.items() for edge in lacks]
    cut = _cut_behind(case, fact, fact.cause)
    if cut is not None:
        lack = need or _lack(case, fact)
        ways = [trimmed(case, cut, lack), widened(case, every, need) if every else None]
        return [*ways, remade(case, cut.entry.part)]
    planned = _planned(case, group, fact.cause)
    if every and case.table.as_cut:  # parts are cut already: a change of the plan may come too late
        planned.append(widened(case, every, need))
    return planned


def _edges(case: Case, group: Sequence[Fact]) -> dict[tuple[str, str], dict[Edge, float]]:
    """For each opening, as part and leaf, what lacks at its edges, mm."""
    found: dict[tuple[str, str], dict[Edge, float]] = {}
    for fact in group:
        if isinstance(fact.cause, TooNear) and fact.cause.room is not None:
            lacks = lacking(case, fact.cause.room)
            if lacks:
                found[fact.parts[0], fact.leaf] = lacks
    return found


def _lack(case: Case, fact: Fact) -> float:
    """What a leaf lacks to pass with the least clearance, mm."""
    return case.table.limits.min_clearance - (-fact.amount if fact.rule == "leaf-blocked" else fact.amount)


def _planned(case: Case, group: Sequence[Fact], cause: TooNear) -> list[Candidate | None]:
    fact = group[0]
    if own := own_behind(case, fact.parts):
        return [*put_elsewhere(case, group, own)]
    legs = [one for one in group if isinstance(one.cause, TooNear) and _is_leg(case, one)]
    if legs:
        by = max(_past_leg(case, one) for one in legs)
        return [narrower_legs(case, max(by, past_legs(case, group)))]
    if cause.room is not None:
        return [_in_opening(case, group, cause.room)]
    part, path = case.assembly.body[fact.parts[0]], case.assembly.path_of(fact.leaf)
    if isinstance(part, Fastener):
        return in_the_way(case, part)
    if part.role == END_STOP:
        return [stops_moved(case, closer=True), stops_moved(case, closer=False)]
    missing = case.table.limits.min_clearance - cause.apart
    if cause.where in ("ahead", "behind"):
        return [farther_out(case, missing)]
    if _is_amid(case, fact.leaf, cause):
        return [_moved_aside(case, path.position, fact.leaf, missing, cause)]
    return [_clearances(case, _needs(case, group))]


def _is_leg(case: Case, fact: Fact) -> bool:
    return case.is_of_leg(case.assembly.body[fact.parts[0]])


def _past_leg(case: Case, fact: Fact) -> float:
    """By how much legs have to be narrower to let a leaf pass, mm."""
    path, leaf = case.assembly.path_of(fact.leaf), case.assembly.by_label[fact.leaf]
    body = case.assembly.body[fact.parts[0]]
    leg = case.assembly.by_label[body.joins[0] if isinstance(body, Fastener) else body.label]
    past = leg_past_way(leg, leaf, path)
    return past + case.table.limits.min_clearance


# -- in the leaf's own slot or window
# --------------------------------------------------------------------------------------------------------------------


def _in_opening(case: Case, group: Sequence[Fact], room: Gaps) -> Candidate:
    table, least = case.table, case.table.limits.min_clearance
    needs = _needs(case, group)
    lacks = lacking(case, room)
    gaps = _gaps(room)
    pairs: tuple[tuple[Edge, Edge], ...] = (("left", "right"), ("upper", "lower"))
    beside, upright = (
        min((gaps[edge] + lacks.get(edge, 0.0) for edge in pair if edge in gaps), default=inf)
        for pair in pairs
    )
    radius, edge = table.sides.corner_radius, table.leaves.edge_radius
    if needs and corner_room(radius, edge, beside, upright) >= least + ARC:
        return _clearances(case, needs)
    corner = _to_pass_the_corner(case, radius, edge)
    if not needs:
        return corner
    rooms = _clearances(case, needs)
    return Sized(lambda mm: both(rooms.of(mm), corner), rooms.need, rooms.most)


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


def _needs(case: Case, group: Sequence[Fact]) -> dict[str, float]:
    """Key of each clearance that a group of facts asks more of → what geometry asks for, mm."""
    found: dict[str, float] = {}
    for fact in group:
        cause = fact.cause
        if not isinstance(cause, TooNear):
            continue
        lacks = [(ROOM[edge], lack) for edge, lack in lacking(case, cause.room).items()] if cause.room else []
        if cause.room is None:
            name = "side_clearance" if cause.where in ("left", "right") else f"clearance_{cause.where}"
            lacks = [(name, case.table.limits.min_clearance - cause.apart)]
        for name, lack in lacks:
            key = _key(case, fact.leaf, name)
            found[key] = max(found.get(key, 0.0), _value(case, key) + lack)
    return found


def _value(case: Case, key: str) -> float:
    section, name = key.split(".")
    if section == "stowing":
        return float(getattr(case.table.stowing, name))
    return float(getattr(case.table.stow[int(section[5:-1])], name))


def more_room(case: Case, leaves: Sequence[str], names: Sequence[str]) -> Sized:
    """Greater clearances of some names around some leaves."""
    keys = dict.fromkeys(_key(case, leaf, name) for leaf in leaves for name in names)
    return _clearances(case, {key: _value(case, key) + MARGIN for key in keys})


def _clearances(case: Case, needs: dict[str, float]) -> Sized:
    """Greater clearances, all as much greater than geometry asks for."""

    def of(mm: float) -> Remedy:
        values = {key: case.finely(case.more(need) + mm) for key, need in needs.items()}
        words: dict[tuple[str, float], list[str]] = {}
        for key, value in values.items():
            section, name = key.split(".")
            whose = "every leaf" if section == "stowing" else f"L{int(section[5:-1]) + 1}"
            words.setdefault((whose, value), []).append(WHERE[name])
        clauses = [f"{case.given(value)} {listed(where)} {whose}" for (whose, value), where in words.items()]
        return Remedy(f"Leave {listed(clauses)}", tuple(Change(key, value) for key, value in values.items()))

    return Sized(of, 0.0, MORE_ROOM)


# -- past other boards
# --------------------------------------------------------------------------------------------------------------------


def stops_moved(case: Case, *, closer: bool) -> Sized:
    """End stops nearer to their leaves, or farther from them."""
    now = case.table.stowing.stop_gap

    def of(mm: float) -> Remedy:
        return Remedy(
            f"Set the end stops {case.given(mm)} from the leaves", (Change("stowing.stop_gap", mm),)
        )

    return Sized(of, now, 0.0 if closer else max(case.table.limits.end_gap, now))


def _moved_aside(case: Case, index: int, leaf: str, missing: float, cause: TooNear) -> Sized:
    """A leaf's way farther from a rib amid two ways, which follows it by half."""
    left = np.cross([0.0, 0.0, 1.0], -case.assembly.path_of(leaf).outward)
    away = -float(left.sum()) if cause.where == "left" else float(left.sum())
    need = case.table.stow[index].offset + 2 * missing * away

    def of(mm: float) -> Remedy:
        return Remedy(
            f"Move {leaf} to {case.given(mm)} from the middle of its side",
            (Change(f"stow[{index}].offset", mm),),
        )

    return Sized(of, need, need + away * FARTHEST)


def farther_out(case: Case, by: float) -> Sized:
    """Leaves that stay farther out of the table; negative: farther in."""
    way, now = "out" if by > 0 else "in", set_back(case.table)

    def of(mm: float) -> Remedy:
        return Remedy(
            f"Stow the leaves {case.given(abs(mm))} farther {way}",
            (Change("stowing.set_back", case.finely(now - mm)),),
        )

    return Sized(of, by, by + FARTHEST if by > 0 else by - FARTHEST)
