"""Table files in and out of Blender, and the .blend file."""

from __future__ import annotations

import os
import re

import bpy
import numpy as np
import pytest

from addon.files.table_file import parse_table
from addon.scene import access, jobs, pending, tables
from addon.scene.findings import labels_of
from addon.sizes.errors import DryAssemblyError

from .conftest import LOW_WINDOW, QUILTING, SEED_BENCH, first, positions


def test_a_table_that_nobody_touched_is_saved_byte_for_byte(scene, tmp_path):
    for name, text in (("quilting", QUILTING), ("seed bench", SEED_BENCH)):
        path = tmp_path / f"{name}.toml"
        path.write_bytes(text.encode())
        tables.open_table(scene, path)
        assert bpy.ops.dry_assembly.save_table(filepath=str(tmp_path / "copy.toml")) == {"FINISHED"}
        assert (tmp_path / "copy.toml").read_bytes() == text.encode()


def test_one_changed_parameter_changes_one_line(scene, tmp_path):
    state = tables.create_table(scene, SEED_BENCH)
    state.parameters.table.length = float(np.float32(61.375 * 0.0254))  # 61 3/8 in, as typed into the field
    pending.flush()
    before, after = SEED_BENCH.splitlines(), state.text.splitlines()
    changed = [(old, new) for old, new in zip(before, after, strict=True) if old != new]
    assert len(changed) == 1
    assert changed[0][1].startswith('length = "61 3/8"')
    assert parse_table(state.text).table.length == 61.375 * 25.4


def test_a_new_value_reaches_the_text_and_comes_back_the_same(scene):
    state = tables.create_table(scene, QUILTING)
    state.parameters.stowing.clearance_above = 0.0013
    state.parameters.leaves.finger_hole = 0.0222
    pending.flush()
    table = parse_table(state.text)
    assert (table.stowing.clearance_above, table.leaves.finger_hole) == (1.3, 22.2)
    assert tables.built.table_of(QUILTING).table == table.table  # untouched sections: equal float64


def test_the_unit_of_the_table_can_be_changed(scene):
    state = tables.create_table(scene, QUILTING)
    state.parameters.units = "in"
    pending.flush()
    assert scene.unit_settings.length_unit == "INCHES"
    assert parse_table(state.text).table.length == 1500.0
    assert state.error == ""


def test_a_sheet_and_the_table_can_be_renamed(scene):
    state = tables.create_table(scene, QUILTING)
    state.parameters.title = "Table by the window"
    pending.flush()
    assert parse_table(state.text).name == state.name == "Table by the window"
    state.parameters.stock[1].title = "thin sheet"
    assert "bottom.stock" in state.error  # parts refer to it by its old name
    state.parameters.bottom.stock = "thin sheet"
    pending.flush()
    assert state.error == ""
    assert parse_table(state.text).bottom.stock == parse_table(state.text).stock[1].name == "thin sheet"


def test_a_bad_file_is_refused_in_one_sentence_and_leaves_the_scene_alone(scene, tmp_path):
    path = tmp_path / "bad.toml"
    path.write_text("[table]\nlenght = 1500\n")
    with pytest.raises(RuntimeError, match=r"bad\.toml: table\.lenght is not a parameter; use table\.length"):
        bpy.ops.dry_assembly.open_table(filepath=str(path))
    with pytest.raises(DryAssemblyError):
        tables.create_table(scene, "[well]\nledger_height = 60\n")
    assert len(access.tables_in(scene)) == 0
    assert len(scene.objects) == 0
    assert len(scene.collection.children) == 0


def test_entries_are_added_and_removed(scene):
    state = tables.create_table(scene, QUILTING)
    bpy.context.view_layer.objects.active = access.part_objects(state)["R7"]
    assert bpy.ops.dry_assembly.add_entry(section="as_cut") == {"FINISHED"}
    assert [(entry.part, entry.dimension) for entry in first().parameters.as_cut] == [("R7", "length")]
    first().parameters.as_cut[0].deviation = 0.004
    pending.flush()
    assert parse_table(first().text).as_cut[0].deviation == 4.0
    assert any("R7" in labels_of(finding) and finding.amount == "4.0 mm" for finding in first().findings)
    assert bpy.ops.dry_assembly.remove_entry(section="as_cut") == {"FINISHED"}
    assert len(first().parameters.as_cut) == 0
    assert not [finding for finding in first().findings if not (finding.of_slide or finding.of_answer)]
    with pytest.raises(RuntimeError, match="18 mm birch plywood"):  # parts are cut from it
        bpy.ops.dry_assembly.remove_entry(section="stock")
    assert bpy.ops.dry_assembly.remove_entry(section="as_cut") == {"CANCELLED"}


def test_fields_of_an_entry_suggest_what_its_part_has(scene):
    state = tables.create_table(scene, QUILTING)
    bpy.context.view_layer.objects.active = access.part_objects(state)["R2"]
    bpy.ops.dry_assembly.add_entry(section="as_cut")
    entry = first().parameters.as_cut[0]
    names = [name for name, _ in access.suggested_dimensions(entry, bpy.context, "")]
    assert names[:4] == ["length", "width", "thickness", "window_width"]
    assert "groove_offset" not in names
    assert [name for name, _ in access.suggested_leaves(entry, bpy.context, "")] == ["L3", "L4"]
    assert ("S1", "front side") in access.suggested_parts(entry, bpy.context, "")
    entry.dimension = "window_sill"
    entry.deviation = 0.002
    pending.flush()
    assert parse_table(first().text).as_cut[0].dimension == "window_sill"
    entry.dimension = "groove_depth"
    assert "R2 has no dimension 'groove_depth': it has length" in first().error


