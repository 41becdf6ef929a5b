"""The menu of presets, and the buttons that keep and remove the user's own."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import bpy
from bpy.props import BoolProperty, StringProperty
from bpy.types import Menu, Operator

from ..scene import access, presets
from . import drawing
from .operators import CHANGES, DONE, OWN, UNLISTED, TableOperator, attempt

if TYPE_CHECKING:
    from bpy.types import Context, Event, UILayout

    from ..scene.state import DRY_ASSEMBLY_PG_table as TableState


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
            drawing.button(layout, "dry_assembly.apply_preset", preset.label, preset=key, is_own=False)
        names = presets.own()
        if names:
            layout.separator()
        for name in names:
            _own_name(layout, "dry_assembly.apply_preset", name, is_own=True)
        if access.active_table(context.scene) is not None:
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


def register() -> None:
    """Adds operators and menus."""
    for kind in CLASSES:
        bpy.utils.register_class(kind)


def unregister() -> None:
    """Takes them away."""
    for kind in reversed(CLASSES):
        bpy.utils.unregister_class(kind)
