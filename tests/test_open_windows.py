"""Windows of the upper tier that are open to the bottom panel: notches, blocks, kickers, and what they hold.

Places are worked out by hand from the quilting table's sizes, see `test_table_built`: sides 17.7 thick, the leaves of
the upper tier at x −555.15…−190.25 and 190.25…555.15, rows at y = 0 and ±390.75, through ribs at ±139 and ±566.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import manifold3d
import numpy as np
import pytest

from addon.check.check import check as check_assembly
from addon.check.forces.open_ribs import Plate, facts_of_open_ribs, plywood, sag_in_the_middle
from addon.check.prepared import prepare
from addon.check.row.leaf_rows import leaf_rows
from addon.check.tolerance.deviations import Register
from addon.check.tolerance.model import row_models
from addon.designs.table import build
from addon.designs.table.design import check, study
from addon.designs.table.parameters import AsCut, Legs, Table
from addon.files.export import assembly_document
from addon.sizes.errors import ParameterError
from addon.wood.assembly import Assembly
from addon.wood.meshes.mesh import mesh_of
from addon.wood.part import Part
from addon.wood.stock import Stock
from tests.old_tables import old_quilting_table
from tests.oracles import Exported
from tests.shape_bench import as_manifold

CLOSED = old_quilting_table()
OPEN = replace(CLOSED, ribs=replace(CLOSED.ribs, upper_windows="open"))
BUILT = build(OPEN)


def box(part: Part) -> list[tuple[float, float]]:
    low, high = part.box
    return [(pytest.approx(a), pytest.approx(b)) for a, b in zip(low.tolist(), high.tolist(), strict=True)]


def with_limits(table: Table, **limits: Any) -> Table:
    return replace(table, limits=replace(table.limits, **limits))


# -- where everything is, by hand
# ------------------------------------------------------------------------------------------------------------------


def test_six_segments_have_notches_that_take_their_outer_upper_corner() -> None:
    notched = [part for part in BUILT.parts if any(o.open_above for o in part.shape.openings)]
    assert [part.label for part in notched] == ["R6", "R8", "R11", "R13", "R16", "R18"]
    for part in notched:
        (notch,) = part.shape.openings
        assert part.shape.size == (pytest.approx(409.3), pytest.approx(74.4), pytest.approx(17.7))
        # Sill at 671.8, lower edge at 626.1, bottom panel at 700.5; 368.9 wide, 40.4 of wood on the inner side.
        assert (notch.v0, notch.v1) == (pytest.approx(45.7), pytest.approx(74.4))
        assert notch.u1 - notch.u0 == pytest.approx(368.9)
        inner = 409.3 - notch.u1 if notch.open_end == "start" else notch.u0
        assert inner == pytest.approx(40.4)


def test_windows_of_the_lower_tier_stay_closed() -> None:
    lower = [o for part in BUILT.parts for o in part.shape.openings if o.leaf in ("L3", "L4")]
    assert len(lower) == 8
    assert not any(o.is_notch for o in lower)


BLOCKS = {
    # In the corner with the through rib at ±566, from 626.1 to 12 below the sill at 671.8, on the face that the leaf
    # comes to last: the back for L1, which comes from the front, the front for L2.
    "R6": [
        (-557.15, -497.15),
        (-417.3, -399.6),
        (626.1, 659.8),
    ],  # behind it lies the left leaf of the lower tier
    "R8": [(497.15, 557.15), (-417.3, -399.6), (626.1, 659.8)],
    "R11": [(-557.15, -497.15), (8.85, 26.55), (626.1, 659.8)],
    "R13": [(497.15, 557.15), (-26.55, -8.85), (626.1, 659.8)],
    "R16": [(-557.15, -497.15), (399.6, 417.3), (626.1, 659.8)],
    "R18": [
        (497.15, 557.15),
        (399.6, 417.3),
        (626.1, 659.8),
    ],  # before it lies the right leaf of the lower tier
}


def test_a_block_in_every_corner_that_a_notch_takes() -> None:
    blocks = {part.of: part for part in BUILT.with_role("block")}
    assert {rib: box(part) for rib, part in blocks.items()} == BLOCKS
    for rib, block in blocks.items():
        joints = {joint.b: joint.fastening for joint in BUILT.joints if joint.a == block.label}
        assert joints == {rib: "screw", "R1" if rib in ("R6", "R11", "R16") else "R4": "screw"}


def test_kickers_hang_under_the_panel_from_the_slot_to_the_nose() -> None:
    """15 wide along the leaf's edges, from the slots' top at 692.5 to the panel at 700.5, through all windows."""
    kickers = [box(part) for part in BUILT.with_role("kicker")]
    height = (692.5, 700.5)
    assert kickers == [
        [(-555.15, -540.15), (-462.3, 460.8), height],
        [(-205.25, -190.25), (-462.3, 460.8), height],
        [(190.25, 205.25), (-460.8, 462.3), height],
        [(540.15, 555.15), (-460.8, 462.3), height],
    ]
    glued = {joint.a for joint in BUILT.joints if joint.b == "B1" and joint.kind == "face"}
    assert {part.label for part in BUILT.with_role("kicker")} <= glued


def test_the_table_is_clear_and_costs_no_knee_clearance() -> None:
    report = check(OPEN, BUILT)
    assert report.verdict == "clear"
    assert report.findings == ()
    assert [leaf.clearance for leaf in report.leaves] == [pytest.approx(1.5)] * 4
    low = min(part.box[0][2] for part in BUILT.parts if not part.role.stands_on_floor)
    assert low == pytest.approx(626.1)
    for leaf in report.leaves[:2]:
        assert [gap.above for gap in leaf.gaps] == [pytest.approx(1.5), None, None, None]


def test_open_windows_need_no_more_wood_above_slots_than_kickers_do() -> None:
    thin = with_limits(OPEN, least_wood=3.0)
    thin = replace(thin, sides=replace(thin.sides, wood_above_slots=3.5, slot_chamfer=3.0))
    assert check(thin).verdict == "clear"
    chamfered = replace(thin, ribs=replace(thin.ribs, window_chamfer=4.0))
    assert check(chamfered).verdict == "clear"
    with pytest.raises(ParameterError, match="run out of the ribs' upper edge"):
        build(replace(chamfered, ribs=replace(chamfered.ribs, upper_windows="closed")))
    with pytest.raises(ParameterError, match="at least 3"):
        build(replace(OPEN, sides=replace(OPEN.sides, wood_above_slots=2.5, slot_chamfer=1.0)))


# -- exact in every engine
# ------------------------------------------------------------------------------------------------------------------


def test_notched_ribs_and_kickers_of_the_exported_table_overlap_nothing() -> None:
    """By manifold3d, from the meshes; and the convex pieces' union has the meshes' volume."""
    solids = {
        part.label: as_manifold(mesh_of(part.shape)).transform(_matrix(part))
        for part in BUILT.parts
        if part.role.word in ("rib", "block", "kicker", "bottom", "side", "leaf")
    }
    labels = list(solids)
    for i, a in enumerate(labels):
        for b in labels[i + 1 :]:
            assert (solids[a] ^ solids[b]).volume() < 1e-3, (a, b)
    pieces = {part["label"]: part["pieces"] for part in assembly_document(BUILT)["parts"]}
    for label in ("R6", "R13", "KICK1"):
        hulls = [manifold3d.Manifold.hull_points(np.array(piece)) for piece in pieces[label]]
        union = manifold3d.Manifold.batch_boolean(hulls, manifold3d.OpType.Add)
        assert union.volume() == pytest.approx(solids[label].volume(), rel=1e-6)


def _matrix(part: Part) -> np.ndarray:
    return np.concatenate([part.placement.axes.T, part.placement.origin[:, None]], axis=1)


def test_ways_through_notches_by_fcl() -> None:
    """The leaf's way against every notched rib and kicker: 1.5 above the sill and below the kicker, by python-fcl."""
    exported = Exported(BUILT)
    (way,) = [way for way in exported.ways if way.leaf == "L2"]
    gaps = exported.clearances(way, 5.0)
    assert {label: gaps[label] for label in ("R8", "R13", "R18", "KICK3", "KICK4")} == {
        label: pytest.approx(1.5, abs=1e-6) for label in ("R8", "R13", "R18", "KICK3", "KICK4")
    }


