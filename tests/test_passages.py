"""Passages against manifold3d 3.5.4: hulls of the exported leaves at both ends of their moves."""

from __future__ import annotations

import numpy as np
import pytest

from addon.check.prepared import prepare
from addon.check.spans import passages
from addon.designs.table import build
from addon.files.editing import set_values
from addon.files.examples import EXAMPLES
from tests.oracles import Exported


@pytest.mark.parametrize(
    ("example", "changes"),
    [("quilting", {}), ("seed-bench", {}), ("quilting", {"stowing.set_back": -5})],
    ids=["quilting", "seed bench", "proud"],
)
def test_a_passage_is_the_box_around_what_a_leaf_passes_through(
    example: str, changes: dict[str, object]
) -> None:
    assembly = build(set_values(EXAMPLES[example].table(), changes))
    exported, found = Exported(assembly), passages(prepare(assembly))
    assert [one.leaf for one in found] == [way.leaf for way in exported.ways]
    for one, way in zip(found, exported.ways, strict=True):
        (move,) = way.moves
        corners = np.concatenate([body.swept(*move).vertices for body in exported.bodies[way.leaf]])
        low, high = corners.min(axis=0), corners.max(axis=0)
        side = exported.boxes[assembly.path_of(way.leaf).side]
        home = exported.boxes[way.leaf]
        axis = int(np.abs(move[0]).argmax())  # from outside to home: the start lies outward
        if move[0][axis] > 0:
            high[axis] = max(side.high[axis], home.high[axis])
        else:
            low[axis] = min(side.low[axis], home.low[axis])
        np.testing.assert_allclose(one.low, low, atol=1e-9)
        np.testing.assert_allclose(one.high, high, atol=1e-9)
        assert (np.array(one.high) - one.low > 1).all()
