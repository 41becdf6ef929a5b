"""Parts that stay where they are and claim the same place, and legs and fasteners where they should not be."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf
from typing import Final

import numpy as np

from ....check.causes import Overlapping
from ....check.facts import Fact
from ....sizes.declare import parameters
from ....wood.assembly import StowPath
from ....wood.fasteners import Body, Fastener
from ....wood.features import End
from ....wood.part import Part
from ....wood.roles import BOTTOM, END_STOP, GUIDE, KICKER, RUNNER, Role
from ...findings import Candidate, Change, Remedy, Sized, places_text
from ..leg_parameters import Legs
from .by_hand import FARTHER, ends_trimmed, grooves_cut, remade, trimmed
from .case import Advice, Case, Cut
from .fasteners import in_the_way
from .own_parts import blamed as blamed_own
from .own_parts import own_behind, put_elsewhere


def blamed(case: Case, fact: Fact) -> frozenset[str]:
    """The entry of a part that was cut otherwise, or the parameter that makes two boards claim the same space."""
    cut = cut_behind(case, fact)
    if cut is not None:
        return frozenset({f"overlaps by as_cut[{cut.number}]"})
    bodies = [case.assembly.body[label] for label in fact.parts]
    if own := blamed_own(case, fact):
        return own
    roles = {one.role for one in bodies}
    if any(isinstance(one, Fastener) for one in bodies):
        return frozenset()
    if any(map(case.is_of_leg, bodies)):
        return frozenset({"legs.width"})
    if BOTTOM in roles:
        return frozenset({"limits.fit_allowance"})
    return frozenset(f"stowing.{flag}" for role, flag in _LEFT_OUT.items() if role in roles)


def cut_behind(case: Case, fact: Fact) -> Cut | None:
    """The entry of two parts that do not fit together that is farthest off."""
    cuts = case.cuts(fact.parts)
    return max(cuts, key=lambda one: abs(one.off), default=None)


def overlapping(case: Case, group: Sequence[Fact]) -> Advice:
    """Boards in the same place for one cause, the gravest first."""
    fact, others = group[0], group[1:]
    a, b = (case.assembly.body[label] for label in fact.parts)
    words = f"{a.label} ({a.name}) and {b.label} ({b.name}) overlap by {case.words(fact.amount)}."
    if others:
        words += f" Also: {places_text(place for one in others for place in one.places)}."
    by_hand = Remedy(f"Take {case.words(fact.amount)} of wood off {a.label} or {b.label} where they meet")
    cut = cut_behind(case, fact)
    if cut is not None:
        return Advice(words, *_made_to_fit(case, cut, group), by_hand)
    for one in (a, b):
        if isinstance(one, Fastener):
            return Advice(words, *in_the_way(case, one))
    if own := own_behind(case, fact.parts):
        return Advice(words, *put_elsewhere(case, group, own), by_hand)
    return Advice(words, _brought_apart(case, group, a, b), by_hand)


def _made_to_fit(case: Case, cut: Cut, group: Sequence[Fact]) -> list[Candidate | None]:
    """Wood off the part that was cut too large, or off what meets it; or a new one."""
    need = max(one.amount for one in group)
    return [trimmed(case, cut, need), *_beside(case, cut, group, need), remade(case, cut.entry.part)]


def _beside(case: Case, cut: Cut, group: Sequence[Fact], need: float) -> list[Candidate | None]:
    """Ends that butt on the part trimmed, grooves that hold it widened."""
    label = cut.entry.part
    others = list(dict.fromkeys(part for one in group for part in one.parts if part != label))
    ends: list[tuple[str, End]] = [
        (joint.a, joint.part_end)
        for joint in case.assembly.joints
        if joint.b == label and joint.a in others and joint.part_end is not None
    ]
    ways: list[Candidate | None] = []
    if ends:
        ways.append(ends_trimmed(case, ends, need, need + case.table.limits.fit_allowance))
    panels = [one for one in (label, *others) if case.assembly.body[one].role == BOTTOM]
    if panels:
        ways.append(grooves_cut(case, panels[0], [one for one in (label, *others) if one != panels[0]]))
    return ways


def _brought_apart(case: Case, group: Sequence[Fact], a: Body, b: Body) -> Candidate | None:
    """The size that brings two boards apart."""
    if case.is_of_leg(a) or case.is_of_leg(b):
        return narrower_legs(case, past_legs(case, group))
    if BOTTOM in (a.role, b.role):
        need, now = max(one.amount for one in group), case.table.limits.fit_allowance

        def of(mm: float) -> Remedy:
            return Remedy(
                f"Make the groove {case.given(mm)} wider",
                (Change("limits.fit_allowance", case.finely(now + mm)),),
            )

        return Sized(of, need, need + FARTHER)
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


# -- legs and fasteners
# ----------------------------------------------------------------------------------------------------


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
            by = max([by, *(_leg_past(leg, other) for leg, other in ((a, b), (b, a)) if case.is_of_leg(leg))])
    return by


def _leg_past(leg: Body, other: Body) -> float:
    """How far a leg board reaches past the far face of another part, toward the middle of the table, mm."""
    axis = _width_axis(leg)
    (low, high), (other_low, other_high) = leg.box, other.box
    if low[axis] + high[axis] > 0:
        return float(other_high[axis] - low[axis])
    return float(high[axis] - other_low[axis])


def _width_axis(leg: Body) -> int:
    """The table axis along which a leg's board reaches into the body; of a block, that along which it is longer."""
    if abs(leg.placement.axes[0][2]) > 0.5:
        return int(np.abs(leg.placement.axes[1]).argmax())
    return int(np.subtract(*leg.box[::-1])[:2].argmax())


def leg_past_way(leg: Part, leaf: Part, path: StowPath) -> float:
    """How far a leg board reaches past the edge of a leaf's way that is nearer to the wall, mm; inf where its width
    runs along the way, so that a narrower one stands in it as well."""
    axis = _width_axis(leg)
    if axis == int(np.abs(path.outward).argmax()):
        return inf
    (low, high), (leg_low, leg_high) = leaf.box, leg.box
    if leg_low[axis] + leg_high[axis] > 0:
        return float(high[axis] - leg_low[axis])
    return float(leg_high[axis] - low[axis])
