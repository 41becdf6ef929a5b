"""How the leaves lie stowed and cover the well: what ends their travel, stands out, meets, sags or lies too tight."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ....sizes.quantities import format_quantity
from ...findings import Change, Remedy
from .case import MARGIN, Advice
from .clearances import farther_out

if TYPE_CHECKING:
    from ....check.causes import NothingStops, StandsOut
    from ....check.facts import Fact
    from ....check.slide.causes import CoverTight, Sags
    from .case import Case


def nothing_stops(case: Case, fact: Fact, cause: NothingStops) -> Advice:
    """A leaf that slides farther than it should."""
    where = f"until {cause.stops_at}" if cause.gap is not None else "right through the table"
    return Advice(
        f"Nothing stops {fact.leaf} stowed: it slides {case.place(fact.amount)} farther, {where}.",
        _end_of_travel(case, fact, cause),
    )


def _end_of_travel(case: Case, fact: Fact, cause: NothingStops) -> Remedy:
    """The drawing, an end stop, or leaves that go farther in."""
    remedy = case.as_drawn((fact.leaf, cause.stops_at))
    if remedy is not None:
        return remedy
    table, gap = case.table, fact.amount
    most, stowing = table.limits.end_gap, table.stowing
    thickness = next(stock.thickness for stock in table.stock if stock.name == table.ribs.stock)
    stop_gap = min(stowing.stop_gap, most, case.less(gap - thickness - MARGIN))
    if cause.stops_at == case.assembly.path_of(fact.leaf).end_stop:
        stop_gap = most
    if stop_gap < 0:
        return farther_out(case, most - gap)
    wanted = {"end_stops": True, "stop_gap": stop_gap}
    changes = [
        Change(f"stowing.{name}", value) for name, value in wanted.items() if getattr(stowing, name) != value
    ]
    return Remedy(f"Fit end stops {case.given(stop_gap)} from the leaves", tuple(changes))


def stops_early(case: Case, fact: Fact) -> Advice:
    """A leaf that its end stop keeps from its place."""
    stop, leaf = fact.parts
    return Advice(
        f"End stop {stop} keeps {leaf} {case.words(fact.amount)} from its place.", case.as_drawn(fact.parts)
    )


def stands_out(case: Case, fact: Fact, cause: StandsOut) -> Advice:
    """A leaf whose outer end is out of its side."""
    return Advice(
        f"{fact.leaf} stands {case.place(fact.amount)} out of {cause.side} stowed.",
        case.as_drawn(fact.parts) or farther_out(case, -cause.excess - MARGIN),
    )


def meet_at_once(case: Case, fact: Fact) -> Advice:
    """Two leaves that cannot be pushed home at the same time."""
    one, other = fact.parts
    return Advice(
        f"{one} and {other} meet if both slide at once, with {one} at {case.place(fact.travel or 0.0)} of its travel.",
        Remedy(f"Slide {one} home first, then {other}"),
    )


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
