"""The slide proof in Blender: the panel's table is the proof, the ghost stands in its pose and goes without a trace."""

from __future__ import annotations

import re
from math import cos, sin

import bpy
import numpy as np
import pytest

import addon
from addon.fit.prepared import prepare
from addon.fit.slide.advice import miss, worst_mouth
from addon.fit.slide.proof import prove_leaves
from addon.fit.slide.words import mouth_text
from addon.model.recipe import build
from addon.scene import access, built, ids, pending, slides, snag, tables
from addon.ui import lists

from .conftest import LOW_WINDOW, QUILTING, SEED_BENCH, first, in_scene, positions
from .test_panels import Layout, drawn

ULP = float(np.spacing(np.float32(1.0)))
"""m; the step of a float32 at a metre, the size of a table: 1.2e-4 mm."""


def proofs(state):
    """The proof of a table as the panel shows it, from the model alone."""
    return prove_leaves(prepare(build(access.table_in(state))))


def of(state, leaf):
    """The proof of one leaf."""
    return next(proof for proof in proofs(state) if proof.leaf == leaf)


def census() -> dict[str, object]:
    """What is in the file, by name, and how often the leaves' meshes are used."""
    kinds = ("objects", "collections", "curves", "meshes", "cameras", "lights", "scenes")
    found: dict[str, object] = {kind: sorted(item.name for item in getattr(bpy.data, kind)) for kind in kinds}
    found["snag materials"] = [item.name for item in bpy.data.materials if item.name.startswith("Snag")]
    found["users"] = {mesh.name: mesh.users for mesh in bpy.data.meshes}
    return found


def ghost() -> bpy.types.Object:
    """The ghost that is shown."""
    (found,) = [
        item
        for item in bpy.context.scene.objects
        if item.get(ids.SNAG) and item.type == "MESH" and item.name.endswith("Snag")
    ]
    return found


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
            (view.of.view, number, view.of.row.openings[number], mouth)
            for view in proof.views
            for number, mouth in enumerate(view.proof.mouths)
            if mouth.verdict is not None
        ]
        assert [(item.view, item.opening) for item in leaf.mouths] == [row[:2] for row in wanted]
        for item, (view, _, opening, mouth) in zip(leaf.mouths, wanted, strict=True):
            assert (item.name, item.verdict) == (opening.label, mouth.verdict)
            assert item.travel == np.float32(opening.face / 1000)
            assert item.margin == np.float32((mouth.margin or 0.0) / 1000)
            assert item.has_snag == (mouth.snag is not None)
            words = mouth_text(mouth, view, units)
            assert item.words == f"{words[0].upper()}{words[1:]}."


def ends(text: str) -> list[float]:
    """The amounts of a band, mm: low and right negative."""
    found = re.findall(r"([\d.]+) mm (low|high|right|left)", text)
    return [-float(value) if way in ("low", "right") else float(value) for value, way in found]


def test_the_margin_is_what_lies_between_the_nose_and_the_catch(state):
    pending.flush()
    seen = set()
    for leaf in state.leaves:
        for item in leaf.mouths:
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


def test_the_mouth_missed_by_the_most_is_selected_at_first(state):
    pending.flush()
    for leaf in state.leaves:
        view, number = worst_mouth(of(state, leaf.name))
        chosen = leaf.mouths[leaf.mouth_index]
        assert (chosen.view, chosen.opening) == (view.of.view, number)


def test_a_drag_makes_no_proof_and_the_pause_after_it_does(state, monkeypatch):
    pending.flush()
    made = []
    monkeypatch.setattr(built, "proofs_of", lambda table: made.append(table) or prove(table))

    def prove(table):
        return tuple(prove_leaves(prepare(build(table))))

    for step in range(3):
        state.parameters.stowing.clearance_above = 0.0017 + step * 1e-4
        tables.check_now(state)
        assert state.proof_out_of_date
        assert not made
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
    assert [delay for _, delay in waits] == [pending.DELAY, slides.PAUSE]
    state.parameters.table.height = 0.81
    assert [delay for _, delay in waits] == [pending.DELAY, slides.PAUSE, pending.DELAY]
    waits[1][0]()  # had it run all the same: nothing to prove before the check
    assert state.proof_out_of_date


# -- notes among the findings