def test_stow_positions_by_hand_and_back(scene):
    state = tables.create_table(scene, QUILTING)
    assert bpy.ops.dry_assembly.position_leaves(by_hand=False) == {"FINISHED"}
    assert len(state.parameters.stow) == 0
    chosen = {label: positions(item).tobytes() for label, item in access.part_objects(first()).items()}
    assert bpy.ops.dry_assembly.position_leaves(by_hand=True) == {"FINISHED"}
    assert len(first().parameters.stow) == 4
    assert {
        label: positions(item).tobytes() for label, item in access.part_objects(first()).items()
    } == chosen
    assert bpy.ops.dry_assembly.position_leaves(by_hand=False) == {"FINISHED"}
    assert bpy.ops.dry_assembly.position_leaves(by_hand=False) == {"CANCELLED"}


def test_a_blend_file_brings_tables_findings_and_live_update_back(scene, tmp_path):
    tables.create_table(scene, LOW_WINDOW)
    tables.create_table(scene, SEED_BENCH)
    before = [
        (table.name, table.text, table.verdict, len(table.findings)) for table in access.tables_in(scene)
    ]
    objects = {label: item.name for label, item in access.part_objects(first()).items()}
    bpy.ops.wm.save_as_mainfile(filepath=str(tmp_path / "two.blend"))
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    assert len(access.tables_in(bpy.context.scene)) == 0
    bpy.ops.wm.open_mainfile(filepath=str(tmp_path / "two.blend"))
    found = access.tables_in(bpy.context.scene)
    assert [(table.name, table.text, table.verdict, len(table.findings)) for table in found] == before
    assert {label: item.name for label, item in access.part_objects(first()).items()} == objects
    first().parameters.table.height = 0.78
    pending.flush()
    assert parse_table(first().text).table.height == 780.0
    assert np.ptp(positions(access.part_objects(first())["LEG1"]), axis=0).max() == pytest.approx(
        0.7105, abs=1e-6
    )


def test_a_change_that_was_not_yet_checked_when_the_file_was_saved_is_checked_after_opening(scene, tmp_path):
    state = tables.create_table(scene, QUILTING)
    state.parameters.stowing.clearance_above = 0.0003
    assert state.out_of_date
    bpy.ops.wm.save_as_mainfile(filepath=str(tmp_path / "pending.blend"))
    bpy.ops.wm.open_mainfile(filepath=str(tmp_path / "pending.blend"))
    pending.flush()
    assert not first().out_of_date
    assert first().verdict == "tight"
    assert parse_table(first().text).stowing.clearance_above == 0.3


def test_the_build_job_leaves_a_file_that_plays_without_the_addon(empty, tmp_path):
    jobs.build(LOW_WINDOW, tmp_path / "table.blend")
    assert not hasattr(bpy.types.Scene, "dry_assembly")
    bpy.ops.wm.open_mainfile(filepath=str(tmp_path / "table.blend"))
    scene = bpy.context.scene
    assert scene.camera is not None
    leaf = bpy.data.objects["L3 cover leaf"]
    places = []
    for frame in (scene.frame_start, scene.frame_end):
        scene.frame_set(frame)
        places.append(leaf.matrix_world.translation.copy())
    assert (places[0] - places[1]).length > 0.1
    assert {marker.name for marker in scene.timeline_markers} >= {"L3 overlaps R3", "L4 overlaps R3"}
    assert len(bpy.data.objects["R3 through rib"].data.materials[0].node_tree.nodes) > 10


def test_a_job_that_cannot_write_says_so(empty, tmp_path):
    with pytest.raises(DryAssemblyError, match="there is no folder"):
        jobs.build(QUILTING, tmp_path / "missing" / "table.blend")
    with pytest.raises(DryAssemblyError, match="it is a folder"):
        jobs.render(QUILTING, tmp_path)
    if os.geteuid() != 0:
        tmp_path.chmod(0o500)
        with pytest.raises(DryAssemblyError, match="cannot be written"):
            jobs.build(QUILTING, tmp_path / "table.blend")


def test_a_job_that_fails_leaves_the_old_file_and_nothing_else(empty, tmp_path, monkeypatch):
    target = tmp_path / "table.blend"
    target.write_bytes(b"old")
    target.chmod(0o640)

    def half(path):
        path.write_bytes(b"half")
        raise RuntimeError(f"Cannot write {path}: no space left")

    with monkeypatch.context() as patch:
        patch.setattr(jobs, "save_blend", half)
        with pytest.raises(DryAssemblyError, match=re.escape(f"Cannot write {target}: no space left")):
            jobs.build(QUILTING, target)
    assert target.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [target]
    jobs.build(QUILTING, target)
    assert target.stat().st_size > 10_000
    assert target.stat().st_mode & 0o777 == 0o640
    assert list(tmp_path.iterdir()) == [target]
