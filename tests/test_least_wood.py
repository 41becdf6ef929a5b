"""Least wood between cuts and edges: amounts written by hand, and random boards against shapely's distances."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
import shapely

from addon.check.least_wood import thin_places, thin_wood
from addon.designs.findings import Finding
from addon.designs.table import build
from addon.designs.table.design import check
from addon.files.editing import set_values
from addon.sizes.errors import PartError
from addon.wood.features import Bevel, EdgeTreatment, Feature, Groove, Hole, Opening
from addon.wood.part import Shape, rectangle
from addon.wood.sound import check_features
from tests.large import sampled
from tests.old_tables import EXAMPLES

BOARD = rectangle(800.0, 100.0)


def board(*features: Feature, outline: tuple[tuple[float, float], ...] = BOARD) -> Shape:
    shape = Shape(outline, 18.0, features)
    check_features(shape)
    return shape


def found(
    shape: Shape, least: float = 6.0, routed: float = 12.0
) -> dict[tuple[str, str], tuple[float, float]]:
    """What is too thin, between what, and what is needed there."""
    return {(one.one, one.other): (one.wood, one.need) for one in thin_places(shape, least, routed)}


# -- by hand
# ------------------------------------------------------------------------------------------------------------


def test_a_strip_above_a_window_that_is_free_at_one_end() -> None:
    """8 high and 367 long, more than ten times 12: it needs 12. One that is 119 long needs 6 and has that."""
    strip = board(Opening(433.0, 800.0, 40.0, 92.0, 3.0, open_end="end"))
    assert found(strip) == {("the window", "the upper edge"): (8.0, 12.0)}
    assert thin_places(strip, 6.0, 12.0)[0].length == pytest.approx(367.0)
    assert not found(board(Opening(681.0, 800.0, 40.0, 92.0, 3.0, open_end="end")))
    assert not found(board(Opening(433.0, 800.0, 40.0, 88.0, 3.0, open_end="end")))


def test_a_window_open_above_has_no_strip_there() -> None:
    """The post beside it is 4 wide, and 60 high: it needs 6; the bar below it is 11 high and 400 long: it needs 12."""
    shape = board(Opening(4.0, 404.0, 11.0, 100.0, 3.0, open_above=True))
    assert found(shape) == {
        ("the window", "the start"): (4.0, 6.0),
        ("the window", "the lower edge"): (11.0, 12.0),
    }


def test_a_slot_below_a_groove() -> None:
    """3.1 of wood, of which a chamfer of 3 leaves 0.1. The groove has wood behind it: no loose strip, 6 is enough."""
    for wood, at_face in ((3.1, 0.1), (5.9, 2.9)):
        shape = board(
            Groove(-1.0, 801.0, 70.0, 82.0, 6.0), Opening(200.0, 600.0, 30.0, 70.0 - wood, 3.0, 3.0, 3.0)
        )
        (thin,) = thin_places(shape, 6.0, 12.0)
        assert (thin.one, thin.other) == ("the window", "the groove")
        assert (thin.wood, thin.need, thin.at_face) == pytest.approx((wood, 6.0, at_face))
        assert thin.ends[0] == pytest.approx((400.0, 70.0 - wood, 3.0))
        assert thin.ends[1] == pytest.approx((400.0, 70.0, 3.0))
    assert not found(
        board(Groove(-1.0, 801.0, 70.0, 82.0, 6.0), Opening(200.0, 600.0, 30.0, 64.0, 3.0, 3.0, 3.0))
    )


def test_holes_beside_each_other_and_beside_a_round_corner() -> None:
    """Centers 30 and 40 apart are 50 apart: less two radii of 22.5, 5 stay. From the round corner's center at (190, 60)
    to (196, 68) it is 10: less radii of 4 and 3, 3 stay."""
    assert found(board(Hole(100.0, 30.0, 45.0), Hole(130.0, 70.0, 45.0))) == {
        ("the 1st hole", "the 2nd hole"): (pytest.approx(5.0), 6.0)
    }
    assert found(board(Opening(150.0, 194.0, 30.0, 64.0, 4.0), Hole(196.0, 68.0, 6.0))) == {
        ("the window", "the hole"): (pytest.approx(3.0), 6.0)
    }


def test_what_is_cut_at_other_depths_or_runs_out_is_not_between() -> None:
    """A groove of one face and a blind hole of the other, 17 apart through the board; a rabbet runs out of its edge."""
    apart = board(Groove(-1.0, 801.0, 40.0, 60.0, 5.0), Hole(100.0, 64.0, 6.0, 6.0, "back"))
    assert not found(apart)
    assert found(board(Groove(-1.0, 801.0, 40.0, 60.0, 5.0), Hole(100.0, 64.0, 6.0, 6.0, "front"))) == {
        ("the groove", "the hole"): (pytest.approx(1.0), 6.0)
    }
    assert not found(board(Groove(-1.0, 801.0, 90.0, 101.0, 5.0, kind="rabbet")))


def test_wood_behind_a_groove_and_between_floors() -> None:
    """12.5 deep in a board of 18: 5.5 stay. 7 deep in either face: 4 stay between the floors."""
    assert found(board(Groove(-1.0, 801.0, 40.0, 60.0, 12.5))) == {
        ("the groove", "the back face"): (5.5, 6.0)
    }
    crossed = board(Groove(-1.0, 801.0, 40.0, 60.0, 7.0), Groove(100.0, 120.0, -1.0, 101.0, 7.0, "back"))
    assert found(crossed) == {("the 1st groove", "the 2nd groove"): (pytest.approx(4.0), 6.0)}


def test_a_mitered_end_leaves_less() -> None:
    """A bevel that takes 18 at the back face: 20 before the corner, a through window keeps 2."""
    shape = board(Opening(700.0, 780.0, 30.0, 70.0), Bevel(1, 0.0, 18.0))
    assert found(shape) == {("the window", "the end"): (pytest.approx(2.0), 6.0)}
    # A groove 6 deep in the front face ends where the bevel has taken 6: 14 stay.
    assert not found(board(Groove(600.0, 780.0, 30.0, 70.0, 6.0), Bevel(1, 0.0, 18.0)))


def test_chamfers_and_round_overs_are_left_out_of_account() -> None:
    shape = board(
        Opening(300.0, 400.0, 30.0, 93.5, 3.0, 3.0, 3.0), EdgeTreatment(2, "front", "round-over", 3.0)
    )
    assert not found(shape)
    shape = board(
        Opening(300.0, 400.0, 30.0, 95.5, 3.0, 3.0, 3.0), EdgeTreatment(2, "back", "round-over", 1.0)
    )
    (thin,) = thin_places(shape, 6.0, 12.0)
    assert (thin.wood, thin.at_face) == pytest.approx((4.5, 0.5))


def test_a_notch_in_the_outline() -> None:
    """50 of 100 cut away between 300 and 500, then 5 more below: a bar 200 long and 5 high; it needs 12."""
    start, end = ((300.0, 5.0), (300.0, 100.0), (0.0, 100.0)), ((800.0, 100.0), (500.0, 100.0), (500.0, 5.0))
    outline = ((0.0, 0.0), (800.0, 0.0), *end, *start)
    (thin,) = thin_places(board(outline=outline), 6.0, 12.0)
    assert (thin.wood, thin.need, thin.length) == pytest.approx((5.0, 12.0, 200.0))
    # A hole beside the inner corner (500, 5) of a higher bar: 3 and 4 away, 5 less a radius of 3.
    high = tuple((u, 60.0 if v == 5.0 else v) for u, v in outline)
    assert list(found(board(Hole(503.0, 56.0, 6.0), outline=high)).values()) == [(pytest.approx(2.0), 6.0)]


def test_two_and_three_defects_at_once_are_each_found() -> None:
    shape = board(
        Groove(-1.0, 801.0, 70.0, 82.0, 13.0),
        Opening(200.0, 330.0, 30.0, 67.0, 3.0),
        Opening(334.0, 460.0, 30.0, 60.0, 3.0),
        Hole(100.0, 5.0, 6.0),
    )
    assert found(shape) == {
        ("the groove", "the back face"): (5.0, 6.0),
        ("the 1st window", "the groove"): (3.0, 6.0),
        ("the 1st window", "the 2nd window"): (4.0, 6.0),
        ("the hole", "the lower edge"): (2.0, 6.0),
    }


# -- against shapely
# ------------------------------------------------------------------------------------------------------------


def land(cut: Feature, shape: Shape) -> shapely.Geometry:
    """A cut in the board's plane, without chamfers."""
    if isinstance(cut, Hole):
        return shapely.Point(cut.u, cut.v).buffer(cut.diameter / 2, quad_segs=256)
    assert isinstance(cut, Opening | Groove)
    if isinstance(cut, Groove) or cut.corner_radius == 0:
        return shapely.box(cut.u0, cut.v0, cut.u1, cut.v1)
    r = cut.corner_radius
    sharp = shapely.box(cut.u0 + r, cut.v0 + r, cut.u1 - r, cut.v1 - r).buffer(r, quad_segs=256)
    if cut.open_end is None:
        return sharp
    u0, u1 = ((cut.u1 + cut.u0) / 2, cut.u1 + 5.0) if cut.open_end == "end" else (-5.0, (cut.u1 + cut.u0) / 2)
    return sharp.union(shapely.box(u0, cut.v0, u1, cut.v1))


