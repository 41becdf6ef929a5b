"""The overlap against manifold3d 3.5.4: unions and intersections of the exported pieces."""

from __future__ import annotations

from functools import reduce
from itertools import pairwise
from random import Random

import manifold3d
import numpy as np
import pytest
from numpy.typing import NDArray

from addon.check.causes import StandsOut
from addon.check.facts import Fact
from addon.check.prepared import prepare
from addon.check.spans import RULES, common, faces, overlap_volume
from addon.designs.table import build
from addon.designs.table.design import check_prepared
from addon.files.editing import set_values
from addon.wood.solids.pieces import Pieces
from tests.convex_samples import assert_sound, pieces
from tests.old_tables import EXAMPLES
from tests.oracles import Body, Exported, mesh_solid

pytestmark = pytest.mark.once

QUILTING = EXAMPLES["quilting"].table()


def as_solid(found: Pieces) -> manifold3d.Manifold:
    """The pieces from their faces alone, each a closed mesh of its own for manifold3d."""
    solids = []
    rings = faces(found)
    for i in range(len(found)):
        first, last = found.starts[i], found.starts[i + 1]
        own = [ring for ring in rings if first <= ring[0] < last]
        triangles = [(ring[0], a, b) for ring in own for a, b in pairwise(ring[1:])]
        solid = mesh_solid(found.piece(i), np.array(triangles) - first)
        assert solid.status() == manifold3d.Error.NoError
        assert solid.volume() == pytest.approx(found.volume(i), rel=1e-9)
        solids.append(solid)
    return reduce(lambda a, b: a + b, solids, manifold3d.Manifold())


def planes(some: Pieces) -> list[NDArray[np.float64]]:
    return [some.piece_planes(i) for i in range(len(some))]


def union(some: Pieces) -> manifold3d.Manifold:
    return reduce(lambda a, b: a + b, (Body(some.piece(i)).solid for i in range(len(some))))


@pytest.mark.parametrize("seed", range(8))
def test_what_heaps_of_random_bodies_share(seed: int) -> None:
    random = Random(seed)
    a, b = pieces(random, 4, 9), pieces(random, 4, 9)
    found = common(planes(a), planes(b))
    theirs = union(a) ^ union(b)
    assert theirs.volume() > 1
    assert float(found.volumes.sum()) == pytest.approx(theirs.volume(), rel=1e-6)
    assert_sound(found)
    # The same space, not only as much of it, and no part of it twice.
    ours = as_solid(found)
    assert (ours ^ theirs).volume() == pytest.approx(theirs.volume(), rel=1e-6)
    assert ours.volume() == pytest.approx(theirs.volume(), rel=1e-6)


def as_cut(part: str, dimension: str, deviation: float, **more: object) -> dict[str, object]:
    keys = {"part": part, "dimension": dimension, "deviation": deviation, **more}
    return {f"as_cut[0].{key}": value for key, value in keys.items()}


CASES = {
    "low window": as_cut("R3", "window_height", -2.5),
    "window aside": as_cut("R2", "window_offset", -3.0, leaf="L4"),
    "thick leaf": as_cut("L1", "thickness", 3.5),
    "leg in the way": {"legs.width": 330},
    "thick bottom": as_cut("B1", "thickness", 1.0),
    "long rib": as_cut("R3", "length", 4.0),
    "long side": as_cut("S3", "length", 3.0, end="start"),
}


@pytest.mark.parametrize("changes", CASES.values(), ids=CASES)
def test_contacts_of_the_quilting_table(changes: dict[str, object]) -> None:
    table = set_values(QUILTING, changes)
    assembly = build(table)
    prepared, exported = prepare(assembly), Exported(assembly)
    seen = 0
    for finding in check_prepared(table, prepared).findings:
        found = overlap_volume(prepared, finding)
        if finding.rule not in RULES:
            assert not len(found)
            continue
        seen += 1
        ways = [way for way in exported.ways if way.leaf == finding.leaf and finding.leaf in finding.parts]
        other = exported.solid(finding.parts[1])
        if ways:
            swept = [body.swept(*move) for move in ways[0].moves for body in exported.bodies[finding.leaf]]
            other = reduce(lambda a, b: a + b, (body.solid for body in swept))
        theirs = exported.solid(finding.parts[0]) ^ other
        assert theirs.volume() > 0.1
        assert float(found.volumes.sum()) == pytest.approx(theirs.volume(), rel=1e-5)
        assert (as_solid(found) ^ theirs).volume() == pytest.approx(theirs.volume(), rel=1e-5)
    assert seen


def test_boxes_by_hand() -> None:
    """A cube with two bars through it that cross each other: 4·2·10 twice, less the 4·2·4 where they cross."""
    cube = Pieces.boxes(np.zeros(3), np.full(3, 10.0))
    bars = Pieces.boxes(np.array([[-5.0, 3, 4], [3, -5, 4]]), np.array([[15.0, 7, 6], [7, 15, 6]]))
    found = common(planes(cube), planes(bars))
    assert float(found.volumes.sum()) == pytest.approx(2 * 4 * 2 * 10 - 4 * 2 * 4, abs=1e-9)
    assert len(found) == 3


def test_parts_that_only_touch_share_nothing() -> None:
    box, beside = (
        Pieces.boxes(np.zeros(3), np.full(3, 10.0)),
        Pieces.boxes(np.array([10.0, 0, 0]), np.full(3, 20.0)),
    )
    assert not len(common(planes(box), planes(beside)))
    note = Fact("leaf-proud", "note", ("L1", "S1"), (0.0, 0.0, 0.0), 1.0, StandsOut("S1", 1.0))
    assert not len(overlap_volume(prepare(build(QUILTING)), note))
