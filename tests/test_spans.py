"""Spans, the two points between which a finding's amount is measured, against outside libraries.

Depths and distances: as in `oracles` (python-fcl 0.7.0.11, scipy 1.17.1's Qhull); that the points lie on the parts:
signed distances of the exported convex pieces, by scipy's HiGHS (`linprog`).
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import linprog

from addon.check.facts import Span
from addon.check.prepared import prepare
from addon.designs.table import build
from addon.designs.table.design import check_prepared
from addon.files.editing import set_values
from random_tables import sound_table
from tests.old_tables import EXAMPLES
from tests.oracles import Body, Exported, Way, smallest_distance

pytestmark = pytest.mark.once

Floats = NDArray[np.float64]
QUILTING = EXAMPLES["quilting"].table()
EXACT = 1e-6
"""mm"""


def length(span: Span) -> float:
    return float(np.linalg.norm(np.subtract(*span)))


def lies_in(point: Floats, bodies: list[Body]) -> bool:
    """Whether a point is a mixture of the corners of one of these bodies, within `EXACT`, by HiGHS."""
    for body in bodies:
        if (point < body.low - EXACT).any() or (point > body.high + EXACT).any():
            continue
        corners = body.vertices - point
        # Least largest coordinate by which a mixture of the corners misses the point.
        count = len(corners)
        upper = np.concatenate([corners.T, -corners.T])
        limits = np.concatenate([upper, -np.ones((6, 1))], axis=1)
        found = linprog(
            np.append(np.zeros(count), 1.0),
            A_ub=limits,
            b_ub=np.zeros(6),
            A_eq=np.append(np.ones(count), 0.0)[None],
            b_eq=[1.0],
            method="highs",
        )
        if found.status == 0 and found.fun <= EXACT:
            return True
    return False


def swept(exported: Exported, way: Way) -> list[Body]:
    return [body.swept(*move) for move in way.moves for body in exported.bodies[way.leaf]]


def at_travel(exported: Exported, way: Way, travel: float, zero: float) -> list[Body]:
    """The leaf's bodies with its nose so far past the slot's outer face."""
    (start, end), *more = way.moves
    assert not more
    offset = start + (end - start) * (travel + zero) / np.linalg.norm(end - start)
    return [Body(body.vertices + offset) for body in exported.bodies[way.leaf]]


def as_cut(part: str, dimension: str, deviation: float, **more: object) -> dict[str, object]:
    keys = {"part": part, "dimension": dimension, "deviation": deviation, **more}
    return {f"as_cut[0].{key}": value for key, value in keys.items()}


CASES = {
    "as drawn": {},
    "low window": as_cut("R3", "window_height", -2.5),
    "high sill": as_cut("R2", "window_sill", 2.0, leaf="L3"),
    "window aside": as_cut("R2", "window_offset", -3.0, leaf="L4"),
    "little room": {"stowing.clearance_above": 0.2},
    "set_back": {"stowing.set_back": 20.5},
    "leg in a rib": {"legs.width": 70},
    "thick bottom": as_cut("B1", "thickness", 1.0),
    "thick rib": as_cut("R2", "thickness", 4.0),
    "long rib": as_cut("R2", "length", 4.0, end="end"),
    "long side": as_cut("S3", "length", 3.0, end="start"),
}


@pytest.mark.parametrize("changes", CASES.values(), ids=CASES)
def test_the_amount_is_measured_between_points_of_both_parts(changes: dict[str, object]) -> None:
    table = set_values(QUILTING, changes)
    assembly = build(table)
    exported = Exported(assembly)
    report = check_prepared(table, prepare(assembly))
    ways = {way.leaf: way for way in exported.ways}
    for result in report.leaves:
        way, others = ways[result.leaf], exported.bodies[result.against]
        assert result.span is not None
        theirs = smallest_distance(swept(exported, way), others)
        assert length(result.span) == pytest.approx(abs(theirs), abs=EXACT)
        own = swept(exported, way)
        if theirs > EXACT:
            own = at_travel(exported, way, result.travel, assembly.path_of(result.leaf).zero)
        assert lies_in(np.array(result.span[0]), own)
        assert lies_in(np.array(result.span[1]), others)
    findings = [finding for finding in report.findings if finding.rule != "thin-wood"]
    spans = [finding for finding in findings if finding.span is not None]
    assert spans or not findings
    for finding in spans:
        assert finding.span is not None
        first, second = finding.parts
        if finding.leaf == second:
            own, others = swept(exported, ways[second]), exported.bodies[first]
            assert length(finding.span) == pytest.approx(finding.amount, abs=EXACT)
        else:
            own, others = exported.bodies[first], exported.bodies[second]
        theirs = smallest_distance(own, others)
        assert length(finding.span) == pytest.approx(abs(theirs), abs=EXACT)
        here, there = (np.array(point) for point in finding.span)
        assert (lies_in(here, own) and lies_in(there, others)) or (
            lies_in(there, own) and lies_in(here, others)
        )
        if theirs < -EXACT:  # overlaps: each point lies in the other body too
            assert lies_in(here, own)
            assert lies_in(here, others)
            assert lies_in(there, own)
            assert lies_in(there, others)


def test_spans_of_random_tables() -> None:
    for index in range(6):
        table, assembly = sound_table(f"spans/{index}")
        exported = Exported(assembly)
        for way, result in zip(exported.ways, check_prepared(table, prepare(assembly)).leaves, strict=True):
            assert result.span is not None
            assert length(result.span) == pytest.approx(result.clearance, abs=EXACT)
            own = at_travel(exported, way, result.travel, assembly.path_of(way.leaf).zero)
            assert lies_in(np.array(result.span[0]), own)
            assert lies_in(np.array(result.span[1]), exported.bodies[result.against])
