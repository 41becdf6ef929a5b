"""The exploded view: its panel, its animation, its picture on paper."""

from __future__ import annotations

from datetime import date
from typing import Any, Final

from bpy.types import Context, Operator, Panel, UILayout

from ..check.progress import Steps
from ..designs.table.parameters import Table
from ..scene.motion import exploded
from ..scene.pictures import on_paper
from ..scene.state.properties import DRY_ASSEMBLY_PG_table as TableState
from . import panel
from .operator_kinds import CHANGES, DONE, SaveOperator, TableOperator, attempt, looking
from .panel import TablePanel


class DRY_ASSEMBLY_OT_animate_exploded_view(TableOperator, Operator):
    bl_idname = "dry_assembly.animate_exploded_view"
    bl_label = "Animate Exploded View"
    bl_description = "Give the Factor keyframes: the table comes apart, rests, and goes together again"
    bl_options = CHANGES

    @classmethod
    def lacks(cls, state: TableState) -> str:
        """That the leaves stand still."""
        return "Remove the animation of the leaves first" if state.animation != "none" else ""

    def execute(self, context: Context) -> set[Any]:
        """Animates it."""
        return attempt(self, lambda: exploded.animate(self.table(context)))


class DRY_ASSEMBLY_OT_stop_exploded_view(TableOperator, Operator):
    bl_idname = "dry_assembly.stop_exploded_view"
    bl_label = "Remove Animation"
    bl_description = "Take the keyframes of the Factor away and put the table together; other keyframes stay"
    bl_options = CHANGES

    @classmethod
    def lacks(cls, state: TableState) -> str:
        """An animation."""
        return "" if exploded.is_animated(state) else "The exploded view is not animated"

    def execute(self, context: Context) -> set[Any]:
        """Removes it."""
        exploded.stop_animation(self.table(context))
        return DONE


class DRY_ASSEMBLY_OT_save_exploded_view(SaveOperator, Operator):
    bl_idname = "dry_assembly.save_exploded_view"
    bl_label = "Save Exploded View"
    bl_description = (
        "Save the exploded table on a sheet of paper, seen and labeled as chosen for pictures on paper."
        " An older picture of that name is replaced; Esc stops it"
    )
    what = "Drawing the exploded table"

    def files(self, context: Context, table: Table) -> Steps[dict[str, bytes]]:
        """Draws it."""
        today = date.today().isoformat()
        return on_paper.exploded_files(self.table(context), table, today, looking(context))


class DRY_ASSEMBLY_PT_exploded_view(TablePanel, Panel):
    """The table taken apart."""

    bl_label = "Exploded View"

    def draw_table(self, context: Context, layout: UILayout, state: TableState) -> None:
        """The Factor, its animation, the picture."""
        column = layout.column()
        column.use_property_split = True
        column.prop(state, exploded.FACTOR, slider=True)
        if state.explosion_factor > 0 and state.explosion_words:
            panel.sentence(layout, context, state.explosion_words, "ERROR")
        column = layout.column(align=True)
        column.operator("dry_assembly.animate_exploded_view", icon="ANIM")
        column.operator("dry_assembly.stop_exploded_view", icon="X")
        column = panel.fields(layout)
        column.prop(state, "explosion_once")
        layout.operator("dry_assembly.save_exploded_view", icon="FILE_IMAGE")


CLASSES: Final[tuple[Any, ...]] = (
    DRY_ASSEMBLY_OT_animate_exploded_view,
    DRY_ASSEMBLY_OT_stop_exploded_view,
    DRY_ASSEMBLY_OT_save_exploded_view,
)
