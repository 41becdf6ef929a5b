"""All that the user interface adds to Blender; the panels of the sidebar in the order of the work."""

from __future__ import annotations

from typing import Any, Final

import bpy

from . import (
    accepted,
    check_panel,
    dragging,
    lists,
    menus,
    operators,
    outputs,
    own_parts,
    parts,
    preview,
    report,
    reserved,
    show_panel,
    sizes_panel,
    table_panel,
)
from .check_panel import DRY_ASSEMBLY_PT_check
from .output_panel import DRY_ASSEMBLY_PT_output
from .show_panel import DRY_ASSEMBLY_PT_show
from .sizes_panel import DRY_ASSEMBLY_PT_sizes
from .table_panel import DRY_ASSEMBLY_PT_table

PANELS: Final[tuple[Any, ...]] = (
    DRY_ASSEMBLY_PT_table,
    DRY_ASSEMBLY_PT_sizes,
    DRY_ASSEMBLY_PT_check,
    DRY_ASSEMBLY_PT_show,
    DRY_ASSEMBLY_PT_output,
)

_BUTTONS: Final = (
    operators, table_panel, sizes_panel, check_panel, accepted, report, show_panel, outputs, preview, parts, own_parts,
    reserved, menus, lists, dragging,
)  # fmt: skip
"""Modules with operators, menus or lists, each in its `CLASSES`."""


def register() -> None:
    """Adds operators, lists, menus and panels."""
    for kind in _classes():
        bpy.utils.register_class(kind)
    for menu, draw in menus.MENUS:
        getattr(bpy.types, menu).append(draw)


def unregister() -> None:
    """Takes them away."""
    for menu, draw in menus.MENUS:
        getattr(bpy.types, menu).remove(draw)
    for kind in reversed(_classes()):
        bpy.utils.unregister_class(kind)


def _classes() -> list[Any]:
    return [*(kind for module in _BUTTONS for kind in module.CLASSES), *PANELS]
