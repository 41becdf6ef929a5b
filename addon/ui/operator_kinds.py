"""Kinds of operators: on a table, in steps that Esc stops, with files as their result, rendering.

Work of some seconds goes on while the window does, and where it is stopped everything is as it was.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from time import perf_counter
from typing import Any, Final

import bpy
from bpy.types import Context, Event, Operator, SpaceView3D, Timer
from mathutils import Quaternion

from ..check.progress import Steps, run_through
from ..designs.table.parameters import Table
from ..files.saving import save_bytes
from ..scene import access, seeing
from ..scene.pictures import rendering
from ..scene.state.properties import DRY_ASSEMBLY_PG_table as TableState
from ..scene.translation import CONTEXT, reported, told
from ..sizes.errors import DryAssemblyError

CHANGES: Final = {"REGISTER", "UNDO"}
ONE_STEP: Final = {"UNDO"}
"""Of an operator that can be undone, but has nothing to be adjusted afterwards."""
UNLISTED: Final = {"INTERNAL"}
SEARCHED: Final[set[Any]] = set()
"""Of an operator that changes nothing, and is found by its name."""
DONE: Final = {"FINISHED"}
NOTHING: Final = {"CANCELLED"}
OWN: Final[set[Any]] = {"HIDDEN", "SKIP_SAVE"}
"""Options of a property that a button sets and nobody else: not to be seen, nor remembered for the next time."""


class OwnOperator:
    """An operator whose words are translated in our own context."""

    bl_translation_context = CONTEXT
    bl_description: str

    @classmethod
    def description(cls, _context: Context, _properties: Any) -> str:
        """What it does."""
        return told(cls.bl_description)

    def say(self, kind: str, text: str, **values: object) -> None:
        """Reports a sentence, with values put into its braces."""
        self.report({kind}, reported(text, **values))  # type: ignore[attr-defined]


class TableOperator(OwnOperator):
    """An operator that needs a table; grayed out with the reason where there is none."""

    @classmethod
    def poll(cls, context: Context) -> bool:
        """Whether there is a table, and all that the operator needs of it."""
        state = access.active_table(context)
        if state is None:
            lacks = "Add an example table or open a table file first"
        else:
            lacks = access.locked(state) or cls.lacks(state)
        if lacks:
            cls.poll_message_set(told(lacks))  # type: ignore[attr-defined]
        return not lacks

    @classmethod
    def lacks(cls, state: TableState) -> str:
        """What the operator needs of the table and is not there, in words; "" where nothing is wanting."""
        return ""

    def table(self, context: Context) -> TableState:
        """The table that the panels show; `poll` has seen to it that there is one."""
        state = access.active_table(context)
        assert state is not None
        return state


def unbuilt(state: TableState) -> str:
    """What an operator lacks that needs a table that can be built."""
    return "Correct the table first: it cannot be built" if state.error else ""


def attempt(operator: Operator, action: Callable[[], object]) -> set[Any]:
    """Runs an action; what is wrong with the user's input becomes a report, and nothing was changed."""
    try:
        done = action()
    except DryAssemblyError as error:
        operator.report({"ERROR"}, reported(str(error)))
        return NOTHING
    return NOTHING if done is False else DONE


TICK: Final = 0.02
"""Pause between two spells of work, s."""

SPELL: Final = 0.15
"""How long to work before the window has its turn, s; a step that was begun is finished."""


