"""Stepped holes, holes at an angle and tapers: volumes by hand, manifold3d, the same parts as pieces, and refusals.

Volumes follow from closed forms that any mensuration handbook has: a regular polygon around a circle of radius r has
the area n·r²·tan(π/n); a frustum h/3·(A + a + √(A·a)); a prism cut off askew its section times its length on the axis.
"""

from __future__ import annotations

from dataclasses import replace
from math import cos, pi, radians, sin, sqrt, tan

import manifold3d as m3
import numpy as np
import pytest

from addon.sizes.errors import PartError
from addon.sizes.tolerances import ARC
from addon.wood.features import (
    AngledHole,
    Bevel,
    EdgeTaper,
    EdgeTreatment,
    Face,
    Feature,
    Groove,
    Hole,
    Opening,
    Taper,
)
from addon.wood.meshes.mesh import Mesh, mesh_of
from addon.wood.part import Shape, rectangle
from addon.wood.profiles import hole_steps
from addon.wood.solids.solids import convex_pieces
from addon.wood.sound import check_features
from tests.large import sampled
from tests.shape_bench import (
    allowed,
    as_manifold,
    difference,
    difference_from_union,
    random_drilled_shapes,
    reference,
)

BOARD, THICK = rectangle(200.0, 160.0), 18.0
WHOLE = 200.0 * 160.0 * THICK
POCKET = AngledHole(1, 70.0, 45.0, 9.5, 40.0, 15.0, "front", 4.0)
"""A pocket hole as they are drilled in 18 mm boards (common practice, no source)."""


def _cut_away(*features: Feature) -> float:
    """Volume that some features take off the board, of its mesh; its pieces are the same solid."""
    shape = Shape(BOARD, THICK, features)
    check_features(shape)
    solid = as_manifold(mesh_of(shape))
    assert solid.status() == m3.Error.NoError
    assert difference_from_union(solid, convex_pieces(shape)) <= allowed(solid)
    return WHOLE - solid.volume()


def _polygon(diameter: float, widest: float) -> float:
    """Area of the polygon around a circle, with as many sides as the widest one of its hole has."""
    count = hole_steps(widest)
    return count * (diameter / 2) ** 2 * tan(pi / count)


def _frustum(height: float, top: float, bottom: float) -> float:
    return height / 3 * (top + bottom + sqrt(top * bottom))


@pytest.mark.parametrize("face", ["front", "back"])
def test_a_counterbored_hole(face: Face) -> None:
    """By hand: 12 mm wide for 5 mm, then 5 mm wide for the other 13 mm."""
    removed = _cut_away(Hole(100, 80, 5, None, face, 12, 5))
    assert removed == pytest.approx(_polygon(12, 12) * 5 + _polygon(5, 12) * 13, rel=1e-9)
    assert pi * (36 * 5 + 6.25 * 13) < removed < pi * ((6 + ARC) ** 2 * 5 + (2.5 + ARC) ** 2 * 13)


@pytest.mark.parametrize("face", ["front", "back"])
@pytest.mark.parametrize(("angle", "sink"), [(90.0, 2.5), (82.0, 2.87592)])
def test_a_countersunk_hole(face: Face, angle: float, sink: float) -> None:
    """By hand: from 10 to 5 mm wide a cone is 2.5 mm deep at 90 degrees and 2.5 / tan 41° = 2.87592 mm at 82."""
    removed = _cut_away(Hole(100, 80, 5, 14, face, countersink_diameter=10, countersink_angle=angle))
    top, shank = _polygon(10, 10), _polygon(5, 10)
    assert removed == pytest.approx(_frustum(sink, top, shank) + shank * (14 - sink), rel=1e-6)
    true = pi * sink / 12 * (100 + 50 + 25) + pi * 6.25 * (14 - sink)
    assert true < removed < true * (1 + ARC / 2.5) ** 2


def test_a_countersink_on_the_bottom_of_a_counterbore() -> None:
    removed = _cut_away(Hole(100, 80, 5, None, "front", 14, 4, 10))
    expected = (
        _polygon(14, 14) * 4 + _frustum(2.5, _polygon(10, 14), _polygon(5, 14)) + _polygon(5, 14) * 11.5
    )
    assert removed == pytest.approx(expected, rel=1e-9)


