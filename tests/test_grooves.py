"""Round ends of grooves, panels that jam in them, and grooves that meet slots: solids, findings, ways out.

Solids against manifold3d (E. Lalish and contributors), put together from its own primitives (`shape_bench`); sizes by
hand.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import cycle, product
from math import sqrt
from typing import Any

import manifold3d as m3
import numpy as np
import pytest

from addon.check.check import check as check_facts
from addon.check.facts import Fact
from addon.check.grooves import CutsMeet, RoundEnd, jams
from addon.designs.findings import Change, Finding, Report
from addon.designs.table import build
from addon.designs.table.changes import changed
from addon.designs.table.design import check
from addon.designs.table.parameters import Bottom, Table
from addon.files.table_file import parse_table
from addon.sizes.errors import ParameterError, PartError
from addon.wood.as_cut import apply_as_cut
from addon.wood.features import Groove, Hole, Opening
from addon.wood.meshes.mesh import mesh_of
from addon.wood.part import Shape, rectangle
from addon.wood.solids.solids import convex_pieces
from addon.wood.sound import check_features
from tests.large import sampled
from tests.shape_bench import allowed, as_manifold, difference, difference_from_union, reference

BOARD = rectangle(200.0, 160.0)
FACES = ["front", "back"]
UPPER = [103.5, 102.9995, 102.5, 102.0, 101.0, 100.0, 99.9, 99.0, 97.0, 90.0, 80.0, 75.0]
SLOT = Opening(60.0, 120.0, 80.0, 100.0, 3.0, 2.0, 3.0, kind="slot", leaf="L1")


def _assert_one_solid(shape: Shape, rounding: float = 0.0) -> m3.Manifold:
    """Mesh, pieces and manifold3d's own primitives agree, but for what `snapped` edges may move; mm³."""
    check_features(shape)
    mesh = mesh_of(shape)
    solid, expected = as_manifold(mesh), reference(shape)
    assert solid.status() == m3.Error.NoError
    edges = np.sort(mesh.triangles[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
    _, counts = np.unique(edges, axis=0, return_counts=True)
    assert (counts == 2).all()
    few = allowed(expected) + rounding
    assert abs(difference(solid, expected)) <= few
    assert difference_from_union(solid, convex_pieces(shape)) <= few
    corners = mesh.vertices[mesh.triangles]
    for face, level in ((0, 0.0), (1, shape.thickness)):
        assert np.abs(corners[mesh.patch == face][:, :, 2] - level).max(initial=0.0) <= 1e-6
    return solid


@pytest.mark.parametrize("along", ["u", "v"])
@pytest.mark.parametrize("face", ["front", "back"])
@pytest.mark.parametrize(("start", "stop"), [(20.0, 130.0), (-5.0, 130.0), (20.0, 300.0), (20.0, 45.0)])
@pytest.mark.parametrize("radius", [1.0, 3.0, 6.0])
def test_round_ends_as_mesh_and_pieces(
    along: str, face: Any, start: float, stop: float, radius: float
) -> None:
    """12 mm wide: a bit of 12 mm leaves half circles. What stays of each corner is r² - πr²/4 in the plane."""
    groove = Groove(start, stop, 30.0, 42.0, 6.0, face, end_radius=radius)
    if along == "v":
        groove = replace(groove, u0=30.0, u1=42.0, v0=start, v1=stop, along="v")
    shape = Shape(BOARD, 18.0, (groove,))
    round_one = _assert_one_solid(shape)
    square = _assert_one_solid(Shape(BOARD, 18.0, (replace(groove, end_radius=0.0),)))
    corners = 2 * len(groove.round_ends(shape.blank))
    kept = corners * (radius**2 - np.pi * radius**2 / 4) * 6.0
    assert round_one.volume() - square.volume() == pytest.approx(
        kept, abs=corners * 0.01 * radius * 1.6 * 6.0
    )


@pytest.mark.parametrize(
    ("face", "upper"),
    sampled([*zip(cycle(FACES), UPPER, strict=False)], [*product(FACES, UPPER)]),
)
def test_a_groove_that_meets_a_slot_from_above(face: Any, upper: float) -> None:
    """Its lower edge comes down from beside the chamfer (2 or 3 mm) through the land, 80 to 100, and past it."""
    shape = Shape(BOARD, 18.0, (Groove(20.0, 180.0, upper, 112.0, 6.0, face, end_radius=3.0), SLOT))
    _assert_one_solid(shape, rounding=2.0)


@pytest.mark.parametrize(
    "features",
    [
        (Groove(-1.0, 90.0, 85.0, 97.0, 6.0, end_radius=6.0), SLOT),
        (Groove(-1.0, 59.0, 85.0, 97.0, 6.0, end_radius=6.0), SLOT),
        (
            Groove(-1.0, 201.0, 45.0, 57.0, 6.0),
            replace(SLOT, v0=50.0, v1=170.0, kind="notch", open_above=True),
        ),
        (
            Groove(50.0, 150.0, 45.0, 57.0, 6.0, end_radius=4.0),
            Groove(145.0, 160.0, 20.0, 100.0, 8.0, along="v", end_radius=4.0),
        ),
        (Groove(100.0, 198.0, 45.0, 57.0, 6.0, "back", end_radius=6.0), Hole(20.0, 20.0, 8.0)),
    ],
    ids=["ends in a slot", "ends in a chamfer", "through a notch", "ends in a groove", "ends near an edge"],
)
def test_ends_beside_other_cuts(features: tuple[Any, ...]) -> None:
    _assert_one_solid(Shape(BOARD, 18.0, features))


def test_a_bit_wider_than_the_groove_is_refused_by_name() -> None:
    with pytest.raises(PartError, match="The groove is too narrow for ends of radius"):
        check_features(Shape(BOARD, 18.0, (Groove(20.0, 100.0, 30.0, 42.0, 6.0, end_radius=6.5),)))


# -- corners that jam
# ------------------------------------------------------------------------------------------------------------


def _table(**bottom: float) -> Table:
    return replace(parse_table("format = 4"), bottom=replace(Bottom(), **bottom))


def answered(table: Table) -> Report:
    """The check, with remedies that were tried."""
    return check(table, remedies=True)


def _findings(table: Table, rule: str) -> list[Finding]:
    return [one for one in answered(table).findings if one.rule == rule]


def test_a_square_corner_jams_in_the_round_end_of_a_wide_bit() -> None:
    """By hand: a groove 12.2 mm high and 6 + 3 mm past the inner corner, cut with a 12 mm bit, has the middle of its
    arc 3 mm past the corner; the panel, 12 mm high, lies on the groove's lower edge, where the arc begins, and reaches
    5.5 mm in: 2.5 mm too far. At all four corners."""
    (found,) = _findings(_table(groove_bit=12.0), "round-end")
    assert isinstance(found.cause, RoundEnd)
    assert (found.severity, len(found.places)) == ("error", 4)
    assert found.amount == pytest.approx(2.5)
    assert found.cause.radius == pytest.approx(6.0)
    assert {place.parts for place in found.places} == {("S1", "B1"), ("S2", "B1")}
    assert [(change.key, change.value) for remedy in found.remedies for change in remedy.set] == [
        ("bottom.groove_run_on", pytest.approx(5.5)),
        ("bottom.corner_cut", pytest.approx(8.0)),
        ("bottom.groove_bit", 0.0),
    ]


@pytest.mark.parametrize(
    ("bottom", "it_jams"),
    [
        ({}, False),
        ({"groove_bit": 12.0, "groove_run_on": 5.4}, True),
        ({"groove_bit": 12.0, "groove_run_on": 5.5}, False),
        ({"groove_bit": 12.0, "corner_cut": 7.9}, True),
        ({"groove_bit": 12.0, "corner_cut": 8.0}, False),
        ({"groove_bit": 0.0, "groove_run_on": 0.0}, False),
        ({"groove_bit": 6.0, "groove_run_on": 0.0}, True),
    ],
)
def test_what_keeps_corners_from_jamming(bottom: dict[str, float], it_jams: bool) -> None:
    """By hand: the arc of a 12 mm bit begins 6 mm before the groove's end, that of a 6 mm bit 3 mm; a corner cut 8 mm
    along each edge leaves 5.5 - (8 - 5.5) = 3 mm of the edge in the groove past the inner corner."""
    report = answered(_table(**bottom))
    assert [one.rule for one in report.findings if one.severity == "error"] == (
        ["round-end"] if it_jams else []
    )


def test_how_short_a_corner_stays_is_that_of_the_exact_arc() -> None:
    """A panel in the middle of a groove 12.2 mm high reaches up to where its corners, 6 mm from the middle, meet the
    arc of radius 6 whose middles lie 0.1 mm from the groove's: end - 6 + sqrt(36 - 5.9²) past a 12 mm bit's arc."""
    assembly = build(_table(groove_bit=12.0))
    parts = tuple(
        replace(part, placement=part.placement.moved(np.array([0.0, 0.0, 0.1])))
        if part.label == "B1"
        else part
        for part in assembly.parts
    )

    assert {round(one.short, 6) for one in jams(replace(assembly, parts=parts))} == {
        round(5.5 - (3.0 + sqrt(36.0 - 5.9**2)), 6)
    }


def test_an_end_cut_short_is_routed_on_or_the_board_made_anew() -> None:
    """Squared, it would still be 0.5 mm too short: 6 + 3 - 4 mm are less than the panel's 5.5."""
    table = parse_table('format = 4\n[[as_cut]]\npart = "S1"\ndimension = "groove_stop"\ndeviation = -4\n')
    found = [one for one in answered(table).findings if one.severity == "error"]
    assert [one.rule for one in found] == ["round-end"]
    longer, anew = found[0].remedies
    assert longer.text == "Rout the groove in S1 3.5 mm farther at its end"
    assert anew.text == "Cut a new S1, if S1 is not glued yet"
    assert not [one for one in check(changed(table, longer.set)).findings if one.severity == "error"]


def test_an_end_cut_a_little_short_is_squared_as_well() -> None:
    table = parse_table('format = 4\n[[as_cut]]\npart = "S1"\ndimension = "groove_stop"\ndeviation = -3\n')
    (found,) = (one for one in answered(table).findings if one.severity == "error")
    assert "Square the ends of the groove in S1 with a chisel" in [one.text for one in found.remedies]


def test_a_run_on_out_of_the_end_is_refused() -> None:
    with pytest.raises(ParameterError, match="groove_run_on"):
        build(_table(groove_run_on=12.0))


# -- grooves and slots that meet
# ------------------------------------------------------------------------------------------------------------


def _meeting(text: str) -> list[Fact]:
    found = check_facts(build(parse_table(f"format = 4\n{text}"))).facts
    return [one for one in found if one.rule == "cuts-meet"]


def test_a_low_groove_meets_the_slots_by_as_much_as_it_is_too_low() -> None:
    """6 mm of wood above the slots: a groove 8 mm low meets both slots of S1 by 2 mm."""
    text = '[[as_cut]]\npart = "S1"\ndimension = "groove_offset"\ndeviation = -8\n'
    (found,) = _meeting(text)
    assert isinstance(found.cause, CutsMeet)
    assert found.severity == "error"
    assert found.amount == pytest.approx(2.0)
    slots = [
        one for one in build(parse_table("format = 4")).by_label["S1"].shape.openings if one.kind == "slot"
    ]
    assert len(found.places) == len(slots)
    assert found.at[2] == pytest.approx(
        apply_as_cut(build(parse_table("format = 4")), ()).by_label["S1"].placement.origin[2]
        + slots[0].v1
        - 1.0
        + 8.0  # the side is put onto the panel by its groove
    )


def test_what_one_low_groove_brings_about_is_one_finding() -> None:
    """The side sits higher, its slot is in the way, and the groove meets the slot: the one cut is to be mended."""
    table = parse_table('format = 4\n[[as_cut]]\npart = "S1"\ndimension = "groove_offset"\ndeviation = -8\n')
    found = [one for one in answered(table).findings if one.severity != "note"]
    assert [one.rule for one in found] == ["leaf-blocked"]
    assert {place.rule for place in found[0].places} >= {"cuts-meet", "part-proud"}
    assert "run into each other by 2.0 mm" in found[0].message
    assert [remedy.set for remedy in found[0].remedies] == [(Change("as_cut[0].deviation", 0.0),)]


def test_a_slot_cut_too_high_is_filled_and_cut_anew() -> None:
    table = parse_table(
        'format = 4\n[[as_cut]]\npart = "S1"\ndimension = "slot_height"\nleaf = "L1"\nend = "end"\ndeviation = 8\n'
    )
    (found,) = (one for one in answered(table).findings if one.severity == "error")
    assert found.rule == "cuts-meet"
    assert found.amount == pytest.approx(2.0)
    assert found.remedies[0].text == "Glue a strip into the slot of L1 in S1 and cut it anew as drawn"


def test_a_groove_that_is_less_low_meets_nothing() -> None:
    text = '[[as_cut]]\npart = "S1"\ndimension = "groove_offset"\ndeviation = -5.9\n'
    assert not _meeting(text)
