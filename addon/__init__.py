"""Dry Assembly: a plywood table from its parameters, every leaf slid home before the sheets are cut.

Reads `model` (stock, parts, the table recipe) → `fit` (checks and findings) → `shop` and `scene` (files; Blender) →
`ui` (panels and buttons). Nothing here needs Blender until it calls `register`.
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
    from .scene import handlers, overlap, snag, state
    from .scene.overlay import draw
    from .ui import (
        entries,
        explosion_panel,
        menus,
        operators,
        overlay_panel,
        panels,
        picture_buttons,
        preset_buttons,
        sheet_buttons,
        slide_buttons,
        variant_panel,
    )

    buttons = (
        operators,
        entries,
        slide_buttons,
        picture_buttons,
        sheet_buttons,
        explosion_panel,
        preset_buttons,
        overlay_panel,
        variant_panel,
        menus,
    )
    return state, handlers, snag, overlap, draw, *buttons, panels, blender
