"""What does not stand as it was made is noticed at once, said, put back or kept as one's own.

What is wanted (which part, what was done to it) is written by hand.
"""

from __future__ import annotations

import bmesh
import bpy
import pytest

from addon.scene import access, copies, ids, pending, standing
from addon.scene.motion import exploded, motion

from .conftest import first, in_scene, positions
from .test_copies import living, parts, select, settled


def moved() -> dict[str, str]:
    """Label → what was done to it, as Blender's own update has it noticed."""
    bpy.context.view_layer.update()
    return {stray.name: stray.what for stray in first().moved}


def one(label: str) -> bpy.types.Object:
    return parts(first())[label]


def move() -> None:
    select([one("S1")])
    bpy.ops.transform.translate(value=(0.0, 0.0, 0.3))


def nudge() -> None:
    one("S1").location.x += 0.0002


def turn() -> None:
    select([one("S1")])
    bpy.ops.transform.rotate(value=0.01)


def scale() -> None:
    select([one("S1")])
    bpy.ops.transform.resize(value=(1.0, 1.0, 1.02))


def mirror() -> None:
    one("S1").scale.x = -1.0


def delete() -> None:
    select([one("S1")])
    bpy.ops.object.delete()


def unlink() -> None:
    item = one("S1")
    for group in item.users_collection:
        group.objects.unlink(item)


def edit() -> None:
    select([one("S1")])
    bpy.ops.object.mode_set(mode="EDIT")
    mesh = bmesh.from_edit_mesh(one("S1").data)
    mesh.verts.ensure_lookup_table()
    mesh.verts[0].co.x += 0.001
    bmesh.update_edit_mesh(one("S1").data)
    bpy.ops.object.mode_set(mode="OBJECT")


def cut_away() -> None:
    select([one("S1")])
    bpy.ops.object.mode_set(mode="EDIT")
    bpy.ops.mesh.select_all(action="SELECT")
    bpy.ops.mesh.delete(type="FACE")
    bpy.ops.object.mode_set(mode="OBJECT")


def apply_rotation() -> None:
    select([one("LEG1")])
    bpy.ops.object.transform_apply(location=True, rotation=False, scale=False)


def hang_elsewhere() -> None:
    lamp = bpy.data.objects.new("lamp", None)
    bpy.context.scene.collection.objects.link(lamp)
    lamp.location.z = 0.5
    one("S1").parent = lamp


def constrain() -> None:
    lamp = bpy.data.objects.new("lamp", None)
    bpy.context.scene.collection.objects.link(lamp)
    lamp.location = (1.0, 0.0, 0.0)
    one("S1").constraints.new("COPY_LOCATION").target = lamp


def delta() -> None:
    one("S1").delta_location.y = 0.1


def copy() -> None:
    select([one("S1")])
    bpy.ops.object.duplicate()


DONE = [
    (move, "S1", "moved"),
    (nudge, "S1", "moved"),
    (turn, "S1", "turned"),
    (scale, "S1", "scaled"),
    (mirror, "S1", "scaled"),
    (delete, "S1", "gone"),
    (unlink, "S1", "gone"),
    (edit, "S1", "edited"),
    (cut_away, "S1", "edited"),
    (apply_rotation, "LEG1", "edited"),
    (hang_elsewhere, "S1", "moved"),
    (constrain, "S1", "moved"),
    (delta, "S1", "moved"),
    (copy, "S1", "extra"),
]


@pytest.mark.parametrize(("do", "label", "what"), DONE, ids=[do.__name__ for do, _, _ in DONE])
def test_what_is_done_to_a_part_is_noticed_put_back_and_undone(scene, state, do, label, what):
    settled()
    wanted = {name: in_scene(item) for name, item in parts(state).items()}
    verdict, findings = state.verdict, len(state.findings)
    do()
    assert moved() == {label: what}
    settled()
    assert moved() == {label: what}
    assert not access.standing(first())
    assert access.standing_words(first()).endswith(f": {label}")
    copies.put_back(first())
    (whole,) = settled()
    living([whole], 1)
    for name, item in parts(whole).items():
        assert in_scene(item) == pytest.approx(wanted[name], abs=1e-6), name
    assert (whole.verdict, len(whole.findings)) == (verdict, findings)


@pytest.mark.parametrize(
    ("do", "label"), [(move, "S1"), (edit, "S1"), (scale, "S1"), (copy, "S1")], ids=lambda one: str(one)
)
def test_a_part_kept_as_ones_own_stays_and_the_part_is_made_anew(scene, state, do, label):
    settled()
    wanted, item = in_scene(one(label)), one(label)
    do()
    settled()
    own = item if do is not copy else bpy.data.objects[first().moved[0].item]
    before = in_scene(own)
    assert copies.keep_as_own(first(), label)
    (whole,) = settled()
    living([whole], 1)
    assert in_scene(own) == pytest.approx(before, abs=1e-5)
    assert own.parent is None
    assert own.name in scene.objects
    assert not [group for group in own.users_collection if ids.TABLE in group]
    names = list(own.keys())
    assert not [name for name in names if name.startswith("dry_assembly_") and name != ids.GRAIN]
    assert own not in parts(whole).values()
    assert in_scene(one(label)) == pytest.approx(wanted, abs=1e-6)
    assert not copies.keep_as_own(whole, label)


