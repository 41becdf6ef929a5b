"""Meshes of parts against manifold3d, against closed forms, and against the same parts as convex pieces."""

from __future__ import annotations

import manifold3d as m3
import numpy as np
import pytest

from addon.designs.table import build
from addon.files.examples import EXAMPLES
from addon.sizes.errors import PartError
from addon.sizes.tolerances import ARC
from addon.wood.features import Bevel, EdgeTreatment, Groove, Hole, Opening
from addon.wood.meshes.mesh import Mesh, mesh_of
from addon.wood.part import Shape, rectangle
from addon.wood.profiles import hole_steps, quarter_steps
from addon.wood.solids.solids import convex_pieces
from addon.wood.sound import check_features
from tests.large import sampled
from tests.shape_bench import (
    allowed,
    as_manifold,
    difference,
    difference_from_union,
    random_shapes,
    random_shapes_on_grid,
    reference,
)

pytestmark = pytest.mark.once

BOARD = rectangle(800.0, 120.0)
THICK = 17.7
ELL = ((0.0, 0.0), (500.0, 0.0), (500.0, 100.0), (200.0, 100.0), (200.0, 300.0), (0.0, 300.0))
BUTTERFLY = ((0.0, 0.0), (90.0, 20.0), (180.0, 0.0), (170.0, 80.0), (95.0, 60.0), (5.0, 90.0))


