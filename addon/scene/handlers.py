"""What is done after undo, redo and the opening of a file."""

from __future__ import annotations

from typing import Final

import bpy
from bpy.app.handlers import persistent

from . import pending, tables


@persistent
def _after(*_unused: object) -> None:
    pending.cancel()
    tables.settle_later()


_LISTS: Final = ("undo_post", "redo_post", "load_post")


def register() -> None:
    """Adds the handlers."""
    for name in _LISTS:
        getattr(bpy.app.handlers, name).append(_after)


def unregister() -> None:
    """Takes the handlers away, and the check that may be waiting."""
    pending.cancel()
    for name in _LISTS:
        handlers = getattr(bpy.app.handlers, name)
        for handler in [item for item in handlers if item is _after]:
            handlers.remove(handler)
