"""The buttons beside the lists: stock, stow places, dimensions as cut."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import bpy
from bpy.props import EnumProperty
from bpy.types import Operator

from ..designs.table.layout import lay_out
from ..scene import access, ids, tables
from .operators import CHANGES, OWN, TableOperator, attempt

if TYPE_CHECKING:
    from bpy.types import Context

    from ..scene.state import DRY_ASSEMBLY_PG_table as TableState

LISTS: Final = (("stock", "Stock", ""), ("stow", "Stow Place", ""), ("as_cut", "As Cut", ""))


class DRY_ASSEMBLY_OT_add_entry(TableOperator, Operator):
    bl_idname = "dry_assembly.add_entry"
    bl_label = "Add Entry"
    bl_description = "Add an entry to this list"
    bl_options = CHANGES

    section: EnumProperty(items=LISTS, options=OWN)

    def execute(self, context: Context) -> set[Any]:
        """Adds it."""
        state = self.table(context)
        return attempt(self, lambda: _add(context, state, self.section))


class DRY_ASSEMBLY_OT_remove_entry(TableOperator, Operator):
    bl_idname = "dry_assembly.remove_entry"
    bl_label = "Remove Entry"
    bl_description = "Remove the selected entry of this list"
    bl_options = CHANGES

    section: EnumProperty(items=LISTS, options=OWN)

    def execute(self, context: Context) -> set[Any]:
        """Removes it."""
        state = self.table(context)
        entries = getattr(state.parameters, self.section)
        index = getattr(state.parameters, f"{self.section}_index")
        if not 0 <= index < len(entries):
            return {"CANCELLED"}
        changed: dict[str, Any] = {f"{self.section}[{index}]": None}
        if self.section == "stow":
            changed["leaves.count"] = len(entries) - 1
        return attempt(self, lambda: tables.change(state, changed))


class DRY_ASSEMBLY_OT_place_leaves(TableOperator, Operator):
    bl_idname = "dry_assembly.place_leaves"
    bl_label = "Place Leaves"
    bl_options = CHANGES

    by_hand: bpy.props.BoolProperty(name="By Hand")

    @classmethod
    def description(cls, _context: Context, properties: Any) -> str:
        """Who chooses the stow places."""
        if properties.by_hand:
            return "Write the stow places down as they are now, to be changed one by one"
        return "Forget the stow places and have them chosen again"

    def execute(self, context: Context) -> set[Any]:
        """Writes the places down, or forgets them."""
        state = self.table(context)
        return attempt(self, lambda: _place_by_hand(state) if self.by_hand else _place_anew(state))


def _add(context: Context, state: TableState, section: str) -> None:
    index = len(getattr(state.parameters, section))
    if section == "stock":
        start: dict[str, Any] = {"name": f"stock {index + 1}", "nominal": 18.0}
    elif section == "stow":
        start = {"side": "front", "offset": 0.0}
    else:
        start = {"part": _selected_part(context, state), "dimension": "length", "deviation": 0.0}
    changed = {f"{section}[{index}].{name}": value for name, value in start.items()}
    if section == "stow":
        changed["leaves.count"] = index + 1
    tables.change(state, changed)
    setattr(state.parameters, f"{section}_index", index)


def _selected_part(context: Context, state: TableState) -> str:
    """Label of the part that is selected, or of any."""
    item = context.view_layer.objects.active
    if item is not None and item.get(ids.TABLE) == state.key and item.get(ids.PART) not in (None, ids.ROOT):
        return str(item[ids.PART])
    return min(access.part_objects(state), default="S1")


def _place_by_hand(state: TableState) -> None:
    changed: dict[str, Any] = {}
    for index, lane in enumerate(lay_out(access.table_in(state)).lanes):
        changed[f"stow[{index}].side"] = lane.side
        changed[f"stow[{index}].offset"] = (lane.lo + lane.hi) / 2
        changed[f"stow[{index}].tier"] = lane.tier
    tables.change(state, changed)


def _place_anew(state: TableState) -> bool:
    changed: dict[str, Any] = {f"stow[{index}]": None for index in range(len(state.parameters.stow))}
    if changed:
        tables.change(state, changed)
    return bool(changed)


CLASSES: Final = (DRY_ASSEMBLY_OT_add_entry, DRY_ASSEMBLY_OT_remove_entry, DRY_ASSEMBLY_OT_place_leaves)

register, unregister = bpy.utils.register_classes_factory(CLASSES)
