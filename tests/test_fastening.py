"""What is proposed for a table's joints, what the maker has instead, and what comes of faults in it.

Published values S-05 … S-16 are named beside each check; all other values are written by hand from the quilting table's
sizes: its corner blocks are 60 × 33.7 × 17.7 mm and stand on ribs 17.7 thick.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from addon.designs.table import build, design
from addon.files.editing import set_values, update_text
from addon.files.examples import EXAMPLES
from addon.files.table_file import parse_table
from addon.sizes.errors import ParameterError
from addon.wood.assembly import Assembly
from planted import broken, report_of
from tests.oracles import Exported

pytestmark = pytest.mark.once

QUILTING = EXAMPLES["quilting"].table()
BENCH = EXAMPLES["seed-bench"].table()
DRAWN = build(QUILTING)


def own(number: int = 0, **values: object) -> dict[str, object]:
    return {f"fastener[{number}].{name}": value for name, value in values.items()}


def kinds(table: Assembly, *labels: str) -> list[tuple[str, tuple[str, ...]]]:
    return [(one.kind, one.joins) for one in table.fasteners if set(labels) <= set(one.joins)]


# -- proposals
# ------------------------------------------------------------------------------------------------------------------


def test_blocks_are_screwed_and_all_else_is_glued() -> None:
    """Each block of a rib has a screw into that, 30 mm long (17.7 + 17.7 - 3 = 32.4: S-07), and a pocket screw of 25 mm
    into the rib across its end (S-06), both 3.5 mm thick: a third of 33.7 from an edge is 11.2, three diameters (S-10).
    Those of legs, twice as high, have one of 4 mm into the short side, and two bolts of 35."""
    found = [(one.kind, one.sold_length, one.sizes.shank) for one in DRAWN.fasteners]
    of_ribs = [("screw", 30.0, 3.5), ("pocket screw", 25.0, 3.5)] * 6
    assert sorted(found) == sorted([*of_ribs, *[("screw", 30.0, 4.0)] * 4, *[("bolt", 35.0, 8.0)] * 8])
    held = {(j.a.rstrip("0123456789"), j.b.rstrip("0123456789"), j.fastening) for j in DRAWN.joints}
    assert {one for one in held if one[2] != "glue"} == {
        ("BLK", "R", "screw"),
        ("BLK", "S", "screw"),
        ("BLK", "S", "dry"),
        ("LEG", "S", "dry"),
        ("LEG", "B", "dry"),
        ("LEG", "BLK", "bolt"),
    }
    for block in ("BLK5", "BLK10"):
        (hole,) = DRAWN.by_label[block].shape.angled_holes
        assert (hole.diameter, hole.angle) == (9.5, 15.0)


def test_a_screw_goes_in_from_where_a_driver_has_room() -> None:
    """BLK5 stands between R6 and the front side, 43 mm away: it is screwed from R6's other face, toward the front. BLK7
    stands in the open: it is screwed through itself."""
    (first,) = [one for one in DRAWN.fasteners if one.kind == "screw" and "BLK5" in one.joins]
    assert first.joins == ("R6", "BLK5")
    assert first.direction == pytest.approx([0.0, -1.0, 0.0])
    (third,) = [one for one in DRAWN.fasteners if one.kind == "screw" and "BLK7" in one.joins]
    assert third.joins == ("BLK7", "R11")
    assert third.start == pytest.approx([-528.65, 26.55, 628.1 + 2 / 3 * 33.7], abs=0.01)


def test_pockets_are_bored_into_the_face_that_is_free() -> None:
    """BLK5's back leans on R6 (y = -401.1), so that its screw comes from the front and rises toward R1 and the back."""
    (one,) = [one for one in DRAWN.fasteners if one.kind == "pocket screw" and "BLK5" in one.joins]
    assert one.joins == ("BLK5", "R1")
    assert one.direction == pytest.approx([-np.cos(np.radians(15)), np.sin(np.radians(15)), 0.0])
    assert one.start[1] < -410.0


def test_low_blocks_have_no_room_for_a_pocket() -> None:
    """The bench's are 15 mm high, less than two bores of 9.5: a screw through the rib into their ends, #4 (S-01), for
    7.5 mm are 2.6 diameters of that, of #6 2.1, and 2.5 are asked for (S-12)."""
    found = {(one.kind, one.joins, round(one.sizes.shank / 25.4, 3)) for one in build(BENCH).fasteners}
    assert found == {
        ("screw", ("BLK1", "R5"), 0.112), ("screw", ("R1", "BLK1"), 0.112),
        ("screw", ("BLK2", "R6"), 0.112), ("screw", ("R3", "BLK2"), 0.112),
    }  # fmt: skip


