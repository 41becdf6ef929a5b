"""What is done after undo, redo and the opening of a file, and before a frame is shown."""

from __future__ import annotations

from contextlib import suppress
from typing import Final

import bpy
from bpy.app.handlers import persistent
from bpy.types import Scene

from ..sizes.errors import DryAssemblyError
from . import exploded, old_files, pending, tables


@persistent
def _after(*_unused: object) -> None:
    pending.cancel()
    old_files.renew_tables()
    tables.settle_later()


def _after_switching_on() -> None:
    if old_files.renew_tables():
        tables.settle_later()


@persistent
def _before_frame(scene: Scene, *_unused: object) -> None:
    with suppress(DryAssemblyError):
        exploded.follow(scene)


_LISTS: Final = ("undo_post", "redo_post", "load_post")


def register() -> None:
    """Adds the handlers."""
    for name in _LISTS:
        getattr(bpy.app.handlers, name).append(_after)
    bpy.app.handlers.frame_change_pre.append(_before_frame)
    pending.schedule(_after_switching_on)  # what is open may not be looked at yet


def unregister() -> None:
    """Takes the handlers away, and the check that may be waiting."""
    pending.cancel()
    for name in (*_LISTS, "frame_change_pre"):
        handlers = getattr(bpy.app.handlers, name)
        for handler in [item for item in handlers if item in (_after, _before_frame)]:
            handlers.remove(handler)
