"""The button that puts a picture of the table on paper, and its choices."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any, Final

import bpy
from bpy.types import Operator, Panel

from ..scene import sheets
from ..sizes.errors import DryAssemblyError
from . import drawing
from .file_operators import RenderOperator, looking
from .panel import TablePanel

if TYPE_CHECKING:
    from collections.abc import Callable

    from bpy.types import Context, Event, UILayout

    from ..scene.rendering import Kind
    from ..scene.state import DRY_ASSEMBLY_PG_table as TableState


class DRY_ASSEMBLY_OT_save_picture(RenderOperator, Operator):
    bl_idname = "dry_assembly.save_picture"
    bl_label = "Save Picture"
    bl_description = (
        "Save the table to scale on a sheet of paper with its title block."
        " An older picture of that name is replaced"
    )

    def invoke(self, context: Context, _event: Event) -> set[Any]:
        """Renders while the window goes on."""
        return self._made(context, self.start)

    def execute(self, context: Context) -> set[Any]:
        """Renders, and waits."""
        return self._made(context, self.wait)

    def _made(self, context: Context, make: Callable[[Context, Kind], set[Any]]) -> set[Any]:
        try:
            kind = sheets.kind_of(self.table(context), date.today().isoformat(), looking(context))
        except DryAssemblyError as error:
            return self.refused(context, error)
        return make(context, kind)


class DRY_ASSEMBLY_PT_sheet(TablePanel, Panel):
    """A picture on paper."""

    bl_label = "On Paper"
    bl_parent_id = "DRY_ASSEMBLY_PT_pictures"

    def draw_table(self, context: Context, layout: UILayout, _state: TableState) -> None:
        """What it shows, how, and on what."""
        sheet = context.scene.dry_assembly.sheet
        column = drawing.fields(layout)
        column.prop(sheet, "style")
        if sheet.style == "rendered":
            column.prop(sheet, "engine")
        column.prop(sheet, "view")
        column.prop(sheet, "leaves")
        column.prop(sheet, "labels")
        column = drawing.fields(layout)
        column.prop(sheet, "size")
        column.prop(sheet, "format")
        if sheet.style != "lines" or sheet.format == "png":
            column.prop(sheet, "dpi")
        layout.operator("dry_assembly.save_picture", icon="FILE_IMAGE")


CLASSES: Final[tuple[Any, ...]] = (DRY_ASSEMBLY_OT_save_picture,)


def register() -> None:
    """Adds the operator."""
    for kind in CLASSES:
        bpy.utils.register_class(kind)


def unregister() -> None:
    """Takes the operator away."""
    for kind in reversed(CLASSES):
        bpy.utils.unregister_class(kind)
