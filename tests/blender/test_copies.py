"""Tables that Blender's own tools copy, append, paste, link, move and delete are tables, each with its own state.

What is wanted is written by hand: how many tables there are then, of how many parts, and where they stand.
"""

from __future__ import annotations

from pathlib import Path

import bpy
import numpy as np
import pytest

from addon.scene import access, copies, ids, pending, tables
from addon.scene.motion import exploded, motion

from .conftest import LOW_WINDOW, QUILTING, SEED_BENCH, first, in_scene

Object = bpy.types.Object


def settled() -> list[tables.TableState]:
    """The tables, after all that Blender and the extension have to do about what was done."""
    for _ in range(2):
        bpy.context.view_layer.update()
        pending.flush()
    return access.tables_in(bpy.context.scene)


def select(items: list[Object]) -> None:
    """Selects objects alone, also those that are hidden."""
    for item in bpy.context.view_layer.objects:
        item.select_set(False)
    for item in items:
        item.hide_set(False)
        item.select_set(True)
    bpy.context.view_layer.objects.active = items[0]


def parts(state: tables.TableState) -> dict[str, Object]:
    return access.part_objects(state)


def living(states: list[tables.TableState], wanted: int) -> None:
    """Each is a table of its own, whole, with a key of its own."""
    assert len(states) == wanted
    assert len({state.key for state in states}) == len({state.number for state in states}) == wanted
    owned = [item for state in states for item in parts(state).values()]
    assert len({item.name for item in owned}) == len(owned)
    for state in states:
        assert set(parts(state)) == set(state.labels.split("\n"))
        assert access.standing(state), access.standing_words(state)
        assert not state.out_of_date
        assert {item.get(ids.TABLE) for item in parts(state).values()} == {state.key}
        assert all(ids.root_above(item) == state.root for item in parts(state).values())
        groups = {group for item in (state.root, *parts(state).values()) for group in item.users_collection}
        assert {group.get(ids.TABLE) for group in groups} <= {state.key, None}


def lengths(states: list[tables.TableState]) -> list[float]:
    """Length of each table's front side, m."""
    return [round(float(np.ptp(in_scene(parts(state)["S1"]), axis=0).max()), 6) for state in states]


@pytest.mark.parametrize("linked", [False, True], ids=["Shift D", "Alt D"])
@pytest.mark.parametrize("what", ["all parts", "empty", "hierarchy"])
def test_a_copy_is_a_table_of_its_own(scene, state, linked, what):
    settled()
    everything = {
        "all parts": list(parts(state).values()),
        "empty": [state.root],
        "hierarchy": [state.root, *parts(state).values()],
    }
    select(everything[what])
    bpy.ops.object.duplicate(linked=linked)
    bpy.ops.transform.translate(value=(0.0, 3.0, 0.0))
    states = settled()
    living(states, 2)
    assert states[1].root.matrix_world.translation[:] == pytest.approx((0.0, 3.0, 0.0), abs=1e-5)
    assert states[0].root.matrix_world.translation[:] == pytest.approx((0.0, 0.0, 0.0), abs=1e-5)
    states[1].parameters.table.length = 1.52
    states = settled()
    living(states, 2)
    assert lengths(states) == [1.5, 1.52]
    assert (states[0].out_of_date, states[1].error) == (False, "")


def test_a_copy_has_findings_of_its_own(scene):
    tables.create_table(scene, LOW_WINDOW)
    select(list(parts(settled()[0]).values()))
    bpy.ops.object.duplicate()
    one, other = settled()
    assert (one.verdict, other.verdict) == ("blocked", "blocked")
    tables.change(other, {"as_cut[0].deviation": 0.0})
    one, other = settled()
    assert (one.verdict, other.verdict) == ("blocked", "clear")


@pytest.mark.parametrize("what", ["all parts", "with empty", "with empty and marks"])
def test_a_copy_of_an_animated_table_has_marks_and_keyframes_of_its_own(scene, what):
    """Where L3 and L4 overlap R3 there are a ring, a note on its paper, and hatching on both parts: ten objects."""
    tables.create_table(scene, LOW_WINDOW)
    motion.animate(first())
    exploded.animate(first())
    (one,) = settled()
    chosen = list(parts(one).values())
    if what != "all parts":
        chosen.append(one.root)
    if what == "with empty and marks":
        chosen += [item for item in scene.objects if item.get(ids.MARK)]
    for item in chosen:
        item.hide_select = item.hide_viewport = False
    select(chosen)
    bpy.ops.object.duplicate()
    one, other = settled()
    living([one, other], 2)
    for state in (one, other):
        marked = [item for item in scene.objects if item.get(ids.MARK) and item[ids.TABLE] == state.key]
        assert len(marked) == 10
        assert {item.parent for item in marked} == {
            state.root,
            *(parts(state)[label] for label in ("L3", "L4", "R3")),
        }
    # The markers of an overlap say where it begins and where it ends.
    assert len(scene.timeline_markers) == 8
    exploded.stop_animation(other)
    assert exploded.is_animated(one)
    tables.remove_table(other)
    assert len(settled()) == 1
    assert len(scene.timeline_markers) == 4


