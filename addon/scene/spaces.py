"""Reserved spaces in the scene: bodies that are seen through, each with its name, in a collection of their own.

They are no parts: nothing exports, explodes or counts them, and they cover nothing. One that is moved in the view takes
its entry along; one that is turned or edited is put back.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import lru_cache
from itertools import pairwise
from typing import Any, Final, NamedTuple

import bpy
import numpy as np
from bpy.types import Object, PropertyGroup, Scene

from ..check.spans import faces
from ..sizes.arrays import Floats
from ..sizes.errors import DryAssemblyError
from ..sizes.units import format_size
from ..wood.reserved import Reserved, Space, space_of
from . import access, built, ids, objects, standing
from .description import METERS, MeshData, digests
from .materials import glass
from .state.properties import DRY_ASSEMBLY_PG_table as TableState

COLLECTION: Final = "Reserved Space"

TONE: Final = (0.25, 0.55, 0.75)
"""Linear RGB: the sky blue that is room on paper too, darker."""

STEP: Final = 0.01
"""What is dragged in the view is read in multiples of this, mm: its float32 knows no finer ones."""

_left: Final[dict[str, list[tuple[float, ...]]]] = {}
"""Key of a table → where its spaces stand that undo or redo left off their places."""


class Moved(NamedTuple):
    """A reserved space that does not stand where its entry says.

    Parameters
    ----------
    by : (3,) float, mm in the table; None where it was turned, scaled or edited
    """

    item: Object
    label: str
    by: Floats | None


def sync(scene: Scene, root: Object, spaces: Iterable[Space]) -> None:
    """Brings the bodies of a table's reserved spaces up to date; names, materials and collections stay the user's."""
    key = str(root[ids.TABLE])
    found = ids.space_objects(scene, key)
    for space in spaces:
        item, *copies = found.pop(space.label, []) or [_new(scene, key, root, space)]
        for other in copies:
            ids.free(other)
        mesh, middle = _body(_shown(space))
        objects.set_geometry(item, mesh)
        matrix = np.eye(4)
        matrix[:3, 3] = middle
        objects.place(item, matrix)
        name = f"{space.label} {space.entry.name}"
        if item.name.partition(" ")[0] == space.label and item.name != name:
            item.name = name
    for items in found.values():
        for item in items:
            ids.remove_object(item)
    if found:
        _drop_empty(scene, key)
    refresh_shown(scene, key, root)


def refresh_shown(scene: Scene, key: str, root: Object) -> None:
    """Shows the bodies where the choice in the panel says so, and the table is not exploded."""
    state: Any = root.dry_assembly  # type: ignore[attr-defined]
    hidden = not scene.dry_assembly.view.reserved or state.explosion_factor > 0
    for items in ids.space_objects(scene, key).values():
        for item in items:
            if item.hide_viewport != hidden:
                item.hide_viewport = hidden


def choice_changed(view: PropertyGroup) -> None:
    """Called by Blender when the user shows or hides the spaces of all tables of a scene."""
    scene = view.id_data
    assert isinstance(scene, Scene)
    for state in access.tables_in(scene):
        if not access.locked(state):
            refresh_shown(scene, state.key, state.root)


def _new(scene: Scene, key: str, root: Object, space: Space) -> Object:
    name = f"{space.label} {space.entry.name}"
    mesh = bpy.data.meshes.new(name)
    mesh.materials.append(glass(COLLECTION, TONE, 0.3))
    item = bpy.data.objects.new(name, mesh)
    item[ids.TABLE], item[ids.SPACE] = key, space.label
    item.parent = root
    item.show_name = item.hide_render = True
    item.lock_rotation, item.lock_scale = (True,) * 3, (True,) * 3
    objects.own_collection(scene, root, ids.SPACE, COLLECTION).objects.link(item)
    return item


def _drop_empty(scene: Scene, key: str) -> None:
    group = ids.table_collection(scene, key, ids.SPACE)
    if group is not None and not group.objects and not group.children:
        bpy.data.collections.remove(group)


def _shown(space: Space) -> Reserved:
    """An entry that says alone what is shown: of a wall, which depends on the table, the box."""
    if space.wall is None:
        return space.entry
    x, y, z = zip(space.pieces.low[0].tolist(), space.pieces.high[0].tolist(), strict=True)
    return Reserved(space.entry.name, "box", x, y, z)


@lru_cache(maxsize=64)
def _body(entry: Reserved) -> tuple[MeshData, Floats]:
    """The surface of a space about its middle, m, and where that is in the table, (3,) float, m."""
    pieces = space_of(0, entry, (0.0, 0.0, 0.0), (0.0, 0.0, 0.0)).pieces
    middle = (pieces.low.min(axis=0) + pieces.high.max(axis=0)) / 2
    positions = np.ascontiguousarray((pieces.vertices - middle) * METERS, dtype=np.float32)
    fans = [(face[0], *pair) for face in faces(pieces) for pair in pairwise(face[1:])]
    triangles = np.array(fans, dtype=np.int32)
    return MeshData(positions, triangles, *digests(positions, triangles)), middle * METERS


# -- moved in the view
# ----------------------------------------------------------------------------------------------------


def moved(state: TableState) -> Iterator[Moved]:
    """The spaces that do not stand where their entries say."""
    for label, items in ids.space_objects(access.scene_of(state), state.key).items():
        item = items[0]
        wanted = standing.wanted_pose(item)
        if wanted is None:
            continue
        place, turn, scale = standing.pose(item, state.root).decompose()
        turned = turn.rotation_difference(wanted[1]).angle > standing.STRAIGHT
        if turned or not standing.is_one(scale) or standing.is_edited(item.data):  # type: ignore[arg-type]
            yield Moved(item, label, None)
        elif (place - wanted[0]).length > standing.NEAR:
            by = np.array((place - wanted[0])[:]) / METERS
            yield Moved(item, label, np.round(by / STEP) * STEP)


def was_moved(state: TableState) -> bool:
    """Whether any is off its place, and was not left there by undo or redo."""
    places = _places(state)
    return bool(places) and _left.get(state.key) != places


def leave(state: TableState) -> None:
    """After undo and redo: what stands elsewhere is left there."""
    _left[state.key] = _places(state)


def forget() -> None:
    """When the extension is switched off."""
    _left.clear()


def _places(state: TableState) -> list[tuple[float, ...]]:
    return [tuple(one.item.matrix_basis.translation[:]) for one in moved(state)]


def put_back(found: Iterable[Moved], root: Object) -> None:
    """Stands spaces where their entries say."""
    for one in found:
        standing.put_in_place(one.item, root)
        mesh = one.item.data
        if one.by is None and isinstance(mesh, bpy.types.Mesh):
            standing.forget(mesh)
            mesh[ids.DIGEST] = mesh[ids.TOPOLOGY] = ""


# -- in words


def chosen(scene: Scene, item: Object | None) -> tuple[TableState, Space] | None:
    """The table and the reserved space that an object shows; None where it shows none."""
    if item is None or not item.get(ids.SPACE):
        return None
    state = access.table_of_object(scene, item)
    if state is None:
        return None
    try:
        spaces = built.assembly_of(access.table_in(state)).reserved
    except DryAssemblyError:
        return None
    return next(((state, one) for one in spaces if one.label == item[ids.SPACE]), None)


def size_words(state: TableState, space: Space) -> str:
    """How large a space is: along the table's axes; a cable's thickness, a wall's distance."""
    units, entry = built.table_of(state.text).units, space.entry
    if entry.form == "wall":
        return format_size(entry.distance, units)
    if entry.form == "cable":
        return format_size(entry.diameter, units)
    spans = space.pieces.high.max(axis=0) - space.pieces.low.min(axis=0)
    return " × ".join(format_size(float(one), units) for one in spans)
