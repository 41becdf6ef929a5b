"""What is said of holes through which leaves are pushed up, and what helps: another place, a wider hole."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

from ....check.facts import Fact
from ....check.push_holes import PushHoleTaken, SmallPushHole
from ....sizes.words import listed
from ...findings import Change, Remedy
from ..push_holes import Under, free_places
from .case import Advice, Case
from .grips import Own

_MOST: Final = 2
"""Places that are tried."""


def taken(case: Case, group: Sequence[Fact]) -> Advice:
    """Things that stand in a hole's way."""
    causes = [one.cause for one in group if isinstance(one.cause, PushHoleTaken)]
    panel, leaf = group[0].parts[0], causes[0].leaf
    standing = list(dict.fromkeys(one.by for one in causes if not one.stowed))
    stowed = list(dict.fromkeys(one.by for one in causes if one.stowed))
    said = []
    if standing:
        stand = "stands" if len(standing) == 1 else "stand"
        said.append(f"{listed(standing)} {stand} in the way of the push-up hole for {leaf} in {panel}.")
    if stowed:
        lies = "lies" if len(stowed) == 1 else "lie"
        where = "there" if standing else f"below the push-up hole for {leaf} in {panel}"
        said.append(f"{listed(stowed)} stowed {lies} {where}.")
    if not standing:
        first = Remedy(f"Draw {listed(stowed)} out first, then push {leaf} up")
        return Advice(" ".join(said), *_elsewhere(case, leaf), first)
    return Advice(" ".join(said), *_elsewhere(case, leaf), *_left_out(case, leaf))


def too_small(case: Case, cause: SmallPushHole) -> Advice:
    """A hole that takes no finger."""
    own, size = Own.of(case, cause.leaf), case.more(cause.least)
    return Advice(
        f"The push-up hole for {cause.leaf}, {case.place(cause.diameter)} wide, is too small for a finger.",
        Remedy(f"Drill it {case.given(size)} wide", (Change(own.key("push_hole"), size),)),
        *_left_out(case, cause.leaf),
    )


def _elsewhere(case: Case, leaf: str) -> Iterator[Remedy]:
    """Places where nothing stands in its way, those nearest to the leaf's middle first."""
    own = Own.of(case, leaf)
    if leaf not in case.assembly.cover or leaf not in case.assembly.by_label:
        return
    under = Under.of(replace(case.assembly.by_label[leaf], placement=case.assembly.cover[leaf]))
    for place in free_places(case.assembly.parts, under, own.leaves.push_hole)[:_MOST]:
        inset, offset = (case.more(one) for one in place)
        end, aside = "front" if under.axis else "left", ("left", "right") if under.axis else ("front", "back")
        words = f"Drill it {case.given(inset)} from the leaf's {end} end"
        words += f", {case.given(abs(offset))} to the {aside[offset > 0]} of its middle" if offset else ""
        changes = (Change(own.alone("push_hole_inset"), inset), Change(own.alone("push_hole_offset"), offset))
        yield Remedy(words, changes)


def _left_out(case: Case, leaf: str) -> Iterator[Remedy]:
    own = Own.of(case, leaf)
    yield Remedy("Leave it out", (Change(own.alone("push_hole"), 0.0),))