def _checked(shape: Shape) -> Mesh:
    """The mesh after the tests that hold for every mesh."""
    check_features(shape)
    mesh = mesh_of(shape)
    solid = as_manifold(mesh)
    assert solid.status() == m3.Error.NoError, shape
    edges = np.sort(mesh.triangles[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
    _, counts = np.unique(edges, axis=0, return_counts=True)
    assert (counts == 2).all(), shape
    assert np.array_equal(np.unique(mesh.triangles), np.arange(len(mesh.vertices))), (
        "vertices without a triangle"
    )
    corners = mesh.vertices[mesh.triangles]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    areas = np.linalg.norm(normals, axis=1)
    assert areas.min() > 1e-9, shape
    assert mesh.volume == pytest.approx(solid.volume(), rel=1e-12)
    _assert_flat(mesh, corners, normals / areas[:, None], areas)
    return mesh


def _assert_flat(mesh: Mesh, corners: np.ndarray, normals: np.ndarray, areas: np.ndarray) -> None:
    """All triangles of a patch lie in the plane of its largest triangle and face the same way."""
    order = np.argsort(areas)
    largest = np.zeros(mesh.patch.max() + 1, dtype=int)
    largest[mesh.patch[order]] = order
    of_patch = largest[mesh.patch]
    heights = np.einsum("ijk,ik->ij", corners - corners[of_patch][:, :1], normals[of_patch])
    assert np.abs(heights).max() < 1e-6
    assert (np.einsum("ij,ij->i", normals, normals[of_patch])[areas > 1e-3] > 0.999).all()
    front, back = mesh.patch == 0, mesh.patch == 1
    assert (normals[front, 2] < -0.999).all()
    assert (normals[back, 2] > 0.999).all()


@pytest.mark.parametrize("seed", range(sampled(1, 6)))
def test_random_parts_equal_manifold3d(seed: int) -> None:
    for shape in random_shapes(50, seed):
        expected = reference(shape)
        solid = as_manifold(_checked(shape))
        assert abs(difference(solid, expected)) <= allowed(expected), shape
        assert solid.volume() == pytest.approx(expected.volume(), rel=1e-9), shape


@pytest.mark.parametrize("seed", range(sampled(1, 3)))
def test_grooves_and_edges_on_common_lines_equal_manifold3d(seed: int) -> None:
    """Everything on a 10 mm grid: sides on sides, corners on edges, grooves that end where others begin."""
    for shape in random_shapes_on_grid(150, seed, inner_corners=False):
        expected = reference(shape)
        assert abs(difference(as_manifold(_checked(shape)), expected)) <= allowed(expected), shape


@pytest.mark.parametrize("seed", sampled([100], [100, 101, 102]))
def test_random_parts_equal_their_pieces(seed: int) -> None:
    for shape in random_shapes(sampled(12, 30), seed):
        solid = as_manifold(mesh_of(shape))
        assert difference_from_union(solid, convex_pieces(shape)) <= allowed(solid), shape


@pytest.mark.parametrize("seed", sampled([100], [100, 101]))
def test_parts_with_cuts_at_inner_corners_equal_their_pieces(seed: int) -> None:
    for shape in random_shapes_on_grid(100, seed, inner_corners=True):
        solid = as_manifold(_checked(shape))
        assert difference_from_union(solid, convex_pieces(shape)) <= allowed(solid), shape


@pytest.mark.parametrize("name", EXAMPLES)
def test_parts_of_the_examples_equal_manifold3d_and_their_pieces(name: str) -> None:
    shapes = dict.fromkeys(part.shape for part in build(EXAMPLES[name].table()).parts)
    for shape in shapes:
        solid, expected = as_manifold(_checked(shape)), reference(shape)
        assert abs(difference(solid, expected)) <= allowed(expected), shape
        assert difference_from_union(solid, convex_pieces(shape)) <= allowed(solid), shape


@pytest.mark.parametrize("seed", range(3))
def test_each_way_through_the_board_is_one_handle(seed: int) -> None:
    """Euler and Poincaré: vertices − edges + faces = 2 − 2·(ways through) for a body in one piece."""
    for shape in random_shapes(40, 50 + seed):
        mesh = mesh_of(shape)
        if len(as_manifold(mesh).decompose()) > 1:
            continue
        through = sum(not o.is_notch for o in shape.openings) + sum(h.depth is None for h in shape.holes)
        characteristic = len(mesh.vertices) - len(mesh.triangles) * 3 // 2 + len(mesh.triangles)
        assert characteristic == 2 - 2 * through, shape


def test_plain_board_has_eight_vertices_and_six_faces() -> None:
    mesh = _checked(Shape(BOARD, THICK))
    assert len(mesh.vertices) == 8
    assert len(mesh.triangles) == 12
    assert len(np.unique(mesh.patch)) == 6
    assert mesh.volume == pytest.approx(800 * 120 * THICK, rel=1e-14)


def test_mitered_board_by_the_prismoidal_formula() -> None:
    """V = T/6·(A0 + 4·Am + A1), the prismoidal formula of any mensuration handbook; exact for linear bevels."""
    shape = Shape(BOARD, THICK, (Bevel(1, THICK, 0.0), Bevel(3, THICK, 0.0), Bevel(2, 3.0, 8.0)))
    sections = [(800 - 2 * inset) * (120 - side) for inset, side in ((THICK, 3), (THICK / 2, 5.5), (0, 8))]
    expected = THICK / 6 * (sections[0] + 4 * sections[1] + sections[2])
    assert _checked(shape).volume == pytest.approx(expected, rel=1e-12)


def test_stopped_chamfer_takes_a_triangular_prism() -> None:
    shape = Shape(BOARD, THICK, (EdgeTreatment(0, "front", "chamfer", 5.0, 100.0, 650.0),))
    assert _checked(shape).volume == pytest.approx(800 * 120 * THICK - 5**2 / 2 * 550, rel=1e-12)


def test_facets_of_round_holes_touch_the_circle_from_the_wood() -> None:
    """The area of a regular polygon around a circle is n·r²·tan(π/n) (any handbook); it keeps within `ARC`."""
    for diameter in (3.0, 25.0, 80.0):
        mesh = _checked(Shape(BOARD, THICK, (Hole(300.0, 60.0, diameter),)))
        count, radius = hole_steps(diameter), diameter / 2
        area = count * radius**2 * np.tan(np.pi / count)
        assert mesh.volume == pytest.approx((800 * 120 - area) * THICK, rel=1e-12)
        reach = np.hypot(*(mesh.vertices[8:, :2] - (300.0, 60.0)).T)
        assert (reach >= radius - 1e-9).all()
        assert (reach <= radius + ARC + 1e-9).all()


def test_round_corners_keep_within_the_arc_tolerance_on_the_side_of_the_wood() -> None:
    shape = Shape(BOARD, THICK, (Opening(100.0, 700.0, 30.0, 90.0, 12.0),))
    corners = _checked(shape).vertices[8:, :2]
    center = np.array([[112.0, 42.0], [688.0, 78.0]])
    away = np.maximum(np.maximum(center[0] - corners, corners - center[1]), 0.0)
    round_part = (away > 0).all(axis=1)
    assert round_part.sum() == 2 * 4 * quarter_steps(12.0)
    reach = np.hypot(*away[round_part].T)
    assert (reach >= 12.0 - 1e-9).all()
    assert (reach <= 12.0 + ARC + 1e-9).all()


def test_chamfered_opening_by_the_prismoidal_formula() -> None:
    """A sharp-cornered opening with 45 degree chamfers: two frusta of pyramids and a prism between them."""
    shape = Shape(BOARD, THICK, (Opening(100.0, 300.0, 40.0, 80.0, 0.0, 3.0, 2.0),))

    def frustum(leg: float) -> float:
        sections = [(200 + 2 * c) * (40 + 2 * c) for c in (0.0, leg / 2, leg)]
        return leg / 6 * (sections[0] + 4 * sections[1] + sections[2])

    void = 200 * 40 * (THICK - 5) + frustum(3.0) + frustum(2.0)
    assert _checked(shape).volume == pytest.approx(800 * 120 * THICK - void, rel=1e-12)


@pytest.mark.parametrize(
    "outline", [ELL, ((0.0, 0.0), (90.0, 20.0), (180.0, 0.0), (170.0, 80.0), (95.0, 60.0), (5.0, 90.0))]
)
def test_chamfer_all_around_is_a_mitered_offset(outline: tuple[tuple[float, float], ...]) -> None:
    """Inner corners included: each section is the outline offset inwards with mitered joins, as manifold3d does it."""
    size = 6.0
    edges = tuple(EdgeTreatment(edge, "front", "chamfer", size) for edge in range(len(outline)))
    solid = as_manifold(_checked(Shape(outline, THICK, (*edges,))))
    for w in (0.5, 2.0, 4.0, 5.9, 10.0):
        inset = m3.CrossSection([outline]).offset(-max(0.0, size - w), m3.JoinType.Miter, 100.0)
        assert solid.slice(w).area() == pytest.approx(inset.area(), rel=1e-9)


def test_collinear_corners_of_the_outline_change_nothing() -> None:
    outline = ((0.0, 0.0), (300.0, 0.0), (800.0, 0.0), (800.0, 120.0), (0.0, 120.0))
    treated = Shape(outline, THICK, (EdgeTreatment(0, "back", "chamfer", 4.0),))
    assert _checked(treated).volume == pytest.approx(800 * 120 * THICK - 8 * 300, rel=1e-12)
    assert _checked(Shape(outline, THICK)).volume == pytest.approx(800 * 120 * THICK, rel=1e-12)


def test_through_groove_parts_the_front_face_and_leaves_its_floor() -> None:
    mesh = _checked(Shape(BOARD, THICK, (Groove(0.0, 800.0, 50.0, 61.8, 6.0),)))
    assert mesh.volume == pytest.approx(800 * (120 * THICK - 11.8 * 6), rel=1e-12)
    corners = mesh.vertices[mesh.triangles]
    areas = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])[:, 2] / 2
    level = np.where(np.ptp(corners[:, :, 2], axis=1) == 0.0, corners[:, 0, 2], -1.0)
    assert areas[level == 0.0].sum() == pytest.approx(-800 * (120 - 11.8), rel=1e-12)
    assert areas[level == 6.0].sum() == pytest.approx(-800 * 11.8, rel=1e-12)
    assert areas[level == THICK].sum() == pytest.approx(800 * 120, rel=1e-12)


