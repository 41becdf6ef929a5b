"""What is done to reserved spaces: one is added, or dragged in the view, and its entry follows."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from ..sizes.errors import DryAssemblyError
from ..wood.reserved import PREFIX
from . import access, own_parts, spaces, tables
from .spaces import Moved
from .state.properties import DRY_ASSEMBLY_PG_table as TableState


def add(state: TableState, values: dict[str, Any]) -> None:
    """Adds a reserved space with some values. Raises DryAssemblyError, and changes nothing."""
    index = len(state.parameters.reserved)
    own_parts.build_with(state, {f"reserved[{index}].{name}": value for name, value in values.items()})
    state.parameters.reserved_index = index


def follow(state: TableState) -> bool:
    """Entries of reserved spaces follow their bodies where these were dragged; whether any was."""
    if state.error or not spaces.was_moved(state):
        return False
    found = list(spaces.moved(state))
    try:
        changes = changes_of(state, found)
        spaces.put_back(found, state.root)
        if changes:
            tables.change(state, changes)
        else:
            tables.rebuild(state)
    except DryAssemblyError:
        return False
    return True


def changes_of(state: TableState, found: Iterable[Moved]) -> dict[str, Any]:
    """Values by key with which entries stand where their bodies were dragged."""
    entries, changes = access.table_in(state).reserved, {}
    for one in found:
        number = int(one.label.removeprefix(PREFIX)) - 1
        if one.by is None or not 0 <= number < len(entries):
            continue
        entry, by = entries[number], one.by.tolist()
        if entry.form == "wall":
            away = {"front": -by[1], "back": by[1], "left": -by[0], "right": by[0]}[entry.side or "front"]
            changes[f"reserved[{number}].distance"] = max(0.0, entry.distance + away)
            continue
        for axis, way in zip("xyz", by, strict=True):
            if way:
                points = tuple(round(value + way, 6) for value in getattr(entry, axis))
                changes[f"reserved[{number}].{axis}"] = points
    return changes
