"""A box with one sliding lid goes through check, slide proof and tolerance analysis, none of which knows of it.

Expected values are sums and differences of the box's sizes, python-fcl's distances (`oracles`), and a simulation of a
few lines.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from addon.check.apart.assembly_order import assembly_order
from addon.check.prepared import prepare
from addon.check.progress import run_through
from addon.check.slide import study as on_the_way
from addon.check.tolerance.analysis import analyze
from addon.designs import checking
from addon.designs.findings import Finding, Report
from addon.designs.trying import remedied
from addon.reports.check import report_document, report_text
from addon.reports.slide import study_document, study_text
from addon.wood.dimensions import AsCut
from addon.wood.limits import Tolerances
from tests.oracles import Exported
from tests.second_design import BOX, Box, build


def cut(*entries: AsCut) -> Box:
    return Box(as_cut=entries)


def narrow(side: str) -> AsCut:
    """The lid's groove 0.3 mm narrower than the lid, instead of 0.4 mm wider."""
    return AsCut(side, "groove_width", deviation=-0.7, leaf="LID1")


def check(box: Box) -> Report:
    return checking.check(BOX, box)


def distances(box: Box) -> dict[str, float]:
    """Label → signed distance of the lid's whole way from each part that comes near, by python-fcl, mm."""
    exported = Exported(build(box))
    (way,) = exported.ways
    return exported.clearances(way, within=5.0)


def only(report: Report) -> Finding:
    (finding,) = report.findings
    return finding


def test_a_sound_box_is_clear() -> None:
    report = check(Box())
    assert report.verdict == "clear"
    assert report.findings == ()
    (lid,) = report.leaves
    assert (lid.leaf, lid.slot, lid.stops_at) == ("LID1", "END1", "END2")
    assert lid.clearance == pytest.approx(0.0, abs=1e-9)  # it lies on its grooves
    assert lid.end_gap == pytest.approx(1.0)
    assert lid.vertical_play == pytest.approx(0.4)
    assert lid.proud == pytest.approx(0.0, abs=1e-9)
    right, left = lid.gaps
    assert (right.part, left.part) == ("S1", "S2")
    assert (right.above, right.below, right.left, right.right) == (
        pytest.approx(0.4), pytest.approx(0.0, abs=1e-9), None, pytest.approx(0.5),
    )  # fmt: skip
    assert (left.left, left.right) == (pytest.approx(0.5), None)
    assert "Findings: none" in report_text(report)


def test_the_clearances_of_a_sound_box_are_those_of_fcl() -> None:
    found = distances(Box())
    assert found["S1"] == found["S2"] == pytest.approx(0.0, abs=1e-6)
    assert found["END1"] == pytest.approx(0.3)
    raised = replace(Box(), front_gap=0.1)
    tight = only(check(raised))
    assert (tight.rule, tight.parts) == ("leaf-tight", ("END1", "LID1"))
    assert tight.amount == pytest.approx(distances(raised)["END1"]) == pytest.approx(0.1)


def test_a_groove_that_is_too_narrow_blocks_the_lid_by_the_amount_that_fcl_finds() -> None:
    box = cut(narrow("S1"))
    report = check(box)
    assert report.verdict == report.leaves[0].verdict == "blocked"
    finding = only(report)
    assert (finding.rule, finding.severity, finding.parts) == ("leaf-blocked", "error", ("S1", "LID1"))
    assert finding.amount == pytest.approx(0.3) == pytest.approx(-distances(box)["S1"])
    assert finding.travel == pytest.approx(0.0, abs=1e-3)
    assert finding.message == "The lid jams at S1, upper edge of the groove of LID1: 0.3 mm."
    # The wood above the groove is beside the lid, all along; what ends its travel is still the back.
    assert (report.leaves[0].end_gap, report.leaves[0].stops_at) == (pytest.approx(1.0), "END2")
    both = check(cut(narrow("S1"), narrow("S2")))
    assert [one.parts[0] for one in both.findings] == ["S1", "S2"]


def test_the_remedy_of_the_box_mends_it() -> None:
    """0.15 are enough as drawn; a rule with divisions of 0.5 shows 0.5, which also holds what the tolerances take off:
    0.2 of the groove's width and half the sheet's thickness."""
    box = replace(Box(), play_above=-0.3)
    prepared = prepare(BOX.build(box))
    report = check(box)
    assert report.findings[0].amount == pytest.approx(0.3)
    assert report.findings[0].remedy is None
    (remedy, *_) = remedied(BOX, box, prepared, report).findings[0].remedies
    (change,) = remedy.set
    assert change.key == "play_above"
    assert isinstance(change.value, float)
    assert change.value >= 0.5
    assert change.value % 0.5 == 0.0
    assert check(replace(box, play_above=change.value)).findings == ()


