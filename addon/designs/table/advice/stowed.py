"""How the leaves lie stowed and cover the well, and what pulls them out.

What ends their travel, stands out, meets, sags or lies too tight; finger holes and recessed pulls that fingers
find, get into and have room below.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import inf
from typing import Final

import numpy as np

from ....check.causes import (
    CoveredGrip,
    FarGrip,
    Grip,
    MeetAtOnce,
    NoGrip,
    NothingStops,
    SmallGrip,
    StandsOut,
)
from ....check.facts import Fact
from ....check.slide.study import CoverTight, Sags
from ....sizes.declare import parameters
from ....sizes.quantities import format_quantity
from ....sizes.tolerances import CONTACT
from ...findings import Candidate, Change, Remedy, Sized
from ..leaves import BESIDE_RECESS
from ..parameters import Leaves, Table
from ..refusals import BESIDE_HOLE
from .by_hand import FARTHER, remade, trimmed
from .case import MARGIN, Advice, Case, Cut, both
from .clearances import farther_out, stops_moved
from .overlaps import narrower_legs


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


# -- what pulls a leaf out
# ----------------------------------------------------------------------------------------------------


_STRAP: Final = Remedy("Screw a strap to the leaf's outer end, to pull it out by")
"""Where no place for a hole or pull holds (common practice, no source)."""

_USUAL_HOLE: Final = next(one for one in parameters(Leaves) if one.name == "finger_hole")
"""Of a leaf that has none; as far a leaf without a hole has to stand out to be gripped (common practice, no source)."""

WOOD_BEYOND_HOLE: Final = 5.0
"""Wood between a hole and the leaf's outer end, mm (common practice, no source)."""


def no_grip(case: Case, fact: Fact, cause: NoGrip) -> Advice:
    """A leaf that lies inside with nothing to draw it out by."""
    inside = f"{fact.leaf} lies {case.place(cause.inside)} inside {cause.side} and "
    if cause.turned_away:
        return Advice(inside + "its pull faces up.", _pull_below(case), _STRAP)
    usual = _USUAL_HOLE.default_in(case.table.units)
    return Advice(inside + "has no finger hole.", _wider_hole(case, max(fact.amount, usual)), _STRAP)


def small_grip(case: Case, fact: Fact, cause: SmallGrip) -> Advice:
    """A hole or pull that takes no finger."""
    short = "hole" if cause.grip.kind == "finger hole" else "pull"
    return Advice(
        f"The {short} in {fact.leaf}, {case.place(cause.grip.least_size)} wide, is too small for a finger.",
        _larger(case, cause.grip, cause.least),
        _STRAP,
    )


def out_of_reach(case: Case, group: Sequence[Fact]) -> Advice:
    """Holes or pulls too far inside, or with something below them: one inset is that of all leaves."""
    fact = group[0]
    if isinstance(fact.cause, FarGrip):
        cause = fact.cause
        return Advice(
            f"The {cause.grip.kind} of {fact.leaf} is {case.place(cause.depth)} inside {cause.side}, out of reach.",
            *_nearer(case, cause.grip, max(one.amount for one in group)),
            _STRAP,
        )
    covered = [one.cause for one in group if isinstance(one.cause, CoveredGrip)]
    return Advice(
        f"{covered[0].by} is in the way of fingers below the {covered[0].grip.kind} of {fact.leaf}.",
        *_free_from_below(case, covered),
        _STRAP if fact.severity == "error" else Remedy(f"Draw {covered[0].by} out first, then {fact.leaf}"),
    )


# -- where a hole or pull may be
# ------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Inset:
    """Distance of a hole or pull from the leaf's outer end: its parameter, and how far that may be changed; mm.

    Parameters
    ----------
    verb : how it is made: ``drill`` or ``rout``
    least, most : values that the leaf can take without other changes
    """

    verb: str
    key: str
    value: float
    least: float
    most: float


def _inset_of(table: Table, grip: Grip) -> _Inset:
    leaves = table.leaves
    if grip.kind == "finger hole":
        inset = leaves.finger_hole_inset
        return _Inset("drill", "leaves.finger_hole_inset", inset, *_room_for_hole(table, grip.across, inset))
    least = leaves.rim_width if leaves.rim_height > 0 else BESIDE_RECESS
    most = leaves.tray_border - leaves.pull_width - BESIDE_RECESS if leaves.tray_depth > 0 else inf
    return _Inset("rout", "leaves.pull_inset", leaves.pull_inset, least, most)


def _hole_inset(table: Table, diameter: float) -> float:
    """The place for a hole of some diameter that is nearest to what the table says, mm from the outer end."""
    inset = max(table.leaves.finger_hole_inset, _least_inset(table, diameter))
    least, most = _room_for_hole(table, diameter, inset)
    return max(min(inset, most), least)


