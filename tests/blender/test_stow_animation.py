"""Leaves where the stow path says, at every frame; marks where they collide."""

from __future__ import annotations

import bpy
import numpy as np
import pytest
from mathutils import Vector

from addon.designs.table import build
from addon.scene import access, ids, tables
from addon.scene.findings import labels_of, looked_at
from addon.scene.motion import motion
from addon.scene.motion.animation import curves_of

from .conftest import LOW_WINDOW, QUILTING, SEED_BENCH, in_scene, positions


@pytest.mark.parametrize("order", ["in turn", "together"])
def test_at_every_frame_the_leaf_is_where_its_stow_path_says(scene, state, order):
    assembly = build(access.table_in(state))
    line = motion.animate(state, order)
    made = access.part_objects(state)
    for label, time in line.leaves.items():
        part = assembly.by_label[label]
        vertices = positions(made[label]) * 1000.0
        for frame in np.linspace(time.at_slot, time.home, 23):
            motion.go_to_frame(scene, frame)
            offset = assembly.path_of(label).offset_at(time.travel_at(scene.frame_current_final))
            expected = part.placement.moved(offset).to_table(vertices)
            assert in_scene(made[label]) * 1000.0 == pytest.approx(expected, abs=0.002)


def test_leaves_wait_on_the_cover_and_end_at_home(scene, state):
    assembly = build(access.table_in(state))
    line = motion.animate(state)
    assert (scene.frame_start, scene.frame_end, scene.render.fps) == (line.first, line.last, 24)
    made = access.part_objects(state)
    for frame, places in ((line.first, assembly.cover), (line.last, {})):
        scene.frame_set(frame)
        for label in line.leaves:
            placement = places.get(label, assembly.by_label[label].placement)
            expected = placement.to_table(positions(made[label]) * 1000.0)
            assert in_scene(made[label]) * 1000.0 == pytest.approx(expected, abs=0.002)


def test_a_leaf_is_carried_over_the_table_not_through_it(scene, state):
    line = motion.animate(state)
    made = access.part_objects(state)
    body = np.concatenate([in_scene(item) for label, item in made.items() if label[0] in "SFR"])
    for label, time in line.leaves.items():
        for frame in range(time.leaves_cover + 2, time.at_slot):
            scene.frame_set(frame)
            leaf = in_scene(made[label])
            beside = np.any((leaf.min(axis=0) > body.max(axis=0)) | (leaf.max(axis=0) < body.min(axis=0)))
            assert beside, (label, frame)  # boxes apart: above the table or outside it


@pytest.mark.parametrize("text", [QUILTING, SEED_BENCH], ids=["quilting", "bench"])
def test_a_leaf_that_is_stowed_turned_over_turns_clear_of_the_table(scene, text):
    turned = text.replace("turned_over = false", "turned_over = true")
    assert turned != text
    state = tables.create_table(scene, turned)
    line = motion.animate(state)
    made = access.part_objects(state)
    others = {label: in_scene(item) for label, item in made.items() if label[0] in "SFRL"}
    for label, time in line.leaves.items():
        level = []
        for frame in np.linspace(time.leaves_cover + 0.5, time.at_slot - 1, 29):
            motion.go_to_frame(scene, frame)
            leaf = in_scene(made[label])
            upright = np.array(made[label].matrix_world)[2, 2]
            level.append(upright)
            for other, points in others.items():
                if other != label:
                    apart = np.any(
                        (leaf.min(axis=0) > points.max(axis=0)) | (leaf.max(axis=0) < points.min(axis=0))
                    )
                    assert apart, (label, other, frame)
            if abs(upright) < 0.99:  # it turns only above everything else
                assert leaf[:, 2].min() > max(points[:, 2].max() for points in others.values())
        assert level[0] > 0.99
        assert level[-1] < -0.99
        assert np.diff(level).max() < 0.02  # it turns once, not back and forth
        scene.frame_set(time.home)
        others[label] = in_scene(made[label])


