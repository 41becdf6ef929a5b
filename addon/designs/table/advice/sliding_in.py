"""Leaves on their way, however they are held: what needs steering, what holds, droops or jams."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ....check.slide.steering import bays_to_steer
from ...findings import Change, Remedy
from ...words.slide import held_text, steering_text
from .case import MARGIN, Advice

if TYPE_CHECKING:
    from ....check.facts import Fact
    from ....check.slide.causes import Droops, IsHeld, Jams, NeedsSteering
    from ....check.slide.proof import LeafProof
    from .case import Case


def needs_steering(case: Case, cause: NeedsSteering) -> Advice:
    """A leaf that a hand has to lead into an opening."""
    proof = cause.proof
    ways = [
        f"{name}, {words}"
        for name, one in (("seen from the side", proof.side), ("seen from above", proof.plan))
        if (words := steering_text(one.proof, one.of.view, case.table.units))
    ]
    return Advice(f"{proof.leaf} needs steering. {_sentences(ways)}", _guided(case, proof))


def _sentences(clauses: list[str]) -> str:
    return " ".join(f"{clause[0].upper()}{clause[1:]}." for clause in clauses)


def _guided(case: Case, proof: LeafProof) -> Remedy | None:
    """The first option that helps the leaf; else where strips would carry it, in words. None where nobody looked."""
    if case.options is None:
        return None
    for option in case.options:
        if proof.leaf in option.leaves:
            return option.remedy
    bays = bays_to_steer(proof)
    places = "; ".join(f"{strip} between {before} and {after}" for strip, before, after in bays)
    return Remedy(
        f"No chamfer that the boards can hold is enough; what would help, where there is room: {places}"
    )


def is_held(case: Case, fact: Fact, cause: IsHeld) -> Advice:
    """A leaf that no tilt brings past three edges."""
    return Advice(
        f"{fact.leaf} does not pass, however it is tilted: it lacks {case.words(fact.amount)}"
        f" between {held_text(cause.view.proof, case.table.units)}."
    )


def droops(case: Case, fact: Fact, cause: Droops) -> Advice:
    """A leaf whose free nose bends down too far."""
    size = case.more(cause.chamfer + fact.amount + MARGIN)
    return Advice(
        f"The free nose of {fact.leaf} bends down by {case.words(cause.droop)} before {cause.opening}"
        f" and comes {case.words(fact.amount)} too low for it.",
        Remedy(f"Chamfer all windows by {case.given(size)}", (Change("ribs.window_chamfer", size),)),
    )


def jams(case: Case, fact: Fact, cause: Jams) -> Advice:
    """A leaf that friction may hold."""
    return Advice(
        f"{fact.parts[0]} may jam when it is pushed more than {case.place(cause.offset)} off its middle, even"
        f" stowed (friction {cause.jamming.mu:g}).",
        Remedy("Push it at its middle, or fit guides along its way", (Change("stowing.guides", True),)),
    )