class StepOperator(TableOperator):
    """An operator whose result is worked out in steps, of the table alone, and kept with the table at the end."""

    what: str
    """What it is doing, in words."""

    def steps(self, context: Context, table: Table) -> Steps[Any]:
        """The work. Raises DryAssemblyError."""
        raise NotImplementedError

    def keep(self, state: TableState, result: Any) -> None:
        """Keeps the result."""
        raise NotImplementedError

    def invoke(self, context: Context, _event: Event) -> set[Any]:
        """Works while the window goes on; without one it waits."""
        if context.window is None or bpy.app.background:
            return self.execute(context)
        try:
            self._table = access.table_in(self.table(context))
            self._steps = self.steps(context, self._table)
        except DryAssemblyError as error:
            self.say("ERROR", str(error))
            return NOTHING
        manager = context.window_manager
        self._timer: Timer = manager.event_timer_add(TICK, window=context.window)
        manager.progress_begin(0, 100)
        self._show(context, 0.0)
        manager.modal_handler_add(self)  # type: ignore[arg-type]
        return {"RUNNING_MODAL"}

    def modal(self, context: Context, event: Event) -> set[Any]:
        """Works on. Nothing but Esc gets through: an undo would take the table away."""
        if event.type == "ESC":
            return self._stopped(context, "Stopped: everything is as it was")
        if event.type != "TIMER":
            return {"RUNNING_MODAL"}
        until = perf_counter() + SPELL
        try:
            done = next(self._steps)
            while perf_counter() < until:
                done = next(self._steps)
        except StopIteration as end:
            return self._finished(context, end.value)
        except DryAssemblyError as error:
            return self._stopped(context, str(error), "ERROR")
        self._show(context, done)
        return {"RUNNING_MODAL"}

    def execute(self, context: Context) -> set[Any]:
        """Works, and waits."""
        state = self.table(context)

        def work() -> None:
            self.keep(state, run_through(self.steps(context, access.table_in(state))))

        return attempt(self, work)  # type: ignore[arg-type]

    def cancel(self, context: Context) -> None:
        """Called by Blender where the window closes meanwhile."""
        self._leave(context)

    def _finished(self, context: Context, result: Any) -> set[Any]:
        state = access.active_table(context)
        if state is None or access.table_in(state) != self._table:
            return self._stopped(context, "Stopped: the table was changed meanwhile")
        self._leave(context)
        done = attempt(self, lambda: self.keep(state, result))  # type: ignore[arg-type]
        seeing.redraw()
        return done

    def _stopped(self, context: Context, why: str, kind: str = "WARNING") -> set[Any]:
        self._leave(context)
        self.say(kind, why)
        return NOTHING

    def _leave(self, context: Context) -> None:
        self._steps.close()
        context.window_manager.event_timer_remove(self._timer)
        context.window_manager.progress_end()
        context.workspace.status_text_set(None)

    def _show(self, context: Context, done: float) -> None:
        context.window_manager.progress_update(int(100 * done))
        words = told("{work}, {percent} %: Esc stops it", work=self.what, percent=int(100 * done))
        context.workspace.status_text_set(words)


LOOK: Final = 0.1
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
        self.say("INFO", sentence)
        seeing.redraw()
        return DONE

    def refused(self, context: Context, error: Exception) -> set[Any]:
        """Reports why nothing was saved."""
        context.scene.dry_assembly.picture_saved = ""
        self.say("ERROR", str(error))
        seeing.redraw()
        return NOTHING

    def in_window(self, context: Context, words: str) -> set[Any]:
        """Goes on in the window, with `words` in its status bar."""
        manager = context.window_manager
        self._timer: Timer = manager.event_timer_add(LOOK, window=context.window)
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
        for name, content in files.items():
            save_bytes(folder / name, content)

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
        seeing.redraw()
        self.say("INFO", group.picture_saved)


class RenderOperator(FileOperator):
    """An operator that renders."""

    def start(self, context: Context, kind: rendering.Kind) -> set[Any]:
        """Renders while the window goes on; without one, or where nothing is rendered, it waits."""
        if context.window is None or bpy.app.background or kind.scene is None:
            return self.wait(context, kind)
        if rendering.engines.is_rendering():
            self.say("ERROR", "Blender is rendering already: wait, or stop it with Esc")
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
        self.say("WARNING", "Stopped: {file} is as it was", file=self._rendering.path.name)
        return NOTHING
