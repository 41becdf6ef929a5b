"""Legs and fasteners where they should not be."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

import numpy as np

from ....check.causes import Overlapping
from ....check.facts import Fact
from ....sizes.declare import parameters
from ....wood.assembly import StowPath
from ....wood.joints import Body, Fastener
from ....wood.part import Part
from ....wood.roles import LEG
from ...findings import Candidate, Change, Remedy, Sized
from ..parameters import Legs
from .case import Case


def narrower_legs(case: Case, by: float) -> Candidate:
    """Legs that take less room by at least `by` mm, or none where nothing of them would be left."""
    table = case.table
    thickness = next(stock.thickness for stock in table.stock if stock.name == table.legs.stock)
    least = next(one.low or 0.0 for one in parameters(Legs) if one.name == "width")
    need, most = table.legs.width - by, max(thickness, least)
    if need <= most:
        return Remedy("Leave these legs out and fit others", (Change("legs.fitted", False),))

    def of(mm: float) -> Remedy:
        return Remedy(f"Make the legs {case.given(mm)} wide", (Change("legs.width", mm),))

    return Sized(of, need, most)


def past_legs(case: Case, group: Sequence[Fact]) -> float:
    """By how much legs have to be narrower to clear other boards, mm; 0 where none of these facts is about that."""
    by = 0.0
    for fact in group:
        if isinstance(fact.cause, Overlapping):
            a, b = (case.assembly.body[label] for label in fact.parts)
            by = max([by, *(_leg_past(leg, other) for leg, other in ((a, b), (b, a)) if leg.role == LEG)])
    return by


def _leg_past(leg: Body, other: Body) -> float:
    """How far a leg board reaches past the far face of another part, toward the middle of the table, mm."""
    axis = int(np.abs(leg.placement.axes[1]).argmax())
    (low, high), (other_low, other_high) = leg.box, other.box
    if low[axis] + high[axis] > 0:
        return float(other_high[axis] - low[axis])
    return float(high[axis] - other_low[axis])


def leg_past_way(leg: Part, leaf: Part, path: StowPath) -> float:
    """How far a leg board reaches past the edge of a leaf's way that is nearer to the wall, mm; inf where its width
    runs along the way, so that a narrower one stands in it as well."""
    axis = int(np.abs(leg.placement.axes[1]).argmax())
    if axis == int(np.abs(path.outward).argmax()):
        return inf
    (low, high), (leg_low, leg_high) = leaf.box, leg.box
    if leg_low[axis] + leg_high[axis] > 0:
        return float(high[axis] - leg_low[axis])
    return float(leg_high[axis] - low[axis])


def other_fastener(one: Fastener) -> Remedy:
    """What to do about a screw or brad that stands where it should not."""
    return Remedy(f"Use a shorter {one.name} for {one.label}, or put it elsewhere")