def _least_inset(table: Table, diameter: float) -> float:
    low = next(one.low or 0.0 for one in parameters(Leaves) if one.name == "finger_hole_inset")
    rim = table.leaves.rim_width + diameter / 2 + BESIDE_HOLE if table.leaves.rim_height > 0 else 0.0
    return max(diameter / 2 + WOOD_BEYOND_HOLE, low, rim)


def _room_for_hole(table: Table, diameter: float, inset: float) -> tuple[float, float]:
    """Smallest and greatest inset of a hole, mm: on the side of the tray recess's edge that it is on, if it can be."""
    least, border = _least_inset(table, diameter), table.leaves.tray_border
    reach = diameter / 2 + BESIDE_HOLE
    if table.leaves.tray_depth == 0:
        return least, inf
    if inset < border and least <= border - reach:
        return least, border - reach
    return max(least, border + reach), inf


# -- remedies
# ------------------------------------------------------------------------------------------------------------


def _pull_below(case: Case) -> Remedy:
    """The leaves the other way up stowed."""
    over = not case.table.leaves.turned_over
    text = "Stow the leaves turned over" if over else "Stow the leaves with their upper face up"
    return Remedy(f"{text}, so that their pulls are below", (Change("leaves.turned_over", over),))


def _larger(case: Case, grip: Grip, least: float) -> Remedy:
    if grip.kind == "finger hole":
        return _wider_hole(case, least)
    changes = [
        Change(f"leaves.{name}", least)
        for name, now in (("pull_length", grip.across), ("pull_width", grip.along))
        if now < least
    ]
    return Remedy(f"Rout pulls {case.given(least)} long and wide", tuple(changes))


def _wider_hole(case: Case, diameter: float) -> Remedy:
    inset = _hole_inset(case.table, diameter)
    changes = [Change("leaves.finger_hole", diameter)]
    words = f"Drill a finger hole {case.given(diameter)} wide"
    if inset != case.table.leaves.finger_hole_inset:
        changes.append(Change("leaves.finger_hole_inset", inset))
        words += f", {case.given(inset)} from the leaf's outer end"
    return Remedy(words, tuple(changes))


def _nearer(case: Case, grip: Grip, by: float) -> Iterator[Candidate]:
    """A hole nearer to the leaf's outer end, leaves that stay farther out, or both."""
    now = _inset_of(case.table, grip)
    if now.value - by >= now.least:
        yield Sized(lambda mm: _at(case, now, mm), now.value - by, now.least)
    yield farther_out(case, by)
    if now.value - now.least > CONTACT and now.value - by < now.least:
        inset = max(case.less(now.least), now.least)
        nearest, rest = _at(case, now, inset), farther_out(case, by - (now.value - inset))
        yield Sized(lambda mm: both(nearest, rest.of(mm)), rest.need, rest.most)


def _at(case: Case, now: _Inset, inset: float) -> Remedy:
    """The hole or pull at another place."""
    return Remedy(
        f"{now.verb.capitalize()} it {case.given(inset)} from the leaf's outer end", (Change(now.key, inset),)
    )


def _free_from_below(case: Case, causes: Sequence[CoveredGrip]) -> Iterator[Candidate]:
    """The least shifts of the hole either way that free it and leave it in reach; leaves that stand out."""
    now = _inset_of(case.table, causes[0].grip)
    spans = np.concatenate([cause.spans for cause in causes])
    least = now.least - now.value
    most = min(*(cause.spare for cause in causes), now.most - now.value)
    away = ((spans[:, 0], case.less), (spans[:, 1], case.more))
    insets = np.array([rounded(now.value + end) for ends, rounded in away for end in ends.tolist()])
    shifts = insets - now.value
    covered = ((spans[:, 0] < shifts[:, None] - CONTACT) & (spans[:, 1] > shifts[:, None] + CONTACT)).any(
        axis=1
    )
    free = np.unique(insets[~covered & (shifts >= least) & (shifts <= most)])
    for inset in sorted(free.tolist(), key=lambda one: abs(one - now.value))[:2]:
        yield _at(case, now, inset)
    if case.is_of_leg(case.assembly.by_label[causes[0].by]):
        yield narrower_legs(case, MARGIN)
    if not len(free):
        yield farther_out(case, case.more(MARGIN))
        out = _USUAL_HOLE.default_in(case.table.units)
        yield Remedy(
            f"Let the leaves stand {case.given(out)} out, to be gripped there",
            (Change("stowing.set_back", -out),),
        )
