"""A new table stands where there is room, is selected and seen; the cube that Blender begins with makes room for it.

Places and sizes are written by hand: the quilting table is 1500 × 960 × 770 mm, between tables there are 600 mm.
"""

from __future__ import annotations

from types import SimpleNamespace

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


def seen_in(scene, space, size: tuple[int, int], points: np.ndarray) -> np.ndarray:
    """(n, 2) float: where points are seen in a 3D view of a size in pixels, from its lower left corner, in its sides.

    What a 3D view sees is that of a camera with twice its sensor, so the camera that is asked has 72 mm.
    """
    view, camera = space.region_3d, scene.camera
    camera.data.type = view.view_perspective
    camera.data.sensor_width, camera.data.lens = 72.0, space.lens
    camera.data.ortho_scale = view.view_distance * 72.0 / space.lens
    camera.parent = None
    turn = view.view_rotation.to_matrix().to_4x4()
    camera.matrix_world = (
        Matrix.Translation(view.view_location) @ turn @ Matrix.Translation((0, 0, view.view_distance))
    )
    scene.render.resolution_x, scene.render.resolution_y = size
    bpy.context.view_layer.update()
    return np.array([world_to_camera_view(scene, camera, Vector(point))[:2] for point in points])


def table_points(state) -> np.ndarray:
    """(n, 3) float, m: all vertices of a table in the scene."""
    return np.concatenate([in_scene(item) for item in access.part_objects(state).values()])


@pytest.mark.parametrize("perspective", ["PERSP", "ORTHO"])
def test_a_new_table_is_seen_whole_and_large(startup, perspective):
    for space in seeing.views():
        space.region_3d.view_perspective = perspective
        space.region_3d.view_distance = 80.0
    tables.create_table(startup, SEED_BENCH)
    state = tables.create_table(startup, QUILTING)
    area, space = seeing.main_view()
    window = next(region for region in area.regions if region.type == "WINDOW")
    seen = seen_in(startup, space, (window.width, window.height), table_points(state))
    assert (seen > 0.0).all()
    assert (seen < 1.0).all()
    assert np.ptp(seen, axis=0).max() > 0.5


@pytest.mark.parametrize("perspective", ["PERSP", "ORTHO"])
@pytest.mark.parametrize(
    ("width", "height", "sidebar"), [(1200, 800, 500), (900, 800, 600), (1600, 500, 300)]
)
def test_a_new_table_stands_beside_the_sidebar(startup, monkeypatch, perspective, width, height, sidebar):
    _, space = seeing.main_view()
    space.show_region_ui, space.region_3d.view_perspective = True, perspective
    places = {"y": 0, "height": height, "alignment": "NONE"}
    area = SimpleNamespace(
        regions=[
            SimpleNamespace(**places, type="WINDOW", x=0, width=width),
            SimpleNamespace(**{**places, "alignment": "RIGHT"}, type="UI", x=width - sidebar, width=sidebar),
            SimpleNamespace(type="HEADER", x=0, y=height - 50, width=width, height=50, alignment="TOP"),
        ]
    )
    monkeypatch.setattr(seeing, "areas", lambda: [(area, space)])
    state = tables.create_table(startup, QUILTING)
    seen = seen_in(startup, space, (width, height), table_points(state)) * (width, height)
    free = np.array([width - sidebar, height - 50])
    assert (seen > 0.0).all()
    assert (seen < free).all()
    assert (np.ptp(seen, axis=0) / free).max() > 0.5
    middle = seen_in(startup, space, (width, height), box(state).mean(axis=0)[None])[0]
    assert middle * (width, height) == pytest.approx(free / 2, abs=1.0)


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
