"""Buttons for work of some seconds: the window goes on meanwhile, and Esc stops it with everything as it was."""

from __future__ import annotations

from time import perf_counter
from typing import TYPE_CHECKING, Any, Final

import bpy

from ..check.progress import run_through
from ..scene import access
from ..sizes.errors import DryAssemblyError
from .operators import NOTHING, TableOperator, attempt

if TYPE_CHECKING:
    from bpy.types import Context, Event, Timer

    from ..check.progress import Steps
    from ..designs.table.parameters import Table
    from ..scene.state import DRY_ASSEMBLY_PG_table as TableState

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
            self.report({"ERROR"}, str(error))  # type: ignore[attr-defined]
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
        state = access.active_table(context.scene)
        if state is None or access.table_in(state) != self._table:
            return self._stopped(context, "Stopped: the table was changed meanwhile")
        self._leave(context)
        return attempt(self, lambda: self.keep(state, result))  # type: ignore[arg-type]

    def _stopped(self, context: Context, why: str, kind: str = "WARNING") -> set[Any]:
        self._leave(context)
        self.report({kind}, why)  # type: ignore[attr-defined]
        return NOTHING

    def _leave(self, context: Context) -> None:
        self._steps.close()
        context.window_manager.event_timer_remove(self._timer)
        context.window_manager.progress_end()
        context.workspace.status_text_set(None)

    def _show(self, context: Context, done: float) -> None:
        context.window_manager.progress_update(int(100 * done))
        context.workspace.status_text_set(f"{self.what}, {100 * done:.0f} %: Esc stops it")
