"""Every dimension of every feature: set, read back, all others as they were; and what a board's own change keeps."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from addon.designs.table import build
from addon.designs.table.parameters import AsCut
from addon.files.editing import set_values
from addon.sizes.errors import PartError
from addon.wood.as_cut import apply_as_cut
from addon.wood.dimensions import catalog
from addon.wood.features import Bevel, Dimension, EdgeTreatment, Feature, Groove, Hole, Opening
from addon.wood.meshes.mesh import mesh_of
from addon.wood.part import Shape, rectangle
from addon.wood.solids.solids import convex_pieces
from addon.wood.sound import check_features
from tests.large import sampled
from tests.old_tables import EXAMPLES
from tests.shape_bench import (
    allowed,
    as_manifold,
    difference_from_union,
    random_drilled_shapes,
    random_shapes,
)

AXIS = {"length": 0, "width": 1}
PLACE_OF = {"window_width": "window_offset", "window_height": "window_sill", "slot_width": "slot_offset"}
PLACE_OF |= {"slot_height": "slot_sill", "groove_width": "groove_offset"}
"""Sizes that may stand out at the edge from which the place of the same feature is counted."""


def _by_key(shape: Shape) -> dict[tuple[int | None, str], Dimension]:
    return {(one.number, one.name): one for one in shape.dimensions}


def _same_edge(feature: Feature, name: str) -> set[str]:
    """Dimensions of one feature that are measured by one and the same edge, the named one among them."""
    if isinstance(feature, Opening):
        upright = {feature.named("width"), feature.named("offset")} if feature.open_end is not None else set()
        level = {feature.named("height"), feature.named("sill")} if feature.open_above else set()
        return next((pair for pair in (upright, level) if name in pair), {name})
    if isinstance(feature, Bevel):
        return {"bevel_front", "bevel_back", "bevel_angle"}
    return {name}


@pytest.mark.once
@pytest.mark.parametrize("seed", range(200, 203))
def test_set_and_read_back_leaves_all_other_dimensions(seed: int) -> None:
    rng = np.random.default_rng(seed)
    seen = set()
    for shape in [*random_shapes(15, seed), *random_drilled_shapes(15, seed)]:
        for key, one in _by_key(shape).items():
            if one.number is None:
                continue
            by = float(rng.uniform(0.05, 0.5))
            at_start = bool(rng.integers(2))
            changed = shape.resized(one, by, at_start)
            now = _by_key(changed)
            assert now[key].value == pytest.approx(one.value + by, abs=1e-9), (shape, one)
            coupled = _same_edge(shape.features[one.number], one.name)
            for other, before in _by_key(shape).items():
                if other[0] == one.number and other[1] in coupled:
                    continue
                edge_moved = other == (one.number, PLACE_OF.get(one.name)) and at_start and one.ends
                expected = before.value - by if edge_moved else before.value
                assert now[other].value == pytest.approx(expected, abs=1e-9), (shape, one, before)
            assert changed.outline == shape.outline
            seen.add(one.name)
    assert len(seen) >= 20


@pytest.mark.once
@pytest.mark.parametrize("seed", range(210, sampled(211, 212)))
def test_parts_as_they_were_cut_are_the_same_as_mesh_and_as_pieces(seed: int) -> None:
    """Any dimension of random parts changed; manifold3d compares the mesh with the union of the convex pieces."""
    rng = np.random.default_rng(seed)
    compared = 0
    for shape in [*random_shapes(12, seed), *random_drilled_shapes(8, seed)]:
        one = shape.dimensions[rng.integers(len(shape.dimensions))]
        changed = shape.resized(one, float(rng.uniform(-1.0, 1.0)), bool(rng.integers(2)))
        try:
            check_features(changed)
        except PartError:
            continue
        solid = as_manifold(mesh_of(changed))
        assert difference_from_union(solid, convex_pieces(changed)) <= allowed(solid), (shape, one)
        compared += 1
    assert compared >= 10


@pytest.mark.parametrize("name", AXIS)
@pytest.mark.parametrize("at_start", [False, True])
def test_a_board_that_grows_keeps_all_that_is_on_it(name: str, at_start: bool) -> None:
    """At the end nothing changes; at the start all places count from the new start, so they stand as they did."""
    shape = Shape(
        ((0, 0), (400, 0), (400, 80), (390, 90), (10, 90), (0, 80)),
        18.0,
        (
            Opening(100, 200, 20, 50, 3, 2, 2, kind="window", leaf="L1"),
            Groove(30, 370, 60, 66, 6),
            Hole(300, 30, 8, 9),
            EdgeTreatment(0, "front", "round-over", 4, 50, 350),
            EdgeTreatment(1, "back", "chamfer", 2, 10, 60),
        ),
    )
    axis, by = AXIS[name], 0.7
    (one,) = (one for one in shape.dimensions if one.name == name)
    after = _by_key(shape.resized(one, by, at_start))
    from_axis = ({"start", "start of it"}, {"lower edge"})[axis]
    for key, before in _by_key(shape).items():
        grows = key == (None, name)
        counted = at_start and before.datum in from_axis and before.tolerance != "sawn size"
        # stops are counted along their edge: edge 0 runs from the start, edge 1 up from the lower edge
        along = isinstance(before.number, int) and isinstance(shape.features[before.number], EdgeTreatment)
        if along and before.word in ("start", "stop"):
            counted = at_start and (0, 1)[axis] == shape.features[before.number].reference_edge  # type: ignore[index]
        assert after[key].value - before.value == pytest.approx(by if grows or counted else 0.0, abs=1e-9), (
            before
        )


def test_a_runner_cut_short_keeps_its_lead_in_chamfers() -> None:
    """By hand: 0.2 mm off the end of a 5 by 200 mm strip moves its last three corners, and no slope."""
    runner = Shape(((0, 0), (200, 0), (200, 3.5), (198.5, 5), (1.5, 5), (0, 3.5)), 20.0)
    (length,) = (one for one in runner.dimensions if one.name == "length")
    short = runner.resized(length, -0.2, False)
    np.testing.assert_allclose(
        short.outline, [(0, 0), (199.8, 0), (199.8, 3.5), (198.3, 5), (1.5, 5), (0, 3.5)], atol=1e-12
    )
    at_start = runner.resized(length, -0.2, True)
    np.testing.assert_allclose(at_start.outline, short.outline, atol=1e-12)


def test_runners_of_a_table_as_cut_keep_their_lead_in() -> None:
    table = set_values(EXAMPLES["quilting"].table(), {"stowing.runners": True})
    drawn = build(table)
    runner = drawn.with_role("runner")[0]
    assert len(runner.shape.outline) == 6
    short = apply_as_cut(drawn, (AsCut(runner.label, "length", deviation=-0.2),)).by_label[runner.label]
    chamfers = [
        np.diff([*shape.outline, shape.outline[0]], axis=0)[[2, 4]] for shape in (runner.shape, short.shape)
    ]
    np.testing.assert_allclose(chamfers[1], chamfers[0], atol=1e-9)
    assert short.shape.size[0] == pytest.approx(runner.shape.size[0] - 0.2)


def test_stops_of_a_round_over_stay_where_they_are() -> None:
    """By hand: a round-over of the lower and the upper edge from 100 to 700 mm of an 800 mm board, 4 mm added.

    The lower edge is counted from the board's start, the upper one from its end.
    """
    shape = Shape(
        rectangle(800.0, 120.0),
        18.0,
        (
            EdgeTreatment(0, "front", "round-over", 6, 100, 700),
            EdgeTreatment(2, "front", "round-over", 6, 100, 650),
        ),
    )
    (length,) = (one for one in shape.dimensions if one.name == "length")
    lower, upper = shape.resized(length, 4.0, True).edges
    assert (lower.start, lower.stop, upper.start, upper.stop) == (104.0, 704.0, 100, 650)
    lower, upper = shape.resized(length, 4.0, False).edges
    assert (lower.start, lower.stop, upper.start, upper.stop) == (100, 700, 104.0, 654.0)


def test_where_an_outline_is_cut_longer() -> None:
    """By hand: an L grows at the leg that reaches its end; a leg's taper goes with its foot; else the end moves."""
    ell = Shape(((0, 0), (500, 0), (500, 100), (200, 100), (200, 300), (0, 300)), 18.0)
    taper = Shape(((0, 0), (400, 0), (700, 20), (700, 60), (0, 60)), 18.0)
    trapezoid = Shape(((0, 0), (500, 0), (500, 80), (0, 120)), 18.0)
    lengths = [shape.resized(shape.dimensions[0], 3.0, False).outline for shape in (ell, taper, trapezoid)]
    assert lengths[0] == ((0, 0), (503, 0), (503, 100), (200, 100), (200, 300), (0, 300))
    assert lengths[1] == ((0, 0), (403, 0), (703, 20), (703, 60), (0, 60))
    assert lengths[2] == ((0, 0), (503, 0), (503, 80), (0, 120))
    widths = [shape.resized(shape.dimensions[1], 3.0, True).outline for shape in (ell, taper)]
    assert widths[0] == ((0, 0), (500, 0), (500, 103), (200, 103), (200, 303), (0, 303))
    assert widths[1] == ((0, 0), (400, 0), (700, 20), (700, 63), (0, 63))