@pytest.mark.parametrize(
    ("cut", "opening", "edge", "by"),
    [
        (AsCut("R13", "window_sill", deviation=0.1, leaf="L2"), "R13", "sill", 0.1),
        (AsCut("R13", "window_height", deviation=0.1, leaf="L2"), "R13", "sill", -0.1),
        (AsCut("KICK4", "width", deviation=0.1, end="start"), "KICK4", "head", -0.1),
    ],
)
def test_rows_follow_what_is_cut(cut: AsCut, opening: str, edge: str, by: float) -> None:
    """Rows read off the parts, before and after one dimension is cut otherwise."""
    before, after = (
        next(row.row for row in leaf_rows(prepare(assembly)) if (row.leaf, row.view) == ("L2", "side"))
        for assembly in (BUILT, build(replace(OPEN, as_cut=(cut,))))
    )
    found = [
        [
            getattr(one, edge)
            for one in row.openings
            if one.label == opening and getattr(one, edge) is not None
        ]
        for row in (before, after)
    ]
    assert found[0]
    assert np.subtract(found[1], found[0]) == pytest.approx([by] * len(found[0]), abs=1e-9)


@pytest.mark.parametrize(
    ("name", "opening", "edge", "by"),
    [("R13, window for L2: sill height", "R13", "sill", 0.1), ("KICK4: width", "KICK4", "head", -0.1)],
)
def test_the_tolerance_model_moves_the_same_edges(name: str, opening: str, edge: str, by: float) -> None:
    prepared = prepare(BUILT)
    register = Register(BUILT)
    models = {(one.leaf, one.view): one for one in row_models(leaf_rows(prepared), register)}
    model = models["L2", "side"]
    (number,) = [number for number, one in enumerate(register.found) if one.name == name]
    moved = model.row_at(np.eye(len(register.found))[number] * 0.1)
    change = [
        getattr(new, edge) - getattr(old, edge)
        for old, new in zip(model.row.openings, moved.openings, strict=True)
        if old.label == opening and getattr(old, edge) is not None
    ]
    assert change
    assert change == pytest.approx([by] * len(change), abs=1e-12)


