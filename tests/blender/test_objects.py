"""The objects of a table: right in size and place, and the same objects after a change."""

from __future__ import annotations

import bmesh
import bpy
import numpy as np
import pytest

from addon.designs.table import build
from addon.scene import access, ids, tables
from addon.wood.meshes.mesh import mesh_of

from .conftest import QUILTING, SEED_BENCH, in_scene, positions


def volume(item: bpy.types.Object) -> float:
    """Volume of a closed mesh by Blender's own reckoning, m³."""
    work = bmesh.new()
    work.from_mesh(item.data)
    try:
        assert all(edge.is_manifold for edge in work.edges)
        return work.calc_volume(signed=True)
    finally:
        work.free()


@pytest.mark.parametrize("text", [QUILTING, SEED_BENCH], ids=["quilting", "seed bench"])
def test_every_part_is_an_object_of_its_volume_in_its_place(scene, text):
    state = tables.create_table(scene, text)
    assembly = build(access.table_in(state))
    made = access.part_objects(state)
    assert set(made) == set(assembly.by_label)
    for label, part in assembly.by_label.items():
        mesh = mesh_of(part.shape)
        assert volume(made[label]) == pytest.approx(mesh.volume * 1e-9, rel=2e-4), label
        placement = assembly.cover.get(label, part.placement)
        expected = placement.to_table(mesh.vertices) / 1000.0
        assert in_scene(made[label]) == pytest.approx(expected, abs=2e-6), label


def test_a_plain_board_has_length_times_width_times_thickness(state):
    ledger = build(access.table_in(state)).by_label["LEDG1"]
    length, width, thickness = ledger.shape.size
    item = access.part_objects(state)["LEDG1"]
    assert volume(item) == pytest.approx(length * width * thickness * 1e-9, rel=1e-5)
    assert sorted(item.dimensions) == pytest.approx(
        sorted((length / 1000, width / 1000, thickness / 1000)), rel=1e-5
    )


def test_the_quilting_table_stands_on_the_floor_and_measures_what_it_should(state):
    # 1500 x 960 x 770 is what the table file says; the middle of its plan is the origin.
    points = np.concatenate([in_scene(item) for item in access.part_objects(state).values()])
    assert points.min(axis=0) == pytest.approx([-0.75, -0.48, 0.0], abs=1e-6)
    assert points.max(axis=0) == pytest.approx([0.75, 0.48, 0.77], abs=1e-6)


def test_collections_by_role_under_one_for_the_table(scene, state):
    (top,) = scene.collection.children
    assert top.name == "Quilting table"
    counts = {group.name: len(group.objects) for group in top.children}
    # The arrangement: 4 sides, 4 through ribs and 15 segments, 4 leaves, 2 stops, 8 leg boards, ledgers at both ends.
    assert counts == {
        "Sides": 4,
        "Bottom": 1,
        "Ribs": 19,
        "Leaves": 4,
        "End Stops": 2,
        "Legs": 8,
        "Ledgers": 2,
    }
    assert [item.name for item in top.objects] == ["Quilting table"]


def test_the_empty_that_carries_the_table_moves_it_and_is_out_of_sight(scene, state):
    assert state.root == ids.root_object(scene, state.key)
    assert not state.root.visible_get()
    before = in_scene(access.part_objects(state)["S1"])
    state.root.location = (2.0, 0.0, 0.5)
    assert in_scene(access.part_objects(state)["S1"]) == pytest.approx(before + [2.0, 0.0, 0.5], abs=1e-6)
    state.parameters.table.height = 0.78  # does not call it back
    assert state.root.location[:] == (2.0, 0.0, 0.5)


def test_units_are_those_of_the_table_that_is_selected(scene):
    bench = tables.create_table(scene, SEED_BENCH)
    assert (scene.unit_settings.system, scene.unit_settings.length_unit) == ("IMPERIAL", "INCHES")
    tables.create_table(scene, QUILTING)
    assert (scene.unit_settings.system, scene.unit_settings.length_unit) == ("METRIC", "MILLIMETERS")
    bpy.context.view_layer.objects.active = access.part_objects(bench)["S1"]
    bpy.context.view_layer.update()
    assert access.active_table(bpy.context) == bench
    assert (scene.unit_settings.system, scene.unit_settings.length_unit) == ("IMPERIAL", "INCHES")
    scene.unit_settings.length_unit = (
        "FEET"  # the user's choice, which holds as long as the bench is the active one
    )
    bpy.context.view_layer.objects.active = access.part_objects(bench)["S2"]
    bpy.context.view_layer.update()
    assert scene.unit_settings.length_unit == "FEET"