def test_a_thicker_board_keeps_depths_and_the_tilt_of_its_bevels() -> None:
    shape = Shape(rectangle(300, 100), 18.0, (Groove(0, 300, 20, 30, 6), Bevel(1, 18.0, 0.0)))
    thicker = shape.resized(shape.dimensions[2], 2.0, False)
    assert thicker.thickness == 20.0
    assert thicker.grooves == shape.grooves
    assert thicker.bevels == (Bevel(1, 20.0, 0.0),)


def test_as_cut_chamfers_and_holes() -> None:
    """New names in `[[as_cut]]`: the finger hole wider, and nothing else."""
    table = EXAMPLES["quilting"].table()
    drawn = build(table)
    before = drawn.by_label["L1"].shape
    after = build(replace(table, as_cut=(AsCut("L1", "hole_diameter", value=26.0),))).by_label["L1"].shape
    assert [hole.diameter for hole in after.holes] == [26.0]
    assert replace(after.holes[0], diameter=before.holes[0].diameter) == before.holes[0]
    assert after.without(Hole) == before.without(Hole)


def test_the_catalog_names_what_parts_have() -> None:
    names = set(catalog())
    for example in EXAMPLES.values():
        for part in build(example.table()).parts:
            assert {one.name for one in part.shape.dimensions} <= names
    assert {
        "length",
        "width",
        "thickness",
        "window_sill",
        "slot_height",
        "groove_depth",
        "hole_depth",
    } <= names
