"""The button that saves a picture of each step of assembly."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Final

import bpy
from bpy.types import Operator

from ..model.errors import DryAssemblyError
from ..scene import access, built, rendering, tables
from ..shop.drawing.sheet import A4
from ..shop.lines import SHEETS
from ..shop.steps.files import save_files, step_files
from .step_operator import StepOperator

if TYPE_CHECKING:
    from bpy.types import Context

    from ..fit.steps import Steps
    from ..model.parameters import Table
    from ..scene.state import DRY_ASSEMBLY_PG_table as TableState


class DRY_ASSEMBLY_OT_save_step_pictures(StepOperator, Operator):
    bl_idname = "dry_assembly.save_step_pictures"
    bl_label = "Save Step Pictures"
    bl_description = (
        "Draw a proposed order of assembly: a sheet for each step and one with all of them, of the size and format set"
        " under On Paper. Older sheets of these names are replaced when all new ones are there; Esc stops it"
    )
    what = "Drawing the steps of assembly"

    def steps(self, context: Context, table: Table) -> Steps[dict[str, bytes]]:
        """Draws them."""
        choice = context.scene.dry_assembly.sheet
        sheet = SHEETS.get(choice.size, A4)
        today = date.today().isoformat()
        assembly = built.assembly_of(table)
        return step_files(assembly, table.units, choice.format, date=today, sheet=sheet, dpi=choice.dpi)

    def keep(self, state: TableState, result: dict[str, bytes]) -> None:
        """Saves them, and says where."""
        group, folder = access.scene_of(state).dry_assembly, rendering.path_of(state, "steps")
        try:
            names = save_files(result, folder)
        except DryAssemblyError as error:
            group.picture_saved = ""
            self.report({"ERROR"}, str(error))
            return
        group.picture_saved = f"Saved {len(names)} {'file' if len(names) == 1 else 'files'} in {folder}"
        tables.redraw()
        self.report({"INFO"}, group.picture_saved)


CLASSES: Final = (DRY_ASSEMBLY_OT_save_step_pictures,)

register, unregister = bpy.utils.register_classes_factory(CLASSES)