def test_a_rib_cut_wider_or_longer_keeps_its_notch_open() -> None:
    for cut in (
        AsCut("R13", "width", deviation=3.0, end="end"),
        AsCut("R13", "length", deviation=3.0, end="end"),
    ):
        (notch,) = build(replace(OPEN, as_cut=(cut,))).by_label["R13"].shape.openings
        long, wide, _ = build(replace(OPEN, as_cut=(cut,))).by_label["R13"].shape.size
        assert (notch.u1, notch.v1) == (pytest.approx(long), pytest.approx(wide))


# -- under load
# ------------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("ratio", "factor"), [(1.0, 0.01160), (1.4, 0.01484), (2.0, 0.01651), (10.0, 0.01695)]
)
def test_plates_with_a_load_in_the_middle(ratio: float, factor: float) -> None:
    """Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells, table 23, from memory: w = factor·P·a²/D."""
    assert sag_in_the_middle(Plate(7.0, 7.0, 7.0), 3.0, 3.0 * ratio, 2.0) == pytest.approx(
        factor * 2.0 * 9.0 / 7.0, rel=2e-3
    )


def test_a_long_strip_that_does_not_twist_is_a_beam() -> None:
    """Stiff across the other way and without twist, a plate bends like beams side by side: P·L³/(48·E·I) spread over
    a half wave: the first term of the series in y is 2/b·sin², the rest vanish for an infinite stiffness there."""
    weak = Plate(1.0, 1e-9, 0.0)
    far = sag_in_the_middle(weak, 1.0, 1e4, 1.0)
    near = sag_in_the_middle(Plate(1.0, 1e9, 0.0), 1.0, 1.0, 1.0)
    assert near < 1e-6 < far


def test_plywood_is_stiffer_along_its_grain() -> None:
    """Handbook of Finnish Plywood, from memory: 12 mm birch has 10,719 and 6,781 N/mm² along and across."""
    along = plywood(Stock("12", 12.0, 11.8), 11.8, grain_along_x=True)
    assert along.along_x == pytest.approx(10719 * 11.8**3 / 12)
    assert along.along_y == pytest.approx(6781 * 11.8**3 / 12)
    across = plywood(Stock("12", 12.0, 11.8), 11.8, grain_along_x=False)
    assert (across.along_x, across.along_y) == (along.along_y, along.along_x)


def facts(table: Table, built: Assembly | None = None) -> dict[str, Any]:
    found = facts_of_open_ribs(prepare(built or build(table)))
    return {fact.rule: fact for fact in found}