def test_motion_is_eased(state):
    line = motion.animate(state)
    for label, time in line.leaves.items():
        (curve,) = [
            curve
            for curve in curves_of(access.part_objects(state)[label])
            if curve.data_path == "location" and curve.array_index == int(time.path.outward[1] != 0)
        ]
        way = [curve.evaluate(frame) for frame in (time.at_slot, time.at_slot + 1, time.home - 1, time.home)]
        middle = [curve.evaluate((time.at_slot + time.home) / 2 + step) for step in (-0.5, 0.5)]
        fastest = abs(middle[1] - middle[0])
        assert abs(way[1] - way[0]) < 0.2 * fastest
        assert abs(way[3] - way[2]) < 0.2 * fastest


def test_overlaps_are_marked_in_timeline_in_words_and_by_hatching(scene):
    state = tables.create_table(scene, LOW_WINDOW)
    line = motion.animate(state)
    made = access.part_objects(state)
    markers = {marker.name: marker.frame for marker in scene.timeline_markers}
    assert set(markers) == {"L3 overlaps R3", "L3 overlaps R3, end", "L4 overlaps R3", "L4 overlaps R3, end"}
    marked = [item for item in scene.objects if item.get(ids.MARK)]
    notes = {item.data.body for item in marked if item.type == "FONT"}
    assert notes == {"overlap: L3 and R3\n1.0 mm", "overlap: L4 and R3\n1.0 mm"}
    hatchings = [item for item in marked if item.parent in made.values()]
    assert {item.parent for item in hatchings} == {made["L3"], made["L4"], made["R3"]}

    start = markers["L4 overlaps R3"]
    on_l4 = next(item for item in hatchings if item.parent == made["L4"])
    for frame, seen in ((start - 1, False), (start, True), (line.last, True)):
        scene.frame_set(frame)
        assert on_l4.hide_viewport is not seen
        assert on_l4.hide_render is not seen
    note = next(item for item in marked if item.type == "FONT" and "L4" in item.data.body)
    at = next(place for place in state.findings[0].places if place.leaf == "L4").place
    assert 0.03 < (note.matrix_world.translation - Vector(at)).length < 0.12  # beside its place
    assert in_scene(on_l4).max(axis=0) == pytest.approx(
        in_scene(made["L4"]).max(axis=0), abs=0.02
    )  # moves along


def test_a_tight_place_is_marked(scene):
    text = QUILTING.replace("clearance_above = 1.5", "clearance_above = 0.3")
    state = tables.create_table(scene, text)
    motion.animate(state)
    notes = [item.data.body for item in scene.objects if item.get(ids.MARK) and item.type == "FONT"]
    assert len(notes) == 4
    assert all(note.startswith("tight: L") and note.endswith("0.3 mm clear") for note in notes)
    assert len(scene.timeline_markers) == 4


def test_showing_a_finding_goes_to_its_frame_selects_its_parts_and_looks_at_its_place(scene):
    state = tables.create_table(scene, LOW_WINDOW)
    line = motion.animate(state)
    finding = state.findings[0]
    assert bpy.ops.dry_assembly.show_finding(index=0) == {"FINISHED"}
    made = access.part_objects(state)
    assert scene.frame_current_final == pytest.approx(
        line.frame_of(finding.leaf, finding.travel * 1000), abs=1e-4
    )
    assert line.leaves[finding.leaf].travel_at(scene.frame_current_final) == pytest.approx(
        finding.travel * 1000, abs=0.01
    )
    assert {item for item in scene.objects if item.select_get()} == {
        made[label] for label in labels_of(finding)
    }
    assert bpy.context.view_layer.objects.active == made[labels_of(finding)[0]]
    views = [area.spaces.active.region_3d for area in bpy.context.screen.areas if area.type == "VIEW_3D"]
    for view in views:
        assert (view.view_location - Vector(looked_at(finding))).length < 0.1 * view.view_distance


