"""Showing a finding: from any start its place is seen, with its words; and all is as it was when it is over.

What covers a place is asked of Blender itself (`mathutils.bvhtree`), which knows triangles alone.
"""

from __future__ import annotations

import shutil
from pathlib import Path

import bpy
import numpy as np
import pytest
from mathutils import Euler, Matrix, Vector
from mathutils.bvhtree import BVHTree

import addon
from addon.scene import access, findings, ids, pending, seeing, snag, tables
from addon.scene.motion import motion
from addon.scene.overlay import placing, shown
from tests.test_colors import GROUNDS, SELECTION

from .conftest import QUILTING, SEED_BENCH, first

FAULTS = QUILTING + "".join(
    f'\n[[as_cut]]\npart = "{part}"\ndimension = "{dimension}"\ndeviation = {deviation}\n{more}\n'
    for part, dimension, deviation, more in (
        ("R3", "length", 4.0, ""),
        ("R2", "window_sill", 2.0, 'leaf = "L3"'),
        ("S1", "groove_width", -1.0, ""),
        ("LEDG1", "width", 3.0, ""),
    )
)
BENCH = SEED_BENCH + "".join(
    f'\n[[as_cut]]\npart = "{part}"\ndimension = "{dimension}"\ndeviation = {deviation}\n'
    for part, dimension, deviation in (
        ("R2", "length", 0.125),
        ("S1", "slot_height", -0.06),
        ("L1", "width", 0.25),
    )
)
STARTS = ("away", "below", "camera", "orthographic", "exploded", "local view", "leaves stowed")
_SOLID = "TEXTURED"


@pytest.fixture
def state(scene):
    found = tables.create_table(scene, FAULTS)
    pending.flush()
    return found


def start(state, how: str) -> None:
    """A bad view to begin with."""
    for space in seeing.views():
        view = space.region_3d
        view.view_perspective = {"camera": "CAMERA", "orthographic": "ORTHO"}.get(how, "PERSP")
        view.view_location, view.view_distance = (3.0, 3.0, -2.0), 8.0
        view.view_rotation = Euler((2.9 if how == "below" else 1.0, 0.3, 2.2)).to_quaternion()
    if how == "exploded":
        state.explosion_factor = 0.7
    if how == "leaves stowed":
        motion.set_leaves(state, "stowed")


def eye_and_axes(space) -> tuple[np.ndarray, np.ndarray]:
    view = space.region_3d
    axes = np.array(view.view_rotation.to_matrix()).T
    return np.array(view.view_location) + view.view_distance * axes[2], axes


def assert_seen(scene, state, index: int) -> None:
    """Rays to the place and 3 mm around it; a ring of points on the side seen."""
    finding = state.findings[index]
    place = findings.place_of(finding)
    bpy.context.view_layer.update()
    _, space = seeing.main_view()
    eye, axes = eye_and_axes(space)
    at = state.root.matrix_world @ Vector(findings.looked_at(place))
    turns = np.arange(7) * 2 * np.pi / 7
    ring = 0.003 / np.sqrt(2) * np.stack([np.cos(turns), np.sin(turns), np.ones(7)], axis=1) @ axes
    length = Vector(np.subtract(place.span_to, place.span_from)).length if place.span_text else 0.0
    labels = findings.labels_of(place)
    for item in scene.objects:
        if item.type != "MESH" or ids.THROUGH in item or not item.visible_get():
            continue
        own = item.get(ids.PART) in labels
        tree = BVHTree.FromObject(item, bpy.context.evaluated_depsgraph_get())
        to_item = item.matrix_world.inverted()
        for end in (at, *(at + Vector(one) for one in ring)):
            begin = (
                Vector(eye) if space.region_3d.view_perspective == "PERSP" else end + 5.0 * Vector(axes[2])
            )
            first, last = to_item @ begin, to_item @ end
            hit = tree.ray_cast(first, (last - first).normalized(), (last - first).length)
            if hit[0] is not None:
                before = (last - first).length - hit[3]
                assert before <= (0.005 + length if own else 2e-4), (item.name, finding.rule, before)


