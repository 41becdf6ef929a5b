"""Undo and redo bring parameters, text, geometry and findings back together."""

from __future__ import annotations

import bpy
import numpy as np
import pytest

from addon.scene import access, pending, tables

from .conftest import LOW_WINDOW, first, positions


def snapshot() -> dict[str, object]:
    """What undo has to bring back."""
    state = first()
    made = access.part_objects(state)
    return {
        "text": state.text,
        "height": round(state.parameters.table.height, 6),
        "deviations": [round(entry.deviation, 6) for entry in state.parameters.as_cut],
        "findings": [(finding.rule, finding.parts, finding.message) for finding in state.findings],
        "remedies": [
            [(one.name, one.changes, one.after) for one in finding.remedies] for finding in state.findings
        ],
        "places of findings": [[place.parts for place in finding.places] for finding in state.findings],
        "answer": [
            [(line.name, line.words, line.short, line.grade) for line in owner.answer]
            for owner in (state, *state.leaves)
        ],
        "verdict": state.verdict,
        "out of date": (state.out_of_date, state.proof_out_of_date),
        "slide": [
            (leaf.name, leaf.slide, [(proved.name, proved.view, proved.words) for proved in leaf.openings])
            for leaf in state.leaves
        ],
        "geometry": {label: positions(item).tobytes() for label, item in made.items()},
        "places": {label: np.array(item.matrix_basis).tobytes() for label, item in made.items()},
    }


def test_undo_and_redo_of_a_remedy(scene):
    bpy.ops.ed.undo_push(message="empty")
    tables.create_table(scene, LOW_WINDOW)
    bpy.ops.ed.undo_push(message="table")
    pending.flush()
    before = snapshot()
    assert before["verdict"] == "blocked"
    tables.find_remedies(first())
    before = snapshot()
    bpy.ops.ed.undo_push(message="remedies")
    assert bpy.ops.dry_assembly.apply_remedy("EXEC_DEFAULT", True) == {"FINISHED"}
    pending.flush()
    after = snapshot()
    assert after["verdict"] == "clear"
    assert {rule for rule, _, _ in after["findings"]} == {"leaf-steer"}
    assert after["slide"] != before["slide"]
    assert after["geometry"]["R3"] != before["geometry"]["R3"]
    bpy.ops.ed.undo()
    pending.flush()
    assert snapshot() == before
    bpy.ops.ed.redo()
    pending.flush()
    assert snapshot() == after


def test_undo_of_a_parameter_whose_check_ran_after_the_step_was_recorded(scene, state):
    # As in the window: the property changes, the step is recorded, and only then the pause ends and the check runs.
    bpy.ops.ed.undo_push(message="table")
    pending.flush()
    start = snapshot()
    first().parameters.table.height = 0.8
    bpy.ops.ed.undo_push(message="height")
    pending.flush()
    high = snapshot()
    first().parameters.stowing.clearance_above = 0.0003
    bpy.ops.ed.undo_push(message="clearance")
    pending.flush()
    tight = snapshot()
    assert tight["verdict"] == "tight"
    assert high["verdict"] == start["verdict"] == "clear"
    for step, wanted in (("undo", high), ("undo", start), ("redo", high), ("redo", tight)):
        getattr(bpy.ops.ed, step)()
        pending.flush()
        assert snapshot() == wanted, step


def test_undo_of_adding_a_table_takes_everything_away(scene):
    bpy.ops.ed.undo_push(message="empty")
    assert bpy.ops.dry_assembly.add_example("EXEC_DEFAULT", True, example="seed-bench") == {"FINISHED"}
    assert len(access.tables_in(bpy.context.scene)) == 1
    bpy.ops.ed.undo()
    assert len(access.tables_in(bpy.context.scene)) == 0
    assert not [item for item in bpy.context.scene.objects if item.type == "MESH"]
    bpy.ops.ed.redo()
    assert first().name == "Seed-sorting bench"
    assert len(access.part_objects(first())) > 20


def test_undo_of_the_animation_takes_keyframes_and_markers_away(scene):
    tables.create_table(scene, LOW_WINDOW)
    bpy.ops.ed.undo_push(message="table")
    assert bpy.ops.dry_assembly.animate("EXEC_DEFAULT", True, order="in turn") == {"FINISHED"}
    assert bpy.context.scene.timeline_markers
    assert access.part_objects(first())["L1"].animation_data is not None
    bpy.ops.ed.undo()
    pending.flush()
    assert first().animation == "none"
    assert not bpy.context.scene.timeline_markers
    assert access.part_objects(first())["L1"].animation_data is None


def test_a_refused_change_is_no_change(scene, state):
    before = snapshot()
    with pytest.raises(RuntimeError, match="cannot be read"):
        bpy.ops.dry_assembly.open_table("EXEC_DEFAULT", filepath="/no/such/table.toml")
    assert snapshot() == before
