"""The leaves as a cover: sag across the well, gaps between them, room to lift the first one out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ....sizes.quantities import format_quantity
from ...findings import Change, Remedy
from .case import MARGIN, Advice

if TYPE_CHECKING:
    from ....check.facts import Fact
    from ....check.slide.causes import CoverTight, Sags
    from .case import Case


def sags(case: Case, fact: Fact, cause: Sags) -> Advice:
    """A leaf that sags too much across the well."""
    sag, limits = cause.sag, case.table.limits
    load = format_quantity(limits.load, "N", case.table.units)
    return Advice(
        f"{fact.parts[0]} sags by {case.words(sag.total)} across the well under"
        f" {load} at its middle after years; 1/{limits.sag:g} of its span"
        f" is {case.words(sag.allowed)}.",
        Remedy("Cut the leaves from a thicker sheet, or let the grain run across the well"),
    )


def cover_tight(case: Case, fact: Fact, cause: CoverTight) -> Advice:
    """Leaves that may be wider together than the well."""
    gap = case.room(case.table.leaves.gap - cause.cover.gap_worst[0] + MARGIN)
    return Advice(
        f"In the worst case of the tolerances the leaves are {case.words(fact.amount)} wider than the well:"
        " they may not all lie down.",
        Remedy(f"Leave a gap of {case.given(gap)} between leaves", (Change("leaves.gap", gap),)),
    )


def no_lift(case: Case, fact: Fact) -> Advice:
    """Leaves of which none can be tilted out."""
    gap = case.room(case.table.leaves.end_gap + fact.amount / 2 + MARGIN)
    return Advice(
        f"No leaf can be lifted out by an edge: {fact.parts[0]} lacks {case.words(fact.amount)} of play to tilt; push"
        " it up from below, through the well, or by its finger hole.",
        Remedy(f"Leave {case.given(gap)} at the leaves' ends", (Change("leaves.end_gap", gap),)),
    )
