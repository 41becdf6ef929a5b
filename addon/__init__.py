"""Dry Assembly: a plywood table from its parameters, every leaf slid home before the sheets are cut.

Imports go one way: `sizes` ← `wood` ← `check` ← `designs` ← `files` ← `reports` ← `paper` ← `scene` ← `ui` and
`command_line`. Nothing here needs Blender until it calls `register`.
"""

from __future__ import annotations

from typing import Any


def register() -> None:
    """Called by Blender when the add-on is switched on."""
    for module in _modules():
        module.register()


def unregister() -> None:
    """Called by Blender when the add-on is switched off: leaves nothing behind."""
    for module in reversed(_modules()):
        module.unregister()


def _modules() -> tuple[Any, ...]:
    """What registers something, in order."""
    from .command_line import blender
    from .scene import handlers, overlap, preferences, snag, translation
    from .scene.overlay import corner, draw
    from .scene.pictures import preview
    from .scene.state import properties
    from .ui import host, panels

    pictures = (draw, corner, preview)
    return (
        properties, handlers, snag, overlap, *pictures, panels, host, preferences, translation, blender,
    )  # fmt: skip
