"""What friction, weight and tolerances do to a leaf, in sentences: for the command line and for Blender's panels."""

from __future__ import annotations

import math
from typing import Final

from ...check.cover import Cover, Lift
from ...check.forces.droop import Sag
from ...check.forces.jamming import Jamming, Phase, PhaseName
from ...check.slide.study import LeafStudy
from ...check.tolerance.report import Effect, LeafTolerance, RouterTolerance
from ...check.tolerance.statistics import Share, most_failures
from ...sizes.quantities import format_quantity
from ...sizes.units import BY_HAND, Units, format_amount, format_at_least, format_at_most, format_size

PHASE_WORDS: Final[dict[PhaseName, str]] = {
    "unguided": "Before anything holds it",
    "entry": "Entry, held by one opening",
    "held": "From there on, held by two",
}


def amount(mm: float, units: Units) -> str:
    """A deflection or a gap."""
    return format_amount(mm, units)


def size(mm: float, units: Units) -> str:
    """A place on the leaf's way or along its edge."""
    return format_size(mm, units)


def push_sentence(jamming: Jamming, units: Units) -> str:
    """From where on the leaf may be pushed anywhere on its outer edge."""
    start, offset = jamming.anywhere_from.near, jamming.home_offset.near
    if start is None:
        at_most = format_at_most(max(offset or 0.0, 0.0), units, BY_HAND)
        return f"Push it at most {at_most} off its middle, or it may jam (friction {jamming.mu:g})."
    return (
        f"From {format_at_least(start, units, BY_HAND)} on it may be pushed anywhere on its outer edge"
        f" (friction {jamming.mu:g})."
    )


def handle_sentence(jamming: Jamming, units: Units) -> str:
    """Where a single handle may be."""
    start = f"once its nose is at {size(jamming.seated, units)}"
    offset = jamming.offset.near or 0.0
    if offset >= jamming.width / 2:
        return f"One handle does it anywhere on that edge, {start}."
    if round(offset, 2) <= 0:
        return "One handle does not do everywhere: the hand has to lead it straight in."
    return (
        f"One handle does it no more than {format_at_most(offset, units, BY_HAND)} off the middle, {start}."
    )


def wedging_sentence(jamming: Jamming, units: Units) -> str:
    """Where the leaf may wedge, so that no push moves it."""
    if not jamming.wedging:
        return "It wedges nowhere."
    where = " and ".join(f"from {size(low, units)} to {size(high, units)}" for low, high in jamming.wedging)
    return f"It may wedge {where}, guided over no more than {size(jamming.wedging_length, units)}: keep it straight."


def phase_sentence(phase: Phase, jamming: Jamming, units: Units) -> str:
    """What a push has to mind on one stretch of the way."""
    where = f"{PHASE_WORDS[phase.name]}, {size(phase.start, units)} to {size(phase.stop, units)}"
    start, offset = jamming.anywhere_from.near, phase.offset.near or 0.0
    if start is not None and start <= phase.start:
        return f"{where}: push anywhere."
    careful = "lead it straight"
    if round(offset, 2) > 0:
        careful = f"push no more than {format_at_most(offset, units, BY_HAND)} off the middle"
    if start is not None and start < phase.stop:
        return f"{where}: {careful} until {format_at_least(start, units, BY_HAND)}, then push anywhere."
    return f"{where}: {careful}."


def jamming_sentences(jamming: Jamming, units: Units) -> list[str]:
    """All that friction does to a leaf in one view."""
    return [
        push_sentence(jamming, units),
        handle_sentence(jamming, units),
        wedging_sentence(jamming, units),
        *(phase_sentence(phase, jamming, units) for phase in jamming.phases if phase.name != "unguided"),
    ]


def nose_droop(leaf: LeafStudy) -> tuple[float, int] | None:
    """By how much the leaf's free nose bends down at most, mm, and the opening before which it does; None: nowhere."""
    found = [(leaf.droop_at(one.opening), one.opening) for one in leaf.droops if one.opening is not None]
    return max(found, default=None)


