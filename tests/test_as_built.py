"""Parts that came out otherwise than drawn, where they are seated, and what they leave proud, open, free or rocking.

Amounts on the quilting table and on the bench are written by hand, one, two and three defects at once; random tables
are compared with plain intervals (`plain_fit`), rocking with exact rational arithmetic, seated boards with what
python-fcl (the Flexible Collision Library) and manifold3d say of the exported solids.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from random import Random

import numpy as np
import pytest
from manifold3d import Manifold

from addon.check.as_built import Foot, as_built_facts, effects_of, rock_of
from addon.check.as_built.moves import CutOtherwise, Effect, Missing
from addon.check.check import check as check_assembly
from addon.designs.findings import Remedy
from addon.designs.table import build
from addon.designs.table.design import check
from addon.designs.table.parameters import AsCut, Table
from addon.files.editing import set_values
from addon.files.examples import EXAMPLES
from addon.sizes.errors import AsCutError, DryAssemblyError
from addon.wood.as_cut import apply_as_cut
from addon.wood.dimensions import names_of
from addon.wood.meshes.mesh import mesh_of
from addon.wood.part import Part
from defect_bench import Tally, judge
from defects import KINDS, Several
from plain_boxes import PlainTable
from random_tables import sound_table
from tests.large import sampled
from tests.oracles import Exported, mesh_solid, smallest_distance

QUILTING = EXAMPLES["quilting"].table()
BENCH = EXAMPLES["seed-bench"].table()
CORNERED = set_values(QUILTING, {"legs.kind": "corner"})
BATCH = sampled(4, 17)
"""Random tables, three sets of defects each."""


def cut(part: str, dimension: str, by: float, end: str | None = None) -> AsCut:
    return AsCut(part, dimension, deviation=by, end=end)


def said(table: Table, *entries: AsCut) -> dict[tuple[str, frozenset[str]], float]:
    """(kind, what stands or lies and what against) → amount, mm."""
    found = effects_of(build(replace(table, as_cut=entries)))
    return {(one.kind, frozenset(one.between)): one.amount for one in found}


def kinds(table: Table, *entries: AsCut) -> set[tuple[str, str]]:
    """(kind, part to blame)."""
    return {(one.kind, one.parts[0]) for one in effects_of(build(replace(table, as_cut=entries)))}


# -- seated
# ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("rib", "leaf"), [("R1", "L4"), ("R4", "L3")])
def test_a_rib_narrow_at_its_glued_edge_is_as_bad_as_sills_that_are_off(rib: str, leaf: str) -> None:
    """6 mm narrow, glued to the panel: its windows sit 6 mm up, against 1.5 mm of room: 4.5 mm in the way."""
    narrow, off = (
        check_assembly(build(replace(QUILTING, as_cut=(entry,))))
        for entry in (cut(rib, "width", -6.0), cut(rib, "window_sill", 6.0))
    )
    by_leaf = [{one.leaf: one for one in result.leaves}[leaf] for result in (narrow, off)]
    assert [one.verdict for one in by_leaf] == ["blocked", "blocked"]
    assert by_leaf[0].clearance == pytest.approx(by_leaf[1].clearance, abs=1e-9) == pytest.approx(-4.5)


def test_a_rib_narrow_at_its_lower_edge_keeps_its_windows() -> None:
    result = check_assembly(build(replace(QUILTING, as_cut=(cut("R1", "width", -6.0, "start"),))))
    assert {leaf.verdict for leaf in result.leaves} == {"clear"}
    assert {fact.rule for fact in result.facts} == {"part-proud"}


def test_grooves_that_are_all_off_alike_leave_the_corners_flush_but_not_the_slots() -> None:
    """Four sides 2 mm up: nothing is proud; slots sit 2 mm above the windows, with 1.5 mm of room."""
    entries = tuple(cut(side, "groove_offset", -2.0) for side in ("S1", "S2", "S3", "S4"))
    result = check_assembly(build(replace(QUILTING, as_cut=entries)))
    assert {leaf.verdict for leaf in result.leaves} == {"blocked"}
    assert {fact.rule for fact in result.facts} == {"leaf-blocked", "part-proud", "thin-wood"}
    # Only ribs and the legs' blocks between them are not: their lower edges stay 2 mm below those of the sides.
    between = {one.between for one in effects_of(build(replace(QUILTING, as_cut=entries)))}
    assert all(pair[1].startswith(("R", "BLK")) for pair in between)


def test_what_is_glued_to_a_side_goes_with_it() -> None:
    """S1 stands 2 mm higher on the panel: so does its ledger, and the leaves there stay flush with its edge."""
    assembly = build(replace(QUILTING, as_cut=(cut("S1", "groove_offset", -2.0),)))
    drawn = build(QUILTING)
    up = {
        label: float((part.box[0] - drawn.by_label[label].box[0])[2])
        for label, part in assembly.by_label.items()
    }
    assert {label: by for label, by in up.items() if by} == pytest.approx({"S1": 2.0, "LEDG1": 2.0})
    assert not {kind for kind, _ in kinds(QUILTING, cut("S1", "groove_offset", -2.0))} & {
        "cover proud",
        "cover low",
    }


@pytest.mark.parametrize("label", ["LEG1", "LEG3", "LEG5", "LEG7"])
@pytest.mark.parametrize("by", [-2.0, 2.0])
@pytest.mark.parametrize("end", ["start", "end"])
def test_a_leg_is_pushed_into_its_corner(label: str, by: float, end: str) -> None:
    """Whichever edge of its long-side board was planed too far or not far enough, the board stands against both sides,
    whose inner faces are at x ±732.3, and what is left is off at its free edge: 60 ± 2 from there. Nothing is open or
    proud in a corner that nobody sees."""
    assembly = build(replace(CORNERED, as_cut=(cut(label, "width", by, end),)))
    low, high = (corner[0] for corner in assembly.by_label[label].box)
    wall = -732.3 if label in ("LEG1", "LEG5") else 732.3
    assert sorted((abs(wall - low), abs(wall - high))) == pytest.approx([0.0, 60.0 + by])
    assert not list(effects_of(assembly))


def test_nothing_is_looked_at_where_nothing_was_cut_otherwise() -> None:
    drawn = build(QUILTING)
    assert list(as_built_facts(drawn)) == []
    assert all(part.drawn is None for part in drawn.parts)


@pytest.mark.parametrize("seed", range(3))
def test_seated_ribs_and_legs_touch_the_panel_and_nothing_more(seed: int) -> None:
    """By fcl and the Minkowski difference on exported pieces, by manifold3d on exported meshes."""
    random = Random(seed)
    _, drawn = sound_table(f"seated/{seed}")
    ribs = random.sample(drawn.with_role("rib"), min(3, len(drawn.with_role("rib"))))
    legs = drawn.with_role("leg")[:1]
    by = {part.label: random.uniform(-4, 4) for part in (*ribs, *legs)}
    entries = tuple(
        cut(label, "length" if label.startswith("LEG") else "width", own, random.choice([None, "start"]))
        for label, own in by.items()
    )
    built = apply_as_cut(drawn, entries)
    exported = Exported(built)
    solid = _solid(built.by_label["B1"])
    for label, own in by.items():
        if any(opening.open_above for opening in built.by_label[label].shape.openings):
            continue
        assert smallest_distance(exported.bodies[label], exported.bodies["B1"]) == pytest.approx(
            0.0, abs=1e-6
        )
        assert abs((_solid(built.by_label[label]) ^ solid).volume()) < 1e-3
        low, before = exported.boxes[label].low[2], drawn.by_label[label].box[0][2]
        assert low - before == pytest.approx(-own, abs=1e-9)


def _solid(part: Part) -> Manifold:
    """A part's mesh in the table, as manifold3d reads it."""
    mesh = mesh_of(part.shape)
    return mesh_solid(part.placement.to_table(mesh.vertices), mesh.triangles)


