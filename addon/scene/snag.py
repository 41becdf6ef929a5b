"""The pose in which a leaf snags, as a ghost: a copy of the leaf beside the part itself, which stays where it is.

The ghost shares the leaf's mesh, and is hatched. With it come the outlines of the part whose opening it does not
find, a ring and a note; all lie in a collection of their own and go together.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import bpy
import numpy as np
from bpy.types import Object, Scene
from mathutils import Matrix, Quaternion, Vector

from ..check.slide.proof import Snag, snag_of, stowed_to_pose
from ..designs.words.slide import snag_lines
from ..paper.sheet import palette
from ..sizes.arrays import Floats
from . import access, built, findings, ids, marks, seeing
from .description import METERS, PartObject
from .marks import outline_edges
from .materials import glass, linear
from .state import values
from .state.properties import DRY_ASSEMBLY_PG_table as TableState

LETTERS: Final = 0.014
"""Height of the note's letters, m."""
RING: Final = 0.012
"""Radius of the ring around the corner that snags, m."""
DISTANCE: Final = 0.55
"""Distance from which the snag is looked at, m."""
MATERIAL: Final = "Snag"
GHOST: Final = 0.45
"""How much the ghost covers of what lies behind it."""


def _meters(place: tuple[float, float, float]) -> Floats:
    return np.array(place) * METERS


def show(state: TableState, leaf: str, view: str = "", opening: int = -1) -> Snag | None:
    """Shows the ghost of a leaf at an opening where it needs steering, selects it, looks at it; it replaces any other.

    Parameters
    ----------
    view, opening : the opening; by default the one that stops it, or that needs steering most

    Returns
    -------
    None, and nothing is shown, where the leaf guides itself or has no stow position.

    Raises
    ------
    DryAssemblyError
        Where the parameters cannot be built.
    """
    table = access.table_in(state)
    proof = next((proof for proof in built.proofs_of(table) if proof.leaf == leaf), None)
    found = None if proof is None else snag_of(proof, view, opening)
    scene = access.scene_of(state)
    root = state.root
    made = access.part_objects(state)
    if found is None or leaf not in made:
        return None
    hide(state)
    seeing.put_back(scene)
    parts = {part.label: part for part in built.objects_of(table).parts}
    ghost = ghost_of(made[leaf], parts[leaf], found)
    ghost.parent = root
    said = snag_lines(found, values.units_of(table))
    stripes = marks.hatched(ghost, marks.tight_paint())
    stripes.show_in_front = True
    items = [ghost, stripes, *_around(root, found, said)]
    if found.opening in parts:
        items.append(_outlines(root, parts[found.opening]))
    group = ids.side_collection(scene, state.key, ids.SNAG, "Snag")
    for item in items:
        item[ids.TABLE] = state.key
        item[ids.SNAG] = 1
        item.hide_select = item is not ghost
        group.objects.link(item)
    state.snag = ", ".join(said)
    findings.select(scene, [ghost])
    facing = (root.matrix_world.to_3x3() @ _facing(found).to_matrix()).to_quaternion()
    seeing.look_square(root.matrix_world @ _corner(found), facing, DISTANCE)
    return found


def hide(state: TableState) -> None:
    """Takes the ghost away, and all that came with it."""
    if state.snag:
        _remove(access.scene_of(state), state.key)
        state.snag = ""


def register() -> None:
    """Nothing: ghosts come with a button."""


def unregister() -> None:
    """Takes all ghosts away: without the add-on there is no button for it."""
    for state in access.all_tables():
        hide(state)


def _remove(scene: Scene, key: str) -> None:
    ids.remove_marks(scene, key, ids.SNAG)
    for material in ids.marked(bpy.data.materials, ids.MATERIAL, MATERIAL):
        if not material.users and isinstance(material, bpy.types.Material):
            bpy.data.materials.remove(material)


def ghost_of(leaf: Object, part: PartObject, found: Snag) -> Object:
    """A copy of a leaf, transparent, in the pose that snags; in no collection yet."""
    item = bpy.data.objects.new(f"{found.leaf} Snag", leaf.data)
    item.show_in_front = True
    for slot in item.material_slots:
        slot.link = "OBJECT"
        slot.material = glass(MATERIAL, linear(palette.BY_HAND), GHOST)
    row = found.view.of.row
    home = _meters(found.view.of.place(row.travel, row.rest))
    corner = (home - part.matrix[:3, 3]) @ part.matrix[:3, :3]
    _stand(item, moved_by(stowed_to_pose(found.view, found.pose), part.matrix), corner)
    return item


def moved_by(move: Floats, matrix: Floats) -> Floats:
    """(4, 4) float, m: a matrix in m after a move in mm."""
    scaled = move.copy()
    scaled[:3, 3] *= METERS
    return scaled @ matrix


def _stand(item: Object, matrix: Floats, corner: Floats) -> None:
    """Stands an object at (4, 4) float, m, so that rounding to float32 moves everything but `corner` of its frame."""
    turn = Matrix(matrix.tolist()).to_quaternion()
    item.rotation_mode = "QUATERNION"
    item.rotation_quaternion = turn
    wanted = matrix[:3, :3] @ corner + matrix[:3, 3]
    item.location = wanted - np.array(turn.to_matrix()) @ corner


def _outlines(root: Object, part: PartObject) -> Object:
    """The edges of the part that the leaf meets, seen through everything."""
    mesh = bpy.data.meshes.new(f"{part.label} Opening")
    edges = outline_edges(part.mesh.positions.astype(float), part.mesh.triangles)
    mesh.from_pydata(part.mesh.positions.tolist(), edges.tolist(), [])
    item = bpy.data.objects.new(mesh.name, mesh)
    item.parent = root
    item.show_in_front = True
    item.matrix_local = Matrix(part.matrix.tolist())
    return item


def _around(root: Object, found: Snag, said: Sequence[str]) -> list[Object]:
    """A ring around the corner, and the note on the side of it where the leaf is not."""
    place, paint, facing = _corner(found), marks.tight_paint(), _facing(found)
    text = "\n".join(said)
    down = RING * 1.8 + LETTERS
    up = RING * 1.8 + (len(said) - 1) * LETTERS * marks.LINE + LETTERS / 2
    shift = (-0.6 * marks.note_width(text, LETTERS), -down if found.below else up)
    ring = marks.ring(root, place, paint, facing, RING)
    return [ring, *marks.note(root, place, text, paint, facing, LETTERS, shift)]


def _corner(found: Snag) -> Vector:
    """The corner that snags, m."""
    return Vector(found.view.of.place(*found.corner)) * METERS


def _facing(found: Snag) -> Quaternion:
    """Right, up and back of an eye that sees the travel from left to right and the view's z upright."""
    inward, across = found.view.of.frame[:2]
    return Matrix(np.array([inward, across, np.cross(inward, across)]).T.tolist()).to_quaternion()