def test_rabbet_may_be_narrower_than_the_chamfer_behind_it() -> None:
    shape = Shape(
        BOARD, THICK, (Groove(0.0, 800.0, 0.0, 8.0, 6.0), EdgeTreatment(0, "back", "chamfer", 11.0))
    )
    assert _checked(shape).volume == pytest.approx(800 * (120 * THICK - 8 * 6 - 11**2 / 2), rel=1e-12)


def test_hole_starts_at_the_floor_of_a_groove() -> None:
    groove = Groove(0.0, 800.0, 50.0, 70.0, 6.0)
    through = _checked(Shape(BOARD, THICK, (groove, Hole(300.0, 60.0, 5.0))))
    area = hole_steps(5.0) * 2.5**2 * np.tan(np.pi / hole_steps(5.0))
    assert through.volume == pytest.approx(800 * (120 * THICK - 20 * 6) - area * (THICK - 6), rel=1e-12)


@pytest.mark.parametrize(
    "shape",
    [
        Shape(BOARD, THICK, (Bevel(0, 70.0, 0.0), Bevel(2, 70.0, 0.0))),
        Shape(BOARD, THICK, (EdgeTreatment(1, "front", "chamfer", 5.0, 3.0), Bevel(0, 9.0, 0.0))),
        Shape(BOARD, THICK, (Groove(0.0, 795.0, 50.0, 60.0, 12.0), Bevel(1, 10.0, 0.0))),
        Shape(BOARD, THICK, (Groove(10.0, 20.0, 10.0, 20.0, 6.0), Groove(20.0, 30.0, 20.0, 30.0, 6.0))),
    ],
    ids=[
        "bevels that meet",
        "stop within a bevel",
        "groove that ends in a bevel",
        "grooves corner to corner",
    ],
)
def test_parts_without_a_sound_section_are_refused(shape: Shape) -> None:
    with pytest.raises(PartError):
        mesh_of(shape)
    with pytest.raises(PartError, match=r"^R1: "):
        check_features(shape, "R1")