# -- by hand
# ------------------------------------------------------------------------------------------------------------


def test_one_defect_is_one_finding_with_all_its_places() -> None:
    report = check(replace(QUILTING, as_cut=(cut("S1", "width", -4.0),)))
    (finding,) = report.findings
    assert isinstance(finding.cause, CutOtherwise)
    assert finding.parts == ("S1", "S3")
    assert {(place.parts, place.rule) for place in finding.others} == {
        (("S1", "S4"), "part-proud"), (("S1", "L1"), "cover-step"), (("S1", "L2"), "cover-step"),
        (("S1", "L3"), "cover-step"), (("S1", "L4"), "cover-step"),
    }  # fmt: skip
    assert finding.message == (
        "The upper edge of S1 lies 4.0 mm back from that of S3 and S4; L1, L2, L3 and L4 stand 4.0 mm proud of S1 in"
        " the cover."
    )


def test_two_defects_that_make_up_for_each_other() -> None:
    """S1 is 4 mm low at its upper edge, and its ledger was put on 4 mm lower: the leaves are flush with it."""
    entries = (cut("S1", "width", -4.0), cut("LEDG1", "place_up", -4.0))
    assert kinds(QUILTING, *entries) == {("low", "S1")}


def test_two_defects_that_add_up() -> None:
    """The ledger 1.5 mm high and L2 1 mm thick; L2 is 1 mm proud at the other end, the others 1.5 at this one."""
    found = said(QUILTING, cut("LEDG1", "width", 1.5), cut("L2", "thickness", 1.0))
    assert found == pytest.approx({
        ("cover proud", frozenset({"L2", "S1"})): 2.5, ("cover proud", frozenset({"L2", "S2"})): 1.0,
        ("cover proud", frozenset({"L1", "S1"})): 1.5, ("cover proud", frozenset({"L3", "S1"})): 1.5,
        ("cover proud", frozenset({"L4", "S1"})): 1.5,
    })  # fmt: skip


