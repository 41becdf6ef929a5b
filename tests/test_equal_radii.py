"""Round edges in round corners: what fits as arcs fits as the facets that stand for them.

A leaf whose edges are rounded by R in an opening of its own size with corners of radius r: it touches all round for
R = r and on its flats for R > r; for R < r it stands in the way by (sqrt(2) - 1)·(r - R), along the diagonal (by hand).
"""

from __future__ import annotations

from itertools import product
from math import sqrt

import pytest

from addon.designs.table.design import check
from addon.files.editing import set_values
from addon.sizes.tolerances import ARC
from addon.wood.features import EdgeTreatment, Opening
from addon.wood.meshes.mesh import mesh_of
from addon.wood.part import Shape, rectangle
from tests.large import sampled
from tests.old_tables import EXAMPLES
from tests.shape_bench import as_manifold

RADII = (0.5, 1.0, 2.0, 3.0, 3.175, 4.0, 5.0, 6.0, 6.35, 8.0)
TIGHT = {f"stowing.{name}": 0.0 for name in ("side_clearance", "clearance_above", "clearance_below")}


def verdicts(corner: float, edge: float, **more: float) -> tuple[set[str], float]:
    """Verdicts of all leaves, and the least clearance, mm."""
    values = {**TIGHT, "sides.corner_radius": corner, "leaves.edge_radius": edge, **more}
    report = check(set_values(EXAMPLES["quilting"].table(), values))
    return {leaf.verdict for leaf in report.leaves}, min(leaf.clearance for leaf in report.leaves)


@pytest.mark.parametrize("radius", sampled(RADII[::3], RADII))
def test_equal_radii_without_clearance_touch(radius: float) -> None:
    """Slots chamfered by 3, windows by 2."""
    assert verdicts(radius, radius) == ({"tight"}, pytest.approx(0.0, abs=1e-6))


@pytest.mark.parametrize("chamfer", [0.0, 1.0, 6.0])
def test_whatever_chamfers_are_around_the_opening(chamfer: float) -> None:
    found = verdicts(3.0, 3.0, **{"sides.slot_chamfer": 2.0, "ribs.window_chamfer": chamfer})
    assert found == ({"tight"}, pytest.approx(0.0, abs=1e-6))


@pytest.mark.parametrize(
    ("corner", "edge"), [(3.0, 3.02), (3.0, 3.175), (6.0, 6.35), (1.0, 6.0), (6.35, 6.4)]
)
def test_rounder_edges_than_corners_touch(corner: float, edge: float) -> None:
    assert verdicts(corner, edge) == ({"tight"}, pytest.approx(0.0, abs=1e-6))


@pytest.mark.parametrize(("corner", "edge"), [(3.2, 3.0), (6.0, 3.0), (5.0, 4.8), (3.0, 0.0)])
def test_corners_rounder_than_edges_are_in_the_way(corner: float, edge: float) -> None:
    found, clearance = verdicts(corner, edge)
    assert found == {"blocked"}
    assert -clearance == pytest.approx((sqrt(2) - 1) * (corner - edge), abs=ARC)


def test_exported_solids_of_equal_radii_have_no_wood_in_common() -> None:
    """By manifold3d: a leaf pushed through its opening."""
    for corner, edge in product(RADII, RADII):
        if edge < corner:
            continue
        edges = tuple(
            EdgeTreatment(one, face, "round-over", edge)
            for one in (0, 2)
            for face in ("front", "back")  # type: ignore[arg-type]
        )
        leaf = as_manifold(mesh_of(Shape(rectangle(100.0, 60.0), 18.0, edges)))
        opening = Opening(20.0, 80.0, 20.0, 38.0, corner, 2.0, 2.0)
        board = as_manifold(mesh_of(Shape(rectangle(100.0, 60.0), 18.0, (opening,))))
        # The leaf's width along the board's length, its thickness across it, its length right through.
        through = board.transform([[0, 0, 1, 40], [1, 0, 0, -20], [0, 1, 0, -20]])
        assert abs((leaf ^ through).volume()) < 1e-3, (corner, edge)
