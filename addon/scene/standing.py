"""What stands in the scene, beside what was made: parts that were moved, turned, scaled, deleted, edited or copied.

The exploded view, the travel of leaves and the stow animation are our own and no reason to complain. Modifiers,
materials, keyframes of other properties and hiding are the user's, and change no part.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, NamedTuple

import bpy
import numpy as np
from bpy.types import Mesh, Object
from mathutils import Matrix, Quaternion, Vector

from . import access, ids
from .description import digests
from .motion import animation
from .state.properties import DRY_ASSEMBLY_PG_table as TableState

NEAR: Final = 5e-5
"""How far a part may be off its place without being moved, m: more than float32 rounds."""
STRAIGHT: Final = 1e-4
"""By how much it may be turned, radians: a tenth of a millimeter on a meter."""
SIZED: Final = 1e-5
"""By how much its scale may differ from 1."""

_IDENTITY: Final = Matrix.Identity(4)

_edited: Final[dict[int, tuple[str, bool]]] = {}
"""Session number of a mesh → the digest that we gave it, and whether somebody edited it since; looked at anew where
Blender says that it changed."""


class Stray(NamedTuple):
    """A part that does not stand as it was made; `label` is that of the empty for the whole table."""

    label: str
    what: str
    item: str


def forget(mesh: Mesh | None = None) -> None:
    """Has a mesh looked at anew; all of them where none is given."""
    if mesh is None:
        _edited.clear()
    else:
        _edited.pop(mesh.session_uid, None)


def look(state: TableState) -> None:
    """Notes which parts of a table do not stand as they were made."""
    if access.locked(state):
        return
    found = list(strays(state))
    if found == [Stray(one.name, one.what, one.item) for one in state.moved]:
        return
    state.moved.clear()
    for stray in found:
        item = state.moved.add()
        item.name, item.what, item.item = stray


def strays(state: TableState) -> Iterator[Stray]:
    """Parts that do not stand as they were made, in the order in which they were made; copies of parts last."""
    root = state.root
    if not is_one(root.matrix_basis.to_scale()):
        yield Stray(ids.ROOT, "scaled", root.name)
    found = ids.claimants(access.scene_of(state), state.key)
    extra = []
    for label in state.labels.split("\n") if state.labels else ():
        items = found.pop(label, [])
        if not items or items[0].get(ids.EXTRA):
            yield Stray(label, "gone", "")
            extra += items
            continue
        what = _what(items[0], root)
        if what:
            yield Stray(label, what, items[0].name)
        extra += items[1:]
    for item in [*extra, *(item for items in found.values() for item in items)]:
        yield Stray(str(item[ids.PART]), "extra", item.name)


def _what(item: Object, root: Object) -> str:
    """What was done to a part; "" where it stands as it was made."""
    mesh = item.data
    if isinstance(mesh, bpy.types.Mesh) and is_edited(mesh):
        return "edited"
    wanted = wanted_pose(item)
    if wanted is None or animation.is_animated(item):
        return ""
    location, turn, scale = pose(item, root).decompose()
    if not is_one(scale):
        return "scaled"
    # Twice the sine of half the angle: its cosine, rounded to float32, tells no angle below 0.0007.
    if 2.0 * Vector(turn.rotation_difference(wanted[1])[1:]).length > STRAIGHT:
        return "turned"
    return "moved" if (location - wanted[0]).length > NEAR else ""


def wanted_pose(item: Object) -> tuple[Vector, Quaternion] | None:
    """Where a part belongs in its table's frame, the exploded view's share with it; None where nothing put it there."""
    given = item.get(ids.PLACE)
    if given is None:
        return None
    location = Vector(given[:3])
    ours = item.get(ids.EXPLODED)
    if ours is not None:
        location += Vector(ours[:])
    return location, Quaternion(given[3:])


def pose(item: Object, root: Object) -> Matrix:
    """(4, 4): where a part stands in its table's frame. What hangs on the empty directly needs no evaluated scene."""
    if item.parent == root and not item.constraints and item.matrix_parent_inverse == _IDENTITY:
        return item.matrix_basis
    return root.matrix_world.inverted_safe() @ item.matrix_world


def is_same(one: Matrix, other: Matrix) -> bool:
    """Whether two places are the same but for rounding, which grows with what they are multiplied with."""
    location, turn, scale = (one.inverted_safe() @ other).decompose()
    return location.length <= 2 * NEAR and turn.angle <= STRAIGHT and is_one(scale)


def put_in_place(item: Object, root: Object) -> None:
    """Stands a part where it was put last; its scale, and what else holds it elsewhere, goes."""
    given = item.get(ids.PLACE)
    if given is None:
        return
    animation.drop_keys(item, "scale", "delta_location", "delta_rotation_quaternion", "delta_scale")
    if not animation.is_animated(item):
        animation.drop_keys(item, *animation.ANIMATED)
    item.constraints.clear()
    item.parent, item.parent_type = root, "OBJECT"
    item.matrix_parent_inverse = _IDENTITY
    item.rotation_mode = "QUATERNION"
    item.location, item.rotation_quaternion, item.scale = given[:3], given[3:], (1.0, 1.0, 1.0)
    item.delta_location = item.get(ids.EXPLODED, (0.0, 0.0, 0.0))
    item.delta_rotation_quaternion, item.delta_scale = (1.0, 0.0, 0.0, 0.0), (1.0, 1.0, 1.0)


def is_one(scale: Vector) -> bool:
    """Whether a scale is 1 along all axes."""
    return all(abs(value - 1.0) <= SIZED for value in scale)


def is_edited(mesh: Mesh) -> bool:
    """Whether a mesh is not the one that we made: by the digest that was kept with it."""
    given = str(mesh.get(ids.DIGEST, ""))
    known = _edited.get(mesh.session_uid)
    if known is not None and (known[0] == given or mesh.is_editmode):
        return known[1]
    if mesh.is_editmode:
        return False  # what is edited there comes to the mesh when that is left
    edited = fingerprint(mesh) != given
    _edited[mesh.session_uid] = given, edited
    return edited


def fingerprint(mesh: Mesh) -> str:
    """Digest of a mesh as it is now, as `description.MeshData.digest` has it; "" where it has more than triangles."""
    corners = np.empty(len(mesh.loops), dtype=np.int32)
    if len(corners) != 3 * len(mesh.polygons):
        return ""
    mesh.loops.foreach_get("vertex_index", corners)
    positions = np.empty(3 * len(mesh.vertices), dtype=np.float32)
    mesh.attributes["position"].data.foreach_get("vector", positions)
    return digests(positions, corners)[1]
