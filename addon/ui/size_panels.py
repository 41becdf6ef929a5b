"""The panels of sizes, stock and dimensions as cut."""

from __future__ import annotations

from bpy.types import Context, Panel, UILayout

from ..scene import access
from ..scene.state.properties import DRY_ASSEMBLY_PG_table as TableState
from . import panel
from .panel import SubPanel, TablePanel


class DRY_ASSEMBLY_PT_sizes(TablePanel, Panel):
    """Outside sizes."""

    bl_label = "Sizes"

    def draw_table(self, _context: Context, layout: UILayout, state: TableState) -> None:
        """Length, width, height, well."""
        group = state.parameters
        panel.parameters(layout, group.table, "table", "length", "width", "height")
        panel.parameter(panel.fields(layout), group.well, "well", "depth", "Well Depth")
        panel.parameters(layout, group.table, "table", "corner_joint")


class DRY_ASSEMBLY_PT_sides(SubPanel, Panel):
    """The four sides and their slots."""

    bl_label = "Sides and Slots"
    bl_parent_id = "DRY_ASSEMBLY_PT_sizes"

    def draw_table(self, _context: Context, layout: UILayout, state: TableState) -> None:
        """The section."""
        panel.section(layout, state, "sides")


class DRY_ASSEMBLY_PT_bottom(SubPanel, Panel):
    """The bottom panel and its ledgers."""

    bl_label = "Bottom and Ledgers"
    bl_parent_id = "DRY_ASSEMBLY_PT_sizes"

    def draw_table(self, _context: Context, layout: UILayout, state: TableState) -> None:
        """The sections."""
        panel.section(layout, state, "bottom")
        panel.parameters(layout, state.parameters.well, "well", *panel.others("well", "depth"))


class DRY_ASSEMBLY_PT_ribs(SubPanel, Panel):
    """The grid below the bottom panel."""

    bl_label = "Ribs"
    bl_parent_id = "DRY_ASSEMBLY_PT_sizes"

    def draw_table(self, _context: Context, layout: UILayout, state: TableState) -> None:
        """The section."""
        panel.section(layout, state, "ribs")


class DRY_ASSEMBLY_PT_legs(SubPanel, Panel):
    """Legs; the switch is in the header."""

    bl_label = "Legs"
    bl_parent_id = "DRY_ASSEMBLY_PT_sizes"

    def draw_header(self, context: Context) -> None:
        """The switch."""
        state = access.active_table(context)
        if state is not None:
            self.layout.prop(state.parameters.legs, "fitted", text="")

    def draw_table(self, _context: Context, layout: UILayout, state: TableState) -> None:
        """The section without the switch."""
        column = layout.column()
        column.active = state.parameters.legs.fitted
        panel.parameters(column, state.parameters.legs, "legs", *panel.others("legs", "fitted"))


class DRY_ASSEMBLY_PT_stock(SubPanel, Panel):
    """Sheets as bought and as measured."""

    bl_label = "Stock"

    def draw_table(self, _context: Context, layout: UILayout, state: TableState) -> None:
        """The list and its selected entry."""
        panel.entries(layout, state, "stock")


class DRY_ASSEMBLY_PT_as_cut(SubPanel, Panel):
    """Dimensions of parts that are cut already, or might be."""

    bl_label = "As Cut"

    def draw_table(self, _context: Context, layout: UILayout, state: TableState) -> None:
        """The list and its selected entry."""
        panel.entries(layout, state, "as_cut")
