"""A camera and lights for the user's own renders of a table."""

from __future__ import annotations

from typing import TYPE_CHECKING

import bpy
import numpy as np

from . import framing, ids
from .pictures import ABOVE, ANGLE
from .studio import lens_camera, lights

if TYPE_CHECKING:
    from bpy.types import Collection, Object, Scene
    from numpy.typing import NDArray


def add_camera(scene: Scene, key: str) -> Object:
    """Adds a camera that sees the whole table, and lights; they replace those of this table that are there."""
    for item in [item for item in scene.objects if item.get(ids.TABLE) == key and item.get(ids.VIEW)]:
        ids.remove_object(item)
    bpy.context.view_layer.update()
    points = _corners(ids.part_objects(scene, key))
    group = _collection(scene, key)
    axes = framing.axes_of(*ABOVE)
    size = (scene.render.resolution_x, scene.render.resolution_y)
    eye = framing.eye_for(points, axes, size, ANGLE, 0.06)
    camera = lens_camera(scene, group, eye, axes, ANGLE)
    reach = float(np.ptp(points[:, :2], axis=0).max())
    middle = (points.max(axis=0) + points.min(axis=0)) / 2
    for item in [camera, *lights(group, reach)]:
        item[ids.TABLE] = key
        item[ids.VIEW] = 1
        if item is not camera:
            item.location.x += middle[0]
            item.location.y += middle[1]
    return camera


def _corners(parts: dict[str, Object]) -> NDArray[np.float64]:
    """(n, 3) float, m: the corners of the parts' boxes in the scene."""
    found = []
    for item in parts.values():
        box = np.concatenate([np.array([list(corner) for corner in item.bound_box]), np.ones((8, 1))], axis=1)
        found.append((box @ np.array(item.matrix_world).T)[:, :3])
    return np.concatenate(found)


def _collection(scene: Scene, key: str) -> Collection:
    found = ids.table_collection(scene, key, "view")
    if found is None:
        found = bpy.data.collections.new("Camera and Lights")
        found[ids.TABLE] = key
        found[ids.ROLE] = "view"
        (ids.table_collection(scene, key) or scene.collection).children.link(found)
    return found
