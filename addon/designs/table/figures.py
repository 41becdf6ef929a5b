"""The figures that somebody looks at who has to choose between tables."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from ...check.prepared import prepare
from ...wood.assembly import Assembly
from ...wood.meshes.mesh import mesh_of
from ..findings import Report
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
