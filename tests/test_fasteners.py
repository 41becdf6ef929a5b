"""Joints with what holds them, and screws and brads as solids.

Distances are compared with python-fcl and Minkowski differences (`oracles`), volumes with manifold3d, all other
expected values are written by hand.
"""

from __future__ import annotations

from dataclasses import replace
from math import pi
from random import Random

import numpy as np
import pytest

from addon.check.apart.assembly_order import assembly_order
from addon.check.apart.blocking import blocking_of
from addon.check.check import check
from addon.check.prepared import prepare
from addon.check.progress import run_through
from addon.check.slide.proof import prove_leaves
from addon.check.slide.study import study_steps
from addon.check.spans import overlap_volume
from addon.designs.table import build, design
from addon.designs.table.bill import Bill
from addon.files.editing import set_values
from addon.files.examples import EXAMPLES as EXAMPLES_NOW
from addon.files.export import assembly_document, export
from addon.paper.exploded_page import exploded_page
from addon.paper.filmstrip_page import filmstrip
from addon.reports.steps import sentences_of
from addon.scene.description import describe
from addon.wood.as_cut import apply_as_cut
from addon.wood.assembly import Assembly, Joint
from addon.wood.dimensions import AsCut
from addon.wood.fasteners import Fastener, Sizes
from addon.wood.joints import facing_ends, meeting_faces
from addon.wood.part import Placement
from tests.convex_samples import turned
from tests.line_samples import box
from tests.old_tables import EXAMPLES
from tests.oracles import Exported
from tests.shape_bench import as_manifold, union

QUILTING = EXAMPLES["quilting"].table()
DRAWN = build(QUILTING)

DOWN = np.array([0.0, 0.0, -1.0])
WELL_FLOOR = 712.3
"""Upper face of the bottom panel, mm: 770 less a leaf of 17.7 and a well of 40. Its underside is at 700.5."""

LEAF_TOP = 691.0
"""Upper face of leaves L1 and L2 stowed, mm: 8 of wood below the bottom panel, and 1.5 of room above the leaf."""


def screw(x: float, y: float, tip: float, joins: tuple[str, ...] = ("B1",), label: str = "SCR1") -> Fastener:
    """A screw through the bottom panel from above, 4 mm thick, its tip at a height."""
    sizes = Sizes(WELL_FLOOR - tip, 4.0, 8.0, 3.5)
    return Fastener(label, "screw", np.array([x, y, WELL_FLOOR]), DOWN, sizes, joins)


def with_fasteners(*fasteners: Fastener) -> Assembly:
    return replace(DRAWN, fasteners=fasteners)


# -- the solid
# ------------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("sizes", [Sizes(40, 4, 8, 3.5), Sizes(30, 1.2, 1.2, 1.0), Sizes(25, 5, 5.5, 0.0)])
def test_mesh_and_pieces_are_one_solid(sizes: Sizes) -> None:
    one = Fastener("SCR1", "screw", np.array([3.0, -2.0, 5.0]), np.array([0.6, 0.0, 0.8]), sizes, ("A",))
    mesh = one.mesh
    solid = as_manifold(replace(mesh, vertices=one.placement.to_table(mesh.vertices)))
    assert solid.status().name == "NoError"
    pieces = union(one.pieces)
    both = (solid ^ pieces).volume()
    assert both == pytest.approx(solid.volume(), rel=1e-9)
    assert both == pytest.approx(pieces.volume(), rel=1e-9)


def test_its_volume_is_that_of_two_cylinders_and_a_little_more() -> None:
    """Facets stand out of the metal by no more than 0.01 mm, so radii count as at most that much greater."""
    sizes = Sizes(40, 4, 8, 3.5)
    volume = as_manifold(Fastener("A", "screw", np.zeros(3), DOWN, sizes, ("A",)).mesh).volume()
    exact = pi * (4.0**2 * 3.5 + 2.0**2 * 36.5)
    assert exact < volume < pi * (4.01**2 * 3.5 + 2.01**2 * 36.5)


