"""Parts that stay where they are and claim the same place."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from ....check.facts import Fact
from ....wood.features import End
from ....wood.joints import Body, Fastener
from ....wood.roles import BOTTOM, END_STOP, GUIDE, KICKER, LEG, RUNNER, Role
from ...findings import Candidate, Change, Remedy, Sized
from ...words.places import places_text
from .by_hand import FARTHER, ends_trimmed, grooves_cut, remade, trimmed
from .case import Advice, Case, Cut
from .legs import narrower_legs, other_fastener, past_legs


def blamed(case: Case, fact: Fact) -> frozenset[str]:
    """The entry of a part that was cut otherwise, or the parameter that makes two boards claim the same space."""
    cut = cut_behind(case, fact)
    if cut is not None:
        return frozenset({f"overlaps by as_cut[{cut.number}]"})
    bodies = [case.assembly.body[label] for label in fact.parts]
    roles = {one.role for one in bodies}
    if any(isinstance(one, Fastener) for one in bodies):
        return frozenset()
    if LEG in roles:
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
    cut = cut_behind(case, fact)
    if cut is not None:
        return Advice(words, *_made_to_fit(case, cut, group))
    return Advice(words, _brought_apart(case, group, a, b))


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
    """The size that brings two boards apart, or a fastener that ends before the other part."""
    for one in (a, b):
        if isinstance(one, Fastener):
            return other_fastener(one)
    if LEG in (a.role, b.role):
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
