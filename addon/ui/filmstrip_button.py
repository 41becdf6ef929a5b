"""The button that saves a filmstrip of each leaf."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Final

import bpy
from bpy.types import Operator

from ..model.errors import DryAssemblyError
from ..scene import access, built, rendering, tables
from ..shop.drawing.save import drawing_bytes
from ..shop.filmstrip import filmstrip
from ..shop.lines import SHEETS
from ..shop.steps.files import save_files
from .step_operator import StepOperator

if TYPE_CHECKING:
    from bpy.types import Context

    from ..fit.steps import Steps
    from ..model.parameters import Table
    from ..scene.state import DRY_ASSEMBLY_PG_table as TableState


class DRY_ASSEMBLY_OT_save_filmstrips(StepOperator, Operator):
    bl_idname = "dry_assembly.save_filmstrips"
    bl_label = "Save Filmstrips"
    bl_description = (
        "Draw each leaf at the moments of its way that matter, the tightest places enlarged: a sheet for each leaf, of"
        " the size and format set under On Paper. Older sheets of these names are replaced; Esc stops it"
    )
    what = "Drawing the leaves on their way"

    def steps(self, context: Context, table: Table) -> Steps[dict[str, bytes]]:
        """Draws one leaf after the other."""
        choice, today = context.scene.dry_assembly.sheet, date.today().isoformat()
        prepared, files = built.prepared_of(table), {}
        leaves = [path.leaf for path in prepared.assembly.stow_paths]
        for number, leaf in enumerate(leaves):
            yield number / len(leaves)
            drawing = filmstrip(table, prepared, date=today, leaves=[leaf], sheet=SHEETS.get(choice.size))
            name = f"{leaf}-filmstrip.{choice.format}"
            files[name] = drawing_bytes(drawing, name, choice.dpi)
        return files

    def keep(self, state: TableState, result: dict[str, bytes]) -> None:
        """Saves them, and says where."""
        group, folder = access.scene_of(state).dry_assembly, rendering.path_of(state, "filmstrips")
        try:
            names = save_files(result, folder)
        except DryAssemblyError as error:
            group.picture_saved = ""
            self.report({"ERROR"}, str(error))
            return
        group.picture_saved = f"Saved {len(names)} {'file' if len(names) == 1 else 'files'} in {folder}"
        tables.redraw()
        self.report({"INFO"}, group.picture_saved)


CLASSES: Final = (DRY_ASSEMBLY_OT_save_filmstrips,)

register, unregister = bpy.utils.register_classes_factory(CLASSES)