def test_no_metal_is_outside_its_pieces() -> None:
    """Points on the rims of head and shank, in any direction."""
    axes = turned(Random(4))
    one = Fastener("A", "screw", np.array([7.0, 8.0, 9.0]), axes[2], Sizes(40, 4, 8, 3.5), ("A",))
    angles = np.linspace(0, 2 * pi, 721)
    for radius, at in ((4.0, 0.0), (4.0, 3.5), (2.0, 3.5), (2.0, 40.0)):
        rim = np.column_stack([radius * np.cos(angles), radius * np.sin(angles), np.full(len(angles), at)])
        assert one.pieces.contains(one.placement.to_table(rim), margin=1e-9).all()
        assert not one.pieces.contains(one.placement.to_table(rim * [1.01, 1.01, 1.0]), margin=-1e-9).any()
    axis = one.placement.to_table(np.array([[0.0, 0.0, 40.0]]))[0] - one.start
    assert axis == pytest.approx(40.0 * axes[2])


# -- in a table
# ------------------------------------------------------------------------------------------------------------------


def test_a_tip_2_mm_in_a_leafs_way_is_found() -> None:
    """Through the bottom panel in the middle of L1's way, whose wood above the leaf the tip passes by 2 mm."""
    table = with_fasteners(screw(-372.7, 100.0, LEAF_TOP - 2.0))
    result = check(table)
    (fact,) = [one for one in result.facts if one.rule == "leaf-blocked"]
    assert fact.parts == ("SCR1", "L1")
    assert fact.amount == pytest.approx(2.0, abs=1e-6)
    assert result.verdict == "blocked"
    exported = Exported(table)
    (way,) = [one for one in exported.ways if one.leaf == "L1"]
    assert exported.clearances(way, 5.0)["SCR1"] == pytest.approx(-2.0, abs=1e-6)
    report = design.check(QUILTING, table)
    assert report.findings[0].message.startswith(
        "SCR1 (screw) stands 2.0 mm in the way of L1 and stops it at "
    )
    assert [one.text for one in report.findings[0].candidates if not one.set][
        -1
    ] == "Put SCR1 elsewhere, or leave it out"


def test_it_stops_the_leaf_where_the_nose_meets_it() -> None:
    """The screw stands 100 mm behind the middle of the table, the slot's outer face 480 mm before it: after 578 mm, as
    its radius is 2 mm; the leaf's nose is chamfered by nothing and square."""
    (fact,) = [
        one
        for one in check(with_fasteners(screw(-372.7, 100.0, LEAF_TOP - 2.0))).facts
        if one.rule == "leaf-blocked"
    ]
    assert fact.travel == pytest.approx(578.0, abs=0.02)


def test_a_tip_that_ends_above_the_leaf_is_none_of_its_business() -> None:
    """1.5 mm is what is drawn above it, and what it asks for."""
    result = check(with_fasteners(screw(-372.7, 100.0, LEAF_TOP + 1.6)))
    assert {leaf.verdict for leaf in result.leaves} == {"clear"}
    assert {fact.rule for fact in result.facts} == {"tip-out"}  # out of the bottom panel, its only board
    tight = check(with_fasteners(screw(-372.7, 100.0, LEAF_TOP + 0.4)))
    (fact,) = [one for one in tight.facts if one.rule == "leaf-tight"]
    assert (fact.parts, fact.amount) == (("SCR1", "L1"), pytest.approx(0.4, abs=1e-6))