def test_a_linked_copy_that_is_put_back_leaves_the_other_as_it_is(scene, state):
    settled()
    select(list(parts(state).values()))
    bpy.ops.object.duplicate(linked=True)
    one_table, other = settled()
    mesh = parts(other)["S1"].data
    assert mesh == parts(one_table)["S1"].data
    mesh.vertices[0].co.x += 0.01
    mesh.update()
    bpy.context.view_layer.update()
    for table in (one_table, other):
        assert [(stray.name, stray.what) for stray in table.moved] == [("S1", "edited")]
    copies.put_back(other)
    settled()
    assert access.standing(other)
    assert [(stray.name, stray.what) for stray in one_table.moved] == [("S1", "edited")]
    copies.put_back(one_table)
    living(settled(), 2)


def test_several_things_at_once_are_said_together(scene, state):
    settled()
    made = parts(state)
    for label in ("R1", "R2", "R3", "R4"):
        made[label].location.z += 0.1
    made["B1"].rotation_quaternion = (0.9, 0.1, 0.0, 0.0)
    select([made["LEG1"]])
    bpy.ops.object.delete()
    assert moved() == {**dict.fromkeys(("R1", "R2", "R3", "R4"), "moved"), "B1": "turned", "LEG1": "gone"}
    said = access.standing_words(first())
    assert "4 parts moved: R1, R2, R3 …" in said
    assert "1 part turned: B1" in said
    assert "1 part gone: LEG1" in said


def test_a_table_that_is_scaled_is_not_the_one_that_is_judged(scene, state):
    settled()
    state.root.scale = (1.1, 1.0, 1.0)
    assert moved() == {ids.ROOT: "scaled"}
    assert "the whole table" in access.standing_words(state)
    copies.put_back(state)
    assert moved() == {}
    state.root.location.x, state.root.rotation_euler.z = 5.0, 1.0  # where a table stands is the user's
    assert moved() == {}


def test_our_own_motion_is_no_reason_to_complain(scene, state):
    settled()
    for factor in (0.3, 1.0):
        state.explosion_factor = factor
        assert moved() == {}, factor
    one("R1").delta_location.z += 0.1
    assert moved() == {"R1": "moved"}
    copies.put_back(state)
    assert moved() == {}
    state.explosion_factor = 0.0
    for where, travel in (("stowed", 0.0), ("sliding", 250.0), ("cover", 0.0)):
        motion.set_leaves(state, where, travel)
        assert moved() == {}, where
    motion.animate(state)
    exploded.animate(state)
    for frame in (1, 30, 77, 200):
        bpy.context.scene.frame_set(frame)
        assert moved() == {}, frame


def test_materials_modifiers_names_and_hiding_are_the_users(scene, state):
    settled()
    item = one("S1")
    item.name, item.hide_render = "front", True
    item.hide_set(True)
    item.modifiers.new("Bevel", "BEVEL").width = 0.001
    item.data.materials[0] = bpy.data.materials.new("paint")
    item.data.attributes.new("mine", "FLOAT", "POINT")
    item.keyframe_insert("hide_render", frame=3)
    assert moved() == {}


def test_a_change_of_size_keeps_what_is_noticed_up_to_date(scene, state):
    settled()
    one("S1").location.z += 0.3
    assert moved() == {"S1": "moved"}
    state.parameters.legs.width = 0.055  # the side's place is as it was
    assert moved() == {"S1": "moved"}
    state.parameters.table.height = 0.78  # all places are others
    assert moved() == {}


def test_undo_and_redo_of_a_move_and_of_putting_it_back(scene, state):
    settled()
    bpy.ops.ed.undo_push(message="table")
    one("S1").location.z += 0.3
    bpy.ops.ed.undo_push(message="moved")
    settled()
    copies.put_back(first())
    bpy.ops.ed.undo_push(message="put back")
    settled()
    assert moved() == {}
    for step, wanted in (("undo", {"S1": "moved"}), ("undo", {}), ("redo", {"S1": "moved"}), ("redo", {})):
        getattr(bpy.ops.ed, step)()
        assert {stray.name: stray.what for stray in first().moved} == wanted, step
        settled()
        assert moved() == wanted, step


def test_what_was_moved_before_the_file_was_saved_is_known_when_it_is_opened(scene, state, tmp_path):
    settled()
    one("S1").location.z += 0.3
    copy()
    moved()
    path = str(tmp_path / "moved.blend")
    bpy.ops.wm.save_as_mainfile(filepath=path, check_existing=False)
    bpy.ops.wm.open_mainfile(filepath=path)
    pending.flush()
    assert sorted((stray.name, stray.what) for stray in first().moved) == [("S1", "extra"), ("S1", "moved")]
    assert positions(one("S1")).shape


def test_a_fingerprint_is_the_digest_of_what_was_made(state):
    for item in parts(state).values():
        assert standing.fingerprint(item.data) == item.data[ids.DIGEST]