def test_notes_stand_after_the_findings_of_the_check_and_stay_there(scene):
    state = tables.create_table(scene, LOW_WINDOW)
    before = [finding.message for finding in state.findings]
    pending.flush()
    notes = [finding for finding in state.findings if finding.of_slide]
    assert [finding.message for finding in state.findings][: len(before)] == before
    assert {finding.severity for finding in notes} == {"note"}
    assert len(notes) == len(state.findings) - len(before)
    assert {finding.leaf for finding in notes} >= {leaf.name for leaf in state.leaves}
    wanted = [finding.message for finding in state.findings]
    tables.check_now(state)
    assert [finding.message for finding in state.findings] == wanted


def test_old_notes_are_greyed_until_the_proof_is_made_again(state):
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
    tables.create_table(scene, SEED_BENCH)
    pending.flush()
    assert not any(finding.remedy for finding in first().findings if finding.rule == "leaf-steer")
    assert "cover-tight" in {finding.rule for finding in first().findings}
    assert bpy.ops.dry_assembly.find_remedies() == {"FINISHED"}
    assert not bpy.ops.dry_assembly.find_remedies.poll()
    note = first().findings[0]
    assert (note.rule, note.severity, note.leaf) == ("leaf-steer", "note", "L1")
    assert note.remedy_changes
    tables.settle(first())
    slides.prove_now(first())
    assert first().findings[0].remedy, "checking again forgets no remedy"
    first().finding_index = 0
    assert bpy.ops.dry_assembly.apply_remedy() == {"FINISHED"}
    pending.flush()
    assert first().leaves[0].slide == of(first(), "L1").verdict == "guides-itself"
    assert not [finding for finding in first().findings if finding.leaf == "L1"]


def test_show_finding_brings_the_leaf_to_the_mouth(state):
    pending.flush()
    state.finding_index = 0
    assert bpy.ops.dry_assembly.show_finding() == {"FINISHED"}
    note, leaf = state.findings[0], state.leaves[0]
    view, number = worst_mouth(of(state, "L1"))
    assert (leaf.state, note.leaf) == ("sliding", "L1")
    assert leaf.travel == pytest.approx(view.of.row.openings[number].face / 1000, abs=ULP)
    # The nose of the leaf itself, from its vertices: as far inward as the outer face of the slot plus the travel.
    inward = view.of.frame[0]
    nose = (in_scene(access.part_objects(state)["L1"]) @ inward).max()
    face = view.of.origin @ inward / 1000
    assert nose == pytest.approx(face + leaf.travel, abs=2 * ULP)


# -- the ghost


def stands_in(item, view, pose, root) -> float:
    """Greatest distance, m, of an object's lower edge, leading end and middle from where a pose has them.

    From the vertices: a leaf is the part of the plane above its lower edge and behind its leading end, so the least and
    the greatest reach of its vertices along and across it are those of the lower leading corner.
    """
    bpy.context.view_layer.update()
    points = in_scene(item)
    world = np.array(root.matrix_world)
    points = (points - world[:3, 3]) @ world[:3, :3]  # in the table's frame
    frame, tilt = view.of.frame, pose.tilt
    along = cos(tilt) * frame[0] + sin(tilt) * frame[1]
    across = -sin(tilt) * frame[0] + cos(tilt) * frame[1]
    corner = np.array(view.of.place(pose.travel, pose.height)) / 1000
    away = points - corner
    third = away @ frame[2]
    return max(abs((away @ along).max()), abs((away @ across).min()), abs(third.max() + third.min()) / 2)


@pytest.mark.parametrize("text", [QUILTING, SEED_BENCH], ids=["quilting", "seed bench"])
@pytest.mark.parametrize("moved", [False, True], ids=["as made", "moved"])
def test_the_ghost_of_every_snag_stands_in_its_pose(scene, text, moved):
    state = tables.create_table(scene, text)
    if moved:
        state.root.location = (0.5, -0.3, 0.2)
        state.root.rotation_euler = (0.0, 0.0, 0.7)
        bpy.context.view_layer.update()
    shown = set()
    for proof in proofs(state):
        for view in proof.views:
            for number, mouth in enumerate(view.proof.mouths):
                if mouth.snag is None:
                    continue
                assert snag.show(state, proof.leaf, view.of.view, number) is not None
                worst = stands_in(ghost(), view, mouth.snag, state.root)
                assert worst < (4 if moved else 1.5) * ULP, (proof.leaf, number)
                shown.add((view.of.view, mouth.snag.tilt > 0))
    assert {view for view, _ in shown} == {"side", "plan"}
    assert len(shown) > 2