def test_three_defects_on_one_panel() -> None:
    """B1 2 mm short and both short sides 1 mm thin: reach 5.5 - 1 - 1 in each groove of 6 mm, pushed over 5 - 4 = 1.

    Thin sides keep their outer faces.
    """
    entries = (cut("B1", "length", -2.0), cut("S3", "thickness", -1.0), cut("S4", "thickness", -1.0))
    found = {key: amount for key, amount in said(QUILTING, *entries).items() if key[0] == "thin bearing"}
    assert found == pytest.approx({
        ("thin bearing", frozenset({"B1", "S3"})): 2.0, ("thin bearing", frozenset({"B1", "S4"})): 2.0,
    })  # fmt: skip


def test_what_only_went_along_is_nobodys_fault() -> None:
    """S3 is 2 mm thick: LEG2, glued to its inner face, stands 2 mm off LEG1's edge, and neither is to blame."""
    assert kinds(QUILTING, cut("S3", "thickness", 2.0)) == set()
    assert kinds(QUILTING, cut("S3", "thickness", 2.0), cut("LEG2", "length", 3.0)) == {
        ("rocks", "LEG2"), ("proud", "LEG2")
    }  # fmt: skip


def test_ends_that_something_covers_are_not_flush_with_anything() -> None:
    """S3's end and LEG5 both lie on S2's inner face: where S3 is short, its joint is open, and that is said once."""
    assert kinds(QUILTING, cut("S3", "length", -3.0)) == set()
    result = check_assembly(build(replace(QUILTING, as_cut=(cut("S3", "length", -3.0),))))
    assert {fact.rule for fact in result.facts if fact.severity == "warning"} <= {"short-part", "thin-wood"}


def test_a_bearing_that_was_drawn_thin_is_none_of_the_saw() -> None:
    """With 8 mm asked for and 5 drawn: a panel 0.2 mm longer has more than drawn, one 0.2 mm shorter has less."""
    table = set_values(QUILTING, {"limits.bearing": 8.0})
    assert said(table, cut("B1", "length", 0.2)) == {}
    found = said(table, cut("B1", "length", -0.2))
    assert found == pytest.approx(
        {("thin bearing", frozenset({"B1", side})): 8.0 - (5.0 - 0.2) for side in ("S3", "S4")}
    )


def test_a_ledger_too_short_for_a_leaf_tips_it() -> None:
    """LEDG1 ends at 732.3 - 400, L4's middle is at 731.3 - 364.9 / 2: 216.55 mm past that; 3 mm more are asked for."""
    past = 731.3 - 364.9 / 2 - (732.3 - 400.0)
    assert said(QUILTING, cut("LEDG1", "length", -400.0)) == {
        ("falls out", frozenset({"L4", "LEDG1"})): pytest.approx(3.0 + past)
    }


