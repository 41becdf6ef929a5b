"""Leaves of their own design among others: where their slots and tiers are, by hand; their solids by manifold3d, and
their ways by python-fcl (both from what is exported)."""

from __future__ import annotations

from dataclasses import replace

import manifold3d as m3
import numpy as np
import pytest

from addon.check.matrix import leaf_matrix
from addon.check.prepared import prepare
from addon.designs.table import build
from addon.designs.table.design import check
from addon.designs.table.parameters import Table
from addon.files.editing import Changes, set_values
from addon.files.table_file import parse_table
from addon.files.writer import new_table_text
from addon.sizes.errors import ParameterError
from addon.wood.assembly import Assembly
from addon.wood.dimensions import AsCut
from addon.wood.meshes.mesh import mesh_of
from addon.wood.same import alike_parts
from tests.old_tables import EXAMPLES
from tests.shape_bench import allowed, as_manifold, difference, reference
from tests.test_check_against_oracles import NEAR, compare_leaves

pytestmark = pytest.mark.once

QUILTING = EXAMPLES["quilting"].table()
T, CLEARANCE = 17.7, 1.5
LENGTH, WIDTH = 921.6, 364.9
RIM, DEPTH = 10.0, 5.0
OWN: Changes = {"stow[1].rim_height": RIM, "stow[1].tray_depth": DEPTH, "stow[1].tray_dividers": 2}
"""L2 is a tray of three compartments with a rim; L1 on its tier, and those of the lower one, are plain."""


@pytest.fixture(scope="module")
def table() -> Table:
    return set_values(QUILTING, OWN)


@pytest.fixture(scope="module")
def assembly(table: Table) -> Assembly:
    return build(table)


def test_only_the_leaf_that_has_a_design_of_its_own_is_otherwise(assembly: Assembly) -> None:
    plain = build(QUILTING).by_label
    for label in ("L1", "L3", "L4"):
        assert assembly.by_label[label].shape == plain[label].shape
        assert assembly.by_label[label].strips == ()
    own = assembly.by_label["L2"]
    assert own.shape.size == pytest.approx((LENGTH, WIDTH, T + RIM))
    # Between borders of 60, three compartments and two walls of 12: (921.6 - 120 - 24) / 3 = 259.2.
    trays = [(one.u0, one.u1) for one in own.shape.grooves if one.kind == "tray"]
    assert trays == [pytest.approx(span) for span in ((60, 319.2), (331.2, 590.4), (602.4, 861.6))]
    rim = RIM * (LENGTH * WIDTH - (LENGTH - 40) * (WIDTH - 40))
    tray = 3 * DEPTH * 259.2 * (WIDTH - 120)
    expected = mesh_of(plain["L2"].shape).volume + rim - tray
    assert mesh_of(own.shape).volume == pytest.approx(expected, rel=1e-12)
    assert sorted(len(kind.members) for kind in alike_parts(assembly) if kind.first[0] in ("L1", "L2")) == [
        1,
        3,
    ]


def test_its_solid_equals_that_of_manifold3d(assembly: Assembly) -> None:
    shape = assembly.by_label["L2"].shape
    solid, expected = as_manifold(mesh_of(shape)), reference(shape)
    assert solid.status() == m3.Error.NoError
    assert abs(difference(solid, expected)) <= allowed(expected)


def test_its_slot_and_windows_alone_are_higher_and_its_tier_comes_down_by_the_rim(assembly: Assembly) -> None:
    drawn = build(QUILTING)
    heights = {
        opening.leaf: opening.v1 - opening.v0 for part in assembly.parts for opening in part.shape.openings
    }
    room = T + 2 * CLEARANCE
    assert heights == pytest.approx({"L1": room, "L2": room + RIM, "L3": room, "L4": room})

    def down(label: str) -> float:
        return float(drawn.by_label[label].box[0][2] - assembly.by_label[label].box[0][2])

    # The cover comes down by the rim, and so do the well and all below; the upper tier is higher by it once more.
    assert [down(label) for label in ("B1", "L1", "L2", "L3", "L4")] == pytest.approx([10, 20, 20, 20, 20])
    # Covering, the boards lie on one height and the rim ends where the tops of sides are.
    tops = [float(assembly.cover[f"L{n}"].origin[2]) for n in (1, 2, 3, 4)]
    assert tops == pytest.approx([770 - T - RIM] * 4)


def test_each_leaf_slides_home_as_python_fcl_says(table: Table, assembly: Assembly) -> None:
    assert compare_leaves(table, assembly, NEAR) == {"clear"}
    report = check(table, assembly)
    assert [leaf.clearance for leaf in report.leaves] == pytest.approx([CLEARANCE] * 4)
    assert {one.rule for one in report.findings} <= {"thin-wood"}


def test_the_rimmed_leaf_fits_no_slot_but_its_own(table: Table) -> None:
    """Every leaf in every slot, whichever way round: it passes none of theirs, and each of them passes its own."""
    matrix = leaf_matrix(prepare(build(table)))
    for other in ("L1", "L3", "L4"):
        assert {one.verdict for one in matrix.ways_round("L2", other)} == {"blocked"}
        assert "blocked" not in {one.verdict for one in matrix.ways_round(other, "L2")}


def test_it_is_written_and_read_again(table: Table) -> None:
    text = new_table_text(table)
    assert "rim_height = 10" in text.split("# L2")[1].split("[[stow]]")[0]
    assert parse_table(text) == table


