"""The buttons that make pictures, films and the drawings of the slide proof, and their panel."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any, Final

import bpy
from bpy.props import EnumProperty
from bpy.types import Operator, Panel

from ..model.errors import DryAssemblyError
from ..scene import access, built, rendering
from ..shop.slide_files import save_slide_pictures
from . import drawing
from .operators import DONE, NOTHING, TableOperator
from .panel import TablePanel

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from bpy.types import Context, Event, Timer, UILayout

    from ..fit.slide.proof import LeafProof
    from ..model.parameters import Table
    from ..scene.state import DRY_ASSEMBLY_PG_table as TableState

TICK: Final = 0.1
"""How often a button looks whether Blender is done, s."""


class FileOperator(TableOperator):
    """An operator that makes files, and says where they are."""

    def said(self, context: Context, sentence: str) -> set[Any]:
        """Reports what was saved, and leaves it to be read in the panel."""
        context.scene.dry_assembly.picture_saved = sentence
        self.report({"INFO"}, sentence)  # type: ignore[attr-defined]
        return DONE

    def refused(self, context: Context, error: Exception) -> set[Any]:
        """Reports why nothing was saved."""
        context.scene.dry_assembly.picture_saved = ""
        self.report({"ERROR"}, str(error))  # type: ignore[attr-defined]
        return NOTHING

    def in_window(self, context: Context, words: str) -> set[Any]:
        """Goes on in the window, with `words` in its status bar."""
        manager = context.window_manager
        self._timer: Timer = manager.event_timer_add(TICK, window=context.window)
        context.workspace.status_text_set(words)
        manager.modal_handler_add(self)  # type: ignore[arg-type]
        return {"RUNNING_MODAL"}

    def left_window(self, context: Context) -> None:
        """Takes timer and words away."""
        context.window_manager.event_timer_remove(self._timer)
        context.workspace.status_text_set(None)


class RenderOperator(FileOperator):
    """An operator that renders."""

    def start(self, context: Context, kind: rendering.Kind) -> set[Any]:
        """Renders while the window goes on; without one, or where nothing is rendered, it waits."""
        if context.window is None or bpy.app.background or kind.scene is None:
            return self.wait(context, kind)
        if rendering.engines.is_rendering():
            self.report({"ERROR"}, "Blender is rendering already: wait, or stop it with Esc")  # type: ignore[attr-defined]
            return NOTHING
        try:
            self._rendering = rendering.Rendering(self.table(context), kind)
        except DryAssemblyError as error:
            return self.refused(context, error)
        context.window.cursor_modal_set("WAIT")
        return self.in_window(context, self._rendering.words)

    def wait(self, context: Context, kind: rendering.Kind) -> set[Any]:
        """Renders, and waits."""
        try:
            path = rendering.render_now(self.table(context), kind)
        except DryAssemblyError as error:
            return self.refused(context, error)
        return self.said(context, f"Saved {path}")

    def modal(self, context: Context, event: Event) -> set[Any]:
        """Looks whether Blender is done. Until then nothing but Esc gets through: an undo would take the scene away."""
        if event.type != "TIMER":
            return {"PASS_THROUGH" if event.type == "ESC" else "RUNNING_MODAL"}
        if self._rendering.goes_on:
            context.workspace.status_text_set(self._rendering.words)
            return {"PASS_THROUGH"}
        context.window.cursor_modal_restore()
        self.left_window(context)
        try:
            done = self._rendering.finish()
        except DryAssemblyError as error:
            return self.refused(context, error)
        if done:
            return self.said(context, f"Saved {self._rendering.path}")
        self.report({"WARNING"}, f"Stopped: {self._rendering.path.name} is as it was")  # type: ignore[attr-defined]
        return NOTHING


class DRY_ASSEMBLY_OT_render_picture(RenderOperator, Operator):
    bl_idname = "dry_assembly.render_picture"
    bl_label = "Render Picture"

    kind: EnumProperty(
        name="Picture",
        items=[(name, kind.label, kind.meaning) for name, kind in rendering.KINDS.items() if name != "film"],
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


class DRY_ASSEMBLY_OT_render_film(RenderOperator, Operator):
    bl_idname = "dry_assembly.render_film"
    bl_label = "Render Film"
    bl_description = (
        "A film of the leaves sliding home one after the other. An older film of that name is replaced"
    )

    def invoke(self, context: Context, _event: Event) -> set[Any]:
        """Renders while the window goes on."""
        return self.start(context, rendering.KINDS["film"])

    def execute(self, context: Context) -> set[Any]:
        """Renders, and waits."""
        return self.wait(context, rendering.KINDS["film"])


class DRY_ASSEMBLY_OT_save_slide_pictures(FileOperator, Operator):
    bl_idname = "dry_assembly.save_slide_pictures"
    bl_label = "Save Slide Pictures"
    bl_description = (
        "Draw every leaf among its openings, from the side and from above, as SVG for paper and PNG for the screen."
        " Older drawings of these names are replaced"
    )

    def invoke(self, context: Context, _event: Event) -> set[Any]:
        """Draws one leaf at a time while the window goes on."""
        if context.window is None or bpy.app.background:
            return self.execute(context)
        state = self.table(context)
        try:
            table = access.table_in(state)
            proofs = built.proofs_of(table)
        except DryAssemblyError as error:
            return self.refused(context, error)
        self._folder = _slide_folder(state)
        self._leaves = _drawn_leaves(table, proofs, self._folder)
        self._files = self._done = 0
        context.window_manager.progress_begin(0, max(len(proofs), 1))
        return self.in_window(context, "Drawing the leaves among their openings: Esc stops it")

    def modal(self, context: Context, event: Event) -> set[Any]:
        """Draws the next leaf."""
        if event.type == "ESC":
            return self._end(context, stopped=True)
        if event.type != "TIMER":
            return {"PASS_THROUGH"}
        try:
            files = next(self._leaves, None)
        except DryAssemblyError as error:
            self._end(context, stopped=True)
            return self.refused(context, error)
        if files is None:
            return self._end(context, stopped=False)
        self._files += files
        self._done += 1
        context.window_manager.progress_update(self._done)
        return {"RUNNING_MODAL"}

    def _end(self, context: Context, stopped: bool) -> set[Any]:
        self.left_window(context)
        context.window_manager.progress_end()
        if stopped:
            self.report({"WARNING"}, f"Stopped after {self._files} files in {self._folder}")
            return NOTHING
        return self.said(context, _files_sentence(self._files, self._folder))

    def execute(self, context: Context) -> set[Any]:
        """Draws them all, and waits."""
        folder = _slide_folder(self.table(context))
        try:
            table = access.table_in(self.table(context))
            files = sum(_drawn_leaves(table, built.proofs_of(table), folder))
        except DryAssemblyError as error:
            return self.refused(context, error)
        return self.said(context, _files_sentence(files, folder))


def _files_sentence(files: int, folder: Path) -> str:
    return f"Saved {files} files in {folder}"


def _slide_folder(state: TableState) -> Path:
    return rendering.path_of(state, "slide")


def _drawn_leaves(table: Table, proofs: Sequence[LeafProof], folder: Path) -> Iterator[int]:
    """Draws leaf after leaf; how many files each makes."""
    today = date.today().isoformat()
    for proof in proofs:
        yield len(save_slide_pictures(table, [proof], folder, today))


class DRY_ASSEMBLY_PT_pictures(TablePanel, Panel):
    """Pictures, the film, drawings of the slide."""

    bl_label = "Pictures"

    def draw_table(self, context: Context, layout: UILayout, _state: TableState) -> None:
        """Folder, buttons, what was saved last."""
        group = context.scene.dry_assembly
        layout.prop(group, "pictures_folder")
        column = layout.column(align=True)
        for name, kind in rendering.KINDS.items():
            if name != "film":
                drawing.button(
                    column,
                    "dry_assembly.render_picture",
                    f"Render Picture: {kind.label}",
                    "RENDER_STILL",
                    kind=name,
                )
        column.operator("dry_assembly.render_film", icon="RENDER_ANIMATION")
        layout.operator("dry_assembly.save_slide_pictures", icon="IMAGE_DATA")
        layout.operator("dry_assembly.save_filmstrips", icon="IMAGE_DATA")
        layout.operator("dry_assembly.save_step_pictures", icon="IMAGE_DATA")
        if group.picture_saved:
            drawing.sentence(layout, context, group.picture_saved, "CHECKMARK")


CLASSES: Final[tuple[Any, ...]] = (
    DRY_ASSEMBLY_OT_render_picture,
    DRY_ASSEMBLY_OT_render_film,
    DRY_ASSEMBLY_OT_save_slide_pictures,
)


def register() -> None:
    """Adds the operators."""
    for kind in CLASSES:
        bpy.utils.register_class(kind)


def unregister() -> None:
    """Takes the operators away."""
    for kind in reversed(CLASSES):
        bpy.utils.unregister_class(kind)
