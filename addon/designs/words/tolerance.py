"""The tolerance analysis in words: shares with their bounds, the thickest sheet, the router."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from ...check.tolerance.statistics import most_failures
from ...sizes.units import format_amount

if TYPE_CHECKING:
    from ...check.tolerance.report import Effect, LeafTolerance, RouterTolerance
    from ...check.tolerance.statistics import Share
    from ...sizes.units import Units


def share_words(share: Share) -> str:
    if share.count == share.of:
        least = f"{100 * (1 - most_failures(share.of)):.4g}"
        return f"all of {share.of} tables (at least {least} %)"
    value, low, high = (f"{100 * one:.4g}" for one in (share.value, share.low, share.high))
    return f"{share.count} of {share.of} tables ({value} %, {low} to {high} %)"


def length(mm: float, units: Units) -> str:
    return format_amount(mm, units)


def thickness_clause(leaf: LeafTolerance, units: Units) -> str:
    if not math.isfinite(leaf.thickest):
        return "no thickness stops it"
    return (
        f"no longer goes in from {length(leaf.thickest, units)} thick on, in the worst case from"
        f" {length(leaf.thickest_worst, units)}; it is {length(leaf.thickness, units)}"
    )


def router_words(router: RouterTolerance, units: Units, details: bool = False) -> str:
    wanted = f"{100 * router.wanted:g} % of the tables"
    if router.scale is None:
        return f"Router: however well it works, fewer than {wanted} let all leaves in."
    values = (router.opening_size, router.opening_place, router.groove_place)
    size, place, groove = (f"±{length(value, units)}" for value in values)
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
    return f"{length(one.amount, units)} ({share}): {one.name}, ±{length(one.tolerance, units)}"
