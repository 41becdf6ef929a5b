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
THROUGH: Final = "dry_assembly_through"
"""On an object that is seen through while a finding is shown: how it was drawn before."""
SPACE: Final = "dry_assembly_space"
"""Label of the reserved space that an object shows; it is no part."""
VIEW: Final = "dry_assembly_view"
"""On the cameras and lights that we made."""
GRAIN: Final = "dry_assembly_grain"
"""1 where the grain runs across a part's length; the wood's shader reads it."""
MARKERS: Final = "dry_assembly_markers"
"""On a table's empty: names of the timeline markers that we set, a line each."""
EXTRA: Final = "dry_assembly_extra"
"""On a copy that the user made of a part."""
ACTION: Final = "dry_assembly_action"
"""On an action that we made."""

ROOT: Final = "table"

_found: Final[dict[str, tuple[int, list[tuple[str, str | None]]]]] = {}
"""Name of a scene → how many objects the file had when its tables were looked for, and the names of their empties."""


def is_root(item: Object) -> bool:
    """Whether an object is the empty that a table hangs on."""
    return item.get(PART) == ROOT and bool(item.get(TABLE))


def is_passing(item: Object) -> bool:
    """Whether an object only marks something, and goes with what it marks."""
    return any(item.get(name) for name in (MARK, SNAG, OVERLAP))


def is_air(item: Object) -> bool:
    """Whether an object covers nothing: it only marks something, or shows a reserved space."""
    return is_passing(item) or bool(item.get(SPACE))


def roots(scene: Scene) -> list[Object]:
    """The empties of a scene's tables. Panels ask this often: it is looked for anew only where objects came or went."""
    count = len(bpy.data.objects)
    known = _found.get(scene.name)
    if known is not None and known[0] == count:
        there: list[Object | None] = [bpy.data.objects.get(name) for name in known[1]]  # type: ignore[call-overload,arg-type]
        items = [item for item in there if item is not None and is_root(item)]
        if len(items) == len(there):
            return items
    items = [item for item in scene.objects if is_root(item)]
    _found[scene.name] = (
        count,
        [(item.name, None if item.library is None else item.library.filepath) for item in items],
    )
    return items


def forget() -> None:
    """Has the empties looked for anew."""
    _found.clear()


def root_object(scene: Scene, key: str) -> Object | None:
    """The empty of the table with that key."""
    return next((item for item in roots(scene) if item.get(TABLE) == key), None)


def root_above(item: Object | None) -> Object | None:
    """The empty that an object hangs on, however far down."""
    while item is not None and not is_root(item):
        item = item.parent
    return item


def claimants(scene: Scene, key: str) -> dict[str, list[Object]]:
    """Label → objects that bear it, the part itself first; the others are copies that the user made of it."""
    found: dict[str, list[Object]] = {}
    for item in scene.objects:
        if item.get(TABLE) == key and item.type == "MESH":
            label = item.get(PART)
            if label is not None:
                found.setdefault(label, []).append(item)
    for items in found.values():
        if len(items) > 1:
            items.sort(key=lambda item: (bool(item.get(EXTRA)), item.session_uid))
    return found


def part_objects(scene: Scene, key: str) -> dict[str, Object]:
    """Label → object of a table's parts."""
    return {label: items[0] for label, items in claimants(scene, key).items() if not items[0].get(EXTRA)}


def space_objects(scene: Scene, key: str) -> dict[str, list[Object]]:
    """Label → objects that show a table's reserved space, its own first, then copies that the user made."""
    found: dict[str, list[Object]] = {}
    for item in scene.objects:
        if item.get(TABLE) == key and item.get(SPACE):
            found.setdefault(str(item[SPACE]), []).append(item)
    for items in found.values():
        items.sort(key=lambda item: item.session_uid)
    return found


def single_user(item: Object, mesh: bpy.types.Mesh) -> bpy.types.Mesh:
    """Gives an object a mesh of its own, a copy of the one that it shared."""
    own = mesh.copy()
    assert isinstance(own, bpy.types.Mesh)
    item.data = own
    return own


def free(item: Object) -> None:
    """Makes an object the user's own: what marked it as a table's part goes."""
    for name in (TABLE, PART, PLACE, EXPLODED, EXTRA, ACTION, MARK, SNAG, OVERLAP, SPACE):
        if name in item:
            del item[name]
    mesh = item.data
    if isinstance(mesh, bpy.types.Mesh):
        if mesh.users > 1:
            mesh = single_user(item, mesh)
        for name in (DIGEST, TOPOLOGY):
            if name in mesh:
                del mesh[name]


def table_collection(scene: Scene, key: str, role: str = ROOT) -> Collection | None:
    """A table's own collection, or that of one role."""
    for item in scene.collection.children_recursive:
        if item.get(ROLE) == role and item.get(TABLE) == key:
            return item
    return None


def new_collection(parent: Collection, key: str, role: str, name: str) -> Collection:
    """A collection of a table in another one."""
    made = bpy.data.collections.new(name)
    made[TABLE] = key
    made[ROLE] = role
    parent.children.link(made)
    return made


def side_collection(scene: Scene, key: str, role: str, name: str) -> Collection:
    """A table's collection of what is no part of it (marks, camera and lights); made where it is not there."""
    found = table_collection(scene, key, role)
    return found or new_collection(table_collection(scene, key) or scene.collection, key, role, name)


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
