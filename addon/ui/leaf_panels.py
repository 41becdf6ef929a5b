"""The panels of the leaves: where they are, where they are stowed, how they move."""

from __future__ import annotations

from typing import Final

from bpy.types import Context, Panel, UILayout

from ..scene.state.properties import DRY_ASSEMBLY_PG_table as TableState
from . import panel
from .panel import SubPanel, TablePanel

_LEAVES: Final = ("count", "direction", "gap", "edge_radius", "finger_hole")
_STOWING: Final = ("side_clearance", "clearance_above", "clearance_below", "set_back")
_STRIPS: Final = ("runners", "kickers", "guides", "strip_width", "strip_height")


class DRY_ASSEMBLY_PT_leaves(TablePanel, Panel):
    """The leaves, and where each one is."""

    bl_label = "Leaves and Stow Positions"

    def draw_table(self, _context: Context, layout: UILayout, state: TableState) -> None:
        """Counts and sizes, then one row a leaf."""
        panel.parameters(layout, state.parameters.leaves, "leaves", *_LEAVES)
        moved = state.animation != "none"
        for leaf in state.leaves:
            box = layout.column(align=True)
            row = box.row()
            panel.verdict(row, leaf.verdict, f"{leaf.name} {leaf.result}")
            row = box.row(align=True)
            row.prop(leaf, "state", expand=True)
            if leaf.state == "sliding":
                box.prop(leaf, "travel", slider=True)
        row = layout.row(align=True)
        panel.button(row, "dry_assembly.set_leaves", "Cover the Well", "TRIA_UP", where="cover")
        panel.button(row, "dry_assembly.set_leaves", "Stow All", "TRIA_DOWN", where="stowed")
        if moved:
            layout.label(text="Animated: go to the frame", icon="TIME")


class DRY_ASSEMBLY_PT_leaf_sizes(SubPanel, Panel):
    """Rarer settings of the leaves."""

    bl_label = "More About the Leaves"
    bl_parent_id = "DRY_ASSEMBLY_PT_leaves"

    def draw_table(self, _context: Context, layout: UILayout, state: TableState) -> None:
        """The rest of the section."""
        panel.parameters(layout, state.parameters.leaves, "leaves", *panel.others("leaves", *_LEAVES))


class DRY_ASSEMBLY_PT_stow(SubPanel, Panel):
    """Stow positions one by one."""

    bl_label = "Stow Positions"
    bl_parent_id = "DRY_ASSEMBLY_PT_leaves"

    def draw_table(self, _context: Context, layout: UILayout, state: TableState) -> None:
        """The list and its selected entry, or the choice to make one."""
        if not state.parameters.stow:
            layout.label(text="Positions are chosen for you")
            panel.button(layout, "dry_assembly.position_leaves", "Position by Hand", by_hand=True)
            return
        panel.entries(layout, state, "stow")
        panel.button(layout, "dry_assembly.position_leaves", "Choose Anew", by_hand=False)


class DRY_ASSEMBLY_PT_stowing(SubPanel, Panel):
    """Room on the way home, end stops, strips."""

    bl_label = "Clearances and End Stops"
    bl_parent_id = "DRY_ASSEMBLY_PT_leaves"

    def draw_table(self, _context: Context, layout: UILayout, state: TableState) -> None:
        """The section without the strips."""
        group = state.parameters.stowing
        panel.parameters(layout, group, "stowing", *_STOWING)
        panel.parameters(layout, group, "stowing", *panel.others("stowing", *_STOWING, *_STRIPS))


class DRY_ASSEMBLY_PT_strips(SubPanel, Panel):
    """Runners, kickers, guides."""

    bl_label = "Runners, Kickers, Guides"
    bl_parent_id = "DRY_ASSEMBLY_PT_leaves"

    def draw_table(self, _context: Context, layout: UILayout, state: TableState) -> None:
        """The strips of the section."""
        panel.parameters(layout, state.parameters.stowing, "stowing", *_STRIPS)


class DRY_ASSEMBLY_PT_animation(TablePanel, Panel):
    """The leaves sliding home."""

    bl_label = "Animation"

    def draw_table(self, context: Context, layout: UILayout, state: TableState) -> None:
        """Make, play, remove."""
        row = layout.row(align=True)
        panel.button(row, "dry_assembly.animate", "In Turn", order="in turn")
        panel.button(row, "dry_assembly.animate", "Together", order="together")
        if state.animation != "none":
            playing = context.screen is not None and context.screen.is_animation_playing
            layout.operator(
                "screen.animation_play",
                text="Pause" if playing else "Play",
                icon="PAUSE" if playing else "PLAY",
            )
        layout.operator("dry_assembly.stop_animation", icon="X")
        layout.operator("dry_assembly.add_camera", icon="CAMERA_DATA")
