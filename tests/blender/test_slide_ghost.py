"""The snag in Blender: the ghost stands in its pose beside the leaf, and goes without a trace."""

from __future__ import annotations

import re
from math import cos, sin

import bpy
import numpy as np
import pytest

import addon
from addon.check.slide.proof import miss, worst_opening
from addon.scene import access, ids, jobs, pending, snag, tables

from .conftest import LOW_WINDOW, QUILTING, SEED_BENCH, first, in_scene, positions
from .test_panels import reported
from .test_slide import ULP, of, proofs


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
            for number, proved in enumerate(view.proof.openings):
                if proved.snag is None:
                    continue
                assert snag.show(state, proof.leaf, view.of.view, number) is not None
                worst = stands_in(ghost(), view, proved.snag, state.root)
                assert worst < (4 if moved else 1.5) * ULP, (proof.leaf, number)
                shown.add((view.of.view, proved.snag.tilt > 0))
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
    view, number = worst_opening(of(state, "L3"))
    assert snag.show(state, "L3") is not None
    (note,) = [item for item in bpy.context.scene.objects if item.type == "FONT"]
    label = view.of.row.openings[number].label
    assert note.data.body.startswith(f"L3 needs steering at {label}\n")
    (amount,) = re.findall(r"([\d.]+) mm short", note.data.body)
    assert float(amount) == pytest.approx(miss(view, number), abs=0.0051)
    assert state.snag == note.data.body.replace("\n", ", ")
    # The ring is where the leaf's corner misses what the opening catches.
    (ring,) = [item for item in bpy.context.scene.objects if item.name.startswith("Ring")]
    bpy.context.view_layer.update()
    height = np.array(ring.matrix_world.translation) @ view.of.frame[1] * 1000
    assert view.proof.openings[number].catch_low - height == pytest.approx(miss(view, number), abs=1e-3)


def test_an_opening_selected_is_shown_and_one_that_cannot_be_missed_gives_way_to_the_worst(state):
    pending.flush()
    leaf = state.leaves[0]
    for index, item in enumerate(leaf.openings):
        leaf.opening_index = index
        assert bpy.ops.dry_assembly.show_snag() == {"FINISHED"}
        view, number = worst_opening(of(state, "L1"))
        label = item.name if item.has_snag else view.of.row.openings[number].label
        assert f"L1 needs steering at {label}," in state.snag


def test_a_leaf_that_does_not_pass_is_shown_where_it_is_held(scene):
    # 17.2 mm between the edges of a window, for a leaf 17.7 mm thick.
    state = tables.create_table(scene, LOW_WINDOW.replace("deviation = -2.5", "deviation = -3.5"))
    held = [proof for proof in proofs(state) if proof.verdict == "does-not-pass"]
    assert {proof.leaf for proof in held} == {"L3", "L4"}
    pending.flush()
    assert {leaf.name for leaf in state.leaves if leaf.held} == {"L3", "L4"}
    state.leaf_index = 2
    assert state.leaves[2].held in " ".join(reported(scene, "sliding in").words)
    # 1.5 mm of room above as drawn, 3.5 mm of it gone: what stops it as drawn is told, not what holds it.
    assert "R3 (upper edge of the window of L3) stands 2.0 mm in the way of L3" in state.leaves[2].held
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
    rows = [(proved.name, proved.words) for leaf in first().leaves for proved in leaf.openings]
    assert bpy.ops.dry_assembly.show_snag() == {"FINISHED"}
    shape = positions(ghost())
    path = tmp_path / "table.blend"
    jobs.save_blend(path)
    bpy.ops.wm.open_mainfile(filepath=str(path))
    pending.flush()
    assert [(proved.name, proved.words) for leaf in first().leaves for proved in leaf.openings] == rows
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
