"""The sides' outer lower edge: what it takes off by hand, where it stops before legs that stand outside, no finding."""

from __future__ import annotations

from math import pi

import pytest

from addon.designs.table.build import build
from addon.designs.table.design import check
from addon.designs.table.parameters import Table
from addon.files.editing import set_values
from addon.files.examples import EXAMPLES
from addon.wood.meshes.mesh import mesh_of
from addon.wood.part import Part
from tests.oracles import mesh_solid

pytestmark = pytest.mark.once

QUILTING = EXAMPLES["quilting"].table()
BENCH = EXAMPLES["seed-bench"].table()


def with_edge(table: Table, kind: str, size: float, **more: object) -> Table:
    return set_values(table, {"sides.outer_edge": kind, "sides.outer_edge_size": size, **more})


def volume(part: Part) -> float:
    mesh = mesh_of(part.shape)
    return mesh_solid(mesh.vertices, mesh.triangles).volume()


@pytest.mark.parametrize(("kind", "taken"), [("chamfer", 6.0**2 / 2), ("round-over", 6.0**2 * (1 - pi / 4))])
def test_it_takes_a_prism_off_all_along_where_legs_stand_inside(kind: str, taken: float) -> None:
    """S1 is 1500 long and S3 1500 - 575.4 = 924.6; a round-over is faceted, to some hundredths."""
    plain, cut = build(QUILTING), build(with_edge(QUILTING, kind, 6.0))
    for label, length in (("S1", 1500.0), ("S3", 924.6)):
        off = volume(plain.by_label[label]) - volume(cut.by_label[label])
        assert off == pytest.approx(taken * length, rel=1e-6 if kind == "chamfer" else 0.03)
        (own,) = [
            one for one in cut.by_label[label].shape.edges if one not in plain.by_label[label].shape.edges
        ]
        assert (own.kind, own.size, own.start, own.stop) == (kind, 6.0, None, None)


def test_it_lies_on_the_outer_face_at_the_lower_edge() -> None:
    """A corner of the chamfer at the lower edge, 6 in from the outer face, and one on that, 6 up."""
    table = build(with_edge(QUILTING, "chamfer", 6.0))
    for label, axis, outside in (("S1", 1, -480.0), ("S2", 1, 480.0), ("S3", 0, -750.0), ("S4", 0, 750.0)):
        part = table.by_label[label]
        points = part.placement.to_table(mesh_of(part.shape).vertices)
        low = points[abs(points[:, 2] - 628.1) < 1e-6]
        up = points[abs(points[:, 2] - 634.1) < 1e-6]
        assert abs(abs(low[:, axis] - outside).min() - 6.0) < 1e-6
        assert abs(up[:, axis] - outside).min() < 1e-6


def test_it_stops_before_legs_that_go_over_it() -> None:
    """The bench's channels reach 2 1/2 in from the inner faces, of sheets of 23/32, and 3/8 in are left beside them."""
    side = build(with_edge(BENCH, "round-over", 25.4 / 4)).by_label["S1"]
    outer = [one for one in side.shape.edges if one.face == "back" and one.kind == "round-over"]
    start = 25.4 * (23 / 32 + 2.5 + 3 / 8)
    assert [(one.start, one.stop) for one in outer] == [(pytest.approx(start), pytest.approx(1524.0 - start))]


@pytest.mark.parametrize("kind", ["chamfer", "round-over"])
@pytest.mark.parametrize("table", [QUILTING, BENCH], ids=["quilting", "seed-bench"])
@pytest.mark.parametrize("joint", ["butted", "mitered"])
def test_nothing_is_found_of_it(table: Table, kind: str, joint: str) -> None:
    report = check(with_edge(table, kind, 6.0, **{"table.corner_joint": joint}))
    assert report.findings == check(set_values(table, {"table.corner_joint": joint})).findings