def test_the_ghost_is_no_part_and_the_leaf_stays(state):
    pending.flush()
    leaf = access.part_objects(state)["L1"]
    bpy.context.view_layer.update()
    before = np.array(leaf.matrix_world)
    assert bpy.ops.dry_assembly.show_snag() == {"FINISHED"}
    item = ghost()
    assert item.data == leaf.data
    assert item != leaf
    assert access.part_objects(state)["L1"] == leaf
    assert (np.array(leaf.matrix_world) == before).all()
    assert [group.name for group in item.users_collection] == ["Snag"]
    assert bpy.context.view_layer.objects.active == item
    assert [one.name for one in bpy.context.selected_objects] == [item.name]
    (slot,) = item.material_slots
    assert slot.link == "OBJECT"
    assert slot.material.diffuse_color[3] < 1
    assert leaf.material_slots[0].material != slot.material


def test_the_note_says_what_snags_and_by_how_much(state):
    pending.flush()
    view, number = worst_mouth(of(state, "L3"))
    assert snag.show(state, "L3") is not None
    (note,) = [item for item in bpy.context.scene.objects if item.type == "FONT"]
    label = view.of.row.openings[number].label
    assert note.data.body.startswith(f"L3 snags at {label}\n")
    (amount,) = re.findall(r"by ([\d.]+) mm", note.data.body)
    assert float(amount) == pytest.approx(miss(view, number), abs=0.0051)
    assert state.snag == note.data.body.replace("\n", ", ")
    # The ring is where the leaf's corner misses what the mouth catches.
    (ring,) = [item for item in bpy.context.scene.objects if item.name.startswith("Ring")]
    bpy.context.view_layer.update()
    height = np.array(ring.matrix_world.translation) @ view.of.frame[1] * 1000
    assert view.proof.mouths[number].catch_low - height == pytest.approx(miss(view, number), abs=1e-3)


def test_a_mouth_selected_is_shown_and_one_that_cannot_be_missed_gives_way_to_the_worst(state):
    pending.flush()
    leaf = state.leaves[0]
    for index, item in enumerate(leaf.mouths):
        leaf.mouth_index = index
        assert bpy.ops.dry_assembly.show_snag() == {"FINISHED"}
        view, number = worst_mouth(of(state, "L1"))
        label = item.name if item.has_snag else view.of.row.openings[number].label
        assert f"L1 snags at {label}," in state.snag


def test_a_leaf_that_does_not_pass_is_shown_where_it_is_held(scene):
    # 17.2 mm between the edges of a window, for a leaf 17.7 mm thick.
    state = tables.create_table(scene, LOW_WINDOW.replace("deviation = -2.5", "deviation = -3.5"))
    held = [proof for proof in proofs(state) if proof.verdict == "does-not-pass"]
    assert {proof.leaf for proof in held} == {"L3", "L4"}
    pending.flush()
    assert {leaf.name for leaf in state.leaves if leaf.held} == {"L3", "L4"}
    state.leaf_index = 2
    assert state.leaves[2].held in " ".join(drawn(scene).words)
    assert "it lacks 0.5 mm between the lower edge of R3" in state.leaves[2].held
    for proof in held:
        assert snag.show(state, proof.leaf) is not None
        assert state.snag == f"{proof.leaf} does not pass R3, lacks 0.5 mm"
        view = next(view for view in proof.views if view.proof.verdict == "does-not-pass")
        assert stands_in(ghost(), view, view.proof.fit, state.root) < 1.5 * ULP


def test_hiding_leaves_the_file_as_it_was(state):
    pending.flush()
    bpy.ops.dry_assembly.show_snag()
    bpy.ops.dry_assembly.hide_snag()  # what belongs to all notes, such as their paint, is there from now on
    before = census()
    assert bpy.ops.dry_assembly.show_snag() == {"FINISHED"}
    assert bpy.ops.dry_assembly.show_snag() == {"FINISHED"}
    assert census() != before
    assert bpy.ops.dry_assembly.hide_snag() == {"FINISHED"}
    assert census() == before
    assert not bpy.ops.dry_assembly.hide_snag.poll()