def test_what_hangs_over_the_gap_bends_more_the_more_load_it_bears() -> None:
    """By hand for R6 … R18 at 1500 N: the bar is 368.9 long, 45.7 high, 17.7 thick: I = 140,780 mm⁴, E = 10,048 N/mm²
    (18 mm birch plywood), W·L³/48EI = 1.109 mm, and W·L/4GA' with G = 620 N/mm² and A' = 674 mm² 0.331 mm more."""
    assert facts(OPEN) == {}
    loaded = facts(with_limits(OPEN, load=1500.0))
    bar = loaded["bar-sag"]
    assert bar.cause.sag == pytest.approx(1.109 + 0.331, abs=2e-3)
    assert bar.cause.allowed == pytest.approx(368.9 / 360)
    assert {place.parts[0] for place in bar.places} == {"R6", "R8", "R11", "R13", "R16", "R18"}
    panel = loaded["panel-sag"]
    # Between the through ribs at 139 and 566, and from side to side: all three rows have a gap there.
    (x, y) = panel.cause.spans
    assert x in (
        (pytest.approx(-557.15), pytest.approx(-147.85)),
        (pytest.approx(147.85), pytest.approx(557.15)),
    )
    assert y == (pytest.approx(-462.3), pytest.approx(462.3))


def test_glue_that_holds_half_the_load() -> None:
    """600 N: 300 N at a third of a newton per mm² need 900 mm², 50.8 mm of a board 17.7 thick; 40.4 are there."""
    found = facts(with_limits(OPEN, load=600.0))["little-glue"]
    assert found.cause.need == pytest.approx(900 / 17.7)
    assert found.cause.length == pytest.approx(40.4)
    assert found.amount == pytest.approx(900 / 17.7 - 40.4)
    assert len(found.places) == 6


def test_an_end_without_glue_needs_its_block() -> None:
    bare = replace(
        BUILT,
        parts=tuple(part for part in BUILT.parts if part.of != "R8"),
        joints=tuple(joint for joint in BUILT.joints if joint.a != "BLK2"),
    )
    found = facts(OPEN, bare)["little-glue"]
    assert (found.parts, found.cause.end, found.cause.length) == (("R8", "B1"), "end", pytest.approx(0.0))


@pytest.mark.parametrize("load", [600.0, 1500.0])
def test_remedies_for_what_is_weak_are_tried(load: float) -> None:
    """Each remedy with a change to the file makes its own finding go away."""
    table = with_limits(OPEN, load=load)
    report = check(table)
    rules = {finding.rule for finding in report.findings}
    assert {"little-glue", "panel-sag"} <= rules
    for finding in report.findings:
        for remedy in finding.remedies:
            assert remedy.text
    closed = check(replace(table, ribs=replace(table.ribs, upper_windows="closed")))
    assert not {finding.rule for finding in closed.findings} & {"bar-sag", "little-glue", "panel-sag"}


def test_the_check_says_it_as_a_warning_and_the_verdict_stays() -> None:
    result = check_assembly(build(with_limits(OPEN, load=600.0)))
    assert result.verdict == "clear"
    assert {(fact.rule, fact.severity) for fact in result.facts} == {
        ("little-glue", "warning"),
        ("panel-sag", "warning"),
    }


# -- legs that are wider than the room beside the outer rows
# ------------------------------------------------------------------------------------------------------------------


def test_corner_segments_end_at_wider_legs() -> None:
    """80 mm legs reach from 462.3 to 382.3 along the short sides, 17.7 before these: the rows' outer ends at 381.9 to
    399.6 run into them and end at 732.3 − 17.7 = 714.6."""
    table = replace(CLOSED, legs=Legs(stock=CLOSED.legs.stock, width=80.0))
    built = build(table)
    report = check(table, built)
    assert (report.verdict, report.findings) == ("clear", ())
    ends = {"R5": (-714.6, "start", "LEG2"), "R9": (714.6, "end", "LEG4"), "R15": (-714.6, "start", "LEG6"),
            "R19": (714.6, "end", "LEG8")}  # fmt: skip
    for label, (at, end, leg) in ends.items():
        low, high = built.by_label[label].box
        assert (low if end == "start" else high)[0] == pytest.approx(at)
        assert [j.b for j in built.joints if (j.a, j.part_end) == (label, end)] == [leg]
    assert [j.b for j in build(CLOSED).joints if (j.a, j.part_end) == ("R5", "start")] == ["S3"]


def test_through_ribs_end_at_very_wide_legs() -> None:
    """Legs of 170 reach to 562.3, into the through ribs at 557.15 to 574.85: these end at 462.3 − 17.7 = 444.6."""
    built = build(replace(CLOSED, legs=Legs(stock=CLOSED.legs.stock, width=170.0)))
    low, high = built.by_label["R4"].box
    assert (low[1], high[1]) == (pytest.approx(-444.6), pytest.approx(444.6))
    assert {j.b for j in built.joints if j.a == "R4" and j.part_end} == {"LEG3", "LEG7"}
    assert not {"overlap", "long-rib"} & {finding.rule for finding in check(CLOSED, built).findings}


