"""Parts of the maker's own: the dialog that adds one, the button that makes a mesh one, and their lists."""

from __future__ import annotations

from typing import Any, Final

from bpy.types import Context, Event, Operator, UILayout

from ..designs.table.own_parts import keys_of
from ..scene import access, own_parts
from ..scene.state import values
from ..scene.state.properties import DRY_ASSEMBLY_PG_table as TableState
from ..scene.translation import EnumProperty, StringProperty, told
from ..sizes.errors import DryAssemblyError
from . import fields, panel
from .operator_kinds import CHANGES, NOTHING, TableOperator, attempt, unbuilt

_ITEMS: Final = {item.name: item for item in values.LIST_ITEMS["own_part"]}

_sheets: list[tuple[str, str, str]] = []
"""Blender does not hold the words of a menu that is made anew: they have to be kept alive."""


def _stocks(_self: Any, context: Context | None) -> list[tuple[str, str, str]]:
    """The menu of the table's sheets."""
    state = None if context is None else access.active_table(context)
    found = [] if state is None else [(one.title, one.title, "") for one in state.parameters.stock]
    if found != _sheets:
        _sheets[:] = found
    return _sheets


class DRY_ASSEMBLY_OT_add_own_part(TableOperator, Operator):
    bl_idname = "dry_assembly.add_own_part"
    bl_label = "Add Part of My Own"
    bl_description = (
        "Add a board of your own: a shelf, a hook board, a divider, a rest, or whatever you call it"
    )
    bl_options = CHANGES

    title: StringProperty(name="Name", description="What it is called, such as hook board", default="shelf")
    stock: EnumProperty(name="Stock", description="Sheet that it is cut from", items=_stocks)
    length: StringProperty(name="Length", description="Its length: 28 1/2, 723.9 mm", options={"SKIP_SAVE"})
    width: StringProperty(name="Width", description="Its width: 28 1/2, 723.9 mm", options={"SKIP_SAVE"})
    where: EnumProperty(
        name="Where",
        description="Where it stands at first; its place can be changed in the list",
        items=[
            ("lies", "On the Bottom Panel", "It lies on the bottom panel, in the middle"),
            (
                "under",
                "Under the Bottom Panel",
                "It lies against the bottom panel's underside, in the middle",
            ),
            ("front_outside", "On the Front Side", "It stands against the front side's outer face"),
            ("back_outside", "On the Back Side", "It stands against the back side's outer face"),
            ("left_outside", "On the Left Side", "It stands against the left side's outer face"),
            ("right_outside", "On the Right Side", "It stands against the right side's outer face"),
        ],
    )

    @classmethod
    def lacks(cls, state: TableState) -> str:
        """A table that can be built."""
        return unbuilt(state)

    def invoke(self, context: Context, _event: Event) -> set[Any]:
        """Asks what it is."""
        return context.window_manager.invoke_props_dialog(
            self, width=360, title=told("Add Part of My Own"), confirm_text=told("Add"), translate=False
        )

    def draw(self, _context: Context) -> None:
        """What it is, its sheet, its sizes, its place."""
        if self.layout is None:
            return
        column = panel.split_column(self.layout)
        for name in ("title", "stock", "length", "width", "where"):
            panel.field(column, self.properties, name)

    def execute(self, context: Context) -> set[Any]:
        """Adds it."""
        state = self.table(context)

        def add() -> None:
            units = values.units_of(access.table_in(state))
            found: dict[str, Any] = {"name": self.title.strip() or "shelf"}
            if self.stock:
                found["stock"] = self.stock
            for name in ("length", "width"):
                text = getattr(self, name).strip()
                if not text:
                    raise DryAssemblyError(f"Give the {name}: without it there is no board.")
                found[name] = fields.read_dialog(text, _ITEMS[name], units)
            own_parts.add(state, {**found, **own_parts.place_of(access.table_in(state), self.where)})

        return attempt(self, add)


class DRY_ASSEMBLY_OT_make_part(TableOperator, Operator):
    bl_idname = "dry_assembly.make_part"
    bl_label = "Turn Mesh Into Part"
    bl_description = (
        "Make the mesh selected a part of the table: a flat board square to it, with its outline and the holes"
        " straight through. The mesh is hidden"
    )
    bl_options = CHANGES

    @classmethod
    def poll(cls, context: Context) -> bool:
        """Whether there are a table and a mesh that is no part of one."""
        if not super().poll(context):
            return False
        if own_parts.is_free_mesh(getattr(context, "active_object", None)):
            return True
        cls.poll_message_set(told("Select a mesh of your own first"))  # type: ignore[attr-defined]
        return False

    @classmethod
    def lacks(cls, state: TableState) -> str:
        """A table that can be built."""
        return unbuilt(state)

    def execute(self, context: Context) -> set[Any]:
        """Reads it, and makes the part."""
        state, item = self.table(context), context.active_object
        if item is None:
            return NOTHING
        return attempt(self, lambda: own_parts.declare(state, item, own_parts.name_of(item)))


def draw(layout: UILayout, state: TableState) -> None:
    """Buttons, the list of parts, and that of what is cut into them."""
    column = layout.column(align=True)
    panel.button(column, "dry_assembly.add_own_part", "Add Part of My Own…", "ADD")
    panel.button(column, "dry_assembly.make_part", "Turn Mesh Into Part", "MESH_CUBE")
    if not state.parameters.own_part:
        return
    panel.entries(layout, state, "own_part", added=False)
    panel.label(layout, "What is cut into them:")
    index = state.parameters.own_cut_index
    cut = panel.selected(state.parameters.own_cut, index)
    panel.entries(layout, state, "own_cut", shown=() if cut is None else keys_of(cut.kind))


CLASSES: Final = (DRY_ASSEMBLY_OT_add_own_part, DRY_ASSEMBLY_OT_make_part)