def test_every_finding_is_seen_from_every_bad_start(scene, state):
    for how in STARTS:
        for index in range(len(state.findings)):
            start(state, how)
            assert bpy.ops.dry_assembly.show_finding(index=index) == {"FINISHED"}
            assert state.explosion_factor == 0.0
            assert state.finding_index == index
            assert_seen(scene, state, index)
            space = seeing.main_view()[1]
            wanted = "ORTHO" if how == "orthographic" else "PERSP"
            assert space.region_3d.view_perspective == wanted
            seeing.put_back(scene)


def test_findings_of_the_other_example_are_seen(scene):
    bench = tables.create_table(scene, BENCH)
    pending.flush()
    bench.root.location = 2.0, -1.0, 0.3
    bench.root.rotation_euler = 0.0, 0.0, 0.7
    assert len({finding.rule for finding in bench.findings}) >= 3
    for index in range(len(bench.findings)):
        start(bench, "away")
        motion.show_finding(bench, index)
        assert_seen(scene, bench, index)


def test_what_is_no_part_of_the_table_is_seen_through_too(scene, state):
    """A cube about the whole table, and a leaf that the user laid over it."""
    bpy.ops.mesh.primitive_cube_add(size=4.0)
    cube = bpy.context.object
    cube.display_type = "SOLID"
    for index in range(4):
        start(state, "orthographic")
        motion.show_finding(state, index)
        assert cube.display_type == "BOUNDS"
        assert_seen(scene, state, index)
    seeing.put_back(scene)
    assert cube.display_type == "SOLID"
    assert ids.THROUGH not in cube


def looks(scene) -> dict[str, tuple[object, ...]]:
    """How everything in a scene is drawn."""
    return {
        item.name: (
            item.display_type,
            item.hide_get(),
            item.hide_viewport,
            item.hide_render,
            ids.THROUGH in item,
        )
        for item in scene.objects
    }


def shown_through(scene) -> list[str]:
    return [item.name for item in scene.objects if ids.THROUGH in item]


def show_one_that_covers(scene, state) -> int:
    for index in range(len(state.findings)):
        motion.show_finding(state, index)
        if shown_through(scene):
            return index
    raise AssertionError("no finding needs anything to be seen through")


def over(how: str, scene, state, index: int) -> None:
    """What ends the showing of a finding."""
    leaf = state.leaves[0]
    if how == "stop":
        bpy.ops.dry_assembly.stop_showing()
    elif how == "parameter":
        state.parameters.table.height = 0.8
    elif how == "stow":
        motion.set_leaves(state, "stowed")
    elif how == "animate":
        motion.animate(state)
    elif how == "explode":
        state.explosion_factor = 0.5
    elif how == "snag":
        pending.flush()
        leaf = next(leaf for leaf in state.leaves if leaf.slide in ("needs-steering", "does-not-pass"))
        assert snag.show(state, leaf.name) is not None
    elif how == "remove":
        tables.remove_table(state)
    elif how == "gone":
        state.findings.remove(index)
        seeing.put_back_if_gone(state)
    elif how == "switch off":
        addon.unregister()
        addon.register()


@pytest.mark.parametrize(
    "how", ["stop", "parameter", "stow", "animate", "explode", "snag", "remove", "gone", "switch off"]
)
def test_all_is_put_back_when_it_is_over(scene, state, how):
    bpy.ops.mesh.primitive_cube_add(size=0.2, location=(0.0, 0.0, 3.0))
    bpy.context.object.display_type = "WIRE"
    made = access.part_objects(state)
    made["LEG1"].display_type = "SOLID"
    made["LEG2"].hide_set(True)
    before = looks(scene)
    index = show_one_that_covers(scene, state)
    assert looks(scene) != before
    over(how, scene, state, index)
    after = looks(scene)
    assert not shown_through(scene)
    assert all(after[name] == look for name, look in before.items() if name in after)
    assert not any(one.shown for one in access.tables_in(scene))


