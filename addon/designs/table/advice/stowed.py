"""How the leaves lie stowed and cover the well: what ends their travel, stands out, meets, sags or lies too tight."""

from __future__ import annotations

from ....check.causes import MeetAtOnce, NothingStops, StandsOut
from ....check.facts import Fact
from ....check.slide.study import CoverTight, Sags
from ....sizes.quantities import format_quantity
from ...findings import Candidate, Change, Remedy, Sized
from .by_hand import FARTHER, remade, trimmed
from .case import MARGIN, Advice, Case, Cut
from .clearances import farther_out, stops_moved


def blamed(case: Case, fact: Fact) -> frozenset[str]:
    """The entry of a part that was cut otherwise, or what all leaves have in common."""
    cut = _cut_behind(case, fact)
    return frozenset(
        {f"{fact.rule} of all leaves" if cut is None else f"{fact.rule} by as_cut[{cut.number}]"}
    )


def _cut_behind(case: Case, fact: Fact) -> Cut | None:
    """The entry of the parts of a fact that is farthest off along the leaf's way."""
    cuts = [one for one in case.cuts(fact.parts) if one.entry.dimension in ("length", "width", "thickness")]
    return max(cuts, key=lambda one: abs(one.off), default=None)


def _cut_to_fit(case: Case, fact: Fact) -> list[Candidate | None]:
    """Wood off what was cut too large, or a new part."""
    cut = _cut_behind(case, fact)
    return [] if cut is None else [trimmed(case, cut, fact.amount), remade(case, cut.entry.part)]


def nothing_stops(case: Case, fact: Fact, cause: NothingStops) -> Advice:
    """A leaf that slides farther than it should."""
    where = f"until {cause.stops_at}" if cause.gap is not None else "right through the table"
    return Advice(
        f"Nothing stops {fact.leaf} stowed: it slides {case.place(fact.amount)} farther, {where}.",
        *_cut_to_fit(case, fact),
        _end_of_travel(case, fact, cause),
        Remedy(f"Mark {fact.leaf} at its slot when it lies stowed, and push it no farther"),
    )


def _end_of_travel(case: Case, fact: Fact, cause: NothingStops) -> Candidate:
    """An end stop, or leaves that go farther in."""
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
        f"End stop {stop} keeps {leaf} {case.words(fact.amount)} from its place.",
        *_cut_to_fit(case, fact),
        stops_moved(case, closer=False),
        Remedy(f"Take {case.words(fact.amount)} of wood off {stop}"),
    )


def stands_out(case: Case, fact: Fact, cause: StandsOut) -> Advice:
    """A leaf whose outer end is out of its side."""
    return Advice(
        f"{fact.leaf} stands {case.place(fact.amount)} out of {cause.side} stowed.",
        *_cut_to_fit(case, fact),
        farther_out(case, -cause.excess),
        Remedy(f"Ease the edges of {fact.leaf}'s outer end, and keep the way past {cause.side} free"),
    )


def meet_at_once(case: Case, fact: Fact, cause: MeetAtOnce) -> Advice:
    """Two leaves that cannot be pushed home at the same time: in turn, where one passes the other stowed."""
    one, other = fact.parts
    travel = case.place(fact.travel or 0.0)
    words = f"{one} and {other} meet if both slide at once, with {one} at {travel} of its travel."
    if cause.first:
        then = other if cause.first == one else one
        return Advice(words, Remedy(f"Slide {cause.first} home first, then {then}"))
    by_hand = Remedy(f"Take {case.words(fact.amount)} of wood off {one} or {other} where they meet")
    return Advice(words, remade(case, one), remade(case, other), by_hand)


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
    return Advice(
        f"In the worst case of the tolerances the leaves are {case.words(fact.amount)} wider than the well:"
        " they may not all lie down.",
        wider_gaps(case, case.table.leaves.gap - cause.cover.gap_worst[0]),
        Remedy("Lay the leaves down dry and plane an edge of the last one to fit"),
    )


def wider_gaps(case: Case, need: float) -> Sized:
    """A wider gap between leaves that cover, mm."""

    def of(mm: float) -> Remedy:
        return Remedy(f"Leave a gap of {case.given(mm)} between leaves", (Change("leaves.gap", mm),))

    return Sized(of, need + MARGIN, need + FARTHER)


def longer_play(case: Case, need: float) -> Sized:
    """More play at the ends of the leaves that cover, mm."""

    def of(mm: float) -> Remedy:
        return Remedy(f"Leave {case.given(mm)} at the leaves' ends", (Change("leaves.end_gap", mm),))

    return Sized(of, need + MARGIN, need + FARTHER)


def no_lift(case: Case, fact: Fact) -> Advice:
    """Leaves of which none can be tilted out."""
    return Advice(
        f"No leaf can be lifted out by an edge: {fact.parts[0]} lacks {case.words(fact.amount)} of play to tilt; push"
        " it up from below, through the well, or by its finger hole.",
        longer_play(case, case.table.leaves.end_gap + fact.amount / 2),
        Remedy("Push the first leaf up from below"),
    )