def test_selecting_a_finding_in_the_list_shows_it(scene):
    state = tables.create_table(scene, LOW_WINDOW)
    line = motion.animate(state)
    state.finding_index = 0
    finding = state.findings[0]
    assert scene.frame_current_final == pytest.approx(
        line.frame_of(finding.leaf, finding.travel * 1000), abs=1e-4
    )
    assert access.part_objects(state)[labels_of(finding)[1]].select_get()


def test_showing_a_finding_without_an_animation_slides_the_leaf_there(scene):
    state = tables.create_table(scene, LOW_WINDOW)
    motion.show_finding(state, 0)
    finding = state.findings[0]
    leaf = next(leaf for leaf in state.leaves if leaf.name == finding.leaf)
    assert (leaf.state, leaf.travel) == ("sliding", pytest.approx(finding.travel))
    part = build(access.table_in(state)).by_label[leaf.name]
    offset = build(access.table_in(state)).path_of(leaf.name).offset_at(finding.travel * 1000)
    item = access.part_objects(state)[leaf.name]
    assert in_scene(item) * 1000 == pytest.approx(
        part.placement.moved(offset).to_table(positions(item) * 1000.0), abs=0.002
    )


def test_leaves_cover_stow_and_slide(scene, state):
    assembly = build(access.table_in(state))
    item, part = access.part_objects(state)["L2"], assembly.by_label["L2"]

    def stands(placement):
        assert in_scene(item) * 1000 == pytest.approx(placement.to_table(positions(item) * 1000.0), abs=0.002)

    stands(assembly.cover["L2"])
    assert bpy.ops.dry_assembly.set_leaves(where="stowed") == {"FINISHED"}
    stands(part.placement)
    leaf = state.leaves[1]
    leaf.state = "sliding"
    leaf.travel = 0.2
    stands(part.placement.moved(assembly.path_of("L2").offset_at(200.0)))
    state.parameters.table.height = 0.78  # a change of the table leaves the leaf on its way
    assembly = build(access.table_in(state))
    stands(assembly.by_label["L2"].placement.moved(assembly.path_of("L2").offset_at(200.0)))
    assert bpy.ops.dry_assembly.set_leaves(where="cover") == {"FINISHED"}
    stands(assembly.cover["L2"])


def test_a_change_keeps_the_animation_true_and_the_users_keyframes(scene, state):
    motion.animate(state)
    leaf = access.part_objects(state)["L1"]
    leaf.keyframe_insert("hide_render", frame=3)
    state.parameters.table.height = 0.8
    tables.pending.flush()
    assert any(curve.data_path == "hide_render" for curve in curves_of(leaf))
    scene.frame_set(scene.frame_end)
    placement = build(access.table_in(state)).by_label["L1"].placement
    assert in_scene(leaf) * 1000 == pytest.approx(placement.to_table(positions(leaf) * 1000.0), abs=0.002)
    motion.stop_animation(state)
    assert [curve.data_path for curve in curves_of(leaf)] == ["hide_render"]
    cover = build(access.table_in(state)).cover["L1"]
    assert in_scene(leaf) * 1000 == pytest.approx(cover.to_table(positions(leaf) * 1000.0), abs=0.002)
    assert access.part_objects(state)["L2"].animation_data is None
    assert not scene.timeline_markers


def test_markers_go_with_their_table(scene):
    state = tables.create_table(scene, LOW_WINDOW)
    motion.animate(state)
    assert scene.timeline_markers
    scene.timeline_markers.new("tea", frame=40)
    tables.remove_table(state)
    assert [marker.name for marker in scene.timeline_markers] == ["tea"]


def test_the_users_markers_and_objects_stay(scene):
    state = tables.create_table(scene, LOW_WINDOW)
    scene.timeline_markers.new("tea", frame=40)
    motion.animate(state)
    tables.find_remedies(state)
    assert tables.apply_remedy(state, 0)
    assert [marker.name for marker in scene.timeline_markers] == ["tea"]
    assert not [item for item in scene.objects if item.get(ids.MARK)]