def test_a_lid_that_is_too_long_stops_early() -> None:
    """3 mm too long, with 1 mm at its end."""
    finding = only(check(cut(AsCut("LID1", "length", deviation=3.0))))
    assert (finding.rule, finding.parts, finding.severity) == ("end-stop-near", ("END2", "LID1"), "warning")
    assert finding.amount == pytest.approx(2.0)
    assert "too long" in finding.message


def test_a_lid_that_is_too_wide_is_blocked_by_both_grooves() -> None:
    """1.6 mm wider on one side, where it has 0.5 mm."""
    report = check(cut(AsCut("LID1", "width", deviation=1.6)))
    assert report.verdict == "blocked"
    assert [(one.parts[0], round(one.amount, 6)) for one in report.findings] == [("S2", 1.1)]


def test_a_long_end_is_told_from_the_boxes_own_joints() -> None:
    finding = next(
        one for one in check(cut(AsCut("END2", "length", deviation=2.0, end="end"))).findings
        if one.rule == "long-part"
    )  # fmt: skip
    assert finding.parts == ("END2", "S2")
    assert finding.amount == pytest.approx(2.0)


def test_results_go_into_the_same_documents() -> None:
    box = cut(narrow("S2"))
    document = report_document(check(box))
    assert document["table"] == "Pencil box"
    assert document["leaves"][0]["gaps_mm"]["S2"] == {
        "above": -0.3, "below": 0.0, "left": 0.5, "right": None, "entry_chamfer": 0.0, "exit_chamfer": 0.0,
    }  # fmt: skip
    study = checking.study(BOX, box, prepare(build(box)))
    assert study_document(study)["findings"][0]["amount_mm"] == pytest.approx(0.3)
    assert "The lid jams at S2" in study.in_the_way[0].message
    assert "LID1: does not pass, S2 in its way." in study_text(study)
    assert "LID1 does not pass." in study_text(study, details=True)


# -- slide proof
# ------------------------------------------------------------------------------------------------------------


def test_the_slide_proof_reads_the_row_off_the_grooves() -> None:
    """Sill at 80 - 8 - 0.4 - 6 mm, head at 80 - 8, all along; half of the play above, and of that beside."""
    study = checking.study(BOX, Box(), prepare(build(Box())))
    (lid,) = study.leaves
    assert lid.proof.verdict == "guides-itself"
    side, plan = lid.proof.views
    assert [(one.label, one.face, one.board, one.sill, one.head) for one in side.of.row.openings] == [
        (label, pytest.approx(0.0), pytest.approx(300.0), pytest.approx(65.6), pytest.approx(72.0))
        for label in ("S1", "S2")
    ]
    assert [(one.label, one.sill, one.head) for one in plan.of.row.openings] == [
        ("S1", pytest.approx(-68.0), None),
        ("S2", None, pytest.approx(68.0)),
    ]
    assert side.proof.fit_margin == pytest.approx(0.2)
    assert plan.proof.fit_margin == pytest.approx(0.5)
    assert [one for one in study.findings if one.rule in ("leaf-steer", "leaf-held")] == []
    assert study.cover is None
    assert study.matrix.interchangeable


def test_a_lid_wedges_up_to_friction_times_its_width() -> None:
    """D. E. Whitney: a part may wedge while it is guided over less than friction times its width."""
    (lid,) = checking.study(BOX, Box(), prepare(build(Box()))).leaves
    assert lid.side.wedging_length == pytest.approx(0.4 * 6.0)
    assert lid.plan.wedging_length == pytest.approx(0.4 * 135.0)


def test_a_lid_that_does_not_go_in_is_held_by_its_groove() -> None:
    box = cut(narrow("S1"))
    study = checking.study(BOX, box, prepare(build(box)))
    assert study.leaves[0].proof.verdict == "does-not-pass"
    assert [one.rule for one in study.in_the_way] == ["leaf-blocked"]  # which tells as much
    assert "leaf-held" not in [one.rule for one in study.findings]
    found = run_through(on_the_way.study_steps(prepare(build(box)))).facts
    held = next(one for one in found if one.rule == "leaf-held")
    assert held.amount == pytest.approx(0.3)
    assert held.parts == ("S1", "LID1")


