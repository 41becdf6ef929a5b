"""A table that does not pass the door."""

from __future__ import annotations

from math import isfinite

from ....check.door import NoWayOut
from ...findings import Candidate, Change, Remedy
from .case import Advice, Case


def no_way_out(case: Case, cause: NoWayOut) -> Advice:
    """Legs that come off, where they do not yet; else another way, which nobody but the maker knows."""
    what = "The table without its legs" if cause.off else "The table"
    x, y, z = (case.place(one) for one in cause.size)
    more = (
        f"{case.words(cause.need - cause.width)} more width would do"
        if isfinite(cause.need)
        else "none is wide enough"
    )
    found: list[Candidate] = []
    if case.table.legs.fitted and not cause.off:
        found.append(Remedy("Bolt the legs on, so that they come off", (Change("legs.kind", "bolted"),)))
    found.append(Remedy("Build it in the room where it is to stand, or take another way in"))
    return Advice(
        f"{what}, {x} by {y} by {z} in one piece, passes no door {case.given(cause.width)} wide and"
        f" {case.given(cause.height)} high, however it is turned: {more}.",
        *found,
    )
