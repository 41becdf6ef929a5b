"""The panels of the table as a whole: which one, where it stands, its file."""

from __future__ import annotations

from typing import TYPE_CHECKING

import bpy
from bpy.types import Panel

from ..files.examples import EXAMPLES
from ..scene import access
from . import drawing
from .panel import SubPanel, TablePanel

if TYPE_CHECKING:
    from bpy.types import Context, UILayout

    from ..scene.state import DRY_ASSEMBLY_PG_table as TableState


class DRY_ASSEMBLY_PT_table(Panel):
    """Which table, how it stands, and where new ones come from."""

    bl_label = "Table"
    bl_space_type = "VIEW_3D"
    bl_region_type = "UI"
    bl_category = "Dry Assembly"

    def draw(self, context: Context) -> None:
        """Tables, buttons, verdict."""
        layout, group = self.layout, context.scene.dry_assembly
        assert layout is not None
        if len(group.tables) > 1:
            layout.template_list("DRY_ASSEMBLY_UL_tables", "", group, "tables", group, "active", rows=2)
        state = access.active_table(context.scene)
        if state is None:
            _first_table(layout, context)
            return
        drawing.parameters_of_table(layout, state.parameters)
        row = layout.row(align=True)
        row.menu("DRY_ASSEMBLY_MT_presets", icon="PRESET")
        row.operator("dry_assembly.save_preset", text="", icon="ADD")
        if state.error:
            drawing.sentence(layout, context, state.error, "CANCEL")
            return
        row = layout.row()
        row.active = not state.out_of_date
        word = drawing.VERDICT_WORDS.get(state.verdict, "Not checked")
        drawing.verdict(row, state.verdict, f"{word} (out of date)" if state.out_of_date else word)


def _first_table(layout: UILayout, context: Context) -> None:
    """Where to begin: one great button, and what else there is."""
    drawing.sentence(layout, context, "Begin with a table that comes with the extension, then change it.")
    for number, (name, example) in enumerate(EXAMPLES.items()):
        row = layout.row()
        row.scale_y = 1.8 if number == 0 else 1.0
        drawing.button(row, "dry_assembly.add_example", f"Add {example.label}", "ADD", example=name)
    layout.menu("DRY_ASSEMBLY_MT_presets", icon="PRESET")
    layout.operator("dry_assembly.open_table", icon="FILE_FOLDER")


class DRY_ASSEMBLY_PT_place(SubPanel, Panel):
    """Where the table stands; its empty, which carries it, is hidden."""

    bl_label = "Place in the Scene"
    bl_parent_id = "DRY_ASSEMBLY_PT_table"

    def draw_table(self, _context: Context, layout: UILayout, state: TableState) -> None:
        """Place and turn of the empty."""
        if state.root is not None:
            column = drawing.fields(layout)
            column.prop(state.root, "location")
            column.prop(state.root, "rotation_euler", index=2, text="Turn")


class DRY_ASSEMBLY_PT_files(TablePanel, Panel):
    """Table files, and more tables."""

    bl_label = "Table File"

    def draw_table(self, _context: Context, layout: UILayout, state: TableState) -> None:
        """Save, open, add, remove."""
        if state.path:
            layout.label(text=bpy.path.basename(state.path), icon="FILE_TEXT")
        row = layout.row(align=True)
        row.operator("dry_assembly.save_table", text="Save", icon="FILE_TICK")
        row.operator("dry_assembly.open_table", text="Open", icon="FILE_FOLDER")
        layout.operator_menu_enum("dry_assembly.add_example", "example", icon="ADD")
        layout.operator("dry_assembly.remove_table", icon="TRASH")
