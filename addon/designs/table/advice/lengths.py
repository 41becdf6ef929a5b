"""Parts that stay where they are and claim the same place."""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING, Final

import numpy as np

from ....sizes.declare import parameters
from ....wood.fasteners import Fastener
from ....wood.roles import BOTTOM, END_STOP, GUIDE, KICKER, LEG, RUNNER
from ...findings import Change, Remedy
from ..parameters import Legs
from .case import MARGIN, Advice

if TYPE_CHECKING:
    from ....check.facts import Fact
    from ....wood.assembly import StowPath
    from ....wood.fasteners import Body
    from ....wood.part import Part
    from ....wood.roles import Role
    from .case import Case


def overlapping(case: Case, fact: Fact) -> Advice:
    """Two boards in the same place."""
    a, b = (case.assembly.body[label] for label in fact.parts)
    return Advice(
        f"{a.label} ({a.name}) and {b.label} ({b.name}) overlap by {case.words(fact.amount)}.",
        case.as_drawn(fact.parts) or _brought_apart(case, a, b, fact.amount),
    )


def _brought_apart(case: Case, a: Body, b: Body, overlap: float) -> Remedy | None:
    """The size that brings two boards apart, or a fastener that ends before the other part."""
    for one in (a, b):
        if isinstance(one, Fastener):
            return other_fastener(one)
    for leg, other in ((a, b), (b, a)):
        if leg.role == LEG:
            return narrower_legs(case, _leg_past(leg, other) + MARGIN)
    if BOTTOM in (a.role, b.role):
        wider = case.room(overlap + MARGIN)
        return Remedy(
            f"Make the groove {case.given(wider)} wider",
            (Change("limits.fit_allowance", case.table.limits.fit_allowance + wider),),
        )
    for role, flag in _LEFT_OUT.items():
        if role in (a.role, b.role):
            return Remedy(f"Leave the {flag.replace('_', ' ')} out", (Change(f"stowing.{flag}", False),))
    return None


_LEFT_OUT: Final[dict[Role, str]] = {
    RUNNER: "runners",
    KICKER: "kickers",
    GUIDE: "guides",
    END_STOP: "end_stops",
}
"""Parts that a table can do without, and the parameter that leaves them out."""


# -- legs
# ------------------------------------------------------------------------------------------------------------


def narrower_legs(case: Case, by: float) -> Remedy:
    """Legs that take less room, or none where nothing of them would be left."""
    table = case.table
    width = case.less(table.legs.width - by)
    thickness = next(stock.thickness for stock in table.stock if stock.name == table.legs.stock)
    least = next(one.low or 0.0 for one in parameters(Legs) if one.name == "width")
    if width > thickness and width >= least:
        return Remedy(f"Make the legs {case.given(width)} wide", (Change("legs.width", width),))
    return Remedy("Leave these legs out and fit others", (Change("legs.fitted", False),))


def other_fastener(one: Fastener) -> Remedy:
    """What to do about a screw or brad that stands where it should not."""
    return Remedy(f"Use a shorter {one.name} for {one.label}, or put it elsewhere")


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
