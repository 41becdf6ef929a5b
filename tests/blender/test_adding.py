"""A new table stands where there is room, is selected and seen; the cube that Blender begins with makes room for it.

Places and sizes are written by hand: the quilting table is 1500 × 960 × 770 mm, between tables there are 600 mm.
"""

from __future__ import annotations

import bpy
import numpy as np
import pytest
from bpy_extras.object_utils import world_to_camera_view
from mathutils import Matrix, Vector

from addon.scene import access, floor, seeing, tables

from .conftest import QUILTING, SEED_BENCH, in_scene


def box(state: tables.TableState) -> np.ndarray:
    """(2, 3) float, m: where a table stands."""
    points = np.concatenate([in_scene(item) for item in access.part_objects(state).values()])
    return np.array([points.min(axis=0), points.max(axis=0)])


def solid(name: str, low: tuple[float, float, float], high: tuple[float, float, float]) -> bpy.types.Object:
    """A box between two corners, m."""
    mesh = bpy.data.meshes.new(name)
    corners = [(x, y, z) for x in (low[0], high[0]) for y in (low[1], high[1]) for z in (low[2], high[2])]
    mesh.from_pydata(
        corners, [], [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    )
    item = bpy.data.objects.new(name, mesh)
    bpy.context.scene.collection.objects.link(item)
    return item


@pytest.fixture
def startup(scene):
    """The scene that Blender begins with."""
    bpy.ops.wm.read_homefile(use_empty=False, use_factory_startup=True)
    return bpy.context.scene


def test_the_default_cube_is_hidden_with_a_word_about_it(startup, capfd):
    cube = startup.objects["Cube"]
    assert bpy.ops.dry_assembly.add_example(example="quilting") == {"FINISHED"}
    (state,) = access.tables_in(startup)
    assert (cube.visible_get(), cube.hide_render) == (False, True)
    assert "Blender's cube is hidden" in capfd.readouterr().out
    assert box(state)[:, :2] == pytest.approx(np.array([[-0.75, -0.48], [0.75, 0.48]]), abs=1e-5)
    assert bpy.ops.dry_assembly.add_example(example="quilting") == {"FINISHED"}
    assert "cube" not in capfd.readouterr().out


@pytest.mark.parametrize("change", ["moved", "edited", "beveled", "not alone", "scaled"])
def test_a_cube_that_somebody_used_stays_and_the_table_stands_beside_it(startup, change):
    cube = startup.objects["Cube"]
    if change == "moved":
        cube.location.x = 0.1
    elif change == "edited":
        cube.data.vertices[0].co.z = -2.0
    elif change == "beveled":
        cube.modifiers.new("Bevel", "BEVEL")
    elif change == "scaled":
        cube.scale.z = 0.5
    else:
        solid("shelf", (-3.0, 5.0, 0.0), (-2.0, 6.0, 1.0))
    state = tables.create_table(startup, QUILTING)
    assert cube.visible_get()
    right = in_scene(cube)[:, 0].max()
    assert box(state)[0, 0] == pytest.approx(right + 0.6, abs=1e-4)


def test_a_table_stands_in_the_first_gap_that_takes_it(scene):
    solid("floor", (-9.0, -9.0, -0.1), (9.0, 9.0, 0.0))  # in nobody's way
    solid("bed", (-1.0, -1.0, 0.0), (0.0, 1.0, 0.5))
    solid(
        "wardrobe", (2.0, -1.0, 0.0), (3.0, 1.0, 2.0)
    )  # 2 m of room before it: too little for 1.5 and 2 × 0.6
    state = tables.create_table(scene, QUILTING)
    assert box(state)[0, 0] == pytest.approx(3.6, abs=1e-4)
    assert box(state)[0, 2] == pytest.approx(0.0, abs=1e-6)
    hidden = tables.create_table(scene, SEED_BENCH)
    for item in access.part_objects(hidden).values():
        item.hide_set(True)
    third = tables.create_table(scene, QUILTING)
    assert box(third)[0, 0] == pytest.approx(box(hidden)[1, 0] + 0.6, abs=1e-4)


def test_a_far_gap_is_left_and_the_near_one_taken(scene):
    solid("shelf", (-1.0, -1.0, 0.0), (0.0, 1.0, 0.5))
    solid("wardrobe", (2.8, -1.0, 0.0), (3.5, 1.0, 2.0))  # 2.8 m of room: 1.5 and 2 × 0.6
    state = tables.create_table(scene, QUILTING)
    assert box(state)[0, 0] == pytest.approx(0.6, abs=1e-4)


def test_a_new_table_is_selected_and_active(scene):
    lamp = bpy.data.objects.new("lamp", None)
    scene.collection.objects.link(lamp)
    lamp.select_set(True)
    state = tables.create_table(scene, QUILTING)
    chosen = {item for item in bpy.context.view_layer.objects if item.select_get()}
    assert chosen == set(access.part_objects(state).values())
    assert bpy.context.view_layer.objects.active in chosen
    assert access.active_table(bpy.context) == state


@pytest.mark.parametrize("perspective", ["PERSP", "ORTHO"])
def test_a_new_table_is_seen_whole_and_large(startup, perspective):
    # What a 3D view sees is that of a camera with twice its sensor, so the camera of this test has 72 mm.
    for space in seeing.views():
        space.region_3d.view_perspective = perspective
        space.region_3d.view_distance = 80.0
    tables.create_table(startup, SEED_BENCH)
    state = tables.create_table(startup, QUILTING)
    points = np.concatenate([in_scene(item) for item in access.part_objects(state).values()])
    space = next(iter(seeing.views()))
    area = next(area for screen in bpy.data.screens for area in screen.areas if space in area.spaces[:])
    view = space.region_3d
    camera = startup.camera
    camera.data.type = perspective
    camera.data.sensor_width, camera.data.lens = 72.0, space.lens
    camera.data.ortho_scale = view.view_distance * 72.0 / space.lens
    camera.parent = None
    turn = view.view_rotation.to_matrix().to_4x4()
    camera.matrix_world = (
        Matrix.Translation(view.view_location) @ turn @ Matrix.Translation((0, 0, view.view_distance))
    )
    startup.render.resolution_x, startup.render.resolution_y = area.width, area.height
    bpy.context.view_layer.update()
    seen = np.array([world_to_camera_view(startup, camera, Vector(point))[:] for point in points])
    assert (seen[:, :2] > 0.0).all()
    assert (seen[:, :2] < 1.0).all()
    assert np.ptp(seen[:, :2], axis=0).max() > 0.5


def test_adding_while_something_is_edited(startup):
    cube = startup.objects["Cube"]
    bpy.context.view_layer.objects.active = cube
    bpy.ops.object.mode_set(mode="EDIT")
    state = tables.create_table(startup, QUILTING)
    assert bpy.context.mode == "OBJECT"
    assert access.active_table(bpy.context) == state


def test_the_cube_comes_back_by_undo(startup):
    bpy.ops.ed.undo_push(message="start")
    assert bpy.ops.dry_assembly.add_example("EXEC_DEFAULT", True, example="quilting") == {"FINISHED"}
    bpy.ops.ed.undo()
    assert bpy.context.scene.objects["Cube"].visible_get()
    assert floor.default_cube(bpy.context.scene) is not None