# -- supports under the joints of the cover leaves
# ------------------------------------------------------------------------------------------------------------------

SUPPORTED = replace(CLOSED, well=replace(CLOSED.well, center_supports=True))


def test_supports_hang_in_the_ledgers_by_hand() -> None:
    """Joints at x = 0 and ±365.9 (a leaf of 364.9 and a gap of 1); ledgers 30 high, notched 15 deep and 18.7 wide;
    the well is 40 deep, 10 of which are for the work: supports from 722.3 to 752.3, 0.5 from the sides."""
    built = build(SUPPORTED)
    supports = built.with_role("support")
    assert [box(part) for part in supports] == [
        [(x - 8.85, x + 8.85), (-461.8, 461.8), (722.3, 752.3)] for x in (-365.9, 0.0, 365.9)
    ]
    for label in ("LEDG1", "LEDG2"):
        notches = built.by_label[label].shape.openings
        assert [(n.u0, n.u1) for n in notches] == [
            (pytest.approx(732.3 + x - 9.35), pytest.approx(732.3 + x + 9.35)) for x in (-365.9, 0.0, 365.9)
        ]
        assert {(n.v0, n.v1, n.open_above, n.kind) for n in notches} == {(15.0, 30.0, True, "notch")}
    # Hooks are 17.7 long and 15 high; below them the support ends 0.5 before the ledger.
    assert supports[0].shape.outline[0] == (pytest.approx(17.7), 0.0)
    assert {j.fastening for j in built.joints if j.a == "SUP1"} == {"dry"}
    assert (check(SUPPORTED, built).verdict, check(SUPPORTED, built).findings) == ("clear", ())
    solids = {
        part.label: as_manifold(mesh_of(part.shape)).transform(_matrix(part))
        for part in built.with_role("support", "ledger", "side", "bottom")
    }
    for support in ("SUP1", "SUP2", "SUP3"):
        for other in ("LEDG1", "LEDG2", "S1", "S2", "B1"):
            assert (solids[support] ^ solids[other]).volume() < 1e-3


def test_the_step_before_and_after() -> None:
    """By hand: 200 N on a span of 889.2 mm; E = 10,048 N/mm²; a leaf of 364.9 × 17.7 has I = 168,623 mm⁴, a support of
    17.7 × 30 I = 39,825 mm⁴; outer leaves have one support, inner ones two (USDA Wood Handbook, simple beam)."""
    whole = 200 * 889.2**3 / (48 * 10048)
    leaves = study(SUPPORTED, prepare(build(SUPPORTED))).leaves
    for leaf, supports in zip(leaves, (1, 2, 2, 1), strict=True):
        assert leaf.step is not None
        assert len(leaf.step.supports) == supports
        assert leaf.step.before == pytest.approx(whole / 168623, rel=1e-3)
        assert leaf.step.after == pytest.approx(whole / (168623 + supports * 39825), rel=1e-3)


def test_a_step_too_high_is_said_with_supports_as_remedy() -> None:
    table = with_limits(CLOSED, step=1.5)
    found = [one for one in study(table, prepare(build(table))).findings if one.rule == "leaf-step"]
    assert [one.parts for one in found] == [("L1",), ("L2",), ("L3",), ("L4",)]
    assert found[0].amount == pytest.approx(1.729 - 1.5, abs=1e-3)
    assert "1.73 mm" in found[0].message
    supported = with_limits(SUPPORTED, step=1.5)
    assert not [
        one for one in study(supported, prepare(build(supported))).findings if one.rule == "leaf-step"
    ]


@pytest.mark.parametrize(("work", "most"), [(26.0, "at most 25"), (40.0, "at most 25")])
def test_supports_that_the_work_leaves_no_room_for(work: float, most: str) -> None:
    """40 deep, hooks 15 deep: at most 25 of work."""
    with pytest.raises(ParameterError, match=most):
        build(replace(SUPPORTED, well=replace(SUPPORTED.well, work_height=work)))


def test_supports_of_leaves_that_lie_along_the_table() -> None:
    along = replace(
        SUPPORTED, stow=(), leaves=replace(SUPPORTED.leaves, direction="along", count=2),
        table=replace(SUPPORTED.table, length=1000.0, width=1000.0),
    )  # fmt: skip
    built = build(along)
    (support,) = built.with_role("support")
    assert box(support)[:2] == [(-481.8, 481.8), (-8.85, 8.85)]
    assert [j.b for j in built.joints if j.a == support.label] == ["LEDG1", "LEDG2"]
