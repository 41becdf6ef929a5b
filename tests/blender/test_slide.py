"""The slide proof in Blender: the panel's table is the proof, and its notes stand among the findings."""

from __future__ import annotations

import math
import re

import bpy
import numpy as np
import pytest

from addon.check.prepared import prepare
from addon.check.slide.proof import prove_leaves, worst_opening
from addon.check.tolerance.shop import FEW
from addon.designs.table import build
from addon.designs.words.answer import told_of
from addon.designs.words.slide import opening_text
from addon.files.editing import update_text
from addon.files.examples import EXAMPLES
from addon.scene import access, answer, built, pending, sliding_in, tables
from addon.ui import lists

from .conftest import LOW_WINDOW, QUILTING, SEED_BENCH, first, in_scene
from .test_panels import Layout, drawn, reported

ULP = float(np.spacing(np.float32(1.0)))
"""m; the step of a float32 at a meter, the size of a table: 1.2e-4 mm."""


def proofs(state):
    """The proof of a table as the panel shows it, from the model alone."""
    return prove_leaves(prepare(build(access.table_in(state))))


def of(state, leaf):
    """The proof of one leaf."""
    return next(proof for proof in proofs(state) if proof.leaf == leaf)


# -- the table of the proof


@pytest.mark.parametrize(
    "text", [QUILTING, SEED_BENCH, LOW_WINDOW], ids=["quilting", "seed bench", "low window"]
)
def test_the_rows_are_those_of_the_proof(scene, text):
    state = tables.create_table(scene, text)
    assert state.proof_out_of_date
    pending.flush()
    assert not state.proof_out_of_date
    units = access.table_in(state).units
    assert [(proof.leaf, proof.verdict) for proof in proofs(state)] == [
        (leaf.name, leaf.slide) for leaf in state.leaves
    ]
    for proof, leaf in zip(proofs(state), state.leaves, strict=True):
        wanted = [
            (view.of.view, number, view.of.row.openings[number], proved)
            for view in proof.views
            for number, proved in enumerate(view.proof.openings)
            if proved.verdict is not None
        ]
        assert [(item.view, item.opening) for item in leaf.openings] == [row[:2] for row in wanted]
        for item, (view, _, opening, proved) in zip(leaf.openings, wanted, strict=True):
            assert (item.name, item.verdict) == (opening.label, proved.verdict)
            assert item.travel == np.float32(opening.face / 1000)
            assert item.margin == np.float32((proved.margin or 0.0) / 1000)
            assert item.has_snag == (proved.snag is not None)
            words = opening_text(proved, view, units)
            assert item.words == f"{words[0].upper()}{words[1:]}."


def leaf_steer(proof) -> str:
    """How far off line its outer end may be held, in whole hundredths of a millimeter, rounded to the safe side."""
    return f"{math.floor(proof.steer * 100) / 100:g}"


def ends(text: str) -> list[float]:
    """The amounts of a band, mm: low and right negative."""
    found = re.findall(r"([\d.]+) mm (low|high|right|left)", text)
    return [-float(value) if way in ("low", "right") else float(value) for value, way in found]


def test_the_margin_is_what_lies_between_the_nose_and_the_catch(state):
    pending.flush()
    seen = set()
    for leaf in state.leaves:
        for item in leaf.openings:
            nose, catch = ends(item.nose), ends(item.catch)
            assert len(nose) == 2
            if item.catch.startswith("from"):
                margins = [nose[0] - catch[0]]
            elif item.catch.startswith("up to"):
                margins = [catch[0] - nose[1]]
            else:
                margins = [nose[0] - catch[0], catch[1] - nose[1]]
            assert min(margins) == pytest.approx(item.margin * 1000, abs=0.011), (leaf.name, item.name)
            amount = float(item.margin_text.split()[0])
            assert amount == pytest.approx(abs(item.margin) * 1000, abs=0.0051)
            assert item.margin_text.endswith("short" if item.margin < 0 else "to spare")
            seen.add((item.verdict, item.view, len(catch)))
    assert {
        ("needs-steering", "side", 2),
        ("needs-steering", "plan", 1),
        ("guides-itself", "side", 1),
    } <= seen


def test_the_opening_missed_by_the_most_is_selected_at_first(state):
    pending.flush()
    for leaf in state.leaves:
        view, number = worst_opening(of(state, leaf.name))
        chosen = leaf.openings[leaf.opening_index]
        assert (chosen.view, chosen.opening) == (view.of.view, number)


def test_a_drag_makes_no_proof_nor_does_the_verdict_as_drawn(state, monkeypatch):
    """By hand comes right after the line as drawn; all else that is known of leaves on their way waits longer."""
    pending.flush()
    made = []
    monkeypatch.setattr(built, "proofs_of", lambda table: made.append(table) or prove(table))

    def prove(table):
        return tuple(prove_leaves(prepare(build(table))))

    for step in range(3):
        state.parameters.stowing.clearance_above = 0.0017 + step * 1e-4
        assert not made
    tables.check_now(state)
    assert not made
    assert [line.short for line in state.answer] == ["clear, 1.5 mm", "being worked out", "being worked out"]
    assert [leaf.answer[2].grade for leaf in state.leaves] == ["open"] * len(state.leaves)
    drawn = [line.words for line in (state.answer[0], *(leaf.answer[0] for leaf in state.leaves))]
    assert not answer.hand_next()
    assert [line.words for line in (state.answer[0], *(leaf.answer[0] for leaf in state.leaves))] == drawn
    assert state.answer[2].words == told_of(built.report_of(access.table_in(state))).table[2].words
    assert state.proof_out_of_date
    assert set(made) == {access.table_in(state)}
    pending.flush()
    assert set(made) == {access.table_in(state)}
    assert not state.proof_out_of_date
    assert state.leaves[0].slide == of(state, "L1").verdict