def test_a_change_of_the_table_takes_the_ghost_away(state):
    pending.flush()
    assert bpy.ops.dry_assembly.show_snag() == {"FINISHED"}
    state.parameters.table.height = 0.8
    assert not state.snag
    assert not [item for item in bpy.data.objects if item.get(ids.SNAG)]
    assert "Snag" not in bpy.data.collections


def test_undo_and_redo_of_the_ghost(scene):
    tables.create_table(scene, QUILTING)
    pending.flush()
    bpy.ops.ed.undo_push(message="table")
    assert bpy.ops.dry_assembly.show_snag("EXEC_DEFAULT", True) == {"FINISHED"}
    place = np.array(ghost().matrix_basis)
    bpy.ops.ed.undo()
    assert not [item for item in bpy.data.objects if item.get(ids.SNAG)]
    assert not first().snag
    bpy.ops.ed.redo()
    pending.flush()
    assert first().snag
    assert (np.array(ghost().matrix_basis) == place).all()
    assert ghost().data == access.part_objects(first())["L1"].data
    assert bpy.ops.dry_assembly.hide_snag("EXEC_DEFAULT", True) == {"FINISHED"}
    bpy.ops.ed.undo()
    assert (np.array(ghost().matrix_basis) == place).all()


def test_a_saved_ghost_can_be_hidden_after_opening(scene, tmp_path):
    tables.create_table(scene, QUILTING)
    pending.flush()
    rows = [(mouth.name, mouth.words) for leaf in first().leaves for mouth in leaf.mouths]
    assert bpy.ops.dry_assembly.show_snag() == {"FINISHED"}
    shape = positions(ghost())
    path = tmp_path / "table.blend"
    tables.save_blend(path)
    bpy.ops.wm.open_mainfile(filepath=str(path))
    pending.flush()
    assert [(mouth.name, mouth.words) for leaf in first().leaves for mouth in leaf.mouths] == rows
    assert not first().proof_out_of_date
    assert (positions(ghost()) == shape).all()
    assert bpy.ops.dry_assembly.hide_snag() == {"FINISHED"}
    assert not [item for item in bpy.data.objects if item.get(ids.SNAG)]


def test_removing_the_table_and_switching_off_take_the_ghost_away(empty):
    addon.register()
    scene = bpy.context.scene
    tables.create_table(scene, QUILTING)
    assert snag.show(first(), "L2") is not None
    tables.remove_table(first())
    assert not [item for item in bpy.data.objects if item.get(ids.SNAG)]
    tables.create_table(scene, QUILTING)
    assert snag.show(first(), "L2") is not None
    addon.unregister()
    assert not [item for item in bpy.data.objects if item.get(ids.SNAG)]
    assert "Snag" not in bpy.data.collections
    assert [item for item in bpy.data.objects if item.get(ids.PART) == "L2"]


# -- the panel


def test_the_panel_shows_the_mouth_selected_in_full(scene):
    state = tables.create_table(scene, QUILTING)
    pending.flush()
    leaf = state.leaves[0]
    leaf.mouth_index = 1
    words = " ".join(drawn(scene).words)
    mouth = leaf.mouths[1]
    assert mouth.words in words
    assert f"Off its place as drawn the nose can be {mouth.nose}; the mouth catches {mouth.catch}." in words
    assert {"dry_assembly.show_snag", "dry_assembly.hide_snag", "dry_assembly.find_remedies"} <= set(
        drawn(scene).buttons
    )


def test_rows_say_leaf_verdict_and_margin(state):
    pending.flush()
    layout = Layout()
    lists.DRY_ASSEMBLY_UL_slides.draw_item(None, None, layout, state, state.leaves[0], 0, None, "")
    assert layout.notes.words == ["L1 passes if steered"]
    layout = Layout()
    mouth = state.leaves[0].mouths[0]
    lists.DRY_ASSEMBLY_UL_mouths.draw_item(None, None, layout, state.leaves[0], mouth, 0, None, "")
    assert layout.notes.words == ["R6 side", mouth.margin_text]