def test_a_counterbore_that_starts_on_the_bottom_of_a_groove() -> None:
    """By hand: what the groove took already is not taken again."""
    groove = Groove(0, 200, 60, 100, 2)
    removed = _cut_away(Hole(100, 80, 5, None, "front", 12, 5), groove)
    expected = 200 * 40 * 2 + _polygon(12, 12) * 3 + _polygon(5, 12) * 13
    assert removed == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("edge", range(4))
@pytest.mark.parametrize("face", ["front", "back"])
def test_a_pocket_hole(edge: int, face: Face) -> None:
    """The bore is 40 mm long on its axis; the pilot goes on to the edge, 45 mm / cos 15° from where the axis enters."""
    removed = _cut_away(replace(POCKET, edge=edge, face=face))
    pilot = 45.0 / cos(radians(15)) - 40.0
    assert removed == pytest.approx(_polygon(9.5, 9.5) * 40 + _polygon(4, 9.5) * pilot, rel=1e-9)


def test_a_pocket_hole_whose_pilot_ends_in_the_wood() -> None:
    removed = _cut_away(replace(POCKET, pilot_depth=43.0))
    assert removed == pytest.approx(_polygon(9.5, 9.5) * 40 + _polygon(4, 9.5) * 3, rel=1e-9)


@pytest.mark.parametrize("face", ["front", "back"])
def test_a_hole_askew_through_the_board(face: Face) -> None:
    """At 60 degrees the axis is 18 mm / sin 60° long."""
    removed = _cut_away(AngledHole(2, 70, 60, 9.5, None, 60, face))
    assert removed == pytest.approx(_polygon(9.5, 9.5) * 18 / sin(radians(60)), rel=1e-9)


def test_pocket_holes_side_by_side_leave_one_wall_with_as_many_holes() -> None:
    """Euler and Poincaré: each pilot that leaves through the edge is one way through."""
    holes = tuple(replace(POCKET, along=along) for along in (30.0, 70.0, 110.0))
    shape = Shape(BOARD, THICK, (*holes, EdgeTreatment(1, "front", "chamfer", 3)))
    check_features(shape)
    mesh = mesh_of(shape)
    assert as_manifold(mesh).genus() == 3
    end = np.abs(mesh.vertices[mesh.triangles][:, :, 0] - 200.0).max(axis=1) < 1e-9
    assert len(np.unique(mesh.patch[end])) == 1
    assert _area(mesh, end) == pytest.approx(160 * 15 - 3 * _polygon(4, 9.5) / cos(radians(15)), rel=1e-9)


def _area(mesh: Mesh, which: np.ndarray) -> float:
    a, b, c = np.moveaxis(mesh.vertices[mesh.triangles[which]], 1, 0)
    return float(np.linalg.norm(np.cross(b - a, c - a), axis=1).sum() / 2)


def test_the_mouth_of_a_pocket_hole_is_an_ellipse() -> None:
    """Its long axis is the diameter over the sine of the angle: 9.5 mm / sin 15° = 36.7 mm (any handbook)."""
    mesh = mesh_of(Shape(BOARD, THICK, (POCKET,)))
    mouth = mesh.vertices[8 : 8 + hole_steps(9.5)]
    assert (mouth[:, 2] == 0.0).all()
    assert np.ptp(mouth[:, 0]) == pytest.approx(9.5 / sin(radians(15)), abs=2 * ARC / sin(radians(15)))
    assert mouth.mean(axis=0) == pytest.approx([155.0, 70.0, 0.0])


@pytest.mark.parametrize(("edge", "side"), [(0, 200), (1, 160), (2, 200), (3, 160)])
@pytest.mark.parametrize("face", ["front", "back"])
def test_a_tapered_face_loses_a_wedge(edge: int, side: int, face: Face) -> None:
    assert _cut_away(Taper(edge, face, 60, 5)) == pytest.approx(60 * 5 / 2 * side, rel=1e-9)