@pytest.mark.parametrize(
    ("longer", "rock"),
    [
        ({"LEG1": 3.0}, 3.0),
        ({"LEG1": 3.0, "LEG7": 3.0}, 6.0),  # on one diagonal
        ({"LEG1": 3.0, "LEG3": 3.0}, None),  # on one side: it stands aslant, and firmly
        ({"LEG1": -5.0}, None),  # its fellow LEG2 carries the corner
        ({"LEG1": -5.0, "LEG2": -4.0}, 4.0),
        ({"LEG1": 2.0, "LEG5": 1.0, "LEG3": 0.75}, 0.25 + 0.0),
    ],
)
def test_rocking_by_hand(longer: dict[str, float], rock: float | None) -> None:
    """z1 - z2 + z3 - z4 round the table: LEG1 front left, LEG3 front right, LEG7 back right, LEG5 back left."""
    table = set_values(QUILTING, {"limits.flush": 0.2})
    found = [
        one
        for one in effects_of(
            build(replace(table, as_cut=tuple(cut(*leg[:1], "length", leg[1]) for leg in longer.items())))
        )
        if one.kind == "rocks"
    ]
    assert [one.amount for one in found] == ([] if rock is None else [pytest.approx(rock)])


def test_rocking_against_exact_arithmetic() -> None:
    """Four feet anywhere around the table: the fourth one's height over the plane through the others, as fractions."""
    random = Random(7)
    compared = 0
    for _ in range(200):
        corners = ((-1, -1), (1, -1), (1, 1), (-1, 1))
        feet = [
            tuple(Fraction(random.randint(-999, 999), 1000) * size for size in (100, 100, 5)) for _ in corners
        ]
        feet = [(x + 700 * a, y + 400 * b, z) for (x, y, z), (a, b) in zip(feet, corners, strict=True)]
        found = rock_of(tuple(Foot("", np.array([float(v) for v in foot]), 0.0) for foot in feet))
        assert found == pytest.approx(float(max(_off_plane(feet, k) for k in range(4))), abs=1e-9)
        compared += found > 1
    assert compared > 100


def _off_plane(feet: list[tuple[Fraction, ...]], fourth: int) -> Fraction:
    """Vertical distance of one foot from the plane through the three others, by Cramer's rule."""
    (x1, y1, z1), (x2, y2, z2), (x3, y3, z3) = (foot for k, foot in enumerate(feet) if k != fourth)
    x, y, z = feet[fourth]
    nx = (y2 - y1) * (z3 - z1) - (z2 - z1) * (y3 - y1)
    ny = (z2 - z1) * (x3 - x1) - (x2 - x1) * (z3 - z1)
    nz = (x2 - x1) * (y3 - y1) - (y2 - y1) * (x3 - x1)
    return abs(z - z1 + (nx * (x - x1) + ny * (y - y1)) / nz)


def test_the_bench() -> None:
    """The bench is in inches; mm by hand. Its long sides run through, and its leaves lie across between fixed tops."""
    drawn = build(BENCH)
    assert [part.label for part in drawn.with_role("ledger")] == ["LEDG1", "LEDG2"]
    cornered = set_values(BENCH, {"legs.kind": "corner"})
    assert kinds(cornered, cut("S2", "length", 6.0)) == {("proud", "S2")}
    # Outside stand the boards of its legs, with half of the fit allowance, 1/64 in, to spare.
    (found,) = check(replace(BENCH, as_cut=(cut("S2", "length", 6.0, "end"),))).findings
    assert (found.rule, found.amount) == ("overlap", pytest.approx(6.0 - 25.4 / 64, abs=0.01))
    assert set(found.parts) == {"S2", "LEG24"}
    assert said(BENCH, cut("LEDG2", "width", -2.0)) == pytest.approx(
        {("cover low", frozenset({leaf, "S2"})): 2.0 for leaf in (*drawn.cover, "TOP1", "TOP2")}
    )
    (leaf, *_) = drawn.cover
    assert said(BENCH, cut(leaf, "width", -3.0)) == {("cover gap", frozenset({leaf})): pytest.approx(3.0)}
    # A leg whose boards are all too short: what stands lowest then is the block at its foot.
    short = [cut(f"LEG{number}", "length", -4.0) for number in range(7, 13)]
    assert kinds(BENCH, *short) == {("rocks", "FOOT2")}
    assert kinds(cornered, cut("LEG3", "length", -4.0), cut("LEG4", "length", -4.0)) == {("rocks", "LEG3")}