def test_show_again_looks_again(scene, state):
    index = show_one_that_covers(scene, state)
    for how in ("away", "below"):
        start(state, how)
        motion.show_finding(state, index)
        assert shown_through(scene)
        assert_seen(scene, state, index)
    leaf = state.findings[index].leaf
    if leaf:
        state.leaves[leaf].travel += 0.1  # moved out of the view
        motion.show_finding(state, index)
        assert_seen(scene, state, index)
    assert bpy.ops.dry_assembly.stop_showing() == {"FINISHED"}
    assert not shown_through(scene)
    assert not bpy.ops.dry_assembly.stop_showing.poll()


def test_a_part_that_was_hidden_is_shown_and_hidden_again(scene, state):
    index = 0
    made = access.part_objects(state)
    labels = findings.labels_of(findings.place_of(state.findings[index]))
    for label in labels:
        made[label].hide_set(True)
    motion.show_finding(state, index)
    assert not any(made[label].hide_get() for label in labels)
    seeing.put_back(scene)
    assert all(made[label].hide_get() for label in labels)


def test_undo_and_redo_bring_it_back_and_forth(scene, state):
    bpy.ops.ed.undo_push(message="table")
    before = looks(scene)
    index = next(
        i for i in range(len(state.findings)) if (motion.show_finding(state, i), shown_through(scene))[1]
    )
    seeing.put_back(scene)
    assert bpy.ops.dry_assembly.show_finding("EXEC_DEFAULT", True, index=index) == {"FINISHED"}
    during = looks(bpy.context.scene)
    assert during != before
    bpy.ops.ed.undo()
    assert looks(bpy.context.scene) == before
    assert not first().shown
    bpy.ops.ed.redo()
    assert looks(bpy.context.scene) == during
    assert first().shown
    seeing.put_back(bpy.context.scene)
    assert looks(bpy.context.scene) == before


def test_nothing_stays_hidden_in_a_saved_file(scene, state, tmp_path):
    before = looks(scene)
    show_one_that_covers(scene, state)
    path = tmp_path / "table.blend"
    bpy.ops.wm.save_as_mainfile(filepath=str(path))
    assert looks(bpy.context.scene) == before
    other = shutil.copy(path, tmp_path / "other.blend")
    with bpy.data.libraries.load(str(other)) as (there, here):
        here.objects = there.objects
    assert not any(ids.THROUGH in item or item.display_type == "BOUNDS" for item in here.objects)
    # One that Blender saved by itself, without asking anybody, is put right when it is opened.
    handlers = list(bpy.app.handlers.save_pre)
    bpy.ops.wm.open_mainfile(filepath=str(path))
    show_one_that_covers(bpy.context.scene, first())
    bpy.app.handlers.save_pre.clear()
    bpy.ops.wm.save_as_mainfile(filepath=str(path), copy=True)
    bpy.app.handlers.save_pre.extend(handlers)
    bpy.ops.wm.open_mainfile(filepath=str(path))
    assert looks(bpy.context.scene) == before
    assert not first().shown


def projected(space, size: tuple[int, int]) -> np.ndarray:
    """(4, 4): Blender's own projection of a 3D view of that size, from the scene to clip space.

    A lens of 50 mm sees 72 mm across the longer side at its focal length (from memory, and as seen on the desktop).
    """
    view = space.region_3d
    near, far, half = 0.01, 1000.0, 36.0 / space.lens
    x, y = (half * one / max(size) for one in size)
    lens = np.zeros((4, 4))
    lens[0, 0], lens[1, 1] = 1 / x, 1 / y
    if view.view_perspective == "PERSP":
        lens[2, 2:], lens[3, 2] = [-(far + near) / (far - near), -2 * far * near / (far - near)], -1.0
    else:
        lens[:2] /= view.view_distance
        lens[2, 2], lens[3, 3] = -1 / far, 1.0
    eye = Matrix.LocRotScale(Vector(eye_and_axes(space)[0]), view.view_rotation, None)
    return lens @ np.array(eye.inverted())