def test_a_leg_tapered_on_two_faces_and_two_edges() -> None:
    """By hand: below the tapers a prismatoid from 60 by 40 to 40 by 24 mm, over 300 of 700 mm (prismoidal formula)."""
    outline = ((0, 0), (400, 0), (700, 10), (700, 50), (400, 60), (0, 60))
    leg = Shape(
        outline,
        40.0,
        (EdgeTaper(1, "end"), EdgeTaper(3, "end"), Taper(2, "front", 300, 8), Taper(2, "back", 300, 8)),
    )
    check_features(leg)
    solid = as_manifold(mesh_of(leg))
    assert solid.volume() == pytest.approx(
        60 * 40 * 400 + 300 / 6 * (60 * 40 + 4 * 50 * 32 + 40 * 24), rel=1e-9
    )
    assert difference_from_union(solid, convex_pieces(leg)) <= allowed(solid)


def test_the_taper_of_an_edge_is_read_from_the_outline_and_set_in_it() -> None:
    leg = Shape(((0, 0), (400, 0), (700, 10), (700, 60), (0, 60)), 40.0, (EdgeTaper(1, "end"),))
    sizes = {one.name: one for one in leg.dimensions}
    assert (sizes["taper_length"].value, sizes["taper_amount"].value) == (300, 10)
    longer = leg.resized(sizes["taper_length"], 20.0, False)
    assert longer.outline == ((0, 0), (380, 0), (700, 10), (700, 60), (0, 60))
    deeper = leg.resized(sizes["taper_amount"], 2.0, False)
    assert deeper.outline == ((0, 0), (400, 0), (700, 12), (700, 60), (0, 60))


def test_a_pocket_hole_goes_with_its_edge() -> None:
    """The jig lies against the end: a board cut 3 mm longer at its end has the hole 3 mm farther out."""
    shape = Shape(BOARD, THICK, (POCKET,))
    length, width, _ = shape.dimensions[:3]
    low, high = shape.features[0].bounds(shape.blank)
    for at_start in (False, True):
        longer = shape.resized(length, 3.0, at_start)
        assert longer.angled_holes == shape.angled_holes
        moved = longer.features[0].bounds(longer.blank)
        assert moved[0] == pytest.approx((low[0] + 3.0, *low[1:]))
        assert moved[1] == pytest.approx((high[0] + 3.0, *high[1:]))
    assert shape.resized(width, 3.0, True).angled_holes[0].along == 73.0


@pytest.mark.once
@pytest.mark.parametrize("seed", sampled(range(300, 301), range(300, 302)))
def test_random_drilled_parts_equal_manifold3d_and_their_pieces(seed: int) -> None:
    for shape in random_drilled_shapes(sampled(5, 14), seed):
        mesh, expected = mesh_of(shape), reference(shape)
        solid = as_manifold(mesh)
        assert solid.status() == m3.Error.NoError, shape
        assert abs(difference(solid, expected)) <= allowed(expected), shape
        assert difference_from_union(solid, convex_pieces(shape)) <= allowed(solid), shape


@pytest.mark.once
def test_bounds_hold_all_that_a_feature_takes() -> None:
    """manifold3d: outside its bounds a feature takes nothing off its board."""
    for shape in random_drilled_shapes(16, 310):
        board = reference(Shape(shape.outline, shape.thickness))
        for feature in shape.features:
            low, high = (np.array(corner) for corner in feature.bounds(shape.blank))
            taken = board - reference(Shape(shape.outline, shape.thickness, (feature,)))
            around = m3.Manifold.cube(tuple(high - low + 2e-6)).translate(tuple(low - 1e-6))
            assert (taken - around).volume() == pytest.approx(0.0, abs=1e-4), feature


