"""The panel of the slide proof: does a leaf go in whichever way it is held? With all buttons below it."""

from __future__ import annotations

from typing import Any, Final

from bpy.props import StringProperty
from bpy.types import Context, Operator, Panel, UILayout

from ..check.progress import Steps
from ..check.tolerance.report import ToleranceReport
from ..designs.table.parameters import Table
from ..reports.slide import CAUTION
from ..scene import snag, tolerances
from ..scene.state.properties import DRY_ASSEMBLY_PG_leaf as LeafState
from ..scene.state.properties import DRY_ASSEMBLY_PG_table as TableState
from ..scene.state.results import DRY_ASSEMBLY_PG_opening as OpeningState
from . import panel
from .operator_kinds import CHANGES, DONE, ONE_STEP, OWN, UNLISTED, StepOperator, TableOperator, attempt
from .panel import TablePanel


class DRY_ASSEMBLY_PT_sliding_in(TablePanel, Panel):
    """Which leaves guide themselves, and what the hand has to do for the others."""

    bl_label = "Sliding In"

    def draw_table(self, context: Context, layout: UILayout, state: TableState) -> None:
        """The leaves, the openings on the way of the one selected, the opening selected in full."""
        if state.proof_out_of_date:
            layout.label(text="Out of date: the proof is pending", icon="TIME")
        column = layout.column()
        column.active = not state.proof_out_of_date
        if state.leaves:
            column.template_list(
                "DRY_ASSEMBLY_UL_sliding_in", "", state, "leaves", state, "leaf_index", rows=2
            )
        if 0 <= state.leaf_index < len(state.leaves):
            _leaf(column, context, state.leaves[state.leaf_index])
        row = layout.row(align=True)
        row.operator("dry_assembly.show_snag", icon="GHOST_ENABLED")
        row.operator("dry_assembly.hide_snag", icon="X")
        if state.snag:
            panel.sentence(layout, context, state.snag, "GHOST_ENABLED")
        panel.sentence(layout, context, CAUTION, "INFO")


def _leaf(column: UILayout, context: Context, leaf: LeafState) -> None:
    panel.answer_in_full(column, context, leaf.answer)
    if leaf.held:
        panel.sentence(column, context, leaf.held, "CANCEL")
    if not leaf.openings:
        return
    panel.filled(column, "Openings on the way of {leaf}:", leaf=leaf.name)
    column.template_list("DRY_ASSEMBLY_UL_openings", "", leaf, "openings", leaf, "opening_index", rows=4)
    if 0 <= leaf.opening_index < len(leaf.openings):
        _opening(column, context, leaf.openings[leaf.opening_index])


def _opening(column: UILayout, context: Context, opening: OpeningState) -> None:
    seen = "the side" if opening.view == "side" else "above"
    panel.slide_verdict(column, opening.verdict, f"{opening.name} at {opening.at}, seen from {seen}")
    panel.sentence(column, context, opening.words)
    if opening.verdict != "does-not-pass":
        where = f"Off its place as drawn the nose can be {opening.nose}; the opening catches {opening.catch}."
        panel.sentence(column, context, where)


class DRY_ASSEMBLY_OT_show_snag(TableOperator, Operator):
    bl_idname = "dry_assembly.show_snag"
    bl_label = "Show Snag"
    bl_description = "Show a ghost of the leaf at the opening selected, in the pose that needs steering most"
    bl_options = CHANGES

    @classmethod
    def lacks(cls, state: TableState) -> str:
        """A leaf selected that snags somewhere."""
        leaf = _chosen(state)
        snags = leaf is not None and leaf.slide in ("needs-steering", "does-not-pass")
        return "" if snags else "The leaf selected snags nowhere"

    def execute(self, context: Context) -> set[Any]:
        """Shows it."""
        state = self.table(context)
        leaf = _chosen(state)
        assert leaf is not None
        opening = leaf.openings[leaf.opening_index] if 0 <= leaf.opening_index < len(leaf.openings) else None
        where = ("", -1) if opening is None else (opening.view, opening.opening)
        return attempt(self, lambda: snag.show(state, leaf.name, *where) is not None)


class DRY_ASSEMBLY_OT_hide_snag(TableOperator, Operator):
    bl_idname = "dry_assembly.hide_snag"
    bl_label = "Hide Snag"
    bl_description = "Take the ghost and its note away"
    bl_options = CHANGES

    @classmethod
    def lacks(cls, state: TableState) -> str:
        """One that is shown."""
        return "" if state.snag else "No snag is shown"

    def execute(self, context: Context) -> set[Any]:
        """Hides it."""
        snag.hide(self.table(context))
        return DONE


class DRY_ASSEMBLY_OT_analyze_tolerances(StepOperator, Operator):
    bl_idname = "dry_assembly.analyze_tolerances"
    bl_label = "Analyze Tolerances"
    bl_description = (
        "Make many tables with random deviations, and work out the worst case."
        " Takes some seconds; Esc stops it"
    )
    bl_options = ONE_STEP
    what = "Analyzing tolerances"

    def steps(self, context: Context, table: Table) -> Steps[ToleranceReport]:
        """Analyses them."""
        return tolerances.steps(table, context.scene.dry_assembly.tolerance_count)

    def keep(self, state: TableState, result: ToleranceReport) -> None:
        """Keeps the analysis."""
        tolerances.store(state, result)


class DRY_ASSEMBLY_OT_choose_position(TableOperator, Operator):
    bl_idname = "dry_assembly.choose_position"
    bl_label = "Choose Position"
    bl_options = UNLISTED

    leaf: StringProperty(options=OWN)
    position: StringProperty(options=OWN)

    @classmethod
    def description(cls, _context: Context, properties: Any) -> str:
        """Which leaf in which position."""
        return f"Say how {properties.leaf} goes into the position of {properties.position}"

    def execute(self, context: Context) -> set[Any]:
        """Chooses it."""
        state = self.table(context)
        state.guest, state.position = self.leaf, self.position
        return DONE


def _chosen(state: TableState) -> LeafState | None:
    """The leaf selected in the list."""
    if not 0 <= state.leaf_index < len(state.leaves):
        return None
    return state.leaves[state.leaf_index]


CLASSES: Final = (
    DRY_ASSEMBLY_OT_show_snag,
    DRY_ASSEMBLY_OT_hide_snag,
    DRY_ASSEMBLY_OT_analyze_tolerances,
    DRY_ASSEMBLY_OT_choose_position,
)