def test_through_what_it_joins_it_may_go_and_through_nothing_else() -> None:
    """Into the through rib R1, whose middle is at x = -566, from its upper edge at 700.5 down to 680."""
    into = screw(-566.0, 300.0, 680.0, joins=("B1", "R1"))
    assert check(with_fasteners(into)).verdict == "clear"
    stray = check(with_fasteners(replace(into, joins=("B1",))))
    (fact,) = [one for one in stray.facts if one.rule == "overlap"]
    assert set(fact.parts) == {"SCR1", "R1"}
    # The way out that is shortest: sideways, out of a rib that is 17.7 thick, past half of its own 4 mm.
    assert fact.amount == pytest.approx(17.7 / 2 + 2.0, abs=0.02)
    wood = overlap_volume(prepare(with_fasteners(replace(into, joins=("B1",)))), fact)
    assert wood.volumes.sum() == pytest.approx(pi * 2.0**2 * 20.5, rel=0.02)
    said = design.check(QUILTING, with_fasteners(replace(into, joins=("B1",)))).findings
    assert said[0].message.startswith("R1 (through rib) and SCR1 (screw) overlap by 10.")


def test_two_screws_in_one_place_are_found() -> None:
    one = screw(-566.0, 300.0, 680.0, joins=("B1", "R1"))
    other = replace(one, label="SCR2", start=one.start + np.array([0.0, 3.0, 0.0]))
    (fact,) = [fact for fact in check(with_fasteners(one, other)).facts if fact.rule == "overlap"]
    assert (fact.rule, set(fact.parts)) == ("overlap", {"SCR1", "SCR2"})


def test_the_slide_study_goes_on_without_it() -> None:
    """No nose is led in by a screw; but which leaf fits which place is judged with it."""
    table, plain = prepare(with_fasteners(screw(-372.7, 100.0, LEAF_TOP - 2.0))), prepare(DRAWN)
    proofs = [prove_leaves(one) for one in (table, plain)]
    assert [one.verdict for one in proofs[0]] == [one.verdict for one in proofs[1]]
    matrix = run_through(study_steps(table, proofs[0])).matrix
    (cell,) = [one for one in matrix.cells if (one.leaf, one.position, one.turn) == ("L1", "L1", "as drawn")]
    assert (cell.against, cell.verdict) == ("SCR1", "blocked")


def test_the_filmstrip_names_it() -> None:
    table = prepare(with_fasteners(screw(-372.7, 100.0, LEAF_TOP - 2.0)))
    said = {item.text for item, _ in filmstrip(QUILTING, table, date="", leaves=["L1"]).texts()}
    assert "overlaps SCR1 by 2.0 mm" in said or "overlaps SCR1 by 2 mm" in said


def test_it_is_exported_with_axis_mesh_and_pieces(tmp_path) -> None:
    table = with_fasteners(screw(-566.0, 300.0, 680.0, joins=("B1", "R1")))
    (one,) = assembly_document(table)["fasteners"]
    assert (one["label"], one["kind"], one["joins"]) == ("SCR1", "screw", ["B1", "R1"])
    assert one["start"] == pytest.approx([-566.0, 300.0, 712.3])
    assert one["direction"] == pytest.approx([0.0, 0.0, -1.0])
    assert [
        one[name] for name in ("length", "shank_diameter", "head_diameter", "head_height")
    ] == pytest.approx([32.3, 4.0, 8.0, 3.5])
    heights = np.concatenate([np.array(piece)[:, 2] for piece in one["pieces"]])
    assert (heights.min(), heights.max()) == pytest.approx((680.0, 712.3))
    export(table, tmp_path)
    assert (tmp_path / "SCR1.stl").is_file()
    assert b'"SCR1"' in (tmp_path / "assembly.glb").read_bytes()


def test_it_comes_apart_with_the_board_under_its_head() -> None:
    table = with_fasteners(screw(-566.0, 300.0, 680.0, joins=("B1", "R1")))
    page = run_through(exploded_page(table))
    there = {label: page.explosion.offset_at(label, 1.0) for label in ("SCR1", "B1", "R1")}
    assert there["SCR1"] == pytest.approx(there["B1"])
    assert np.abs(there["SCR1"] - there["R1"]).max() > 1.0
    plain = run_through(exploded_page(DRAWN))
    lines = [len(run_through(one.drawing("")).items) for one in (page, plain)]
    assert lines[0] >= lines[1]