def droop_sentence(leaf: LeafStudy, units: Units) -> str:
    """How far the free nose bends down."""
    worst = nose_droop(leaf)
    if not leaf.droops:
        return "Nothing carries it on its way."
    if worst is None:
        return "Its free nose meets no opening on its way."
    opening = leaf.proof.side.of.row.openings[worst[1]]
    return (
        f"Its free nose bends down by no more than {amount(worst[0], units)}, before {opening.label}"
        f" at {size(opening.face, units)}."
    )


def sag_sentence(sag: Sag, load: float, units: Units) -> str:
    """How far a covering leaf sags across the well, alone and with a load in N at its middle."""
    own, total = (amount(value, units) for value in (sag.own, sag.total))
    return (
        f"Across the well it sags by {own} under its own weight, by {total} after years with"
        f" {format_quantity(load, 'N', units)} at its middle."
    )


def gap_sentence(cover: Cover, units: Units) -> str:
    """The gaps between covering leaves, spread evenly."""
    low, high = cover.gap_worst
    return (
        f"Side by side in the well: gaps of {amount(cover.gap, units)}; {amount(low, units)} to"
        f" {amount(high, units)} in the worst case of the tolerances."
    )


def lift_sentence(lift: Lift, units: Units) -> str:
    """Whether the first leaf can be lifted out by an edge."""
    does = "can be lifted out by an edge" if lift.room >= 0 else "cannot be lifted out by an edge"
    return f"The first leaf {does}: {lift_words(lift, units)}."


def lift_words(lift: Lift, units: Units) -> str:
    """How much room there is to lift it out, or how much there lacks."""
    return f"{amount(abs(lift.room), units)} {'to spare' if lift.room >= 0 else 'too little'}"


def cover_sentences(cover: Cover, units: Units) -> list[str]:
    """The leaves as cover."""
    best = cover.best_lift
    return [gap_sentence(cover, units), *([lift_sentence(best, units)] if best else [])]


def share_words(share: Share) -> str:
    """How many of the random tables, with the bounds of their share."""
    if share.count == share.of:
        least = f"{100 * (1 - most_failures(share.of)):.4g}"
        return f"all of {share.of} tables (at least {least} %)"
    value, low, high = (f"{100 * one:.4g}" for one in (share.value, share.low, share.high))
    return f"{share.count} of {share.of} tables ({value} %, {low} to {high} %)"


def thickness_clause(leaf: LeafTolerance, units: Units) -> str:
    """From which thickness of its sheet on a leaf no longer goes in."""
    if not math.isfinite(leaf.thickest):
        return "no thickness stops it"
    return (
        f"no longer goes in from {amount(leaf.thickest, units)} thick on, in the worst case from"
        f" {amount(leaf.thickest_worst, units)}; it is {amount(leaf.thickness, units)}"
    )


def router_words(router: RouterTolerance, units: Units, details: bool = False) -> str:
    """What a router has to hold, for the share of tables wanted."""
    wanted = f"{100 * router.wanted:g} % of the tables"
    if router.scale is None:
        return f"Router: however well it works, fewer than {wanted} let all leaves in."
    values = (router.opening_size, router.opening_place, router.groove_place)
    size, place, groove = (f"±{amount(value, units)}" for value in values)
    more = " or more" if router.scale >= router.most else ""
    likely = f" (by root sum square, {_scale(router.rss_scale)})" if details else ""
    return (
        f"Router: for {wanted} it has to hold {size} in size, {place} in position, {groove} at the groove{more}:"
        f" {router.scale:.3g} times what is given{likely}."
    )


def _scale(scale: float | None) -> str:
    if scale is None:
        return "never"
    return f"{scale:.3g} times" if math.isfinite(scale) else "any"


def effect_words(one: Effect, units: Units) -> str:
    """What the deviation of one dimension takes off a margin, and its share of the worst case."""
    share = f"{100 * one.of_worst:.0f} %"
    return f"{amount(one.amount, units)} ({share}): {one.name}, ±{amount(one.tolerance, units)}"