@pytest.mark.parametrize("how", ["away", "orthographic"])
def test_words_on_the_finding_and_names_of_its_parts_stand_in_the_view(scene, state, how):
    measure = placing.Measure(lambda line: 7.0 * len(line), 12.0)
    for index in range(4):
        start(state, how)
        motion.show_finding(state, index)
        overlay = shown.prepare_scene(scene)
        area, space = seeing.main_view()
        lens = seeing.lens_of(area, space)
        size = lens.size
        to_screen = projected(space, size) @ np.array(state.root.matrix_world)
        seen = placing.projected(overlay.places, to_screen, size).reshape(2, -1, 2)
        blocks = placing.placed(placing.words(overlay.texts, 1.0, measure), seen[0], seen[1], size)
        finding = state.findings[index]
        heads = [block.text.lines[0] for block in blocks]
        assert heads[0].startswith(("Error: ", "Warning: "))
        for block in blocks:
            left, low, right, top = block.box
            assert left >= 0
            assert low >= 0
            assert right <= size[0]
            assert top <= size[1]
        if finding.span_text:
            assert finding.span_text in heads
        names = [head for head in heads if head.split()[0] in findings.labels_of(finding)]
        assert [name.split()[0] for name in sorted(names)] == sorted(findings.labels_of(finding)), heads
        kinds = {part.name: part.kind for part in state.parts}
        assert all(head == f"{head.split()[0]} {kinds[head.split()[0]]}" for head in names)
        hatched = {hatching.item for hatching in overlay.hatchings}
        made = access.part_objects(state)
        assert hatched == {made[label].name for label in findings.labels_of(finding)}


def test_selected_things_have_the_colors_that_ours_are_measured_against(empty):
    """Of the themes that Blender ships: the dark one is built in, the light one a file."""
    view = bpy.context.preferences.themes[0].view_3d
    dark = {"selected": view.object_selected, "active": view.object_active}
    for kind, color in dark.items():
        assert hexadecimal(color) == SELECTION[f"{kind}, dark theme"]
    assert hexadecimal(view.space.gradients.high_gradient) == GROUNDS["dark theme"]
    (folder,) = bpy.utils.preset_paths("interface_theme")
    text = Path(folder, "Blender_Light.xml").read_text(encoding="utf-8").upper()
    assert f'OBJECT_ACTIVE="{SELECTION["active, light theme"]}"' in text
    assert f'HIGH_GRADIENT="{GROUNDS["light theme"]}"' in text


def hexadecimal(color) -> str:
    return "#" + "".join(f"{round(255 * one):02X}" for one in color[:3])


def looked_at() -> list[list[float]]:
    """How each 3D view looks."""
    found = []
    for space in seeing.views():
        view = space.region_3d
        found.append([*view.view_location, *view.view_rotation, view.view_distance])
    return found


@pytest.mark.parametrize("how", ["stop", "remedy", "turned by hand"])
def test_the_view_turns_back_when_it_is_over(state, how):
    """Two findings are shown, one after the other: what was seen before the first is seen again, and leaves lie as they
    did."""
    start(state, "away")
    before, leaves = looked_at(), [(leaf.name, "cover") for leaf in state.leaves]
    assert any(place.leaf and place.has_travel for place in state.findings[:2])
    assert bpy.ops.dry_assembly.show_finding(index=1) == {"FINISHED"}
    assert bpy.ops.dry_assembly.show_finding(index=0) == {"FINISHED"}
    assert looked_at() != before
    assert sum(leaf.state == "sliding" for leaf in state.leaves) <= 1
    if how == "turned by hand":
        for space in seeing.views():
            space.region_3d.view_distance = 5.0
        before = looked_at()
    if how == "remedy":
        tables.find_remedies(state)
        index = next(n for n, one in enumerate(state.findings) if tables.tried_remedy(one) is not None)
        assert tables.apply_remedy(state, index, tables.tried_remedy(state.findings[index]))
    else:
        assert bpy.ops.dry_assembly.stop_showing() == {"FINISHED"}
    assert looked_at() == before
    assert [(leaf.name, leaf.state) for leaf in state.leaves] == leaves
    # What was seen then is forgotten: a view turned since stays.
    start(state, "below")
    now = looked_at()
    seeing.turn_back()
    assert looked_at() == now
