"""Variants of a table: the same with other sizes, side by side in the scene until one of them is kept."""

from __future__ import annotations

from uuid import uuid4

from bpy.types import Object, Scene
from mathutils import Quaternion, Vector

from ..check.progress import Steps, share_of
from ..paper.variants_page import side_by_side_steps
from ..paper.views import SHEETS
from ..reports.variants import MOST
from ..sizes.errors import DryAssemblyError
from . import access, built, families, floor, ids, tables
from .motion import motion
from .pictures.on_paper import as_file, view_of
from .pictures.rendering import path_of
from .state.properties import DRY_ASSEMBLY_PG_table as TableState

FULL = f"{MOST} variants stand side by side already: keep one of them, or remove one"


def next_name(state: TableState) -> str:
    """What to call the next variant of a table: B, C, D."""
    taken = [one.name for one in families.family_of(state)]
    return next(name for name in (f"Variant {letter}" for letter in "BCDEF") if name not in taken)


def add(state: TableState, name: str) -> TableState:
    """Puts a copy of a table with all its sizes beside the tables in the scene; it is then the active one.

    Parameters
    ----------
    name : of the copy

    Raises
    ------
    DryAssemblyError
        Where there are as many variants as may be, the name is taken, or the table cannot be built.
    """
    scene, name = access.scene_of(state), name.strip()
    members = families.family_of(state)
    if len(members) >= MOST:
        raise DryAssemblyError(f"{FULL}.")
    if not name:
        raise DryAssemblyError("A variant without a name cannot be told from the others: give it one.")
    if name in [one.name for one in members or [state]]:
        raise DryAssemblyError(f"There is a '{name}' among the variants already: use another name.")
    tables.settle(state)
    made = tables.create_table(scene, built.changed_text(state.text, {"name": name}))
    state.family = made.family = state.family or uuid4().hex[:12]
    _stand_beside(scene, made.root, state.root)
    for leaf in state.leaves:
        if state.animation == "none" and leaf.state != "cover":
            motion.set_leaf(made, leaf.name, leaf.state, leaf.travel * 1000.0)
    floor.frame(made)
    families.refresh_figures(made)
    return made


def keep(state: TableState) -> TableState:
    """Keeps one variant in the place and under the name of the first; takes the others out of the scene.

    What the user gave the kept one (collections, keyframes, materials, objects hung on it) stays.

    Raises
    ------
    DryAssemblyError
        Where the table cannot be built; all stand as they were.
    """
    tables.settle(state)
    scene, key, own_name = access.scene_of(state), state.key, state.name
    members = families.family_of(state)
    first = members[0]
    name, path = first.name, first.path
    others = [one.root for one in members if one.key != key]
    if first.key != key:
        _put(state.root, first.root)
    for other in others:
        tables.remove_table(other.dry_assembly)
    state.path = path
    tables.make_active(state)
    tables.change(state, {"name": name})
    for item in (state.root, ids.table_collection(scene, key)):
        if item is not None and item.name.partition(".")[0] == own_name:
            item.name = name
    return state


def picture_files(state: TableState, date: str, looking: Quaternion | None) -> Steps[dict[str, bytes]]:
    """The picture of a table's variants by the name of its file, as `sheets.kind_of` says.

    Raises ExportError where it should be seen as in the 3D view, and there is none.
    """
    family, sheet = families.family_of(state), access.scene_of(state).dry_assembly.sheet
    view, own = view_of(family[0], looking), families.variants_in(family)
    name = path_of(family[0], f"variants-{sheet.view}.{sheet.format}").name
    answers = []
    for number, one in enumerate(own):
        told = yield from share_of(
            built.told_steps(one.table), 0.4 * number / len(own), 0.4 * (number + 1) / len(own)
        )
        answers.append(told.table)
    drawing = side_by_side_steps(
        own,
        date=date,
        view=view,
        leaves=sheet.leaves,
        sheet=SHEETS.get(sheet.size),
        answers=answers,
    )
    return (yield from share_of(as_file(drawing, name, sheet.dpi), 0.4, 1.0))


def _stand_beside(scene: Scene, root: Object, old: Object) -> None:
    """Turns a table like another, and stands it in a line with it, to the right of all."""
    _put(root, old)
    right = max(_edges(item)[1] for item in ids.roots(scene) if item != root)
    root.location.x += right + floor.AISLE - _edges(root)[0]


def _put(root: Object, old: Object) -> None:
    """Puts a table's empty where another is."""
    if root.parent is None and old.parent is None:
        root.matrix_basis = old.matrix_basis
    else:
        root.matrix_world = old.matrix_world


def _edges(root: Object) -> tuple[float, float]:
    """Least and greatest x of a table's parts, m."""
    found = [root.location.x]
    for item in root.children:
        if item.type == "MESH" and item.get(ids.PART):
            matrix = root.matrix_basis @ item.matrix_basis
            found += [(matrix @ Vector(corner)).x for corner in item.bound_box]
    return min(found), max(found)
