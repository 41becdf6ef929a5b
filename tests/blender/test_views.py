"""A camera for the user's own renders: the whole table is in its picture, together and apart."""

from __future__ import annotations

import bpy
import numpy as np
import pytest
from bpy_extras.object_utils import world_to_camera_view
from mathutils import Vector

from addon.scene import access, ids

from .conftest import first, in_scene


@pytest.mark.parametrize("size", [(1920, 1080), (600, 900)])
@pytest.mark.parametrize("factor", [0.0, 1.0])
def test_the_camera_sees_every_part(scene, state, factor, size):
    scene.render.resolution_x, scene.render.resolution_y = size
    state.root.location = 1.0, -2.0, 0.5
    state.explosion_factor = factor
    for _ in range(2):  # the second camera takes the place of the first
        assert bpy.ops.dry_assembly.add_camera() == {"FINISHED"}
    assert scene.camera is not None
    assert [item for item in scene.objects if item.type == "CAMERA"] == [scene.camera]
    assert all(item.get(ids.TABLE) == state.key for item in scene.objects if item.type == "LIGHT")
    bpy.context.view_layer.update()
    seen = np.array(
        [
            world_to_camera_view(scene, scene.camera, Vector(corner))
            for item in access.part_objects(first()).values()
            for corner in in_scene(item)
        ]
    )
    # Blender's own projection: 0 to 1 across the picture, and the distance ahead.
    assert (seen[:, 2] > 0).all()
    assert 0.0 < seen[:, :2].min() < seen[:, :2].max() < 1.0
    spans = np.ptp(seen[:, :2], axis=0)
    assert 0.8 < spans.max() < 0.95