def test_a_change_keeps_the_objects_and_what_the_user_made_of_them(scene, state):
    made = access.part_objects(state)
    pointers = {label: item.as_pointer() for label, item in made.items()}
    meshes = {label: item.data.as_pointer() for label, item in made.items()}
    side, rib = made["S1"], made["R3"]
    side.name = "the side with the knot"
    red = bpy.data.materials.new("red")
    side.data.materials[0] = red
    own = bpy.data.collections.new("to be oiled")
    scene.collection.children.link(own)
    own.objects.link(side)
    bpy.data.collections["Sides"].objects.unlink(side)
    extra = bpy.data.objects.new("lamp", None)
    extra.parent = side
    scene.collection.objects.link(extra)
    rib.hide_render = True
    rib.keyframe_insert("hide_render", frame=12)
    rib.modifiers.new("Bevel", "BEVEL")

    state.parameters.table.length = 1.52

    after = access.part_objects(state)
    assert {label: item.as_pointer() for label, item in after.items()} == pointers
    assert {label: item.data.as_pointer() for label, item in after.items()} == meshes
    assert side.name == "the side with the knot"
    assert list(side.data.materials) == [red]
    assert list(side.users_collection) == [own]
    assert extra.parent == side
    assert rib.animation_data.action is not None
    assert rib.hide_render
    assert [modifier.name for modifier in rib.modifiers] == ["Bevel"]
    assert np.ptp(positions(side), axis=0).max() == pytest.approx(1.52, abs=1e-6)


def test_a_change_of_size_alone_keeps_the_mesh_elements(state):
    leg = access.part_objects(state)["LEG1"]
    leg.data.attributes.new("mine", "FLOAT", "POINT")
    assert "mine" in leg.data.attributes
    before = np.ptp(positions(leg), axis=0).max()
    state.parameters.table.height = 0.8
    assert "mine" in leg.data.attributes  # geometry made anew would have lost it
    assert np.ptp(positions(leg), axis=0).max() == pytest.approx(before + 0.03, abs=1e-6)


def test_parts_come_and_go(scene, state):
    legs = [part.label for part in build(access.table_in(state)).with_role("leg")]
    castor = bpy.data.objects.new("castor", None)
    scene.collection.objects.link(castor)
    castor.parent = access.part_objects(state)["LEG1"]
    castor.location = (0.0, 0.0, 0.1)
    bpy.context.view_layer.update()
    where = castor.matrix_world.translation.copy()
    state.parameters.legs.fitted = False
    assert not set(legs) & set(access.part_objects(state))
    bpy.context.view_layer.update()
    assert castor.parent == ids.root_object(scene, state.key)
    assert castor.matrix_world.translation[:] == pytest.approx(where[:], abs=1e-6)
    state.parameters.legs.fitted = True
    assert set(legs) <= set(access.part_objects(state))


def test_a_part_that_the_user_moved_stays_until_its_place_changes(state):
    rib = access.part_objects(state)["R1"]
    rib.location.z += 0.5
    moved = rib.location.copy()
    state.parameters.legs.width = 0.055
    assert rib.location == moved
    state.parameters.table.height = 0.8
    assert rib.location != moved


def test_a_copy_that_the_user_made_of_a_part_is_left_alone(scene, state):
    side = access.part_objects(state)["S1"]
    copy = side.copy()
    copy.data = side.data.copy()
    scene.collection.objects.link(copy)
    before = positions(copy)
    state.parameters.table.length = 1.52
    assert access.part_objects(state)["S1"] == side
    assert np.array_equal(positions(copy), before)


def test_what_cannot_be_built_is_said_in_a_sentence_and_the_last_good_geometry_stays(state):
    side = access.part_objects(state)["S1"]
    before = positions(side)
    state.parameters.well.ledger_height = 0.06
    assert state.error.startswith("well.ledger_height = 60 mm cannot be built: use at most 40 mm")
    assert state.out_of_date
    assert np.array_equal(positions(side), before)
    state.parameters.well.depth = 0.07
    assert state.error == ""
    assert not np.array_equal(positions(side), before)


def test_two_tables_stand_side_by_side(scene, state):
    other = tables.create_table(scene, SEED_BENCH)
    one, two = (
        np.concatenate([in_scene(item) for item in access.part_objects(table).values()])
        for table in access.tables_in(scene)
    )
    assert two[:, 0].min() - one[:, 0].max() == pytest.approx(0.6, abs=1e-6)
    assert other.key != access.tables_in(scene)[0].key
    before = {label: positions(item) for label, item in access.part_objects(other).items()}
    access.tables_in(scene)[0].parameters.table.height = 0.8
    assert all(
        np.array_equal(positions(item), before[label]) for label, item in access.part_objects(other).items()
    )


def test_removing_a_table_leaves_the_other_and_what_the_user_made(scene, state):
    tables.create_table(scene, SEED_BENCH)
    lamp = bpy.data.objects.new("lamp", None)
    access.part_objects(access.tables_in(scene)[0])["S1"].users_collection[0].objects.link(lamp)
    gone = access.tables_in(scene)[0].key
    tables.remove_table(access.tables_in(scene)[0])
    assert [table.name for table in access.tables_in(scene)] == ["Seed-sorting bench"]
    assert not [item for item in bpy.data.objects if item.get(ids.TABLE) == gone]
    assert not [group for group in bpy.data.collections if group.get(ids.TABLE) == gone]
    assert lamp.name in scene.objects
    assert access.part_objects(access.tables_in(scene)[0])


def test_a_scene_copied_in_full_has_a_table_of_its_own(scene, state):
    # No window here, so the operator that copies a scene is not to be had: the copy is made by hand.
    other = bpy.data.scenes.new("other")
    made = tables.create_table(other, QUILTING)
    before = positions(access.part_objects(state)["S1"])
    made.parameters.table.length = 1.52
    assert np.array_equal(positions(access.part_objects(state)["S1"]), before)
    assert np.ptp(positions(access.part_objects(made)["S1"]), axis=0).max() == pytest.approx(1.52, abs=1e-6)
