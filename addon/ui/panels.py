"""The panels of the sidebar in the order of the work: table, sizes, leaves, stock, cuts, findings, slide, animation,
exploded view, variants, pictures, file."""

from __future__ import annotations

from typing import Any, Final

import bpy

from . import lists, study_panels
from .explosion_panel import DRY_ASSEMBLY_PT_explosion
from .finding_panels import DRY_ASSEMBLY_PT_findings, DRY_ASSEMBLY_PT_limits, DRY_ASSEMBLY_PT_tolerances
from .leaf_panels import (
    DRY_ASSEMBLY_PT_animation,
    DRY_ASSEMBLY_PT_leaf_sizes,
    DRY_ASSEMBLY_PT_leaves,
    DRY_ASSEMBLY_PT_stow,
    DRY_ASSEMBLY_PT_stowing,
    DRY_ASSEMBLY_PT_strips,
)
from .overlay_panel import DRY_ASSEMBLY_PT_view
from .picture_buttons import DRY_ASSEMBLY_PT_pictures
from .sheet_buttons import DRY_ASSEMBLY_PT_sheet
from .size_panels import (
    DRY_ASSEMBLY_PT_as_cut,
    DRY_ASSEMBLY_PT_bottom,
    DRY_ASSEMBLY_PT_legs,
    DRY_ASSEMBLY_PT_ribs,
    DRY_ASSEMBLY_PT_sides,
    DRY_ASSEMBLY_PT_sizes,
    DRY_ASSEMBLY_PT_stock,
)
from .slide_panel import DRY_ASSEMBLY_PT_slide
from .table_panels import DRY_ASSEMBLY_PT_files, DRY_ASSEMBLY_PT_place, DRY_ASSEMBLY_PT_table
from .variant_panel import DRY_ASSEMBLY_PT_variants

CLASSES: Final[tuple[Any, ...]] = (
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
    DRY_ASSEMBLY_PT_slide,
    *study_panels.CLASSES,
    DRY_ASSEMBLY_PT_animation,
    DRY_ASSEMBLY_PT_explosion,
    DRY_ASSEMBLY_PT_variants,
    DRY_ASSEMBLY_PT_pictures,
    DRY_ASSEMBLY_PT_sheet,
    DRY_ASSEMBLY_PT_files,
)


def register() -> None:
    """Adds the lists and panels."""
    lists.register()
    for kind in CLASSES:
        bpy.utils.register_class(kind)


def unregister() -> None:
    """Takes the panels and lists away."""
    for kind in reversed(CLASSES):
        bpy.utils.unregister_class(kind)
    lists.unregister()
