"""The panels of the sidebar in the order of the work: table, sizes, leaves, stock, cuts, findings, slide, animation,
pictures, file."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import bpy
from bpy.types import Panel

from ..model.examples import EXAMPLES
from ..scene import access
from . import drawing, lists
from .panel import SubPanel, TablePanel
from .picture_buttons import DRY_ASSEMBLY_PT_pictures
from .slide_panel import DRY_ASSEMBLY_PT_slide

if TYPE_CHECKING:
    from bpy.types import Context, UILayout

    from ..scene.state import DRY_ASSEMBLY_PG_table as TableState


class DRY_ASSEMBLY_PT_table(Panel):
    """Which table, how it stands, and where new ones come from."""

    bl_label = "Table"
    bl_space_type = "VIEW_3D"
    bl_region_type = "UI"
    bl_category = "Dry Assembly"

    def draw(self, context: Context) -> None:
        """Tables, buttons, verdict."""
        layout, group = self.layout, context.scene.dry_assembly
        assert layout is not None
        if len(group.tables) > 1:
            layout.template_list("DRY_ASSEMBLY_UL_tables", "", group, "tables", group, "active", rows=2)
        state = access.active_table(context.scene)
        if state is None:
            for name, example in EXAMPLES.items():
                drawing.button(
                    layout, "dry_assembly.add_example", f"Add {example.label}", "ADD", example=name
                )
            layout.operator("dry_assembly.open_table", icon="FILE_FOLDER")
            return
        drawing.parameters_of_table(layout, state.parameters)
        if state.error:
            drawing.sentence(layout, context, state.error, "CANCEL")
            return
        row = layout.row()
        row.active = not state.out_of_date
        word = drawing.VERDICT_WORDS.get(state.verdict, "Not checked")
        drawing.verdict(row, state.verdict, f"{word} (out of date)" if state.out_of_date else word)


class DRY_ASSEMBLY_PT_sizes(TablePanel, Panel):
    """Outside sizes."""

    bl_label = "Sizes"

    def draw_table(self, _context: Context, layout: UILayout, state: TableState) -> None:
        """Length, width, height, well."""
        group = state.parameters
        drawing.parameters(layout, group.table, "table", "length", "width", "height")
        drawing.parameter(drawing.fields(layout), group.well, "well", "depth", "Well Depth")
        drawing.parameters(layout, group.table, "table", "corner_joint")


class DRY_ASSEMBLY_PT_sides(SubPanel, Panel):
    """The four sides and their slots."""

    bl_label = "Sides and Slots"
    bl_parent_id = "DRY_ASSEMBLY_PT_sizes"

    def draw_table(self, _context: Context, layout: UILayout, state: TableState) -> None:
        """The section."""
        drawing.section(layout, state, "sides")


class DRY_ASSEMBLY_PT_floor(SubPanel, Panel):
    """The floor and its ledgers."""

    bl_label = "Floor and Ledgers"
    bl_parent_id = "DRY_ASSEMBLY_PT_sizes"

    def draw_table(self, _context: Context, layout: UILayout, state: TableState) -> None:
        """The sections."""
        drawing.section(layout, state, "floor")
        drawing.parameters(layout, state.parameters.well, "well", *drawing.others("well", "depth"))


class DRY_ASSEMBLY_PT_ribs(SubPanel, Panel):
    """The grid below the floor."""

    bl_label = "Ribs"
    bl_parent_id = "DRY_ASSEMBLY_PT_sizes"

    def draw_table(self, _context: Context, layout: UILayout, state: TableState) -> None:
        """The section."""
        drawing.section(layout, state, "ribs")


class DRY_ASSEMBLY_PT_legs(SubPanel, Panel):
    """Legs; the switch is in the header."""

    bl_label = "Legs"
    bl_parent_id = "DRY_ASSEMBLY_PT_sizes"

    def draw_header(self, context: Context) -> None:
        """The switch."""
        state = access.active_table(context.scene)
        if state is not None:
            self.layout.prop(state.parameters.legs, "fitted", text="")

    def draw_table(self, _context: Context, layout: UILayout, state: TableState) -> None:
        """The section without the switch."""
        column = layout.column()
        column.active = state.parameters.legs.fitted
        drawing.parameters(column, state.parameters.legs, "legs", *drawing.others("legs", "fitted"))


_LEAVES: Final = ("count", "lie", "gap", "edge_radius", "finger_hole")
_STOWING: Final = ("side_clearance", "clearance_above", "clearance_below", "recess")
_STRIPS: Final = ("runners", "kickers", "guides", "strip_width", "strip_height")


class DRY_ASSEMBLY_PT_leaves(TablePanel, Panel):
    """The leaves, and where each one is."""

    bl_label = "Leaves and Stow Places"

    def draw_table(self, _context: Context, layout: UILayout, state: TableState) -> None:
        """Counts and sizes, then one row a leaf."""
        drawing.parameters(layout, state.parameters.leaves, "leaves", *_LEAVES)
        moved = state.animation != "none"
        for leaf in state.leaves:
            box = layout.column(align=True)
            row = box.row()
            drawing.verdict(row, leaf.verdict, f"{leaf.name} {leaf.result}")
            row = box.row(align=True)
            row.prop(leaf, "state", expand=True)
            if leaf.state == "sliding":
                box.prop(leaf, "travel", slider=True)
        row = layout.row(align=True)
        drawing.button(row, "dry_assembly.set_leaves", "Cover the Well", "TRIA_UP", where="cover")
        drawing.button(row, "dry_assembly.set_leaves", "Stow All", "TRIA_DOWN", where="stowed")
        if moved:
            layout.label(text="Animated: go to the frame", icon="TIME")


class DRY_ASSEMBLY_PT_stow(SubPanel, Panel):
    """Stow places one by one."""

    bl_label = "Stow Places"
    bl_parent_id = "DRY_ASSEMBLY_PT_leaves"

    def draw_table(self, _context: Context, layout: UILayout, state: TableState) -> None:
        """The list and its selected entry, or the choice to make one."""
        if not state.parameters.stow:
            layout.label(text="Places are chosen for you")
            drawing.button(layout, "dry_assembly.place_leaves", "Place by Hand", by_hand=True)
            return
        drawing.entries(layout, state, "stow")
        drawing.button(layout, "dry_assembly.place_leaves", "Place Anew", by_hand=False)


class DRY_ASSEMBLY_PT_stowing(SubPanel, Panel):
    """Room on the way home, end stops, strips."""

    bl_label = "Clearances and End Stops"
    bl_parent_id = "DRY_ASSEMBLY_PT_leaves"

    def draw_table(self, _context: Context, layout: UILayout, state: TableState) -> None:
        """The section without the strips."""
        group = state.parameters.stowing
        drawing.parameters(layout, group, "stowing", *_STOWING)
        drawing.parameters(layout, group, "stowing", *drawing.others("stowing", *_STOWING, *_STRIPS))


class DRY_ASSEMBLY_PT_strips(SubPanel, Panel):
    """Runners, kickers, guides."""

    bl_label = "Runners, Kickers, Guides"
    bl_parent_id = "DRY_ASSEMBLY_PT_leaves"

    def draw_table(self, _context: Context, layout: UILayout, state: TableState) -> None:
        """The strips of the section."""
        drawing.parameters(layout, state.parameters.stowing, "stowing", *_STRIPS)


class DRY_ASSEMBLY_PT_leaf_sizes(SubPanel, Panel):
    """Rarer settings of the leaves."""

    bl_label = "More About the Leaves"
    bl_parent_id = "DRY_ASSEMBLY_PT_leaves"

    def draw_table(self, _context: Context, layout: UILayout, state: TableState) -> None:
        """The rest of the section."""
        drawing.parameters(layout, state.parameters.leaves, "leaves", *drawing.others("leaves", *_LEAVES))


class DRY_ASSEMBLY_PT_stock(SubPanel, Panel):
    """Sheets as bought and as measured."""

    bl_label = "Stock"

    def draw_table(self, _context: Context, layout: UILayout, state: TableState) -> None:
        """The list and its selected entry."""
        drawing.entries(layout, state, "stock")


class DRY_ASSEMBLY_PT_as_cut(SubPanel, Panel):
    """Dimensions of parts that are cut already, or might be."""

    bl_label = "As Cut"

    def draw_table(self, _context: Context, layout: UILayout, state: TableState) -> None:
        """The list and its selected entry."""
        drawing.entries(layout, state, "as_cut")


class DRY_ASSEMBLY_PT_findings(TablePanel, Panel):
    """What the check found."""

    bl_label = "Findings"

    def draw_table(self, context: Context, layout: UILayout, state: TableState) -> None:
        """The list, the selected finding in full, its buttons."""
        if state.out_of_date:
            layout.label(text="Out of date: a check is pending", icon="TIME")
        if not state.findings:
            layout.label(text="No findings")
        column = layout.column()
        column.active = not state.out_of_date
        if state.findings:
            column.template_list(
                "DRY_ASSEMBLY_UL_findings", "", state, "findings", state, "finding_index", rows=4
            )
        if 0 <= state.finding_index < len(state.findings):
            finding = state.findings[state.finding_index]
            drawing.sentence(column, context, drawing.message(finding))
            if finding.remedy:
                drawing.sentence(column, context, finding.remedy, "TOOL_SETTINGS")
            row = column.row(align=True)
            row.operator("dry_assembly.show_finding", icon="ZOOM_SELECTED")
            if finding.remedy_changes:
                row.operator("dry_assembly.apply_remedy", icon="CHECKMARK")
        layout.operator("dry_assembly.check_now", icon="FILE_REFRESH")


class DRY_ASSEMBLY_PT_limits(SubPanel, Panel):
    """What the check calls enough."""

    bl_label = "Limits"
    bl_parent_id = "DRY_ASSEMBLY_PT_findings"

    def draw_table(self, _context: Context, layout: UILayout, state: TableState) -> None:
        """The section."""
        drawing.section(layout, state, "limits")


class DRY_ASSEMBLY_PT_tolerances(SubPanel, Panel):
    """How far cut dimensions may be off."""

    bl_label = "Tolerances"
    bl_parent_id = "DRY_ASSEMBLY_PT_findings"

    def draw_table(self, _context: Context, layout: UILayout, state: TableState) -> None:
        """The section."""
        drawing.section(layout, state, "tolerances")


class DRY_ASSEMBLY_PT_animation(TablePanel, Panel):
    """The leaves sliding home."""

    bl_label = "Animation"

    def draw_table(self, context: Context, layout: UILayout, state: TableState) -> None:
        """Make, play, remove."""
        row = layout.row(align=True)
        drawing.button(row, "dry_assembly.animate", "In Turn", order="in turn")
        drawing.button(row, "dry_assembly.animate", "Together", order="together")
        if state.animation != "none":
            playing = context.screen is not None and context.screen.is_animation_playing
            layout.operator(
                "screen.animation_play",
                text="Pause" if playing else "Play",
                icon="PAUSE" if playing else "PLAY",
            )
        layout.operator("dry_assembly.stop_animation", icon="X")
        layout.operator("dry_assembly.add_camera", icon="CAMERA_DATA")


class DRY_ASSEMBLY_PT_place(SubPanel, Panel):
    """Where the table stands; its empty, which carries it, is hidden."""

    bl_label = "Place in the Scene"
    bl_parent_id = "DRY_ASSEMBLY_PT_table"

    def draw_table(self, _context: Context, layout: UILayout, state: TableState) -> None:
        """Place and turn of the empty."""
        if state.root is not None:
            column = drawing.fields(layout)
            column.prop(state.root, "location")
            column.prop(state.root, "rotation_euler", index=2, text="Turn")


class DRY_ASSEMBLY_PT_files(TablePanel, Panel):
    """Table files, and more tables."""

    bl_label = "Table File"

    def draw_table(self, _context: Context, layout: UILayout, state: TableState) -> None:
        """Save, open, add, remove."""
        if state.path:
            layout.label(text=bpy.path.basename(state.path), icon="FILE_TEXT")
        row = layout.row(align=True)
        row.operator("dry_assembly.save_table", text="Save", icon="FILE_TICK")
        row.operator("dry_assembly.open_table", text="Open", icon="FILE_FOLDER")
        layout.operator_menu_enum("dry_assembly.add_example", "example", icon="ADD")
        layout.operator("dry_assembly.remove_table", icon="TRASH")


CLASSES: Final[tuple[Any, ...]] = (
    DRY_ASSEMBLY_PT_table,
    DRY_ASSEMBLY_PT_place,
    DRY_ASSEMBLY_PT_sizes,
    DRY_ASSEMBLY_PT_sides,
    DRY_ASSEMBLY_PT_floor,
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
    DRY_ASSEMBLY_PT_limits,
    DRY_ASSEMBLY_PT_tolerances,
    DRY_ASSEMBLY_PT_slide,
    DRY_ASSEMBLY_PT_animation,
    DRY_ASSEMBLY_PT_pictures,
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
