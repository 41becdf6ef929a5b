"""Variants of a table side by side: their buttons and their panel."""

from __future__ import annotations

from datetime import date
from typing import Any, Final

from bpy.props import IntProperty, StringProperty
from bpy.types import Context, Event, Operator, Panel, UILayout

from ..check.progress import Steps
from ..designs.table.parameters import Table
from ..reports.variants import MOST
from ..scene import tables, variants
from ..scene.state.properties import DRY_ASSEMBLY_PG_table as TableState
from . import panel
from .operator_kinds import (
    CHANGES,
    DONE,
    NOTHING,
    ONE_STEP,
    OWN,
    UNLISTED,
    SaveOperator,
    TableOperator,
    attempt,
    looking,
)
from .panel import TablePanel


class DRY_ASSEMBLY_OT_add_variant(TableOperator, Operator):
    bl_idname = "dry_assembly.add_variant"
    bl_label = "Add Variant"
    bl_description = "Put a copy of the table beside it, to give it other sizes and compare"
    bl_options = CHANGES

    name: StringProperty(
        name="Name", description="What to call the variant", maxlen=60, options={"SKIP_SAVE"}
    )

    @classmethod
    def lacks(cls, state: TableState) -> str:
        """A table that can be built, and room for one more."""
        if state.error:
            return "Correct the table first: it cannot be built"
        return variants.FULL if len(tables.family_of(state)) >= MOST else ""

    def invoke(self, context: Context, _event: Event) -> set[Any]:
        """Asks for the name."""
        self.name = self.name or variants.next_name(self.table(context))
        return context.window_manager.invoke_props_dialog(self)

    def execute(self, context: Context) -> set[Any]:
        """Adds it."""
        state = self.table(context)
        return attempt(self, lambda: variants.add(state, self.name or variants.next_name(state)))


class VariantOperator(TableOperator):
    """An operator on a table that has variants."""

    @classmethod
    def lacks(cls, state: TableState) -> str:
        """Variants, all of which can be built."""
        members = tables.family_of(state)
        if not members:
            return "Add a variant first"
        wrong = [one.name for one in members if one.error]
        return f"Correct {wrong[0]} first: it cannot be built" if wrong else ""


class DRY_ASSEMBLY_OT_keep_variant(VariantOperator, Operator):
    bl_idname = "dry_assembly.keep_variant"
    bl_label = "Keep This One"
    bl_description = (
        "Keep the variant shown, in the place and under the name of the first; the others are removed"
    )
    bl_options = ONE_STEP

    @classmethod
    def lacks(cls, state: TableState) -> str:
        """Variants; that the table can be built."""
        if not tables.family_of(state):
            return "Add a variant first"
        return "Correct the table first: it cannot be built" if state.error else ""

    def execute(self, context: Context) -> set[Any]:
        """Keeps it."""
        return attempt(self, lambda: variants.keep(self.table(context)))


class DRY_ASSEMBLY_OT_choose_variant(Operator):
    bl_idname = "dry_assembly.choose_variant"
    bl_label = "Show Variant"
    bl_description = "Show the sizes of this variant in the panels"
    bl_options = ONE_STEP | UNLISTED

    number: IntProperty(name="Number", description="Number of the table in the scene", options=OWN)

    def execute(self, context: Context) -> set[Any]:
        """Makes it the active table."""
        group = context.scene.dry_assembly
        if not 0 <= self.number < len(group.tables):
            return NOTHING
        group.active = self.number
        return DONE


class DRY_ASSEMBLY_OT_save_variants_picture(VariantOperator, SaveOperator, Operator):
    bl_idname = "dry_assembly.save_variants_picture"
    bl_label = "Save Picture of Variants"
    bl_description = (
        "Draw the variants side by side at one scale, with the figures that differ, seen as chosen for pictures on"
        " paper. An older picture of that name is replaced; Esc stops it"
    )
    what = "Drawing the variants"

    def files(self, context: Context, _table: Table) -> Steps[dict[str, bytes]]:
        """Draws them."""
        return variants.picture_files(self.table(context), date.today().isoformat(), looking(context))


class DRY_ASSEMBLY_PT_variants(TablePanel, Panel):
    """What differs between variants, and which is to stay."""

    bl_label = "Variants"

    def draw_table(self, context: Context, layout: UILayout, state: TableState) -> None:
        """Names, figures that differ, buttons."""
        members = tables.family_of(state)
        if not members:
            panel.sentence(
                layout, context, "Put two to four sets of sizes side by side before a sheet is cut."
            )
            layout.operator("dry_assembly.add_variant", icon="ADD")
            return
        _names(layout, context, members, state)
        if any(one.out_of_date for one in members):
            layout.label(text="Out of date: a check is pending", icon="TIME")
        _figures(layout, members)
        layout.operator("dry_assembly.keep_variant", icon="CHECKMARK")
        layout.operator("dry_assembly.add_variant", icon="ADD")
        layout.operator("dry_assembly.save_variants_picture", icon="FILE_IMAGE")


def _names(layout: UILayout, context: Context, members: list[TableState], state: TableState) -> None:
    """A button a variant, with the sign of its verdict."""
    row = layout.row(align=True)
    tables = [one.key for one in context.scene.dry_assembly.tables]
    for one in members:
        icon = "CANCEL" if one.error else panel.VERDICT_ICONS.get(one.verdict, "QUESTION")
        button = row.operator(
            "dry_assembly.choose_variant",
            text=one.name,
            icon=icon,  # type: ignore[arg-type]
            depress=one.key == state.key,
            translate=False,
        )
        button.number = tables.index(one.key)


def _figures(layout: UILayout, members: list[TableState]) -> None:
    """Under the name of each figure its values, one a variant."""
    column = layout.column(align=True)
    column.scale_y = 0.8
    column.active = not any(one.out_of_date or one.error for one in members)
    if not members[0].figures:
        column.label(text="All sizes are the same yet")
    for row in zip(*(one.figures for one in members), strict=False):
        name = column.row()
        name.active = False
        name.label(text=row[0].name)
        values = column.row()
        for figure in row:
            values.label(text=figure.words, translate=False)
        column.separator()


CLASSES: Final[tuple[Any, ...]] = (
    DRY_ASSEMBLY_OT_add_variant,
    DRY_ASSEMBLY_OT_keep_variant,
    DRY_ASSEMBLY_OT_choose_variant,
    DRY_ASSEMBLY_OT_save_variants_picture,
)
