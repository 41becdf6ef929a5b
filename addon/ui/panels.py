"""All that the user interface adds to Blender; the panels of the sidebar in the order of the work."""

from __future__ import annotations

from typing import Any, Final

import bpy

from . import (
    dragging,
    exploded_panel,
    finding_panels,
    lists,
    menus,
    operators,
    picture_panels,
    sliding_in_panels,
    study_panels,
    table_panels,
    variant_panel,
)
from .exploded_panel import DRY_ASSEMBLY_PT_exploded_view
from .finding_panels import (
    DRY_ASSEMBLY_PT_findings,
    DRY_ASSEMBLY_PT_limits,
    DRY_ASSEMBLY_PT_tolerances,
    DRY_ASSEMBLY_PT_view,
)
from .leaf_panels import (
    DRY_ASSEMBLY_PT_animation,
    DRY_ASSEMBLY_PT_leaf_sizes,
    DRY_ASSEMBLY_PT_leaves,
    DRY_ASSEMBLY_PT_stow,
    DRY_ASSEMBLY_PT_stowing,
    DRY_ASSEMBLY_PT_strips,
)
from .picture_panels import DRY_ASSEMBLY_PT_pictures, DRY_ASSEMBLY_PT_sheet
from .size_panels import (
    DRY_ASSEMBLY_PT_as_cut,
    DRY_ASSEMBLY_PT_bottom,
    DRY_ASSEMBLY_PT_legs,
    DRY_ASSEMBLY_PT_ribs,
    DRY_ASSEMBLY_PT_sides,
    DRY_ASSEMBLY_PT_sizes,
    DRY_ASSEMBLY_PT_stock,
)
from .sliding_in_panels import DRY_ASSEMBLY_PT_sliding_in
from .table_panels import DRY_ASSEMBLY_PT_files, DRY_ASSEMBLY_PT_place, DRY_ASSEMBLY_PT_table
from .variant_panel import DRY_ASSEMBLY_PT_variants

PANELS: Final[tuple[Any, ...]] = (
    DRY_ASSEMBLY_PT_table,
    DRY_ASSEMBLY_PT_place,
    DRY_ASSEMBLY_PT_sizes,
    DRY_ASSEMBLY_PT_sides,
    DRY_ASSEMBLY_PT_bottom,
    DRY_ASSEMBLY_PT_ribs,
    DRY_ASSEMBLY_PT_legs,
    DRY_ASSEMBLY_PT_leaves,
    DRY_ASSEMBLY_PT_leaf_sizes,
    DRY_ASSEMBLY_PT_stow,
    DRY_ASSEMBLY_PT_stowing,
    DRY_ASSEMBLY_PT_strips,
    DRY_ASSEMBLY_PT_stock,
    DRY_ASSEMBLY_PT_as_cut,
    DRY_ASSEMBLY_PT_findings,
    DRY_ASSEMBLY_PT_view,
    DRY_ASSEMBLY_PT_limits,
    DRY_ASSEMBLY_PT_tolerances,
    DRY_ASSEMBLY_PT_sliding_in,
    *study_panels.CLASSES,
    DRY_ASSEMBLY_PT_animation,
    DRY_ASSEMBLY_PT_exploded_view,
    DRY_ASSEMBLY_PT_variants,
    DRY_ASSEMBLY_PT_pictures,
    DRY_ASSEMBLY_PT_sheet,
    DRY_ASSEMBLY_PT_files,
)

_BUTTONS: Final = (
    operators, sliding_in_panels, picture_panels, exploded_panel, table_panels, finding_panels, variant_panel, menus,
    lists, dragging,
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