def test_sound_tables_are_told_nothing_about_what_holds_them() -> None:
    for table in (QUILTING, BENCH):
        report = design.check(table)
        assert (report.verdict, report.findings) == ("clear", ())


@pytest.mark.parametrize("way", ["brads", "screws", "pocket screws"])
def test_whatever_is_chosen_misses_leaves_cuts_and_other_steel(way: str) -> None:
    sections = ("sides", "ribs", "ledgers", "strips", "stops", "legs")
    table = set_values(QUILTING, {f"fastening.{name}": way for name in sections})
    report = design.check(table)
    assert not {one.rule for one in report.findings} & {
        "leaf-blocked", "leaf-tight", "overlap", "tip-out", "tip-short", "screw-in-cut"
    }  # fmt: skip
    assert len(build(table).fasteners) > 60


def test_a_joint_has_as_many_as_it_is_long() -> None:
    """A ledger strip 1464.6 mm long, every 200 mm at most: ceil(7.3) + 1 = 9, from 25 mm at either end."""
    table = build(set_values(QUILTING, {"fastening.ledgers": "brads"}))
    places = sorted(float(one.start[0]) for one in table.fasteners if one.joins == ("LEDG1", "S1"))
    assert len(places) == 9
    assert places[0] == pytest.approx(-732.3 + 25.0)
    assert places[-1] == pytest.approx(732.3 - 25.0)
    lengths = {one.sold_length for one in table.fasteners if one.kind == "brad"}
    assert lengths == {32.0}  # S-16: no more than 17.7 + 17.7 - 3


def test_blocks_may_be_glued() -> None:
    table = build(set_values(QUILTING, {"fastening.blocks": "glue"}))
    assert {one.kind for one in table.fasteners} == {"bolt"}
    assert {joint.fastening for joint in table.joints} == {"glue", "bolt", "dry"}


# -- the maker's own
# ------------------------------------------------------------------------------------------------------------------


def test_own_fasteners_stand_where_they_are_said_to() -> None:
    values = own(kind="screw", head="LEDG1", into="S1", along=100.0, across=10.0, length=30.0, diameter=4.0)
    table = build(set_values(QUILTING, values))
    (one,) = [one for one in table.fasteners if "LEDG1" in one.joins]
    low = DRAWN.by_label["LEDG1"].box[0]
    assert one.start == pytest.approx([low[0] + 100.0, -462.3 + 17.7, low[2] + 10.0])
    assert one.direction == pytest.approx([0.0, -1.0, 0.0])
    assert (one.sizes.length, one.sizes.shank, one.sizes.head) == (30.0, 4.0, 8.0)


def test_an_entry_takes_the_place_of_what_is_proposed_for_its_joint() -> None:
    table = build(set_values(QUILTING, own(kind="none", head="BLK5", into="R1")))
    assert kinds(table, "BLK5") == [("screw", ("R6", "BLK5"))]
    assert not table.by_label["BLK5"].shape.angled_holes


def test_own_pockets_are_bored_into_the_face_that_is_said() -> None:
    for face, sign in (("front", 1.0), ("back", -1.0)):
        values = own(kind="pocket screw", head="R7", into="R2", along=30.0, face=face)
        table = build(set_values(QUILTING, values))
        (one,) = [one for one in table.fasteners if one.joins == ("R7", "R2")]
        inward = table.by_label["R7"].placement.axes[2] @ one.direction
        assert inward == pytest.approx(sign * np.sin(np.radians(15)))
        (hole,) = table.by_label["R7"].shape.angled_holes
        assert hole.face == face


@pytest.mark.parametrize(
    ("values", "key"),
    [
        ({"kind": "screw", "head": "X9", "into": "S1"}, "fastener[0].head"),
        ({"kind": "screw", "head": "L1", "into": "S9"}, "fastener[0].into"),
        ({"kind": "screw", "head": "LEDG1", "into": "S2"}, "fastener[0].into"),
        ({"kind": "pocket screw", "head": "LEDG1", "into": "S1"}, "fastener[0].kind"),
        ({"kind": "screw", "head": "LEDG1", "into": "S1", "across": 400.0}, "fastener[0].across"),
    ],
)
def test_what_cannot_be_is_refused(values: dict[str, object], key: str) -> None:
    with pytest.raises(ParameterError) as caught:
        build(set_values(QUILTING, own(**values)))
    assert caught.value.key == key


# -- faults, and what is offered about them
# ------------------------------------------------------------------------------------------------------------------


