"""Operators that make files: what those have in common that draw, and those that render."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import bpy
from bpy.types import SpaceView3D

from ..paper.sheet.save import save_files
from ..scene import access, rendering, tables
from ..sizes.errors import DryAssemblyError
from .operators import DONE, NOTHING, TableOperator
from .step_operator import StepOperator

if TYPE_CHECKING:
    from pathlib import Path

    from bpy.types import Context, Event, Timer
    from mathutils import Quaternion

    from ..check.progress import Steps
    from ..designs.table.parameters import Table
    from ..scene.state import DRY_ASSEMBLY_PG_table as TableState

TICK: Final = 0.1
"""How often a button looks whether Blender is done, s."""


def looking(context: Context) -> Quaternion | None:
    """Turn of the 3D view in which a button was pressed; None elsewhere."""
    space = context.space_data
    region = space.region_3d if isinstance(space, SpaceView3D) else None
    return None if region is None else region.view_rotation


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


class SaveOperator(FileOperator, StepOperator):
    """An operator that draws files in steps; they are saved when all of them are there."""

    def files(self, context: Context, table: Table) -> Steps[dict[str, bytes]]:
        """Draws them: name of a file → what is in it. Raises DryAssemblyError."""
        raise NotImplementedError

    def folder(self, state: TableState) -> Path:
        """Where they go."""
        return rendering.folder_of(state)

    def save(self, files: dict[str, bytes], folder: Path) -> None:
        """Saves them. Raises ExportError."""
        save_files(files, folder)

    def steps(self, context: Context, table: Table) -> Steps[dict[str, bytes]]:
        """The work, if there is a place for what comes of it."""
        rendering.need_folder(self.table(context))
        return self.files(context, table)

    def keep(self, state: TableState, result: dict[str, bytes]) -> None:
        """Saves the files, and says where they are."""
        group, folder = access.scene_of(state).dry_assembly, self.folder(state)
        group.picture_saved = ""
        self.save(result, folder)
        several = f"{len(result)} files in {folder}"
        group.picture_saved = f"Saved {several if len(result) > 1 else folder / next(iter(result))}"
        tables.redraw()
        self.report({"INFO"}, group.picture_saved)  # type: ignore[attr-defined]


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
