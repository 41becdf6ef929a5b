"""From a property to its table, from a table to its scene, its parameters and its objects; what its fields suggest."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Final

import bpy
from bpy.types import Context, Object, PropertyGroup, Scene, ViewLayer

from ..designs.table.parameters import Table
from ..sizes.errors import DryAssemblyError
from ..wood.dimensions import names_of
from ..wood.part import Part
from . import built, ids
from .state import values
from .state.properties import DRY_ASSEMBLY_PG_table as TableState

MOST_NAMED: Final = 3
"""Parts that a sentence names."""

_filling = False


def tables_in(scene: Scene) -> list[TableState]:
    """The tables of a scene, in the order in which they were made."""
    found = [item.dry_assembly for item in ids.roots(scene)]  # type: ignore[attr-defined]
    return sorted((state for state in found if state.text), key=lambda state: state.number)


def all_tables() -> list[TableState]:
    """The tables of all scenes that can be written to."""
    found = {state.key: state for scene in bpy.data.scenes for state in tables_in(scene)}
    return [state for state in found.values() if not locked(state)]


def with_key(scene: Scene, key: str) -> TableState | None:
    """The table with that key."""
    root = ids.root_object(scene, key) if key else None
    return None if root is None else root.dry_assembly  # type: ignore[attr-defined]


def active_table(context: Context) -> TableState | None:
    """The table that the panels show: that of the active object, or else the one that was selected last."""
    return active_in(context.scene)


def active_in(scene: Scene) -> TableState | None:
    """The same of a scene."""
    layer = layer_of(scene)
    found = None if layer.objects.active is None else table_of_object(scene, layer.objects.active)
    if found is None or not found.text:
        found = with_key(scene, scene.dry_assembly.last)
    if found is None or not found.text:
        found = next(iter(tables_in(scene)), None)
    return found


def layer_of(scene: Scene) -> ViewLayer:
    """The view layer in which objects of a scene are selected."""
    shown = bpy.context.view_layer
    return next((layer for layer in scene.view_layers if layer == shown), scene.view_layers[0])


def table_of_object(scene: Scene, item: Object) -> TableState | None:
    """The table that an object is a part of or hangs on; None for one that has nothing to do with a table."""
    root = ids.root_above(item) or ids.root_object(scene, str(item.get(ids.TABLE, "")))
    return None if root is None else root.dry_assembly  # type: ignore[attr-defined]


def scene_of(state: PropertyGroup) -> Scene:
    """The scene that a table stands in; that of the window where it stands there too."""
    root, shown = state.id_data, bpy.context.scene
    scenes = [shown, *(scene for scene in bpy.data.scenes if scene != shown)]
    return next((scene for scene in scenes if root in ids.roots(scene)), shown)


def owner(item: PropertyGroup) -> TableState:
    """The table that a property belongs to."""
    return item.id_data.dry_assembly  # type: ignore[union-attr]


def locked(state: TableState) -> str:
    """Why nothing of a table can be changed, in a sentence; "" where it can be."""
    root = state.root
    if root.library is not None:
        return f"This table is linked from {Path(root.library.filepath).name}: make it local to change it"
    if root.override_library is not None:
        return "This table is an override of a linked one: make it local to change it"
    return ""


def standing(state: TableState) -> bool:
    """Whether the table in the scene is the one that its findings are about: built, and every part where it belongs."""
    return not state.error and not state.moved


def standing_words(state: TableState) -> str:
    """What does not stand as it was made, in a sentence; "" where all does."""
    found: dict[str, list[str]] = {}
    for stray in state.moved:
        found.setdefault(stray.what, []).append("the whole table" if stray.name == ids.ROOT else stray.name)
    said = []
    for what, labels in found.items():
        named = ", ".join(labels[:MOST_NAMED]) + (" …" if len(labels) > MOST_NAMED else "")
        if what == "extra":
            said.append(f"{len(labels)} more than drawn: {named}")
        else:
            said.append(f"{len(labels)} {'part' if len(labels) == 1 else 'parts'} {what}: {named}")
    return "; ".join(said)


def table_in(state: TableState) -> Table:
    """The table as its parameters say now. Raises DryAssemblyError."""
    table = built.table_of(state.text)
    try:
        changed = values.changes(state.parameters, table)
    except ValueError as error:
        raise DryAssemblyError(str(error)) from None
    return built.changed_table(state.text, tuple(changed.items()))


def part_objects(state: TableState) -> dict[str, Object]:
    """Label → object."""
    return ids.part_objects(scene_of(state), state.key)


def shown_objects(state: TableState) -> dict[str, Object]:
    """The same, and the bodies of reserved spaces."""
    spaces = ids.space_objects(scene_of(state), state.key)
    return {**{label: items[0] for label, items in spaces.items()}, **part_objects(state)}


@contextmanager
def own_writing() -> Iterator[None]:
    """While it lasts, changes of properties are our own and mean nothing: `is_own_writing`."""
    global _filling
    before, _filling = _filling, True
    try:
        yield
    finally:
        _filling = before


def is_own_writing() -> bool:
    """Whether our own code is writing properties."""
    return _filling


Suggested = list[tuple[str, str]]


def suggested_parts(entry: PropertyGroup, _context: Context, _typed: str) -> Suggested:
    """Labels and names of all parts."""
    return [(part.label, part.name) for part in _parts(entry)]


def suggested_dimensions(entry: PropertyGroup, _context: Context, _typed: str) -> Suggested:
    """Names of all dimensions that the entry's part has, as drawn, and what they are."""
    own = [part for part in _parts(entry) if part.label == getattr(entry, "part", "")]
    return [named for part in own for named in names_of(part).items()]


def suggested_leaves(entry: PropertyGroup, _context: Context, _typed: str) -> Suggested:
    """Labels of the leaves whose slots or windows are in the entry's part."""
    own = [part for part in _parts(entry) if part.label == getattr(entry, "part", "")]
    return [(one.leaf, one.word) for part in own for one in part.shape.openings if one.leaf]


def _parts(entry: PropertyGroup) -> tuple[Part, ...]:
    """The parts of the entry's table as drawn; none where it cannot be built."""
    try:
        table = built.table_of(owner(entry).text)
        return built.assembly_of(replace(table, as_cut=())).parts
    except DryAssemblyError:
        return ()
