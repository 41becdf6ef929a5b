"""Undo and redo step over what was not sorted out yet, so that one press takes back what the user did in one go.

What Blender's own tools copied, moved or deleted is one step, what is sorted out after it (`copies`) another. Between
the two, objects bear keys that are not theirs: whoever undoes or redoes until there goes on to the next step. Blender
offers no way to replace a step, so what stood there then is known again by what it was.
"""

from __future__ import annotations

from collections import OrderedDict
from contextlib import suppress
from functools import partial
from typing import Final, Literal

import bpy

from . import ids, pending

Way = Literal["undo", "redo"]

STEP: Final = "Sort Out Tables"
"""What the step is called in the list of what can be undone."""

_MOST: Final = 256
"""So many states are known again; Blender itself keeps 32 steps unless it is told otherwise."""

_unsorted: Final[OrderedDict[int, None]] = OrderedDict()
"""What stood there before it was sorted out, one number a state."""


def print_of() -> int:
    """A number for all objects of tables: which they are, which keys they bear, what they hang on, where they stand."""
    found = []
    for item in bpy.data.objects:
        if ids.TABLE in item:
            parent = item.parent.session_uid if item.parent is not None else 0
            places = tuple(round(value, 6) for row in item.matrix_basis for value in row)
            found.append((item.session_uid, str(item[ids.TABLE]), bool(item.get(ids.EXTRA)), parent, places))
    return hash(tuple(sorted(found)))


def push(number: int) -> None:
    """Records what was sorted out as a step, and notes what stood there before."""
    with suppress(RuntimeError):  # there is nothing to undo where Blender keeps no steps
        bpy.ops.ed.undo_push(message=STEP)
    _unsorted[number] = None
    _unsorted.move_to_end(number)
    if len(_unsorted) > _MOST:
        _unsorted.popitem(last=False)


def forget() -> None:
    """When another file is opened, or the extension is switched off."""
    _unsorted.clear()


def step_over_later(way: Way) -> bool:
    """Where undo or redo led to what was sorted out right after, goes one step on; whether it does."""
    if print_of() not in _unsorted:
        return False
    # What stands there for a moment is not sorted out again: a lane of its own, which no change of the scene takes.
    pending.cancel("tidy")
    pending.schedule(partial(_step, way), 0.0, "undo")
    return True


def _step(way: Way) -> None:
    manager = bpy.context.window_manager
    window = bpy.context.window or (manager.windows[0] if manager and manager.windows else None)
    with suppress(RuntimeError):  # it was the first or last step that Blender keeps
        if window is None:
            getattr(bpy.ops.ed, way)()
        else:
            with bpy.context.temp_override(window=window):
                getattr(bpy.ops.ed, way)()