REFUSED: dict[str, tuple[tuple[Feature, ...], list[str]]] = {
    "counterbore too narrow": (
        (Hole(50, 50, 5, None, "front", 5, 3),),
        ["counterbore of 5.0 mm", "more than"],
    ),
    "counterbore without depth": ((Hole(50, 50, 5, None, "front", 12),), ["without depth"]),
    "countersink too narrow": ((Hole(50, 50, 5, countersink_diameter=4),), ["countersink of 4.0 mm"]),
    "countersink above counterbore": (
        (Hole(50, 50, 5, None, "front", 9, 3, 10),),
        ["wider than its counterbore"],
    ),
    "countersink without cone": (
        (Hole(50, 50, 5, countersink_diameter=9, countersink_angle=180),),
        ["countersink of 180°"],
    ),
    "all counterbore": ((Hole(50, 50, 5, 8, "front", 12, 8),), ["shallower"]),
    "counterbores that meet": (
        (Hole(50, 50, 5, None, "front", 14, 5), Hole(63, 50, 5, None, "front", 14, 5)),
        ["1st hole", "2nd hole"],
    ),
    "counterbore over the edge": ((Hole(6, 50, 5, None, "front", 14, 5),), ["out of the board"]),
    "taper through the board": ((Taper(1, "front", 60, 19),), ["taper", "19"]),
    "taper to a bevel": ((Taper(1, "front", 60, 4), Bevel(1, 2, 0)), ["taper", "bevel"]),
    "hole in a taper": ((Taper(1, "front", 60, 4), Hole(180, 50, 5)), ["hole", "out of the board"]),
    "bottom out of the face": ((replace(POCKET, depth=15.0),), ["drill it deeper"]),
    "out of the other face": (
        (replace(POCKET, depth=55.0, inset=65.0),),
        ["other face"],
    ),
    "beside the board": ((replace(POCKET, along=4),), ["out of the board"]),
    "pilot half out": ((replace(POCKET, pilot_depth=47.0),), ["out of the board"]),
    "out through a miter": ((POCKET, Bevel(1, 18, 0)), ["border of the edge's flat"]),
    "out through a chamfer": (
        (POCKET, EdgeTreatment(1, "back", "chamfer", 8)),
        ["border of the edge's flat"],
    ),
    "into a hole": ((POCKET, Hole(155, 76, 3)), ["along the end", "the hole"]),
    "into a groove behind": ((POCKET, Groove(180, 190, 0, 160, 5, "back")), ["groove"]),
    "into a window": ((POCKET, Opening(110, 140, 40, 100)), ["window"]),
    "pocket in pocket": ((POCKET, replace(POCKET, along=79)), ["70.0 mm along", "79.0 mm along"]),
    "no angle": ((AngledHole(1, 70, 45, 9.5, 40, 90),), ["90°"]),
    "no such edge": ((replace(POCKET, edge=7),), ["edge 7"]),
    "pilot too wide": ((replace(POCKET, pilot_diameter=9.5),), ["pilot of 9.5 mm: use less than 9.5 mm"]),
    "pilot too short": ((replace(POCKET, pilot_depth=30.0),), ["pilot a greater one"]),
}


@pytest.mark.parametrize("name", REFUSED)
def test_refused_with_a_sentence_that_names_all(name: str) -> None:
    features, words = REFUSED[name]
    with pytest.raises(PartError) as refusal:
        check_features(Shape(BOARD, THICK, features), "R3")
    text = str(refusal.value)
    assert text.startswith("R3: ")
    assert text.endswith(".")
    for word in words:
        assert word in text


ACCEPTED: dict[str, tuple[Feature, ...]] = {
    "counterbores that just do not meet": (
        Hole(50, 50, 5, None, "front", 14, 5),
        Hole(64.1, 50, 5, None, "front", 14, 5),
    ),
    "counterbores on either face": (Hole(50, 50, 5, 9, "front", 14, 5), Hole(59, 50, 5, 9, "back", 14, 5)),
    "pocket holes side by side": (POCKET, replace(POCKET, along=79.6)),
    "pocket holes from either end": (POCKET, replace(POCKET, edge=3)),
    "pocket beside a hole": (POCKET, Hole(155, 76.8, 3)),
    "pocket above a taper of the other face": (POCKET, Taper(1, "back", 60, 3)),
    "pocket above a groove of the other face": (
        POCKET,
        Groove(150, 165, 0, 160, 5, "back"),
    ),
}


@pytest.mark.parametrize("name", ACCEPTED)
def test_accepted(name: str) -> None:
    assert _cut_away(*ACCEPTED[name]) > 0.0