def depths(cut: Feature, shape: Shape) -> tuple[float, float]:
    low, high = cut.bounds(shape.blank)
    return low[2], high[2]


def random_board(rng: np.random.Generator) -> Shape:
    """A board with up to seven cuts anywhere, as far as it can be cut."""
    length, width, thickness = (
        float(rng.uniform(200, 700)),
        float(rng.uniform(70, 200)),
        float(rng.uniform(10, 25)),
    )
    outline = rectangle(length, width)
    if rng.random() < 0.3:
        u, v = length * rng.uniform(0.4, 0.8), width * rng.uniform(0.3, 0.7)
        outline = ((0.0, 0.0), (length, 0.0), (length, v), (u, v), (u, width), (0.0, width))
    features: list[Feature] = []
    for _ in range(rng.integers(1, 8)):
        u, v = float(rng.uniform(0, length)), float(rng.uniform(0, width))
        du, dv = float(rng.uniform(15, 0.6 * length)), float(rng.uniform(10, 0.5 * width))
        face = str(rng.choice(["front", "back"]))
        kind = rng.integers(3)
        if kind == 0:
            radius = float(rng.uniform(0, min(du, dv) / 3)) if rng.random() < 0.7 else 0.0
            new: Feature = Opening(u, u + du, v, v + dv, radius, *rng.uniform(0, 3, 2).tolist())
        elif kind == 1:
            new = Groove(u, u + du, v, v + dv, float(rng.uniform(0.2, 0.8)) * thickness, face)  # type: ignore[arg-type]
        else:
            depth = None if rng.random() < 0.5 else float(rng.uniform(0.2, 0.8)) * thickness
            new = Hole(u, v, float(rng.uniform(3, 25)), depth, face)  # type: ignore[arg-type]
        try:
            check_features(Shape(outline, thickness, (*features, new)))
        except PartError:
            continue
        features.append(new)
    return Shape(outline, thickness, tuple(features))