@pytest.mark.parametrize(
    ("changes", "key", "reason"),
    [
        ({"stow[2].tray_depth": 15.0}, "stow[2].tray_depth", "must stay under the tray recess"),
        ({"leaves.tray_depth": 15.0}, "leaves.tray_depth", "must stay under the tray recess"),
        # 40 of 801.6 mm between the borders: (801.6 - 10) / 22 = 35.98, which is more than the file takes.
        ({"leaves.tray_depth": 4.0, "leaves.tray_border": 150.0, "leaves.divider_width": 100.0,
          "stow[0].tray_dividers": 6}, "stow[0].tray_dividers", "compartments"),
        ({"leaves.face": "lower", "stow[0].rim_height": 6.0}, "leaves.face", "no even top"),
        ({"stow[2].face": "lower", "stow[2].rim_height": 6.0}, "stow[2].face", "no even top"),
        ({"leaves.tray_depth": 4.0, "stow[3].finger_hole_inset": 62.0}, "stow[3].finger_hole_inset", "edge of"),
        ({"leaves.pull_length": 90.0, "leaves.pull_inset": 60.0, "stow[1].pull_depth": 14.0}, "stow[1].pull_depth",
         "must stay under the pull"),
        ({"leaves.pull_length": 90.0, "leaves.pull_inset": 60.0, "stow[1].pull_inset": 40.0}, "stow[1].pull_inset",
         "run into the finger hole"),
        ({"stow[3].finger_hole": 80.0, "leaves.finger_hole_inset": 41.0, "leaves.tray_depth": 4.0},
         "leaves.finger_hole_inset", "edge of the tray recess"),
    ],
)  # fmt: skip
def test_what_cannot_be_built_names_the_key_that_says_so(changes: Changes, key: str, reason: str) -> None:
    with pytest.raises(ParameterError) as refused:
        build(set_values(QUILTING, changes))
    assert refused.value.key == key
    assert reason in refused.value.reason


def test_two_faults_at_once_are_found_at_the_leaf_that_has_them(table: Table) -> None:
    """L2 without a hole cannot be drawn out; L3's sheet is 4 mm thicker than its slot was cut for."""
    faulty = replace(
        set_values(table, {"stow[1].finger_hole": 0.0}), as_cut=(AsCut("L3", "thickness", deviation=4.0),)
    )
    found = {(one.rule, place.leaf) for one in check(faulty).findings for place in one.places}
    assert ("finger-hole", "L2") in found
    assert ("finger-hole", "L1") not in found
    assert any(rule == "leaf-blocked" and leaf == "L3" for rule, leaf in found)


def test_a_leaf_has_its_hole_pull_and_dividers_where_its_own_keys_say() -> None:
    """L1 with its hole 50 mm from its outer end, L2 with a pull 30 wide, 6 deep and 70 from that end on the face toward
    the well, and walls 20 thick: what is cut, as boxes in their own boards."""
    changes: Changes = {
        "leaves.tray_depth": 4.0, "leaves.tray_border": 110.0, "leaves.tray_dividers": 1, "leaves.pull_length": 90.0,
        "leaves.pull_inset": 70.0, "stow[0].finger_hole_inset": 50.0, "stow[0].pull_length": 0.0,
        "stow[1].pull_width": 30.0, "stow[1].pull_depth": 6.0, "stow[1].face": "lower", "stow[1].divider_width": 20.0,
    }  # fmt: skip
    assembly = build(set_values(QUILTING, changes))

    def from_outer_end(label: str, u: float) -> float:
        path, part = assembly.path_of(label), assembly.by_label[label]
        at = part.placement.to_table(np.array([[u, 0.0, 0.0]]))[0]
        ends = np.array(part.box) @ np.abs(path.outward)
        outer = ends[1] if path.outward.sum() > 0 else ends[0]
        return abs(float(at @ np.abs(path.outward)) - float(outer))

    (hole,) = assembly.by_label["L1"].shape.holes
    assert from_outer_end("L1", hole.u) == pytest.approx(50.0)
    (other,) = assembly.by_label["L3"].shape.holes
    assert from_outer_end("L3", other.u) == pytest.approx(35.0)
    assert not [one for one in assembly.by_label["L1"].shape.grooves if one.kind == "pull"]
    for label, (inset, width, depth, face) in {
        "L2": (70.0, 30.0, 6.0, "front"),
        "L3": (70.0, 25.0, 8.0, "back"),
    }.items():
        (pull,) = (one for one in assembly.by_label[label].shape.grooves if one.kind == "pull")
        ends = sorted(from_outer_end(label, u) for u in (pull.u0, pull.u1))
        assert ends == pytest.approx([inset, inset + width])
        assert (pull.depth, pull.face) == (depth, face)
    for label, wall, face in (("L2", 20.0, "front"), ("L3", 12.0, "back")):
        one, two = sorted(
            (one for one in assembly.by_label[label].shape.grooves if one.kind == "tray"),
            key=lambda one: one.u0,
        )
        assert two.u0 - one.u1 == pytest.approx(wall)
        assert {one.face, two.face} == {face}


def test_a_hole_out_of_reach_is_moved_at_its_own_leaf_alone() -> None:
    """A hole 250 mm inside is out of reach; the remedy says where it goes at L2, and leaves all others alone."""
    table = set_values(QUILTING, {"stow[1].finger_hole_inset": 250.0})
    report = check(table, remedies=True)
    (found,) = [one for one in report.findings if one.rule == "finger-reach"]
    assert {place.leaf for place in found.places} == {"L2"}
    (change,) = found.remedies[0].set
    assert change.key == "stow[1].finger_hole_inset"
    mended = set_values(table, {change.key: change.value})
    assert "finger-reach" not in {one.rule for one in check(mended).findings}
    assert mended.leaves == QUILTING.leaves
