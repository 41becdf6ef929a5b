"""A scene of its own for a picture: copies of a table's parts, a camera, light. The user's scene is not touched.

For the user's own renders there is `add_camera`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Final

import bpy
import numpy as np
from bpy.types import Collection, Object, Scene
from mathutils import Matrix, Vector
from numpy.typing import NDArray

from ...sizes.arrays import Floats
from .. import ids
from ..description import PartObject, TableObjects
from ..materials import material_of, plain
from ..objects import fill_mesh, place
from . import engines, framing
from .framing import View


def add_camera(scene: Scene, key: str) -> Object:
    """Adds a camera that sees the whole table, and lights; they replace those of this table that are there."""
    for item in [item for item in scene.objects if item.get(ids.TABLE) == key and item.get(ids.VIEW)]:
        ids.remove_object(item)
    bpy.context.view_layer.update()
    points = _corners(ids.part_objects(scene, key))
    group = ids.side_collection(scene, key, "view", "Camera and Lights")
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


ANGLE: Final = np.radians(28.0)
"""Width of the lens that sees the whole table."""
ABOVE: Final = (22.0, -32.0)
"""Elevation and azimuth of the eye behind it, degrees."""
FAR: Final = 8.0
"""Distance of a camera without perspective from the middle of what it sees, m."""
NEAR: Final = 1.0
"""Distance of lettering from such a camera, m: before everything else."""
PAPER: Final = (0.87, 0.87, 0.85)
FLOOR_PAINT: Final = (0.50, 0.49, 0.47)
WHITE: Final = (0.9, 0.9, 0.9)


@dataclass(eq=False)
class Studio:
    """What is in a studio."""

    scene: Scene
    parts: dict[str, Object]
    """Label → a copy of the part's object; those of hidden roles are left out."""

    def add(self, item: Object) -> Object:
        """Puts another object into the studio; it goes when the studio goes."""
        self.scene.collection.objects.link(item)
        return item


@contextmanager
def studio(
    table: TableObjects,
    look: engines.Look,
    size: tuple[int, int],
    shown: Callable[[PartObject], bool] = lambda _: True,
) -> Iterator[Studio]:
    """A studio with a table in it, leaves on the cover."""
    known = {name: set(getattr(bpy.data, name)) for name in _MADE}
    scene = bpy.data.scenes.new("Dry Assembly Picture")
    try:
        engines.use(scene, look, size)
        scene.world = _world(PAPER)
        yield Studio(scene, {part.label: _copy(scene, part) for part in table.parts if shown(part)})
    finally:
        bpy.data.scenes.remove(scene)
        for name in _MADE:
            group = getattr(bpy.data, name)
            for item in set(group) - known[name]:
                if item.get(ids.MATERIAL) is None:
                    group.remove(item)


_MADE: Final = ("objects", "meshes", "curves", "cameras", "lights", "worlds", "collections", "actions")
"""Kinds of data that a studio makes and takes away again."""


def _copy(scene: Scene, part: PartObject) -> Object:
    mesh = bpy.data.meshes.new(part.label)
    fill_mesh(mesh, part.mesh.positions, part.mesh.triangles)
    mesh.materials.append(material_of(part.role))
    item = bpy.data.objects.new(part.label, mesh)
    item[ids.GRAIN] = float(part.across)
    place(item, part.matrix if part.cover is None else part.cover)
    scene.collection.objects.link(item)
    return item


def _world(color: tuple[float, float, float]) -> bpy.types.World:
    world = bpy.data.worlds.new("Paper")
    world.color = color
    if world.node_tree is None:
        world.use_nodes = True
    for node in world.node_tree.nodes:
        if node.type == "BACKGROUND":
            node.inputs[0].default_value = (*color, 1.0)
            node.inputs[1].default_value = 0.6
    return world


def flat_camera(studio: Studio, view: View) -> Object:
    """A camera without perspective."""
    data = bpy.data.cameras.new("Camera")
    data.type = "ORTHO"
    data.ortho_scale = max(view.width, view.height)
    data.clip_start, data.clip_end = NEAR / 2, 4 * FAR
    return _aim(studio.scene, studio.scene.collection, data, view.middle + view.axes[2] * FAR, view.axes)


def lens_camera(scene: Scene, group: Collection, eye: Floats, axes: Floats, angle: float) -> Object:
    """A camera with perspective, `angle` radians wide."""
    data = bpy.data.cameras.new("Camera")
    data.sensor_fit = "HORIZONTAL"  # by default the angle is that of the longer side
    data.angle = angle
    return _aim(scene, group, data, eye, axes)


def _aim(scene: Scene, group: Collection, data: bpy.types.Camera, eye: Floats, axes: Floats) -> Object:
    matrix = np.eye(4)
    matrix[:3, :3], matrix[:3, 3] = axes.T, eye
    camera = bpy.data.objects.new("Camera", data)
    camera.matrix_world = Matrix(matrix.tolist())
    group.objects.link(camera)
    scene.camera = camera
    return camera


def lights(group: Collection, reach: float) -> list[Object]:
    """Three soft lights around a table `reach` meters across: key, fill, and one from behind."""
    made = []
    for name, stand, size, power in (
        ("Key Light", (-1.0, -1.3, 1.9), 0.9, 52.0),
        ("Fill Light", (1.8, -1.2, 1.0), 1.4, 10.0),
        ("Back Light", (0.4, 1.8, 1.5), 1.2, 20.0),
    ):
        data = bpy.data.lights.new(name, "AREA")
        data.size = size * reach
        data.energy = power * reach * reach
        item = bpy.data.objects.new(name, data)
        item.location = Vector(stand) * reach
        item.rotation_euler = (
            (Vector((0.0, 0.0, 0.3 * reach)) - item.location).to_track_quat("-Z", "Y").to_euler()
        )
        group.objects.link(item)
        made.append(item)
    return made


def ground(studio: Studio, reach: float, paint: tuple[float, float, float] = FLOOR_PAINT) -> Object:
    """The room's floor."""
    mesh = bpy.data.meshes.new("Room Floor")
    corners = np.array([[-1, -1, 0], [1, -1, 0], [1, 1, 0], [-1, 1, 0]], dtype=np.float32) * np.float32(
        30.0 * reach
    )
    fill_mesh(mesh, corners, np.array([[0, 1, 2], [0, 2, 3]], dtype=np.int32))
    mesh.materials.append(plain("Room Floor" if paint == FLOOR_PAINT else "White Floor", paint))
    return studio.add(bpy.data.objects.new("Room Floor", mesh))
