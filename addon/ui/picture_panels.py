"""The panels of pictures, the video and drawings, and their buttons."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any, Final

from bpy.props import EnumProperty
from bpy.types import Context, Event, Operator, Panel, UILayout

from ..check.progress import Steps, share_of
from ..designs.table.parameters import Table
from ..paper.filmstrip_page import filmstrip
from ..paper.sheet.save import drawing_bytes, save_pictures
from ..paper.sheet.sheet import A4
from ..paper.slide_page.page import SLIDE_NAMES, slide_files
from ..paper.steps.pages import save_steps, step_files
from ..paper.views import SHEETS
from ..scene import built
from ..scene.pictures import on_paper, rendering
from ..scene.pictures.rendering import Kind
from ..scene.state.properties import DRY_ASSEMBLY_PG_table as TableState
from ..sizes.errors import DryAssemblyError
from . import panel
from .operator_kinds import RenderOperator, SaveOperator, looking
from .panel import TablePanel


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
            kind = on_paper.kind_of(self.table(context), date.today().isoformat(), looking(context))
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
        column = panel.fields(layout)
        column.prop(sheet, "style")
        if sheet.style == "rendered":
            column.prop(sheet, "engine")
        column.prop(sheet, "view")
        column.prop(sheet, "leaves")
        column.prop(sheet, "labels")
        column = panel.fields(layout)
        column.prop(sheet, "size")
        column.prop(sheet, "format")
        if sheet.style != "lines" or sheet.format == "png":
            column.prop(sheet, "dpi")
        layout.operator("dry_assembly.save_picture", icon="FILE_IMAGE")


class DRY_ASSEMBLY_OT_render_picture(RenderOperator, Operator):
    bl_idname = "dry_assembly.render_picture"
    bl_label = "Render Picture"

    kind: EnumProperty(
        name="Picture",
        items=[(name, kind.label, kind.meaning) for name, kind in rendering.KINDS.items() if name != "video"],
    )

    @classmethod
    def description(cls, _context: Context, properties: Any) -> str:
        """What the picture shows."""
        return f"{rendering.KINDS[properties.kind].meaning}. An older picture of that name is replaced"

    def invoke(self, context: Context, _event: Event) -> set[Any]:
        """Renders while the window goes on."""
        return self.start(context, rendering.KINDS[self.kind])

    def execute(self, context: Context) -> set[Any]:
        """Renders, and waits."""
        return self.wait(context, rendering.KINDS[self.kind])


class DRY_ASSEMBLY_OT_render_video(RenderOperator, Operator):
    bl_idname = "dry_assembly.render_video"
    bl_label = "Render Video"
    bl_description = (
        "A video of the leaves sliding home one after the other. An older video of that name is replaced"
    )

    def invoke(self, context: Context, _event: Event) -> set[Any]:
        """Renders while the window goes on."""
        return self.start(context, rendering.KINDS["video"])

    def execute(self, context: Context) -> set[Any]:
        """Renders, and waits."""
        return self.wait(context, rendering.KINDS["video"])


class DRY_ASSEMBLY_OT_save_sliding_in_pictures(SaveOperator, Operator):
    bl_idname = "dry_assembly.save_sliding_in_pictures"
    bl_label = "Save Pictures of Sliding In"
    bl_description = (
        "Draw every leaf among its openings, from the side and from above, as SVG for paper and PNG for the screen."
        " Older drawings of these names are replaced; Esc stops it"
    )
    what = "Drawing the leaves among their openings"

    def files(self, _context: Context, table: Table) -> Steps[dict[str, bytes]]:
        """Draws one leaf after the other."""
        told = yield from share_of(built.told_steps(table), 0.0, 0.2)
        own = slide_files(table, built.proofs_of(table), date.today().isoformat(), told=told)
        return (yield from share_of(own, 0.2, 1.0))

    def folder(self, state: TableState) -> Path:
        """Where they go."""
        return rendering.path_of(state, "sliding-in")

    def save(self, files: dict[str, bytes], folder: Path) -> None:
        """Saves them together."""
        save_pictures(files, folder, SLIDE_NAMES)


class DRY_ASSEMBLY_OT_save_filmstrips(SaveOperator, Operator):
    bl_idname = "dry_assembly.save_filmstrips"
    bl_label = "Save Filmstrips"
    bl_description = (
        "Draw each leaf at the moments of its way that matter, the tightest places enlarged: a sheet for each leaf, of"
        " the size and format set under On Paper. Older sheets of these names are replaced; Esc stops it"
    )
    what = "Drawing the leaves on their way"

    def files(self, context: Context, table: Table) -> Steps[dict[str, bytes]]:
        """Draws one leaf after the other."""
        choice, today = context.scene.dry_assembly.sheet, date.today().isoformat()
        prepared, files = built.prepared_of(table), {}
        answer = (yield from share_of(built.told_steps(table), 0.0, 0.2)).table
        leaves = [path.leaf for path in prepared.assembly.stow_paths]
        for number, leaf in enumerate(leaves):
            yield 0.2 + 0.8 * number / len(leaves)
            drawing = filmstrip(
                table, prepared, date=today, leaves=[leaf], sheet=SHEETS.get(choice.size), answer=answer
            )
            name = f"{leaf}-filmstrip.{choice.format}"
            files[name] = drawing_bytes(drawing, name, choice.dpi)
        return files

    def folder(self, state: TableState) -> Path:
        """Where they go."""
        return rendering.path_of(state, "filmstrips")

    def save(self, files: dict[str, bytes], folder: Path) -> None:
        """Saves them together."""
        save_pictures(files, folder, r"\w+-filmstrip")


class DRY_ASSEMBLY_OT_save_step_pictures(SaveOperator, Operator):
    bl_idname = "dry_assembly.save_step_pictures"
    bl_label = "Save Step Pictures"
    bl_description = (
        "Draw a proposed order of assembly: a sheet for each step and one with all of them, of the size and format set"
        " under On Paper. Older sheets of these names are replaced when all new ones are there; Esc stops it"
    )
    what = "Drawing the steps of assembly"

    def files(self, context: Context, table: Table) -> Steps[dict[str, bytes]]:
        """Draws one step after the other."""
        choice, today = context.scene.dry_assembly.sheet, date.today().isoformat()
        assembly, sheet = built.assembly_of(table), SHEETS.get(choice.size, A4)
        answer = (yield from share_of(built.told_steps(table), 0.0, 0.2)).table
        own = step_files(
            assembly, table.units, choice.format, date=today, sheet=sheet, dpi=choice.dpi, answer=answer
        )
        return (yield from share_of(own, 0.2, 1.0))

    def folder(self, state: TableState) -> Path:
        """Where they go."""
        return rendering.path_of(state, "steps")

    def save(self, files: dict[str, bytes], folder: Path) -> None:
        """Saves them; sheets of an older order that had more steps go."""
        save_steps(files, folder)


class DRY_ASSEMBLY_PT_pictures(TablePanel, Panel):
    """Pictures, the video, drawings of the slide."""

    bl_label = "Pictures"

    def draw_table(self, context: Context, layout: UILayout, _state: TableState) -> None:
        """Folder, buttons, what was saved last."""
        group = context.scene.dry_assembly
        layout.prop(group, "pictures_folder")
        column = layout.column(align=True)
        for name, kind in rendering.KINDS.items():
            if name != "video":
                panel.button(
                    column,
                    "dry_assembly.render_picture",
                    f"Render Picture: {kind.label}",
                    "RENDER_STILL",
                    kind=name,
                )
        column.operator("dry_assembly.render_video", icon="RENDER_ANIMATION")
        layout.operator("dry_assembly.save_sliding_in_pictures", icon="IMAGE_DATA")
        layout.operator("dry_assembly.save_filmstrips", icon="IMAGE_DATA")
        layout.operator("dry_assembly.save_step_pictures", icon="IMAGE_DATA")
        if group.picture_saved:
            panel.sentence(layout, context, group.picture_saved, "CHECKMARK")


CLASSES: Final[tuple[Any, ...]] = (
    DRY_ASSEMBLY_OT_render_picture,
    DRY_ASSEMBLY_OT_render_video,
    DRY_ASSEMBLY_OT_save_sliding_in_pictures,
    DRY_ASSEMBLY_OT_save_filmstrips,
    DRY_ASSEMBLY_OT_save_step_pictures,
    DRY_ASSEMBLY_OT_save_picture,
)