def test_a_copy_of_most_parts_is_a_table_and_of_one_is_one_too_many(scene, state):
    settled()
    select([item for label, item in parts(state).items() if not label.startswith("L")])
    bpy.ops.object.duplicate()
    living(settled(), 2)  # its leaves are made
    select([parts(first())["S1"]])
    bpy.ops.object.duplicate()
    bpy.ops.transform.translate(value=(0.0, 0.0, 1.0))
    one, _ = settled()
    assert access.standing_words(one) == "1 more than drawn: S1"
    assert not access.standing(one)
    (extra,) = (stray.item for stray in one.moved)
    assert copies.keep_as_own(one, "S1")
    living(settled(), 2)
    assert ids.TABLE not in bpy.data.objects[extra]


@pytest.mark.parametrize("what", ["root", "parts", "operator"])
def test_deleting_the_table_leaves_nothing_of_it(scene, state, what):
    tables.create_table(scene, SEED_BENCH)
    lamp = bpy.data.objects.new("lamp", None)
    scene.collection.objects.link(lamp)
    lamp.parent = parts(state)["S1"]
    key = state.key
    settled()
    if what == "operator":
        tables.make_active(state)
        assert bpy.ops.dry_assembly.remove_table() == {"FINISHED"}
    else:
        select([state.root] if what == "root" else list(parts(state).values()))
        bpy.ops.object.delete()
    states = settled()
    living(states, 1)
    assert states[0].name == "Seed-sorting bench"
    assert not [item for item in bpy.data.objects if item.get(ids.TABLE) == key]
    assert not [group for group in bpy.data.collections if group.get(ids.TABLE) == key]
    assert lamp.name in scene.objects


def test_a_table_moved_by_its_parts_is_moved_and_one_part_is_not_a_table(scene, state):
    settled()
    select(list(parts(state).values()))
    bpy.ops.transform.translate(value=(1.0, 2.0, 0.0))
    bpy.ops.transform.rotate(value=0.5, orient_axis="Z")
    (one,) = settled()
    living([one], 1)
    assert abs(one.root.matrix_world.to_euler().z) == pytest.approx(0.5, abs=1e-4)
    select([parts(one)["S1"]])
    bpy.ops.transform.translate(value=(0.0, 0.0, 0.3))
    (one,) = settled()
    assert access.standing_words(one) == "1 part moved: S1"


def test_undo_and_redo_across_copies_and_deletions(scene, state):
    settled()
    bpy.ops.ed.undo_push(message="table")
    select(list(parts(first()).values()))
    bpy.ops.object.duplicate("EXEC_DEFAULT", True)
    living(settled(), 2)
    bpy.ops.transform.translate("EXEC_DEFAULT", True, value=(0.0, 3.0, 0.0))
    living(settled(), 2)
    select([access.tables_in(bpy.context.scene)[0].root])
    bpy.ops.ed.undo_push(message="selected")
    bpy.ops.object.delete("EXEC_DEFAULT", True)
    living(settled(), 1)
    # One press each, with what was sorted out after it: the deletion, what was selected for it, the move, the copy.
    for wanted in (2, 2, 2, 1):
        bpy.ops.ed.undo()
        living(settled(), wanted)
    for wanted in (2, 2, 2, 1):
        bpy.ops.ed.redo()
        living(settled(), wanted)


def test_undo_of_a_move_of_all_parts_takes_the_table_back(scene, state):
    settled()
    bpy.ops.ed.undo_push(message="table")
    select(list(parts(first()).values()))
    bpy.ops.transform.translate("EXEC_DEFAULT", True, value=(0.0, 3.0, 0.0))
    places = []
    settled()
    for step in ("", "undo", "redo", "undo", "redo"):
        if step:
            getattr(bpy.ops.ed, step)()
        (one,) = settled()
        side = in_scene(parts(one)["S1"])[:, 1].min()
        places.append((round(float(side), 4), round(one.root.location.y, 4), len(one.moved)))
    # One press takes the move back, with what was sorted out after it, and one makes it again.
    assert places == [(2.52, 3.0, 0), (-0.48, 0.0, 0)] * 2 + [(2.52, 3.0, 0)]
    select(list(parts(one).values()))
    bpy.ops.transform.translate("EXEC_DEFAULT", True, value=(0.0, 1.0, 0.0))
    (one,) = settled()
    assert one.root.location.y == pytest.approx(4.0)


@pytest.fixture
def saved(scene: bpy.types.Scene, tmp_path: Path) -> str:
    """A file with a table 1520 mm long, and the bench; what is open then is empty."""
    tables.create_table(scene, QUILTING)
    tables.create_table(scene, SEED_BENCH)
    settled()[0].parameters.table.length = 1.52
    settled()
    path = str(tmp_path / "tables.blend")
    bpy.ops.wm.save_as_mainfile(filepath=path, check_existing=False)
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    return path


