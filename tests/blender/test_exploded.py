"""The exploded view in the scene: parts go where they can go, come back exactly, and nothing else notices."""

from __future__ import annotations

from math import radians

import bpy
import numpy as np
import pytest
from mathutils import Euler

from addon.check.progress import run_through
from addon.designs.table import build
from addon.paper.exploded_page import exploded_picture
from addon.paper.sheet.save import svg_text
from addon.scene import access, built, pending, tables
from addon.scene.motion import exploded, motion
from addon.scene.pictures import on_paper
from addon.wood.roles import LEG

from .conftest import QUILTING, SEED_BENCH, first, in_scene, positions


def places() -> dict[str, np.ndarray]:
    """Label → (n, 3) float, m: where the vertices of a part are in the scene."""
    return {label: in_scene(item) for label, item in access.part_objects(first()).items()}


def deltas() -> dict[str, tuple[float, ...]]:
    return {label: tuple(item.delta_location) for label, item in access.part_objects(first()).items()}


@pytest.mark.parametrize("where", ["cover", "stowed"])
def test_the_factor_moves_every_part_as_the_explosion_says_and_zero_puts_it_back_exactly(state, where):
    motion.set_leaves(state, where)
    assembly = build(access.table_in(state))
    before, bases = places(), deltas()
    explosion = exploded.explosion_in(state)
    assert explosion.proven
    for factor in (0.3, 1.0):
        state.explosion_factor = factor
        for label, vertices in places().items():
            part = assembly.by_label[label]
            stands = assembly.cover.get(label, part.placement) if where == "cover" else part.placement
            moved = stands.moved(explosion.offset_at(label, state.explosion_factor))
            own = positions(access.part_objects(state)[label]) * 1000.0
            assert vertices * 1000.0 == pytest.approx(moved.to_table(own), abs=0.002)
    assert state.explosion_words == ""
    low = min(
        vertices[:, 2].max() for label, vertices in places().items() if assembly.by_label[label].role == LEG
    )
    assert low < before["B1"][:, 2].min()  # the legs have come off the bottom panel
    state.explosion_factor = 0.0
    assert deltas() == bases
    assert all(np.array_equal(vertices, before[label]) for label, vertices in places().items())
    assert not any("dry_assembly_exploded" in item for item in access.part_objects(state).values())


def test_what_the_user_moved_stays_moved(state):
    item = access.part_objects(state)["S1"]
    item.delta_location = (0.25, 0.0, 0.5)
    state.explosion_factor = 0.5
    assert tuple(item.delta_location) != (0.25, 0.0, 0.5)
    state.explosion_factor = 0.0
    assert tuple(item.delta_location) == pytest.approx((0.25, 0.0, 0.5), abs=1e-6)


def test_a_change_of_a_size_and_of_the_leaves_keeps_the_view_exploded(state):
    state.explosion_factor = 1.0
    state.parameters.table.height = 0.9
    pending.flush()
    explosion = exploded.explosion_in(state)
    for label, delta in deltas().items():
        assert np.array(delta) * 1000.0 == pytest.approx(explosion.offset_at(label, 1.0), abs=1e-3)
    covered = deltas()["L1"]
    motion.set_leaves(state, "stowed")
    assert deltas()["L1"] != covered
    explosion = exploded.explosion_in(state)
    assert np.array(deltas()["L1"]) * 1000.0 == pytest.approx(explosion.offset_at("L1", 1.0), abs=1e-3)


def test_undo_and_a_reopened_file(scene, state, tmp_path):
    bpy.ops.ed.undo_push(message="table")
    together = deltas()
    first().explosion_factor = 1.0
    bpy.ops.ed.undo_push(message="Factor")
    apart = deltas()
    assert apart != together
    bpy.ops.ed.undo()
    pending.flush()
    assert (first().explosion_factor, deltas()) == (0.0, together)
    bpy.ops.ed.redo()
    pending.flush()
    assert (first().explosion_factor, deltas()) == (1.0, apart)
    path = str(tmp_path / "apart.blend")
    bpy.ops.wm.save_as_mainfile(filepath=path)
    bpy.ops.wm.open_mainfile(filepath=path)
    pending.flush()
    assert (first().explosion_factor, deltas()) == (1.0, apart)
    first().explosion_factor = 0.0
    assert deltas() == together


def test_animation_comes_apart_and_goes_together(scene, state):
    assert bpy.ops.dry_assembly.animate_exploded_view() == {"FINISHED"}
    first_frame, last = scene.frame_start, scene.frame_end
    assert not any(map(any, deltas().values()))
    scene.frame_set((first_frame + last) // 2)
    assert first().explosion_factor == 1.0
    explosion = exploded.explosion_in(first())
    for label, delta in deltas().items():
        assert np.array(delta) * 1000.0 == pytest.approx(explosion.offset_at(label, 1.0), abs=1e-3)
    scene.frame_set((first_frame + last) // 4)
    assert 0.0 < first().explosion_factor < 1.0
    assert any(map(any, deltas().values()))
    scene.frame_set(last)
    assert not any(map(any, deltas().values()))
    assert bpy.ops.dry_assembly.stop_exploded_view() == {"FINISHED"}
    assert not exploded.is_animated(first())


def test_the_stow_animation_comes_first(state):
    motion.animate(state)
    with pytest.raises(RuntimeError, match="animation of the leaves"):
        bpy.ops.dry_assembly.animate_exploded_view()


def test_keyframes_stay_with_their_table_when_another_is_removed(scene, state):
    second = tables.create_table(scene, SEED_BENCH)
    exploded.animate(second)
    tables.make_active(access.tables_in(scene)[0])
    assert bpy.ops.dry_assembly.remove_table() == {"FINISHED"}
    assert exploded.is_animated(first())
    scene.frame_set((scene.frame_start + scene.frame_end) // 2)
    assert any(map(any, deltas().values()))


def test_save_exploded_view(scene, state, tmp_path):
    group = scene.dry_assembly
    group.pictures_folder = str(tmp_path)
    group.sheet.format, state.explosion_once = "svg", True
    assert bpy.ops.dry_assembly.save_exploded_view() == {"FINISHED"}
    (file,) = tmp_path.iterdir()
    assert file.name == "quilting-table-exploded-isometric-once.svg"
    assert "exploded" in file.read_text(encoding="utf-8")
    assert state.text == QUILTING


def test_an_exploded_picture_is_seen_as_in_the_3d_view(scene, state, tmp_path):
    scene.dry_assembly.pictures_folder = str(tmp_path)
    scene.dry_assembly.sheet.view, scene.dry_assembly.sheet.format = "view-3d", "svg"
    with pytest.raises(RuntimeError, match="No 3D view to look from"):
        bpy.ops.dry_assembly.save_exploded_view()
    assert not list(tmp_path.iterdir())
    # From the front and above, as Blender turns a view that looked down along -z.
    looking = Euler((radians(60.0), 0.0, radians(20.0))).to_quaternion()
    table = access.table_in(state)
    (content,) = run_through(on_paper.exploded_files(state, table, "2031-05-17", looking)).values()
    answer = built.told(table).table
    wanted = exploded_picture(build(table), date="2031-05-17", view="20,30", answer=answer)
    assert content.decode("utf-8") == svg_text(wanted)