# -- tolerances
# ------------------------------------------------------------------------------------------------------------

GIVEN = Tolerances(opening_size=0.2, groove_place=0.1, sawn_size=0.3)


def test_the_worst_case_of_the_lid_is_the_sum_of_its_dimensions() -> None:
    """Sheets of 6 and 12 mm vary by 0.6 mm within and by 1.0 mm between them, half of it either way.

    From the side the lid lies on one groove and meets the upper edge of the other: two places of grooves on each side,
    one width, one thickness. From above: two depths, two thicknesses of one sheet, one width.
    """
    report = analyze(build(replace(Box(), tolerances=GIVEN)), count=200, guided=0, wanted=None)
    (lid,) = report.leaves
    side, plan = lid.side.governing, lid.plan.governing
    assert side is not None
    assert plan is not None
    assert side.nominal == pytest.approx(0.2)
    assert side.worst == pytest.approx(0.2 - (4 * 0.1 + 0.2 + 0.3 + 0.5) / 2)
    assert plan.nominal == pytest.approx(0.5)
    assert plan.worst == pytest.approx(0.5 - (2 * 0.2 + 2 * (0.3 + 0.5) + 0.3) / 2)
    assert lid.side.level_worst == pytest.approx(side.worst)
    (under,) = (one.part for one in lid.side.held_by if one.above)
    assert {one.name for one in side.effects} == {
        "6 mm birch plywood: mean thickness",
        "LID1: thickness",
        *(f"{label}: height of the groove" for label in ("S1", "S2")),
        *(f"{label}, groove for LID1: height of the groove" for label in ("S1", "S2")),
        f"{under}, groove for LID1: width of the groove",
    }
    assert lid.thickest == pytest.approx(6.4)
    assert report.cover is None


def test_the_bottom_of_a_groove_moves_with_the_thickness_unless_its_own_face_keeps_its_place() -> None:
    """A side keeps its outer face, and thickness brings grooves nearer; one that keeps its inner face does not."""
    outer = build(replace(Box(), tolerances=GIVEN))
    sides = [
        replace(part, datum="front" if part.label == "S1" else "back") for part in outer.with_role("side")
    ]
    inner = replace(outer, parts=(*sides, *(part for part in outer.parts if part.role.word != "side")))
    for assembly, thicknesses in ((outer, 2 * (0.3 + 0.5)), (inner, 0.0)):
        plan = analyze(assembly, count=10, guided=0, wanted=None).leaves[0].plan.governing
        assert plan is not None
        assert plan.worst == pytest.approx(0.5 - (2 * 0.2 + thicknesses + 0.3) / 2)


def test_random_boxes_fail_as_often_as_by_a_simulation_of_the_grooves_alone() -> None:
    report = analyze(build(replace(Box(), tolerances=GIVEN)), count=4000, seed=2, guided=0, wanted=None)
    random = np.random.default_rng(7)

    def off(tolerance: float, *shape: int) -> np.ndarray:
        return random.uniform(-tolerance, tolerance, (*shape, 400_000))

    sill = off(0.1, 2) - off(0.1, 2)
    head = sill + 0.4 + off(0.2, 2)
    thick = off(0.3) + off(0.5)
    upright = (head.min(axis=0) - sill.max(axis=0) >= thick).mean()
    sheet, own = off(0.5), off(0.3, 2)
    between = 1.0 + (off(0.2, 2) - own - sheet).sum(axis=0)
    beside = (between >= off(0.3)).mean()
    for row, share in ((report.leaves[0].side, upright), (report.leaves[0].plan, beside)):
        assert row.passes.low - 0.01 < share < row.passes.high + 0.01


def test_a_groove_that_was_measured_is_off_no_more() -> None:
    entry = AsCut("S1", "groove_offset", deviation=0.0, leaf="LID1")
    names = {one.name for one in analyze(build(cut(entry)), count=10, guided=0, wanted=None).deviations}
    assert "S1, groove for LID1: height of the groove" not in names
    assert "S2, groove for LID1: height of the groove" in names
    assert "S1: height of the groove" in names


# -- and what else looks at all parts
# ------------------------------------------------------------------------------------------------------------


def test_the_lid_goes_in_last() -> None:
    assert assembly_order(build(Box())).steps[-1].moved == ("LID1",)
