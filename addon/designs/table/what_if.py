"""What if a rib came out too long? Every rib, at either end, one at a time."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from ...check.causes import ChainOff, Fitted
from ...check.chains.facts import chain_facts
from ...check.clearance.kernel import static_overlaps
from ...check.drawn_way import slide_leaves
from ...check.prepared import prepare
from ...wood.dimensions import AsCut
from .build import build
from .parameters import Table


@dataclass(frozen=True)
class LongRib:
    """One rib that is too long at one end, lengths in mm.

    Parameters
    ----------
    overlap : of the rib and the neighbor at that end, with the rib's windows in place
    trim : what to take off that end
    stopped : leaves that stop although the rib's windows are in place
    forced : the row pressed toward that end, so that the rib's windows go along
    pushing : the row pressed the other way, so that the excess pushes the neighbor, and what stands beyond it
    evenly : the row forced in evenly
    """

    rib: str
    end: str
    excess: float
    neighbor: str
    overlap: float
    trim: float
    stopped: tuple[str, ...]
    forced: Fitted
    pushing: Fitted
    evenly: Fitted


def long_ribs(table: Table, excess: float) -> Iterator[LongRib]:
    """Every rib of a table with `excess` mm standing out at its start, then at its end.

    Raises what building the table raises.
    """
    for rib in build(table).with_role("rib"):
        for end in ("start", "end"):
            yield long_rib(table, rib.label, end, excess)


def long_rib(table: Table, label: str, end: str, excess: float) -> LongRib:
    """One rib with `excess` mm standing out at one end."""
    entry = AsCut(label, "length", deviation=excess, end=end)
    changed = replace(table, as_cut=(*table.as_cut, entry))
    prepared = prepare(build(changed))
    facts, _ = chain_facts(prepared, static_overlaps(prepared.scene))
    low = end == "start"
    chain, joint = next(
        (fact.cause, joint)
        for fact in facts
        if isinstance(fact.cause, ChainOff)
        for joint in fact.cause.joints
        if (joint.part, joint.low) == (label, low) and joint.off > 0
    )
    ways = {way.way: way for way in chain.ways}
    results = [result for result, _ in slide_leaves(prepared, 0.0)]
    return LongRib(
        label,
        end,
        joint.by_part,
        joint.neighbor,
        joint.off,
        sum(trim.amount for trim in chain.trims),
        tuple(result.leaf for result in results if result.verdict == "blocked"),
        ways["low" if low else "high"],
        ways["high" if low else "low"],
        ways["evenly"],
    )
