"""Makes a table's objects and brings them up to date in place.

Objects are found again by their custom properties. On an object that is there already only geometry and place
change: its name, materials, modifiers, keyframes and collections are the user's.
"""

from __future__ import annotations

from contextlib import suppress

import bpy
import numpy as np
from bpy.types import Collection, Mesh, Object, Scene
from mathutils import Matrix
from numpy.typing import NDArray

from ..sizes.arrays import Floats
from . import floor, ids, seeing
from .description import MeshData, PartObject, TableObjects
from .materials import material_of


def sync(scene: Scene, root: Object, table: TableObjects) -> dict[str, Object]:
    """Brings the objects of a table up to date; label → object. Leaves are left where they are."""
    key = str(root[ids.TABLE])
    found = ids.part_objects(scene, key)
    kept: dict[str, Object] = {}
    for part in table.parts:
        item = found.pop(part.label, None) or _new_object(scene, key, root, part)
        set_geometry(item, part.mesh)
        if part.cover is None:
            place(item, part.matrix)
        kept[part.label] = item
    for item in found.values():
        _remove_part(item, root)
    return kept


def remove(scene: Scene, key: str) -> None:
    """Takes a table's parts, its empty and its collections out of the file; the user's own objects stay."""
    seeing.put_back(scene)
    for item in [item for item in scene.objects if item.get(ids.TABLE) == key]:
        for child in item.children:
            set_free(child, None)
        ids.remove_object(item)
    collections = [item for item in scene.collection.children_recursive if item.get(ids.TABLE) == key]
    for item in reversed(collections):
        for own in item.objects:
            if own.name not in scene.collection.objects:
                scene.collection.objects.link(own)
        for group in item.children:
            if group.name not in scene.collection.children:
                scene.collection.children.link(group)
        bpy.data.collections.remove(item)
    ids.forget()


def set_geometry(item: Object, new: MeshData) -> None:
    """Gives an object's mesh new geometry, if it differs."""
    mesh = item.data
    if not isinstance(mesh, bpy.types.Mesh) or mesh.get(ids.DIGEST) == new.digest:
        return
    if mesh.is_editmode:
        bpy.ops.object.mode_set(mode="OBJECT")
    if mesh.users > 1 or mesh.library is not None:
        mesh = ids.single_user(
            item, mesh
        )  # the other user, a linked duplicate of the table, keeps its own sizes
    if mesh.get(ids.TOPOLOGY) == new.topology and len(mesh.vertices) == len(new.positions):
        mesh.attributes["position"].data.foreach_set("vector", new.positions.ravel())
        mesh.update()
    else:
        fill_mesh(mesh, new.positions, new.triangles)
        mesh[ids.TOPOLOGY] = new.topology
    mesh[ids.DIGEST] = new.digest


def fill_mesh(mesh: Mesh, positions: NDArray[np.float32], triangles: NDArray[np.int32]) -> None:
    """Replaces a mesh's geometry by (n, 3) float32 positions, m, and (m, 3) int32 triangles."""
    mesh.clear_geometry()
    mesh.vertices.add(len(positions))
    mesh.attributes["position"].data.foreach_set("vector", positions.ravel())
    mesh.loops.add(triangles.size)
    mesh.loops.foreach_set("vertex_index", triangles.ravel())
    mesh.polygons.add(len(triangles))
    mesh.polygons.foreach_set("loop_start", np.arange(0, triangles.size, 3, dtype=np.int32))
    mesh.update(calc_edges=True)
    mesh.shade_flat()


def place(item: Object, matrix: Floats) -> None:
    """Stands an object at (4, 4) float, m, in its table's frame; one that the user moved stays until that changes."""
    location, rotation, _ = Matrix(matrix.tolist()).decompose()
    wanted = [*location, *rotation]
    given = item.get(ids.PLACE)
    if given is not None and np.array_equal(np.asarray(given), wanted):
        return
    item.rotation_mode = "QUATERNION"
    item.location = location
    item.rotation_quaternion = rotation
    item[ids.PLACE] = wanted


def new_root(scene: Scene, key: str, table: TableObjects) -> Object:
    """The empty of a new table, beside what is there."""
    root = bpy.data.objects.new(table.name, None)
    root[ids.TABLE] = key
    root[ids.PART] = ids.ROOT
    root.empty_display_size = 0.1
    root.location = floor.free_place(scene, table.extent())
    own_collection(scene, root, ids.ROOT, table.name).objects.link(root)
    for layer in scene.view_layers:
        with suppress(RuntimeError):  # not in this layer
            root.hide_set(True, view_layer=layer)  # or lines would run from it to all parts
    ids.forget()
    return root


def _new_object(scene: Scene, key: str, root: Object, part: PartObject) -> Object:
    name = f"{part.label} {part.name}"
    mesh = bpy.data.meshes.new(name)
    mesh.materials.append(material_of(part.role))
    item = bpy.data.objects.new(name, mesh)
    item[ids.TABLE] = key
    item[ids.PART] = part.label
    item[ids.GRAIN] = float(part.across)
    item.parent = root
    own_collection(scene, root, part.role.word, part.role.collection).objects.link(item)
    return item


def own_collection(scene: Scene, root: Object, role: str, name: str) -> Collection:
    """A table's own collection (role `ids.ROOT`), or that of one role in it; made where it is not there."""
    key = str(root[ids.TABLE])
    found = ids.table_collection(scene, key, role)
    if found is None:
        parent = scene.collection if role == ids.ROOT else own_collection(scene, root, ids.ROOT, root.name)
        found = ids.new_collection(parent, key, role, name)
    return found


def _remove_part(item: Object, root: Object) -> None:
    """Removes a part that the table no longer has; what the user hung on it hangs on the table's empty instead."""
    for child in item.children:
        set_free(child, root)
    ids.remove_object(item)


def set_free(child: Object, parent: Object | None) -> None:
    """Hangs an object on another, or on nothing; it stays where it is."""
    world = child.matrix_world.copy()
    child.parent = parent
    child.matrix_world = world
