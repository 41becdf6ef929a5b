"""How our objects are known again in a .blend file: by custom properties, so that names are the user's to change."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

import bpy
from bpy.types import ID, Collection, Object, Scene

TABLE: Final = "dry_assembly_table"
"""Key of the table that something belongs to."""
PART: Final = "dry_assembly_part"
"""Label of the part that an object is; the table's own empty has `ROOT` here."""
ROLE: Final = "dry_assembly_role"
"""Role whose parts a collection holds; the table's own collection has `ROOT` here."""
DIGEST: Final = "dry_assembly_digest"
TOPOLOGY: Final = "dry_assembly_topology"
PLACE: Final = "dry_assembly_place"
"""Where the table wants an object to stand: location and rotation that we gave it last."""
EXPLODED: Final = "dry_assembly_exploded"
"""On a part: how much of its delta location is the exploded view's, m."""
MATERIAL: Final = "dry_assembly_material"
MARK: Final = "dry_assembly_mark"
"""Kind of a mark (hatching, note): made anew with the animation, of no lasting worth."""
SNAG: Final = "dry_assembly_snag"
"""On the ghost of a leaf that snags, and on what belongs to it: of no lasting worth."""
OVERLAP: Final = "dry_assembly_contact"
"""On the object that shows the space two parts share: of no lasting worth."""
VIEW: Final = "dry_assembly_view"
"""On the cameras and lights that we made."""
GRAIN: Final = "dry_assembly_grain"
"""1 where the grain runs across a part's length; the wood's shader reads it."""
MARKERS: Final = "dry_assembly_markers"
"""On a table's empty: names of the timeline markers that we set, a line each."""
ACTION: Final = "dry_assembly_action"
"""On an action that we made."""

ROOT: Final = "table"


def part_objects(scene: Scene, key: str) -> dict[str, Object]:
    """Label → object of a table's parts. Copies that the user made of a part carry the same label: the first by name
    is the part, the others are the user's."""
    found: dict[str, Object] = {}
    for item in scene.objects:
        if item.get(TABLE) == key and item.type == "MESH":
            label = item.get(PART)
            if label is not None and (label not in found or item.name < found[label].name):
                found[label] = item
    return found


def root_object(scene: Scene, key: str) -> Object | None:
    """The empty that a table hangs on."""
    for item in scene.objects:
        if item.get(PART) == ROOT and item.get(TABLE) == key:
            return item
    return None


def table_collection(scene: Scene, key: str, role: str = ROOT) -> Collection | None:
    """A table's own collection, or that of one role."""
    for item in scene.collection.children_recursive:
        if item.get(ROLE) == role and item.get(TABLE) == key:
            return item
    return None


def marked(items: Iterable[ID], name: str, value: str) -> list[ID]:
    """Those of `items` whose custom property `name` is `value`."""
    return [item for item in items if item.get(name) == value]


def remove_marks(scene: Scene, key: str, mark: str) -> None:
    """Takes a table's objects with a mark (custom property and role) away, and their collection once it is empty."""
    for item in [item for item in scene.objects if item.get(mark) and item.get(TABLE) == key]:
        remove_object(item)
    group = table_collection(scene, key, mark)
    if group is not None and not group.objects and not group.children:
        bpy.data.collections.remove(group)


def remove_object(item: Object) -> None:
    """Takes an object out of the file, and its data where nothing else uses it."""
    data = item.data
    bpy.data.objects.remove(item, do_unlink=True)
    if data is None or data.users:
        return
    if isinstance(data, bpy.types.Mesh):
        bpy.data.meshes.remove(data)
    elif isinstance(data, bpy.types.Curve):
        bpy.data.curves.remove(data)
    elif isinstance(data, bpy.types.Camera):
        bpy.data.cameras.remove(data)
    elif isinstance(data, bpy.types.Light):
        bpy.data.lights.remove(data)
