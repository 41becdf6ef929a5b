"""Where a new table stands: on the floor beside what is there already, in the middle of the view.

A scene as Blender begins with has a cube where the first table would stand: that is hidden.
"""

from __future__ import annotations

from typing import Final

import bpy
import numpy as np
from bpy.types import Object, Scene
from mathutils import Vector

from ..sizes.arrays import Floats
from . import access, ids, seeing
from .sight import Lens
from .state.properties import DRY_ASSEMBLY_PG_table as TableState

AISLE: Final = 0.6
"""Space between tables, and between a table and what stands there, m."""
LOW: Final = 0.01
"""What is lower stands in nobody's way, m: a floor, a carpet."""
CUBE: Final = 2.0
"""Edge of the cube that Blender begins with, m."""
CUBE_HIDDEN: Final = "Blender's cube is hidden: it stood in the table's place"
ROOM: Final = 1.05
"""How much larger than the table what is seen of the view is."""


def default_cube(scene: Scene) -> Object | None:
    """The cube of a scene that holds nothing else but cameras and lights; None where somebody has used it."""
    others = [item for item in scene.objects if item.type not in ("CAMERA", "LIGHT")]
    if len(others) != 1 or others[0].type != "MESH" or not others[0].visible_get():
        return None
    cube = others[0]
    mesh = cube.data
    assert isinstance(mesh, bpy.types.Mesh)
    if (len(mesh.vertices), len(mesh.polygons), len(cube.modifiers)) != (8, 6, 0) or cube.parent:
        return None
    half = CUBE / 2
    corners = np.array([vertex.co[:] for vertex in mesh.vertices])
    untouched = np.allclose(np.abs(corners), half, atol=1e-6) and np.allclose(
        np.array(cube.matrix_basis), np.eye(4), atol=1e-6
    )
    return cube if untouched else None


def hide(item: Object) -> None:
    """Hides an object in the view and in renders."""
    item.hide_set(True)
    item.hide_render = True


def free_place(scene: Scene, extent: Floats) -> Vector:
    """Where the empty of a new table may stand: at the origin, or else as near to the right as is free.

    Parameters
    ----------
    extent : (2, 3) float, m: least and greatest coordinates of the table about its empty
    """
    taken = _obstacles(scene)
    low, high = extent[0, :2] - AISLE, extent[1, :2] + AISLE
    tried = [0.0, *sorted(float(right - low[0]) for _, (right, _) in taken)]
    for x in tried:
        if x >= 0.0 and not any(
            (low + [x, 0.0] < there - 1e-5).all() and (here < high + [x, 0.0] - 1e-5).all()
            for here, there in taken
        ):
            return Vector((x, 0.0, 0.0))
    return Vector((0.0, 0.0, 0.0))


def _obstacles(scene: Scene) -> list[tuple[Floats, Floats]]:
    """(2,) float each, m: where something stands on the floor; tables count though they may be hidden."""
    access.layer_of(scene).update()
    boxes = []
    for item in scene.objects:
        if item.type not in seeing.SOLID or not (item.visible_get() or item.get(ids.PART)):
            continue
        corners = np.array([item.matrix_world @ Vector(corner) for corner in item.bound_box])
        if corners[:, 2].max() > LOW:
            boxes.append((corners[:, :2].min(axis=0), corners[:, :2].max(axis=0)))
    return boxes


def frame(state: TableState) -> None:
    """Has the 3D views look at a table, from where they do; it stands in the middle of what nothing lies over."""
    access.layer_of(access.scene_of(state)).update()
    items = access.part_objects(state).values()
    corners = np.array([item.matrix_world @ Vector(corner) for item in items for corner in item.bound_box])
    low, high = corners.min(axis=0), corners.max(axis=0)
    radius = float(np.linalg.norm(high - low)) / 2
    for area, space in seeing.areas():
        lens = seeing.lens_of(area, space)
        distance = _distance(lens, radius)
        right, up, _ = np.array(space.region_3d.view_rotation.to_matrix()).T
        aside = lens.aside @ [right, up] * lens.pixel * distance
        seeing.look_at(Vector(((low + high) / 2 + aside).tolist()), distance, [space])


def _distance(lens: Lens, radius: float) -> float:
    """Distance from which a view shows a ball of a radius, m, in what is free: it touches no plane through the eye and
    a border."""
    borders = (np.array(lens.free) - np.repeat(lens.size, 2) / 2) * lens.pixel
    half = np.repeat(np.maximum(borders[1::2] - borders[::2], lens.pixel), 2) / 2
    near = np.hypot(1.0, borders) / half if lens.perspective else 1.0 / half
    return ROOM * radius * float(near.max())
