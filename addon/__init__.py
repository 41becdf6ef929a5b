"""Dry Assembly: a plywood table from its parameters, every leaf slid home before the sheets are cut.

Reads `model` (stock, parts, the table recipe) → `fit` (checks and findings) → `shop` and `scene` (files; Blender) →
`ui` (panels and buttons). Nothing here needs Blender until it calls `register`.
"""

from __future__ import annotations


def register() -> None:
    """Called by Blender when the add-on is switched on."""
    from .scene import handlers, state
    from .ui import command, entries, operators, panels

    for module in (state, handlers, operators, entries, panels, command):
        module.register()


def unregister() -> None:
    """Called by Blender when the add-on is switched off: leaves nothing behind."""
    from .scene import handlers, state
    from .ui import command, entries, operators, panels

    for module in (command, panels, entries, operators, handlers, state):
        module.unregister()