@pytest.mark.parametrize("what", ["Collection", "Object", "part"])
def test_what_is_appended_is_a_living_table(saved, what):
    tables.create_table(bpy.context.scene, QUILTING)
    settled()
    name = "S1 front side" if what == "part" else "Quilting table"
    kind = "Object" if what == "part" else what
    for _ in range(2):
        bpy.ops.wm.append(directory=f"{saved}/{kind}/", filename=name)
    states = settled()
    living(states, 3)
    assert lengths(states) == [1.5, 1.52, 1.52]
    states[2].parameters.table.length = 1.51
    assert lengths(settled()) == [1.5, 1.52, 1.51]


def test_a_table_that_comes_while_as_many_objects_go_is_noticed(saved):
    """A table of 40 parts comes with its empty, 41 objects, and 41 lamps go."""
    scene = bpy.context.scene
    tables.create_table(scene, QUILTING)
    lamps = [bpy.data.objects.new("lamp", None) for _ in range(41)]
    for lamp in lamps:
        scene.collection.objects.link(lamp)
    settled()
    before = len(bpy.data.objects)
    for lamp in lamps:
        bpy.data.objects.remove(lamp)
    bpy.ops.wm.append(directory=f"{saved}/Collection/", filename="Quilting table")
    assert len(bpy.data.objects) == before
    states = settled()
    living(states, 2)
    assert lengths(states) == [1.5, 1.52]


def test_a_linked_table_says_so_and_can_be_made_local(saved):
    scene = bpy.context.scene
    bpy.ops.wm.link(directory=f"{saved}/Collection/", filename="Quilting table", instance_collections=False)
    (linked,) = settled()
    assert access.locked(linked) == "This table is linked from tables.blend: make it local to change it"
    assert access.active_table(bpy.context) == linked
    assert not bpy.ops.dry_assembly.check_now.poll()
    local = copies.make_local(linked)
    assert access.locked(local) == ""
    living(settled(), 1)
    assert access.tables_in(scene) == [local]
    local.parameters.table.length = 1.53
    assert lengths(settled()) == [1.53]


def test_tables_of_unlike_units_keep_to_themselves(scene, state):
    bench = tables.create_table(scene, SEED_BENCH)
    settled()
    select(list(parts(bench).values()))
    bpy.ops.object.duplicate()
    one, two, three = settled()
    units = [table.parameters.units for table in (one, two, three)]
    assert units == ["mm", "in", "in"]
    for table, unit in ((one, "MILLIMETERS"), (three, "INCHES"), (one, "MILLIMETERS")):
        bpy.context.view_layer.objects.active = parts(table)["S1"]
        bpy.context.view_layer.update()
        assert access.active_table(bpy.context) == table
        assert scene.unit_settings.length_unit == unit
    three.parameters.table.length_text = "1520 mm"
    living(settled(), 3)
    assert lengths([one]) == [1.5]
    assert three.parameters.units == "in"


def test_an_override_of_a_linked_table_says_so_and_can_be_made_local(saved):
    bpy.ops.wm.link(directory=f"{saved}/Collection/", filename="Quilting table", instance_collections=False)
    (linked,) = settled()
    select([parts(linked)["S1"]])
    assert bpy.ops.object.make_override_library(collection=linked.root.users_collection[0].session_uid) == {
        "FINISHED"
    }
    (found,) = settled()
    assert access.locked(found) == "This table is an override of a linked one: make it local to change it"
    assert not bpy.ops.dry_assembly.check_now.poll()
    assert lengths([found]) == [1.52]
    copies.make_local(found)
    (local,) = settled()
    assert access.locked(local) == ""
    living([local], 1)
    local.parameters.table.length = 1.53
    assert lengths(settled()) == [1.53]


@pytest.mark.parametrize("what", ["all parts", "with empty"])
def test_a_table_that_is_pasted_into_another_file_is_a_living_one(scene, what):
    tables.create_table(scene, QUILTING)
    settled()[0].parameters.table.length = 1.52
    (one,) = settled()
    one.root.hide_set(False)
    select([*parts(one).values(), *([one.root] if what == "with empty" else [])])
    assert bpy.ops.view3d.copybuffer() == {"FINISHED"}
    bpy.ops.wm.read_factory_settings(use_empty=True)
    scene = bpy.context.scene
    tables.create_table(scene, SEED_BENCH)
    settled()
    assert bpy.ops.view3d.pastebuffer(autoselect=True) == {"FINISHED"}
    states = settled()
    living(states, 2)
    assert lengths(states)[1] == 1.52
    assert bpy.ops.view3d.pastebuffer(autoselect=True) == {"FINISHED"}
    living(settled(), 3)
    states[1].parameters.table.length = 1.51
    assert sorted(lengths(settled())[1:]) == [1.51, 1.52]