def test_it_is_an_object_without_a_stock() -> None:
    (found,) = [
        one for one in describe(with_fasteners(screw(0.0, 300.0, 690.0))).parts if one.label == "SCR1"
    ]
    assert (found.name, found.role.collection, found.cover) == ("screw", "Fasteners", None)
    points = found.mesh.positions @ found.matrix[:3, :3].T + found.matrix[:3, 3]
    assert points[:, 2].min() == pytest.approx(0.690, abs=1e-6)
    assert points[:, 2].max() == pytest.approx(0.7123, abs=1e-6)


# -- joints
# ------------------------------------------------------------------------------------------------------------------


def faces(table: Assembly, a: str, b: str) -> tuple[str, str] | None:
    (joint,) = [one for one in table.joints if (one.a, one.b) == (a, b)]
    return joint.faces_of(table.by_label[a], table.by_label[b])


def test_joints_of_the_quilting_table_say_which_faces_meet() -> None:
    """S1's inner face is its front, S2's its back: both run along +x with their height up. The bottom panel runs along
    +x with its front down; ribs and leg boards stand with their upper edge and their end against it."""
    assert faces(DRAWN, "S3", "S1") == ("start", "front")
    assert faces(DRAWN, "S3", "S2") == ("end", "back")
    assert faces(DRAWN, "B1", "S1") == ("lower edge", "front")
    assert faces(DRAWN, "B1", "S2") == ("upper edge", "back")
    assert faces(DRAWN, "B1", "S4") == ("end", "front")
    assert faces(DRAWN, "R1", "S1") == ("start", "front")
    assert faces(DRAWN, "R1", "B1") == ("upper edge", "front")
    assert faces(DRAWN, "LEG1", "B1") == ("end", "front")
    assert faces(DRAWN, "LEG1", "S1") == ("front", "front")
    assert {joint.fastening for joint in DRAWN.joints} == {"glue"}


def test_mitered_sides_meet_with_their_ends() -> None:
    """The left side runs from the front to the back, the front one from the left to the right."""
    table = build(set_values(QUILTING, {"table.corner_joint": "mitered"}))
    assert faces(table, "S3", "S1") == ("start", "start")
    assert faces(table, "S3", "S2") == ("end", "start")
    assert faces(table, "S4", "S1") == ("start", "end")
    assert facing_ends(table.by_label["S4"], "end", table.by_label["S2"]) == ("end", "end")


def test_faces_are_found_however_two_boards_lie_together() -> None:
    """A board on edge on another one, both turned by any angle; none where one stands askew to the other."""
    a, b = box((300, 80, 18), (0.0, 0.0, 0.0), "A"), box((300, 200, 18), (0.0, 0.0, -18.0), "B")
    on_edge = Placement(np.array([0.0, 50.0, 0.0]), np.array([[1.0, 0, 0], [0, 0, 1.0], [0, -1.0, 0]]))
    axes = turned(Random(2))
    for stood, expected in ((a.placement, ("front", "back")), (on_edge, ("lower edge", "back"))):
        both = [
            replace(part, placement=Placement(place.origin @ axes, place.axes @ axes))
            for part, place in ((a, stood), (b, b.placement))
        ]
        assert meeting_faces(*both) == expected
    askew = replace(a, placement=Placement(np.zeros(3), axes))
    assert meeting_faces(askew, b) is None
    aside = replace(a, placement=a.placement.moved(np.array([500.0, 0.0, 0.0])))
    assert meeting_faces(aside, b) is None


def test_a_joint_may_say_its_faces_itself() -> None:
    joint = Joint("R1", "S1", "butt", "start", faces=("end", "back"))
    assert joint.faces_of(DRAWN.by_label["R1"], DRAWN.by_label["S1"]) == ("end", "back")


def test_joints_are_exported_with_faces_and_what_holds_them() -> None:
    joints = assembly_document(DRAWN)["joints"]
    (one,) = [joint for joint in joints if (joint["a"], joint["b"]) == ("S3", "S1")]
    assert one == {
        "a": "S3", "b": "S1", "kind": "butt", "part_end": "start",
        "faces": ["start", "front"], "fastening": "glue",
    }  # fmt: skip


