"""Menus: what to do with the part under the mouse, and all that the sidebar does, where the search finds it."""

from __future__ import annotations

from typing import Any, Final

from bpy.types import Context, Menu

from ..scene import parts
from ..scene.translation import CONTEXT
from . import panel
from .parts import part_chosen


class DRY_ASSEMBLY_MT_table(Menu):
    bl_idname = "DRY_ASSEMBLY_MT_table"
    bl_label = "Dry Assembly"
    bl_translation_context = CONTEXT

    def draw(self, context: Context) -> None:
        """All buttons of the sidebar."""
        layout = self.layout
        assert layout is not None
        choices(layout, "add_example", "example", "Add Example Table", "ADD")
        panel.menu(layout, "DRY_ASSEMBLY_MT_presets", "Presets", "PRESET")
        for names in _BUTTONS:
            layout.separator()
            for name in names:
                layout.operator_context = "INVOKE_DEFAULT"
                panel.button(layout, f"dry_assembly.{name}")
        for name, choice, text in _CHOICES:
            choices(layout, name, choice, text)


def choices(layout: Any, operator: str, choice: str, text: str, icon: str = "NONE") -> None:
    """A menu of what an operator may do."""
    layout.operator_menu_enum(f"dry_assembly.{operator}", choice, text=text, text_ctxt=CONTEXT, icon=icon)


_BUTTONS: Final = (
    ("open_table", "save_table", "remove_table"),
    (
        "check_now",
        "show_finding",
        "stop_showing",
        "fix_finding",
        "apply_remedy",
        "find_remedies",
        "open_report",
    ),
    ("show_overlap", "hide_overlap", "show_snag", "hide_snag", "analyze_tolerances"),
    ("enter_as_cut", "copy_parts", "save_preset", "add_variant", "keep_variant"),
    ("stop_animation", "add_camera", "render_video"),
)
_CHOICES: Final = (
    ("set_leaves", "where", "Move Leaves"),
    ("animate", "order", "Animate Leaves"),
    ("render_picture", "kind", "Render Picture"),
)


def _in_object_menu(self: Any, _context: Context) -> None:
    self.layout.separator()
    panel.menu(self.layout, DRY_ASSEMBLY_MT_table.bl_idname, "Dry Assembly")


def _in_add_menu(self: Any, _context: Context) -> None:
    choices(self.layout, "add_example", "example", "Example Table", "MESH_CUBE")


def _under_the_mouse(self: Any, context: Context) -> None:
    """In the context menu of objects: what to do with a part."""
    chosen = part_chosen(context)
    if chosen is None:
        return
    layout = self.layout
    layout.separator()
    panel.button(layout, "dry_assembly.show_part_findings", "Show Findings of This Part", "ZOOM_SELECTED")
    if parts.leaf_of(*chosen):
        choices(layout, "move_leaf", "where", "Move This Leaf")
    layout.operator_context = "INVOKE_DEFAULT"
    panel.button(layout, "dry_assembly.enter_as_cut", "This Part Came Out…")


CLASSES: Final = (DRY_ASSEMBLY_MT_table,)
MENUS: Final = (
    ("VIEW3D_MT_object", _in_object_menu),
    ("VIEW3D_MT_add", _in_add_menu),
    ("VIEW3D_MT_object_context_menu", _under_the_mouse),
)
"""Blender's menus → what is added to them."""