def facing(a: shapely.Geometry, b: shapely.Geometry) -> float:
    (u0, v0, u1, v1), (u2, v2, u3, v3) = a.bounds, b.bounds
    return max(min(u1, u3) - max(u0, u2), min(v1, v3) - max(v0, v2), 0.0)


def test_random_boards_against_shapely() -> None:
    """Distances of lands, all pairs of cuts, and of each cut from the outline; facets of shapely's arcs are within
    0.001 of them."""
    rng = np.random.default_rng(11)
    least, routed = 20.0, 30.0
    pairs = edges = 0
    for _ in range(sampled(150, 5000)):
        shape = random_board(rng)
        thin = thin_places(shape, least, routed)
        lands = {number: land(cut, shape) for number, cut in enumerate(shape.features)}
        expected = []
        for (i, a), (j, b) in combinations(enumerate(shape.features), 2):
            (a0, a1), (b0, b1) = depths(a, shape), depths(b, shape)
            apart = lands[i].distance(lands[j])
            through = all(one == (0.0, shape.thickness) for one in ((a0, a1), (b0, b1)))
            need = routed if through and facing(lands[i], lands[j]) > 10 * routed else least
            if min(a1, b1) > max(a0, b0) and 1e-6 < apart < need - 0.01:
                expected.append(apart)
        # What is between the floors of two cuts, or behind one, has its points above each other.
        own = [one for one in thin if "edge" not in one.kinds and one.ends[0][2] == one.ends[1][2]]
        assert sorted(one.wood for one in own) == pytest.approx(sorted(expected), abs=2e-3)
        pairs += len(expected)
        solid = shapely.Polygon(shape.outline)
        near = []
        for cut in lands.values():
            across = shapely.shortest_line(cut, solid.exterior)
            if 1e-6 < across.length < least - 0.01 and solid.contains(across.centroid):
                near.append(across.length)
        at_edges = [one.wood for one in thin if one.kinds[1] == "edge" and one.kinds[0] != "edge"]
        for apart in near:
            assert min(abs(apart - wood) for wood in at_edges) < 2e-3
        edges += len(near)
    assert pairs > 30
    assert edges > 50


# -- in the table
# ------------------------------------------------------------------------------------------------------------


def thin_findings(**values: float) -> dict[str, Finding]:
    table = set_values(EXAMPLES["quilting"].table(), {"limits.least_wood_routed": 12.0, **values})
    return {one.parts[0]: one for one in check(table).findings if one.rule == "thin-wood"}


def test_the_table_with_little_wood_above_its_slots() -> None:
    """3.1: both long sides between slot and groove (a chamfer of 3 leaves 0.1), and six segments above their windows,
    two causes; either remedy is a greater size, and with 12 nothing is left."""
    found = thin_findings(**{"sides.wood_above_slots": 3.1})
    assert [one.amount for one in found.values()] == pytest.approx([3.1, 3.1])
    side, rib = found["S1"], found["R6"]
    assert {place.parts[0] for place in side.places} == {"S1", "S2"}
    assert len(rib.places) == 6
    assert "0.1 mm at its face" in side.message
    assert "368.9 mm" in rib.message
    assert not thin_findings(**{"sides.wood_above_slots": 12.0})
    assert set(thin_findings(**{"sides.wood_above_slots": 6.0})) == {"R6"}


def test_places_are_in_the_wood_itself() -> None:
    """Half-way between the points on either side, and as far apart as the amount says."""
    table = set_values(EXAMPLES["quilting"].table(), {"sides.wood_above_slots": 4.0})
    assert thin_wood(build(table))
    for fact in thin_wood(build(table)):
        for place in fact.places:
            assert place.span is not None
            a, b = np.array(place.span)
            assert np.linalg.norm(a - b) == pytest.approx(place.amount)
            assert place.at == pytest.approx((a + b) / 2)
