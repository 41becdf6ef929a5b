"""The panels of what friction, weight, cover and changed places do to the leaves, and of the tolerance analysis."""

from __future__ import annotations

from typing import Final

from bpy.types import Context, Panel, UILayout

from ..reports.tolerance import CAUTION as TOLERANCE_CAUTION
from ..scene.state.properties import DRY_ASSEMBLY_PG_leaf as LeafState
from ..scene.state.properties import DRY_ASSEMBLY_PG_table as TableState
from ..scene.state.results import DRY_ASSEMBLY_PG_analysis as AnalysisState
from . import panel
from .panel import SubPanel


class DRY_ASSEMBLY_PT_jamming(SubPanel, Panel):
    """Where a hand may push without a leaf jamming."""

    bl_label = "Jamming"
    bl_parent_id = "DRY_ASSEMBLY_PT_sliding_in"

    def draw_table(self, context: Context, layout: UILayout, state: TableState) -> None:
        """From where on each leaf may be pushed anywhere; the one selected in full."""
        layout.active = not state.proof_out_of_date
        layout.label(text="May be pushed anywhere from this travel on:")
        panel.heads(layout, "Seen from", "the side", "above")
        layout.template_list("DRY_ASSEMBLY_UL_jamming", "", state, "leaves", state, "leaf_index", rows=2)
        leaf = _chosen(state)
        if leaf is None or not leaf.study.side_words:
            return
        for label, words in (
            ("{leaf} seen from the side:", leaf.study.side_words),
            ("{leaf} seen from above:", leaf.study.plan_words),
        ):
            panel.filled(layout, label, leaf=leaf.name)
            panel.sentences(layout, context, words)


class DRY_ASSEMBLY_PT_droop(SubPanel, Panel):
    """What weight does to a leaf."""

    bl_label = "Droop"
    bl_parent_id = "DRY_ASSEMBLY_PT_sliding_in"

    def draw_table(self, context: Context, layout: UILayout, state: TableState) -> None:
        """Nose and middle of each leaf; the one selected in full."""
        layout.active = not state.proof_out_of_date
        panel.heads(layout, "Bends", "Free nose", "As cover")
        layout.template_list("DRY_ASSEMBLY_UL_droop", "", state, "leaves", state, "leaf_index", rows=2)
        leaf = _chosen(state)
        if leaf is not None:
            for words in (leaf.study.droop_words, leaf.study.sag_words):
                panel.sentences(layout, context, words)


class DRY_ASSEMBLY_PT_cover(SubPanel, Panel):
    """The leaves side by side in the well."""

    bl_label = "Cover"
    bl_parent_id = "DRY_ASSEMBLY_PT_sliding_in"

    def draw_table(self, _context: Context, layout: UILayout, state: TableState) -> None:
        """Gaps and room to lift."""
        layout.active = not state.proof_out_of_date
        cover = state.cover
        if not cover.gap:
            layout.label(text="No leaves lie in the well")
            return
        column = layout.column(align=True)
        for name, words, wrong in (
            ("Gaps as drawn", cover.gap, False),
            ("Worst case", cover.gap_worst, cover.tight),
            ("To lift one out", cover.lift, cover.held),
        ):
            split = column.split(factor=0.45)
            split.label(text=name)
            split.label(text=words, icon="ERROR" if wrong else "NONE")


class DRY_ASSEMBLY_PT_positions(SubPanel, Panel):
    """Any leaf in any position, any way round."""

    bl_label = "Any Leaf, Any Position"
    bl_parent_id = "DRY_ASSEMBLY_PT_sliding_in"

    def draw_table(self, context: Context, layout: UILayout, state: TableState) -> None:
        """One row a leaf, one column a position, for the way round chosen; the cell selected in full."""
        layout.active = not state.proof_out_of_date
        if not state.positions:
            layout.label(text="No leaf has a stow position")
            return
        ways = layout.grid_flow(columns=2, align=True, even_columns=True)
        ways.prop(state, "turn", expand=True)
        cells = [cell for cell in state.positions if cell.turn == state.turn]
        across = len({cell.position for cell in cells})
        panel.filled(layout, "Smallest clearance, {unit}, in the position of", unit=state.parameters.units)
        grid = layout.grid_flow(row_major=True, columns=across + 1, even_columns=True, align=True)
        grid.label(text="")
        for cell in cells[:across]:
            grid.label(text=cell.position)
        for number, cell in enumerate(cells):
            if number % across == 0:
                grid.label(text=cell.name)
            button = grid.operator(
                "dry_assembly.choose_position",
                text=cell.clearance,
                icon=panel.PLACE_ICONS[cell.verdict],  # type: ignore[arg-type]
                depress=(cell.name, cell.position) == (state.guest, state.position),
            )
            button.leaf, button.position = cell.name, cell.position
        for cell in cells:
            if (cell.name, cell.position) == (state.guest, state.position):
                panel.sentence(layout, context, cell.words)


class DRY_ASSEMBLY_PT_tolerance_analysis(SubPanel, Panel):
    """What deviations do."""

    bl_label = "Tolerance Analysis"
    bl_parent_id = "DRY_ASSEMBLY_PT_sliding_in"

    def draw_table(self, context: Context, layout: UILayout, state: TableState) -> None:
        """Button, shares, margins, dimensions that matter, router, sheet."""
        panel.fields(layout).prop(context.scene.dry_assembly, "tolerance_count")
        layout.operator("dry_assembly.analyze_tolerances", icon="OUTLINER_DATA_POINTCLOUD")
        analysis = state.analysis
        if not analysis.made:
            return
        if analysis.out_of_date:
            layout.label(text="Out of date: analyze anew", icon="TIME")
        panel.answer_in_full(layout, context, state.answer)
        column = layout.column()
        column.active = not analysis.out_of_date
        for share in analysis.shares:
            icon = "CHECKMARK" if share.every else "ERROR"
            panel.sentence(column, context, f"{share.name}: {share.words}", icon)
        _margins(column, analysis)
        if analysis.effects:
            panel.filled(column, "What matters most, {place}:", place=analysis.tightest)
            for number, effect in enumerate(analysis.effects, 1):
                panel.sentence(column, context, f"{number}. {effect.words}")
        panel.sentences(column, context, analysis.router)
        panel.sentences(column, context, analysis.thickest)
        panel.sentence(column, context, TOLERANCE_CAUTION, "INFO")


def _margins(column: UILayout, analysis: AnalysisState) -> None:
    grid = column.grid_flow(row_major=True, columns=3, even_columns=True, align=True)
    for text in ("Margin", "As drawn", "Worst case"):
        grid.label(text=text)
    for margin in analysis.margins:
        grid.label(text=margin.name)
        grid.label(text=margin.nominal)
        grid.label(text=margin.worst, icon="ERROR" if margin.fails else "NONE")


def _chosen(state: TableState) -> LeafState | None:
    return state.leaves[state.leaf_index] if 0 <= state.leaf_index < len(state.leaves) else None


CLASSES: Final = (
    DRY_ASSEMBLY_PT_jamming,
    DRY_ASSEMBLY_PT_droop,
    DRY_ASSEMBLY_PT_cover,
    DRY_ASSEMBLY_PT_positions,
    DRY_ASSEMBLY_PT_tolerance_analysis,
)
