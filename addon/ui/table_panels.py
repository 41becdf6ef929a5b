"""The panels of the table as a whole: which one, where it stands, its file; presets, one's own among them."""

from __future__ import annotations

from typing import Any, Final

import bpy
from bpy.props import BoolProperty, StringProperty
from bpy.types import Context, Event, Menu, Operator, Panel, UILayout

from ..files.examples import EXAMPLES
from ..scene import access, presets
from ..scene.state.properties import DRY_ASSEMBLY_PG_table as TableState
from . import panel
from .operator_kinds import CHANGES, DONE, OWN, UNLISTED, TableOperator, attempt
from .panel import SubPanel, TablePanel


class DRY_ASSEMBLY_OT_apply_preset(Operator):
    bl_idname = "dry_assembly.apply_preset"
    bl_label = "Apply Preset"
    bl_options = CHANGES

    preset: StringProperty(name="Preset", description="Name of the preset", options=OWN)
    is_own: BoolProperty(name="Own", description="Whether it is one of your own", options=OWN)

    @classmethod
    def description(cls, _context: Context, properties: Any) -> str:
        """What the preset is."""
        if properties.is_own:
            return "Give the table the sizes of this preset. Its name stays, sizes of parts as cut go"
        return presets.BUILTIN[properties.preset].intro.rstrip(".")

    def execute(self, context: Context) -> set[Any]:
        """Applies it."""

        def work() -> None:
            known = None if self.is_own else presets.BUILTIN[self.preset]
            text = presets.own_text(self.preset) if known is None else known.text()
            presets.apply(context.scene, text, self.preset if known is None else known.label)

        return attempt(self, work)


class DRY_ASSEMBLY_OT_save_preset(TableOperator, Operator):
    bl_idname = "dry_assembly.save_preset"
    bl_label = "Save Preset"
    bl_description = (
        "Keep the table's sizes under a name, to begin other tables with; sizes of parts as cut stay out"
    )

    name: StringProperty(name="Name", description="What to call the preset", maxlen=60, options={"SKIP_SAVE"})

    @classmethod
    def lacks(cls, state: TableState) -> str:
        """A table that can be built."""
        return "Correct the table first: it cannot be built" if state.error else ""

    def invoke(self, context: Context, _event: Event) -> set[Any]:
        """Asks for the name."""
        name = self.table(context).name
        self.name = self.name or ("" if presets.is_taken(name) else name)
        return context.window_manager.invoke_props_dialog(self)

    def execute(self, context: Context) -> set[Any]:
        """Keeps it."""
        done = attempt(self, lambda: presets.save(self.table(context), self.name))
        if done == DONE:
            self.report({"INFO"}, f"Kept as preset {self.name.strip()}")
        return done


class DRY_ASSEMBLY_OT_remove_preset(Operator):
    bl_idname = "dry_assembly.remove_preset"
    bl_label = "Remove Preset"
    bl_description = "Delete this preset's file. This cannot be undone"
    bl_options = UNLISTED

    preset: StringProperty(name="Preset", description="Name of the preset", options=OWN)

    def invoke(self, context: Context, event: Event) -> set[Any]:
        """Asks once more."""
        return context.window_manager.invoke_confirm(self, event, message=self.preset)

    def execute(self, _context: Context) -> set[Any]:
        """Removes it."""
        return attempt(self, lambda: presets.remove(self.preset))


class DRY_ASSEMBLY_MT_presets(Menu):
    bl_idname = "DRY_ASSEMBLY_MT_presets"
    bl_label = "Presets"

    def draw(self, context: Context) -> None:
        """The extension's, the user's, and what to do with these."""
        layout = self.layout
        assert layout is not None
        for key, preset in presets.BUILTIN.items():
            panel.button(layout, "dry_assembly.apply_preset", preset.label, preset=key, is_own=False)
        names = presets.own()
        if names:
            layout.separator()
        for name in names:
            _own_name(layout, "dry_assembly.apply_preset", name, is_own=True)
        if access.active_table(context) is not None:
            layout.separator()
            layout.operator_context = "INVOKE_DEFAULT"
            layout.operator("dry_assembly.save_preset", text="Save Preset…", icon="ADD")
        if names:
            layout.menu("DRY_ASSEMBLY_MT_remove_presets", icon="REMOVE")


class DRY_ASSEMBLY_MT_remove_presets(Menu):
    bl_idname = "DRY_ASSEMBLY_MT_remove_presets"
    bl_label = "Remove Preset"

    def draw(self, _context: Context) -> None:
        """The user's own."""
        layout = self.layout
        assert layout is not None
        layout.operator_context = "INVOKE_DEFAULT"
        for name in presets.own():
            _own_name(layout, "dry_assembly.remove_preset", name)


def _own_name(layout: UILayout, operator: str, name: str, **settings: Any) -> None:
    """A button with a name that the user gave, which is not to be translated."""
    button = layout.operator(operator, text=name, translate=False)
    for key, value in {"preset": name, **settings}.items():
        setattr(button, key, value)


CLASSES: Final[tuple[Any, ...]] = (
    DRY_ASSEMBLY_OT_apply_preset,
    DRY_ASSEMBLY_OT_save_preset,
    DRY_ASSEMBLY_OT_remove_preset,
    DRY_ASSEMBLY_MT_remove_presets,
    DRY_ASSEMBLY_MT_presets,
)


class DRY_ASSEMBLY_PT_table(Panel):
    """Which table, how it stands, and where new ones come from."""

    bl_label = "Table"
    bl_space_type = "VIEW_3D"
    bl_region_type = "UI"
    bl_category = "Dry Assembly"

    def draw(self, context: Context) -> None:
        """Tables, buttons, the three lines."""
        layout, group = self.layout, context.scene.dry_assembly
        assert layout is not None
        if len(group.tables) > 1:
            layout.template_list("DRY_ASSEMBLY_UL_tables", "", group, "tables", group, "active", rows=2)
        state = access.active_table(context)
        if state is None:
            _first_table(layout, context)
            return
        panel.parameters_of_table(layout, state.parameters)
        row = layout.row(align=True)
        row.menu("DRY_ASSEMBLY_MT_presets", icon="PRESET")
        row.operator("dry_assembly.save_preset", text="", icon="ADD")
        if state.error:
            panel.sentence(layout, context, state.error, "CANCEL")
            return
        row = layout.row()
        row.active = not state.out_of_date
        if state.answer:
            panel.answer(row, state.answer)
        else:
            row.label(text="Not checked", icon="QUESTION")


def _first_table(layout: UILayout, context: Context) -> None:
    """Where to begin: one great button, and what else there is."""
    panel.sentence(layout, context, "Begin with a table that comes with the extension, then change it.")
    for number, (name, example) in enumerate(EXAMPLES.items()):
        row = layout.row()
        row.scale_y = 1.8 if number == 0 else 1.0
        panel.button(row, "dry_assembly.add_example", f"Add {example.label}", "ADD", example=name)
    layout.menu("DRY_ASSEMBLY_MT_presets", icon="PRESET")
    layout.operator("dry_assembly.open_table", icon="FILE_FOLDER")


class DRY_ASSEMBLY_PT_place(SubPanel, Panel):
    """Where the table stands; its empty, which carries it, is hidden."""

    bl_label = "Transform"
    bl_parent_id = "DRY_ASSEMBLY_PT_table"

    def draw_table(self, _context: Context, layout: UILayout, state: TableState) -> None:
        """Place and turn of the empty."""
        if state.root is not None:
            column = panel.fields(layout)
            column.prop(state.root, "location")
            column.prop(state.root, "rotation_euler", index=2, text="Rotation")


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
