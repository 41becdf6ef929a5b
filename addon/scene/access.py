"""From a property to its table, from a table to its scene, its parameters and its objects; what its fields suggest."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace

import bpy
from bpy.types import Context, Object, PropertyGroup, Scene

from ..designs.table.parameters import Table
from ..sizes.errors import DryAssemblyError
from ..wood.dimensions import names_of
from ..wood.part import Part
from . import built, ids
from .state import values
from .state.properties import DRY_ASSEMBLY_PG_table as TableState

_OWNER = re.compile(r"dry_assembly\.tables\[(\d+)\]")
_filling = False


def active_table(context: Context) -> TableState | None:
    """The table that the panels show."""
    return active_in(context.scene)


def active_in(scene: Scene) -> TableState | None:
    """The table of a scene that the panels show."""
    group = scene.dry_assembly
    return group.tables[group.active] if 0 <= group.active < len(group.tables) else None


def scene_of(state: PropertyGroup) -> Scene:
    """The scene that a table is in."""
    scene = state.id_data
    assert isinstance(scene, bpy.types.Scene)
    return scene


def index_of(item: PropertyGroup) -> int:
    """Number of the table that a property belongs to."""
    found = _OWNER.match(item.path_from_id())
    assert found is not None
    return int(found[1])


def owner(item: PropertyGroup) -> TableState:
    """The table that a property belongs to."""
    return scene_of(item).dry_assembly.tables[index_of(item)]


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