def test_a_miter_sawn_at_another_angle() -> None:
    """46 degrees at one end of 17.7 mm: the heel stands back by 17.7 (tan 46 - tan 45); at 45.3 by 0.19, so it fits."""
    table = set_values(QUILTING, {"table.corner_joint": "mitered"})
    entry = AsCut("S1", "bevel_2_angle", degrees=46.0)
    gape = 17.7 * (np.tan(np.radians(46)) - 1)
    assert said(table, entry) == {("open", frozenset({"S1", "S3"})): pytest.approx(gape)}
    assert said(table, replace(entry, degrees=45.3)) == {}
    both = said(table, AsCut("S1", "bevel_angle", degrees=46.0))
    assert both == pytest.approx(
        dict.fromkeys([("open", frozenset({"S1", other})) for other in ("S3", "S4")], gape)
    )
    blocked = check(replace(table, as_cut=(AsCut("S1", "bevel_angle", degrees=44.0),)))
    assert {finding.rule for finding in blocked.findings} == {"overlap"}


# -- missing parts
# ------------------------------------------------------------------------------------------------------------


def test_a_missing_end_stop_stops_nothing() -> None:
    """L3 goes on until R2, whose nearer face is 130.15 + 17.7 mm before the middle; its nose stops at 190.8."""
    result = check_assembly(build(replace(QUILTING, as_cut=(AsCut("STOP1", missing=True),))))
    found = {fact.rule: fact for fact in result.facts}
    assert found.keys() == {"part-missing", "no-end-stop"}
    assert found["no-end-stop"].leaf == "L3"
    assert isinstance(found["part-missing"].cause, Missing)


def test_what_a_missing_part_held_is_free() -> None:
    assembly = build(replace(QUILTING, as_cut=(AsCut("LEG1", missing=True), AsCut("LEDG2", missing=True))))
    facts = {fact.parts[0]: fact for fact in as_built_facts(assembly) if fact.rule == "part-missing"}
    assert facts["LEG1"].parts == ("LEG1", "LEG2")
    assert facts["LEDG2"].parts == ("LEDG2", "L1", "L2", "L3", "L4")
    assert "LEG1" not in assembly.by_label
    assert all("LEG1" not in (joint.a, joint.b) for joint in assembly.joints)


def test_a_missing_leaf_has_no_way_and_covers_nothing() -> None:
    assembly = build(replace(QUILTING, as_cut=(AsCut("L2", missing=True),)))
    assert [path.leaf for path in assembly.stow_paths] == ["L1", "L3", "L4"]
    assert "L2" not in assembly.cover
    assert [leaf.leaf for leaf in check_assembly(assembly).leaves] == ["L1", "L3", "L4"]


# -- names
# ------------------------------------------------------------------------------------------------------------


def test_one_of_several_is_set_by_its_number() -> None:
    """A leaf's four round-overs, all of 3 mm: the second alone, and all."""
    before = build(QUILTING).by_label["L1"].shape
    one, every = (
        build(replace(QUILTING, as_cut=(cut("L1", name, 1.0),))).by_label["L1"].shape
        for name in ("round_over_2_size", "round_over_size")
    )
    own = [edge.size for edge in before.edges]
    rounded = [k for k, edge in enumerate(before.edges) if edge.kind == "round-over"]
    for shape, wanted in ((one, rounded[1:2]), (every, rounded)):
        changed = [k for k, edge in enumerate(shape.edges) if edge.size != own[k]]
        assert changed == wanted
        assert all(shape.edges[k].size == own[k] + 1.0 for k in changed)


def test_every_name_that_is_suggested_can_be_set() -> None:
    """A little more of everything that a part has, of one feature and of all; an angle a little less."""
    drawn = build(set_values(QUILTING, {"table.corner_joint": "mitered"}))
    tried = 0
    for label in ("S1", "R2", "L1", "LEG1", "B1"):
        for name in names_of(drawn.by_label[label]):
            angle = name.endswith("_angle")
            entry = AsCut(label, name, degrees=44.9) if angle else cut(label, name, 0.1)
            part = apply_as_cut(drawn, (entry,)).by_label[label]
            moved = part.placement is not drawn.by_label[label].placement
            assert part.shape != drawn.by_label[label].shape or moved
            tried += 1
    assert tried > 60