def words_with(fastening: str, *fasteners: Fastener) -> list[str]:
    """Of the step in which the ledger strips go in, held so."""
    joints = tuple(
        replace(one, fastening=fastening) if one.a in ("LEDG1", "LEDG2") else one for one in DRAWN.joints
    )
    table = replace(DRAWN, joints=joints, fasteners=fasteners)
    order = assembly_order(table)
    (number,) = [at for at, step in enumerate(order.steps) if "LEDG1" in step.new]
    return sentences_of(table, order, number, blocking_of(table.parts), "mm")


def test_steps_say_what_is_done_where_glue_is_not_all() -> None:
    def held(label: str, boards: tuple[str, ...]) -> Fastener:
        return Fastener(label, "screw", np.zeros(3), DOWN, Sizes(30, 4, 8, 3), boards)

    assert words_with("glue") == [
        "Put in the ledger strips LEDG1 and LEDG2 from above.",
        "Their upper edges lie 17.7 mm below those of the sides.",
    ]
    assert words_with("dry")[1] == "Without glue: LEDG1 against S1; LEDG2 against S2."
    assert words_with("brad")[1] == "Nail LEDG1 to S1 and LEDG2 to S2."
    screws = held("SCR1", ("LEDG1", "S1")), held("SCR2", ("LEDG1", "S1")), held("SCR3", ("LEDG2", "S2"))
    assert words_with("screw", *screws)[1] == "Screw LEDG1 to S1 with 2 screws and LEDG2 to S2 with 1 screw."


def put_in_words(name: str) -> dict[str, list[str]]:
    """Of the steps in which parts of an example of today go in, by their role."""
    table = build(EXAMPLES_NOW[name].table())
    order = assembly_order(table)
    return {
        step.role.word: sentences_of(table, order, number, blocking_of(table.parts), "mm")
        for number, step in enumerate(order.steps)
        if step.role is not None and step.kind == "put-in"
    }


def test_steps_of_laminated_legs_by_hand() -> None:
    assert put_in_words("seed-bench")["leg"] == [
        "Set in the legs LEG1 to LEG6, LEG7 to LEG12, LEG13 to LEG18 and LEG19 to LEG24 from above.",
        "Their ends stand on the bottom panel.",
        "The corners of the sides go into their channels, with glue on both faces.",
    ]


def test_steps_of_bolted_legs_by_hand() -> None:
    """A block in each corner takes two nuts, which S3 or S4 shuts in; each leg's first board has two bolts."""
    told = put_in_words("quilting")
    assert (
        "Before they go in, tap 2 nuts into each of BLK1 to BLK4, from the wide side of the holes."
        in told["block"]
    )
    assert "Without glue: BLK1 and BLK2 against S1; BLK3 and BLK4 against S2." in told["block"]
    assert told["leg"][2:] == [
        "Bolt LEG1 to BLK1, LEG3 to BLK2, LEG5 to BLK3 and LEG7 to BLK4 with 2 bolts each.",
        "Without glue: LEG1 to LEG4 against S1; LEG1 to LEG8 against B1; LEG5 to LEG8 against S2.",
    ]


def test_boards_that_are_not_glued_face_to_face_go_in_one_by_one() -> None:
    parts = tuple(box((60, 700, 18), (0, 0, 18.0 * at), f"R{at + 1}") for at in range(2))
    for fastening, steps in (("glue", ["glue-up", "put-in"]), ("dry", ["put-in"])):
        table = Assembly("A", parts, (Joint("R2", "R1", "face", fastening=fastening),), ())
        assert [step.kind for step in assembly_order(table).steps] == steps


# -- bolts, and what a design hands over
# ------------------------------------------------------------------------------------------------------------------