def test_a_change_during_the_pause_puts_the_proof_off(state, monkeypatch):
    waits = []
    monkeypatch.setattr(pending, "schedule", lambda work, delay=pending.DELAY: waits.append((work, delay)))
    state.parameters.table.height = 0.8
    assert [delay for _, delay in waits] == [pending.DELAY]
    waits[0][0]()
    assert not state.out_of_date
    assert state.proof_out_of_date
    answer.answer_now(state, FEW)
    waits[1][0]()  # the first share is there: the text is written next
    waits[2][0]()  # what follows waits for a pause
    breath = sliding_in.BREATH
    assert [delay for _, delay in waits] == [pending.DELAY, breath, breath, sliding_in.PAUSE]
    state.parameters.table.height = 0.81
    assert [delay for _, delay in waits][-1] == pending.DELAY
    waits[3][0]()  # had it run all the same: nothing to prove before the check
    assert state.proof_out_of_date


# -- notes among the findings


def test_notes_stand_after_the_findings_of_the_check_and_stay_there(scene):
    state = tables.create_table(scene, LOW_WINDOW)
    before = [finding.message for finding in state.findings]
    pending.flush()
    notes = [finding for finding in state.findings if finding.of_slide or finding.of_answer]
    assert [finding.message for finding in state.findings][: len(before)] == before
    assert {finding.severity for finding in notes} == {"note"}
    assert len(notes) == len(state.findings) - len(before)
    (steering,) = (finding for finding in notes if finding.rule == "leaf-steer")
    assert {place.leaf for place in steering.places} == {leaf.name for leaf in state.leaves}
    wanted = [finding.message for finding in state.findings]
    tables.check_now(state)
    assert [finding.message for finding in state.findings] == wanted


def test_old_notes_are_grayed_until_the_proof_is_made_again(state):
    pending.flush()
    state.parameters.table.height = 0.8
    tables.settle(state)
    layout = Layout()
    lists.DRY_ASSEMBLY_UL_findings.draw_item(None, None, layout, state, state.findings[0], 0, None, "")
    assert layout.active is False
    pending.flush()
    lists.DRY_ASSEMBLY_UL_findings.draw_item(None, None, layout, state, state.findings[0], 0, None, "")
    assert layout.active is True


def test_remedies_come_on_demand_and_do_what_they_say(scene):
    """Leaves with square noses have to be steered into windows that they find by themselves when chamfered."""
    tables.create_table(scene, update_text(EXAMPLES["quilting"].text(), {"leaves.lead_chamfer": 0.0}))
    pending.flush()
    assert not any(finding.remedies for finding in first().findings if finding.rule == "leaf-steer")
    assert bpy.ops.dry_assembly.find_remedies() == {"FINISHED"}
    assert not bpy.ops.dry_assembly.find_remedies.poll()
    note = first().findings[0]
    assert (note.rule, note.severity) == ("leaf-steer", "note")
    leaf = note.leaf
    assert note.remedies[0].changes
    tables.settle(first())
    tables.check_all(first())
    assert first().findings[0].remedies, "checking again forgets no remedy"
    first().finding_index = 0
    assert bpy.ops.dry_assembly.apply_remedy() == {"FINISHED"}
    pending.flush()
    assert of(first(), leaf).verdict == "guides-itself"
    assert "leaf-steer" not in {finding.rule for finding in first().findings}


def test_show_finding_brings_the_leaf_to_the_opening(state):
    pending.flush()
    state.finding_index = 0
    assert bpy.ops.dry_assembly.show_finding() == {"FINISHED"}
    note, leaf = state.findings[0], state.leaves[0]
    view, number = worst_opening(of(state, "L1"))
    assert (leaf.state, note.leaf) == ("sliding", "L1")
    assert leaf.travel == pytest.approx(view.of.row.openings[number].face / 1000, abs=ULP)
    # The nose of the leaf itself, from its vertices: as far inward as the outer face of the slot plus the travel.
    inward = view.of.frame[0]
    nose = (in_scene(access.part_objects(state)["L1"]) @ inward).max()
    face = view.of.origin @ inward / 1000
    assert nose == pytest.approx(face + leaf.travel, abs=2 * ULP)


# -- the panel


def test_the_panel_shows_the_opening_selected_in_full(scene):
    state = tables.create_table(scene, QUILTING)
    pending.flush()
    leaf = state.leaves[0]
    leaf.opening_index = 1
    words = " ".join(reported(scene, "sliding in").words)
    proved = leaf.openings[1]
    assert proved.words in words
    assert (
        f"Off its place as drawn the nose can be {proved.nose}; the opening catches {proved.catch}." in words
    )
    assert "dry_assembly.show_snag" in drawn(scene).buttons
    assert "dry_assembly.hide_snag" not in drawn(scene).buttons
    assert bpy.ops.dry_assembly.show_snag() == {"FINISHED"}
    assert "dry_assembly.hide_snag" in drawn(scene).buttons
    assert "dry_assembly.show_snag" not in drawn(scene).buttons


def test_rows_say_leaf_verdict_and_margin(state):
    pending.flush()
    layout = Layout()
    lists.DRY_ASSEMBLY_UL_sliding_in.draw_item(None, None, layout, state, state.leaves[0], 0, None, "")
    steer = leaf_steer(of(state, "L1"))
    assert layout.notes.words == [f"L1 steer to ±{steer} mm"]
    layout = Layout()
    proved = state.leaves[0].openings[0]
    lists.DRY_ASSEMBLY_UL_openings.draw_item(None, None, layout, state.leaves[0], proved, 0, None, "")
    assert layout.notes.words == ["R6 side", proved.margin_text]
