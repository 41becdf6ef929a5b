"""What is done after changes of the scene, undo, redo and the opening of a file, and before a frame is shown.

Tables that were saved when table files had an older format are brought up to today's names: their text, their
parameters and their objects, once, when the file is opened.
"""

from __future__ import annotations

import re
from contextlib import suppress
from functools import lru_cache
from typing import Any, Final

import bpy
from bpy.app.handlers import persistent
from bpy.types import Depsgraph, Scene

from ..designs.table.parameters import Table
from ..files.keys import parse_key
from ..files.old_format import ROLES, is_old, label_of_today
from ..files.table_file import parse_toml
from ..sizes.errors import DryAssemblyError
from ..wood.roles import role_of
from . import access, built, copies, ids, old_state, pending, seeing, spaces, standing, tables, undoing
from .access import own_writing
from .motion import exploded
from .state import values
from .state.properties import DRY_ASSEMBLY_PG_table as TableState


@persistent
def _after(*_unused: object) -> None:
    pending.cancel()
    ids.forget()
    standing.forget()
    renew_tables()
    for scene in bpy.data.scenes:
        for state in access.tables_in(scene):
            if not access.locked(state):
                exploded.refresh(state)  # it may follow from what was worked out after the step was recorded
            standing.look(state)
        tables.follow(scene, access.active_in(scene))
    copies.leave()
    tables.settle_later()


@persistent
def _after_undo(*_unused: object) -> None:
    _after()
    undoing.step_over_later("undo")


@persistent
def _after_redo(*_unused: object) -> None:
    _after()
    undoing.step_over_later("redo")


@persistent
def _before_saving(*_unused: object) -> None:
    seeing.put_all_back()


@persistent
def _after_loading(*_unused: object) -> None:
    seeing.put_all_back()  # of a file that Blender saved by itself
    copies.forget()
    undoing.forget()
    _after()
    copies.tidy_later()


def _after_switching_on() -> None:
    renewed = renew_tables()
    copies.know_all()
    copies.tidy()
    if renewed or tables.is_waiting():
        tables.settle_later()


@persistent
def _after_update(scene: Scene, depsgraph: Depsgraph) -> None:
    """After every change of the scene, many a second while something is dragged: looks at what changed alone."""
    came_or_went = copies.came_or_went()
    changed = came_or_went
    for update in depsgraph.updates:
        item = update.id.original
        if isinstance(item, bpy.types.Collection):
            changed = True  # something may not be in the scene any more
        elif not (update.is_updated_transform or update.is_updated_geometry):
            continue
        elif isinstance(item, bpy.types.Mesh):
            standing.forget(item)
            changed = True
        elif isinstance(item, bpy.types.Object):
            if update.is_updated_geometry and isinstance(item.data, bpy.types.Mesh):
                standing.forget(item.data)
            if item.get(ids.TABLE):
                changed = True
                came_or_went = came_or_went or copies.is_news(item)
    if came_or_went:
        copies.tidy_later()
    if changed:
        for state in access.tables_in(scene):
            standing.look(state)
            if copies.was_moved(state) or (not access.locked(state) and spaces.was_moved(state)):
                copies.tidy_later()
    tables.follow(scene, access.active_in(scene))


@persistent
def _before_frame(scene: Scene, *_unused: object) -> None:
    with suppress(DryAssemblyError):
        exploded.follow(scene)


_HANDLERS: Final[dict[str, Any]] = {
    "undo_post": _after_undo,
    "redo_post": _after_redo,
    "load_post": _after_loading,
    "save_pre": _before_saving,
    "depsgraph_update_post": _after_update,
    "frame_change_pre": _before_frame,
}


def register() -> None:
    """Adds the handlers."""
    for name, handler in _HANDLERS.items():
        getattr(bpy.app.handlers, name).append(handler)
    pending.schedule(_after_switching_on)  # what is open may not be looked at yet


def unregister() -> None:
    """Takes the handlers away, and the check that may be waiting."""
    pending.cancel()
    seeing.put_all_back()
    for name, handler in _HANDLERS.items():
        handlers = getattr(bpy.app.handlers, name)
        for one in [one for one in handlers if one is handler]:
            handlers.remove(one)
    standing.forget()
    copies.forget()
    undoing.forget()
    ids.forget()


def renew_tables() -> bool:
    """Brings all tables of the open file up to date that are of an older format; whether there were any."""
    moved = [old_state.bring_over(scene) for scene in bpy.data.scenes if scene.dry_assembly.tables]
    found = [state for state in access.all_tables() if _is_old_text(state.text)]
    for state in found:
        with suppress(DryAssemblyError):  # a text that reads no more: the panel says what is wrong with it
            _renew(state)
    return bool(found or moved)


@lru_cache(maxsize=12)
def _is_old_text(text: str) -> bool:
    try:
        return is_old(parse_toml(text, "The table"))
    except DryAssemblyError:
        return False


def _renew(state: TableState) -> None:
    table = built.table_of(state.text)
    text = built.changed_text(state.text, _waiting(state, table))
    state.text = text
    with own_writing():
        values.fill_all(state.parameters, built.table_of(text))
    state.out_of_date = True
    state.proof_out_of_date = True
    state.shop_count = 0
    _relabel(state, built.table_of(text))


def _waiting(state: TableState, table: Table) -> dict[str, Any]:
    """What the user had changed and the text did not hold yet; properties of names that are new say nothing."""
    try:
        changed = values.changes(state.parameters, table)
    except ValueError:
        return {}
    return {key: value for key, value in changed.items() if _is_set(state, key)}


def _is_set(state: TableState, key: str) -> bool:
    """Whether the file held a property for a key, and one whose value means the same today."""
    found = parse_key(key)
    group: Any = state.parameters
    if found.section:
        group = getattr(group, found.section)
    if found.index is not None:
        group = group[found.index]
    parameter = next(item for item in _items(found.section) if item.name == found.name)
    if (found.section, found.name) == ("as_cut", "part"):
        return False
    return group.is_property_set(values.attribute(parameter))


def _items(section: str) -> tuple[Any, ...]:
    return {"": values.TABLE_ITEMS, **values.SECTION_ITEMS, **values.LIST_ITEMS}[section]


def _relabel(state: TableState, table: Table) -> None:
    """Gives objects and collections the labels and roles of today, and their names where these were still ours."""
    names: dict[str, str] = {}
    with suppress(DryAssemblyError):
        names = {part.label: f"{part.label} {part.name}" for part in built.objects_of(table).parts}
    for item in ids.marked(bpy.data.objects, ids.TABLE, state.key):
        old = item.get(ids.PART, "")
        label = label_of_today(old)
        if label == old:
            continue
        item[ids.PART] = label
        if item.name.startswith(f"{old} ") and label in names:
            item.name = names[label]
            if item.data is not None and item.data.users == 1:
                item.data.name = names[label]
    for group in ids.marked(bpy.data.collections, ids.TABLE, state.key):
        old = group.get(ids.ROLE, "")
        if old in ROLES:
            group[ids.ROLE] = ROLES[old]
            if re.fullmatch(rf"{old.title()}(\.\d+)?", group.name):
                group.name = role_of(ROLES[old]).collection