def test_a_bolt_has_its_nut_at_the_tip() -> None:
    """Head 13 by 5.3, shank 8 by 40 and nut 16 by 6.5 mm: three cylinders, facets out by no more than 0.01 mm."""
    sizes = Sizes(5.3 + 40 + 6.5, 8.0, 13.0, 5.3, nut=16.0, nut_height=6.5)
    bolt = Fastener("BOLT1", "bolt", np.array([1.0, 2.0, 3.0]), DOWN, sizes, ("A", "B"))
    solid = as_manifold(replace(bolt.mesh, vertices=bolt.placement.to_table(bolt.mesh.vertices)))
    pieces = union(bolt.pieces)
    exact = pi * (6.5**2 * 5.3 + 4.0**2 * 40 + 8.0**2 * 6.5)
    assert solid.status().name == "NoError"
    assert exact < solid.volume() < pi * (6.51**2 * 5.3 + 4.01**2 * 40 + 8.01**2 * 6.5)
    assert (solid ^ pieces).volume() == pytest.approx(solid.volume(), rel=1e-9)
    assert pieces.volume() == pytest.approx(solid.volume(), rel=1e-9)
    assert bolt.tip == pytest.approx([1.0, 2.0, 3.0 - 51.8])
    assert bolt.sold_length == pytest.approx(46.5), "a bolt's length counts from under its head"


def test_labels_count_up_by_kind() -> None:
    bill = Bill()
    parts = [box((60, 700, 18), (0, 0, 18.0 * at), f"R{at + 1}") for at in range(2)]
    kinds = ("screw", "pocket screw", "screw", "bolt", "brad")
    made = [bill.fasten(kind, np.zeros(3), DOWN, Sizes(30, 4, 8, 3), *parts) for kind in kinds]
    assert [one.label for one in made] == ["SCR1", "PSCR1", "SCR2", "BOLT1", "BRAD1"]
    assert [one.joins for one in made] == [("R1", "R2")] * 5
    assert [one.role.one for one in made] == ["screw", "pocket screw", "screw", "bolt", "brad"]
    assert bill.fasteners == made


def test_screws_go_with_the_board_under_their_head_and_with_what_is_missing() -> None:
    """LEG1 sits 2 mm off: what is screwed through it has gone along, and is left out where LEG2 is missing."""
    one = Fastener("SCR1", "screw", np.array([0.0, 0.0, 690.0]), DOWN, Sizes(30, 4, 8, 3), ("LEG1", "S1"))
    other = replace(one, label="SCR2", joins=("S1", "LEG2"))
    entries = (AsCut("LEG1", "place_across", deviation=2.0), AsCut("LEG2", missing=True))
    (kept,) = apply_as_cut(with_fasteners(one, other), entries).fasteners
    assert kept.label == "SCR1"
    moved = apply_as_cut(with_fasteners(one), entries[:1]).by_label["LEG1"].placement.origin
    assert kept.start - one.start == pytest.approx(moved - DRAWN.by_label["LEG1"].placement.origin)
    assert np.abs(kept.start - one.start).max() == pytest.approx(2.0)


def test_a_glued_joint_with_screws_says_both() -> None:
    screws = [
        Fastener(f"SCR{at}", "screw", np.zeros(3), DOWN, Sizes(30, 4, 8, 3), ("LEDG1", "S1")) for at in (1, 2)
    ]
    assert words_with("glue", *screws)[1] == "Screw LEDG1 to S1 with 2 screws."


@pytest.mark.parametrize("direction", [(-1.0, 0, 0), (1.0, 0, 0), (0, 1.0, 0), (0, 0, -1.0), (0.6, 0.0, 0.8)])
def test_its_frame_is_level_and_right_handed(direction: tuple[float, float, float]) -> None:
    """A frame whose u is upright has no Euler angles of its own, and would look moved in Blender."""
    one = Fastener("A", "screw", np.zeros(3), np.array(direction), Sizes(30, 4, 8, 3), ("A",))
    u, v, w = one.placement.axes
    assert u[2] == pytest.approx(0.0, abs=1e-12)
    assert w == pytest.approx(direction)
    assert np.cross(u, v) == pytest.approx(w)