TOO_LONG = own(kind="screw", head="LEDG1", into="S1", along=300.0, length=40.4, diameter=4.0)
IN_A_WAY = own(kind="screw", head="B1", into="R1", along=300.0, length=60.0, diameter=4.0)


def findings(changes: dict[str, object], rules: set[str]):
    text = update_text(EXAMPLES["quilting"].text(), changes)
    report = report_of(text, remedies=True)
    return text, report, [one for one in report.findings if one.rule in rules]


def test_a_screw_5_mm_too_long_is_found_by_one_finding_whose_remedies_hold() -> None:
    text, report, found = findings(TOO_LONG, {"tip-out"})
    (one,) = found
    assert report.findings == (one,)
    assert (
        one.message == "The tip of SCR1 (screw through LEDG1 into S1) comes 5.0 mm out of the far face of S1."
    )
    assert one.remedy is not None
    assert one.remedy.text == "Use a screw 30 mm long for SCR1"
    assert list(broken(text, report)) == []
    mended = parse_table(update_text(text, {change.key: change.value for change in one.remedy.set}))
    assert design.check(mended).findings == ()


def test_a_tip_in_a_leafs_way_is_found_and_mended() -> None:
    """Through the bottom panel beside R1, into the way of L1, which stands 8 mm below it."""
    drawn = build(QUILTING)
    rib = drawn.by_label["R6"].box
    changes = own(
        kind="screw", head="B1", into="R6", along=200.0, length=35.0, diameter=3.0, head_diameter=6.0
    )
    text, report, found = findings(changes, {"leaf-blocked"})
    assert rib[0][0] + 200.0 == pytest.approx(-358.65)
    (one,) = found
    assert one.parts == ("SCR1", "L1")
    table = build(parse_table(text))
    exported = Exported(table)
    (way,) = [way for way in exported.ways if way.leaf == "L1"]
    assert exported.clearances(way, 5.0)["SCR1"] == pytest.approx(-one.amount, abs=1e-6)
    assert list(broken(text, report)) == []


def test_two_and_three_faults_at_once_are_as_many_findings() -> None:
    second = own(1, kind="screw", head="LEDG2", into="S2", along=8.0, length=30.0, diameter=4.0)
    third = own(2, kind="screw", head="LEDG3", into="S3", along=300.0, length=16.0, diameter=4.0)
    two = design.check(set_values(QUILTING, {**TOO_LONG, **second})).findings
    assert [(one.rule, one.parts) for one in two] == [
        ("tip-out", ("SCR1", "S1")),
        ("near-edge", ("SCR2", "LEDG2")),
    ]
    if "LEDG3" in DRAWN.by_label:
        three = design.check(set_values(QUILTING, {**TOO_LONG, **second, **third})).findings
        assert {one.rule for one in three} == {"tip-out", "near-edge", "tip-short"}


def test_a_board_that_came_out_thinner_lets_the_tip_out() -> None:
    """S1 measured 13 mm: 30 mm through 17.7 leave 17.7 + 13 - 30 = 0.7 mm."""
    values = own(kind="screw", head="LEDG1", into="S1", along=300.0, length=30.0, diameter=4.0)
    cut = {"as_cut[0].part": "S1", "as_cut[0].dimension": "thickness", "as_cut[0].value": 13.0}
    found = design.check(set_values(QUILTING, {**values, **cut})).findings
    (one,) = [finding for finding in found if finding.rule == "tip-out"]
    assert one.cause.wood == pytest.approx(0.7, abs=1e-6)


def test_screws_into_edges_are_one_note() -> None:
    """S-13: glued joints with clamping screws, told once for all."""
    table = set_values(QUILTING, {"fastening.ribs": "screws"})
    found = [one for one in design.check(table).findings if one.rule == "edge-screw"]
    (one,) = found
    assert one.severity == "note"
    assert "Take it for a glued joint with a clamping screw." in one.message
    assert "more." in one.message


def test_fasteners_are_left_where_their_boards_are_drawn() -> None:
    """What is measured moves no screw along its joint; a rib that sits off takes its own along."""
    entry = {"as_cut[0].part": "BLK3", "as_cut[0].dimension": "place_along", "as_cut[0].deviation": 3.0}
    moved = build(set_values(QUILTING, entry))
    before = {one.label: one for one in DRAWN.fasteners}
    shift = {one.label: one.start - before[one.label].start for one in moved.fasteners}
    for label, by in shift.items():
        expected = [3.0, 0.0, 0.0] if before[label].goes_with == "BLK3" else [0.0, 0.0, 0.0]
        assert by == pytest.approx(expected), label
    assert replace(moved, fasteners=()).parts