REFUSED = [
    (AsCut("L1", "round_over_9_size", deviation=1.0), r"'round_over_9_size': it has .*round_over_size \(1 to 4\)"),
    (AsCut("L1", "round_over_0_size", deviation=1.0), r"no dimension 'round_over_0_size'"),
    (AsCut("L1", "length", degrees=3.0), r"'length' is a length: give its value or deviation, not degrees\.$"),
    (AsCut("R1", "place_up", degrees=3.0), r"'place_up' is a length: give its deviation\.$"),
    (AsCut("S1", missing=True), r"L1 slides in through S1, so that nothing can be said without it: leave"),
]  # fmt: skip


@pytest.mark.parametrize(("entry", "sentence"), REFUSED)
def test_what_is_refused(entry: AsCut, sentence: str) -> None:
    with pytest.raises(AsCutError, match=sentence):
        build(replace(QUILTING, as_cut=(entry,)))


def test_an_angle_needs_degrees() -> None:
    mitered = set_values(QUILTING, {"table.corner_joint": "mitered"})
    with pytest.raises(AsCutError, match=r"'bevel_angle' is an angle: give its degrees\.$"):
        build(replace(mitered, as_cut=(cut("S1", "bevel_angle", 1.0),)))


# -- random tables against plain intervals
# ------------------------------------------------------------------------------------------------------------


@pytest.mark.once
@pytest.mark.parametrize("batch", range(sampled(1, 3)))
def test_several_defects_of_random_tables(batch: int) -> None:
    """Two or three boards cut otherwise at once: every amount as plain intervals have it, and no more."""
    (several,) = (kind for kind in KINDS if isinstance(kind, Several))
    tally = Tally()
    for index in range(BATCH):
        table, drawn = sound_table(f"several/{batch}/{index}")
        boxes = PlainTable(drawn)
        for turn in range(3):
            case = several.inject(Random(f"{batch}/{index}/{turn}"), table, drawn, boxes)
            assert case is not None
            try:
                report = check_assembly(build(case.table))
            except DryAssemblyError:
                continue
            judge(tally, f"{batch}/{index}/{turn} {case.deviations}", case.table, case.boxes, report)
    assert tally.notes == []
    assert tally.found == tally.faults > BATCH


def test_effects_say_where() -> None:
    """By hand: S1's end stands out at x 775, on the inner face of the side at y -462.3, in the middle of its height."""
    (effect,) = effects_of(build(replace(QUILTING, as_cut=(cut("S1", "length", 25.0),))))
    assert isinstance(effect, Effect)
    height = build(QUILTING).by_label["S1"].box
    assert effect.at == pytest.approx((775.0, -462.3, (height[0][2] + height[1][2]) / 2))


@pytest.mark.parametrize(
    "entry",
    [
        AsCut("LEG1", missing=True),
        AsCut("LEG1", "length", value=700.0, missing=True),
        cut("LEG1", "width", 2.0),
    ],
)
def test_remedies_of_missing_parts_put_them_in(entry: AsCut) -> None:
    """Whatever else the entry says; the part is then as drawn."""
    table = replace(QUILTING, as_cut=(replace(entry, missing=True),))
    (finding,) = [one for one in check(table).findings if one.rule == "part-missing"]
    remedy, words = finding.candidates
    assert isinstance(remedy, Remedy)
    assert remedy.text == "Put LEG1 in"
    assert words == Remedy(remedy.text)
    mended = set_values(table, {change.key: change.value for change in remedy.set})
    assert {one.rule for one in check(mended).findings} <= {"leaf-steer"}
    assert build(mended).by_label["LEG1"].shape == build(QUILTING).by_label["LEG1"].shape


@pytest.mark.parametrize("by", [-6.0, -2.0, 2.0])
@pytest.mark.parametrize("label", ["S3", "S4"])
def test_a_short_side_is_not_measured_by_the_leg_behind_its_end(label: str, by: float) -> None:
    """The leg's board in that corner is against both sides; where the side ends, the long side is to be met."""
    found = check(replace(QUILTING, as_cut=(cut(label, "length", by),))).findings
    assert found
    assert not [one.message for one in found if "LEG" in one.message]
