"""The figures that somebody looks at who has to choose: of tables, and of ribs that came out too long."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

from ...check.causes import ChainOff, Fitted
from ...check.chains import chain_facts
from ...check.clearance.kernel import static_overlaps
from ...check.drawn_way import slide_leaves
from ...check.prepared import prepare
from ...wood.assembly import Assembly
from ...wood.dimensions import AsCut
from ...wood.meshes.mesh import mesh_of
from ..findings import Report
from .build import build
from .design import check_prepared
from .parameters import Table

Kind = Literal["length", "amount", "area", "mass", "word"]
"""Lengths in mm, amounts (gaps, clearances) in mm, areas in m², masses in kg, words as they are."""


@dataclass(frozen=True)
class Figure:
    """One figure of a table."""

    name: str
    kind: Kind
    value: float | str


def figures_of(table: Table, assembly: Assembly) -> tuple[Figure, ...]:
    """What comes of a table's parameters: its check, its slide proof, room below it, its weight, and what is cut.

    Raises
    ------
    ParameterError, PartError : for what cannot be built
    """
    return figures_from(assembly, check_prepared(table, prepare(assembly)))


def figures_from(assembly: Assembly, report: Report) -> tuple[Figure, ...]:
    """The same of a table that is checked already. Raises PartError."""
    by_hand = [one.by_hand.verdict for one in report.answers.leaves.values()]
    return (
        *_of_check(report),
        Figure("Leaves that guide themselves", "word", f"{by_hand.count('guides-itself')} of {len(by_hand)}"),
        Figure("Knee clearance", "length", room_below(assembly)),
        *_of_leaves(assembly),
        Figure("Mass", "mass", mass(assembly)),
        Figure("Parts to cut", "word", str(len(assembly.parts))),
        *_of_stock(assembly),
    )


def mass(assembly: Assembly) -> float:
    """Of all boards, kg."""
    volumes = [mesh_of(part.shape).volume for part in assembly.parts]
    return (
        sum(volume * part.stock.density for volume, part in zip(volumes, assembly.parts, strict=True)) / 1e9
    )


def room_below(assembly: Assembly) -> float:
    """From the room's floor to the lowest board that does not stand on it: what knees and thighs pass under, mm."""
    heights = [
        float(part.placement.to_table(mesh_of(part.shape).vertices)[:, 2].min())
        for part in assembly.parts
        if not part.role.stands_on_floor
    ]
    return min(heights, default=0.0)


def _of_check(report: Report) -> Iterator[Figure]:
    yield Figure("Verdict of the check", "word", report.verdict)
    if report.leaves:
        tightest = min(report.leaves, key=lambda leaf: leaf.clearance)
        yield Figure("Smallest clearance", "amount", tightest.clearance)
    for severity in ("error", "warning", "note"):
        number = sum(finding.severity == severity for finding in report.findings)
        yield Figure(f"{severity.capitalize()}s", "word", str(number))


def _of_leaves(assembly: Assembly) -> Iterator[Figure]:
    leaves = [part for part in assembly.parts if part.role.slides]
    if leaves:
        length, width, _ = max((leaf.board for leaf in leaves), key=lambda board: board[0] * board[1])
        yield Figure("Largest leaf, length", "length", length)
        yield Figure("Largest leaf, width", "length", width)


def _of_stock(assembly: Assembly) -> Iterator[Figure]:
    areas: dict[str, float] = {}
    for part in assembly.parts:
        length, width, _ = part.board
        areas[part.stock.name] = areas.get(part.stock.name, 0.0) + length * width / 1e6
    for name, area in areas.items():
        yield Figure(f"{name}, net area", "area", area)


# -- ribs that came out too long


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
