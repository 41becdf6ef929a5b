"""The panel of the slide proof: does a leaf go in whichever way it is held?"""

from __future__ import annotations

from typing import TYPE_CHECKING

from bpy.types import Panel

from ..reports.slide import CAUTION
from . import drawing
from .panel import TablePanel

if TYPE_CHECKING:
    from bpy.types import Context, UILayout

    from ..scene.proof_state import DRY_ASSEMBLY_PG_mouth as MouthState
    from ..scene.state import DRY_ASSEMBLY_PG_leaf as LeafState
    from ..scene.state import DRY_ASSEMBLY_PG_table as TableState


class DRY_ASSEMBLY_PT_slide(TablePanel, Panel):
    """Which leaves guide themselves home, and what the hand has to do for the others."""

    bl_label = "Slide"

    def draw_table(self, context: Context, layout: UILayout, state: TableState) -> None:
        """The leaves, the mouths on the way of the one selected, the mouth selected in full."""
        if state.proof_out_of_date:
            layout.label(text="Out of date: the proof is pending", icon="TIME")
        column = layout.column()
        column.active = not state.proof_out_of_date
        if state.leaves:
            column.template_list("DRY_ASSEMBLY_UL_slides", "", state, "leaves", state, "leaf_index", rows=2)
        if 0 <= state.leaf_index < len(state.leaves):
            _leaf(column, context, state.leaves[state.leaf_index])
        row = layout.row(align=True)
        row.operator("dry_assembly.show_snag", icon="GHOST_ENABLED")
        row.operator("dry_assembly.hide_snag", icon="X")
        if state.snag:
            drawing.sentence(layout, context, state.snag, "GHOST_ENABLED")
        layout.operator("dry_assembly.find_remedies", icon="VIEWZOOM")
        drawing.sentence(layout, context, CAUTION, "INFO")


def _leaf(column: UILayout, context: Context, leaf: LeafState) -> None:
    if leaf.held:
        drawing.sentence(column, context, leaf.held, "CANCEL")
    if not leaf.mouths:
        return
    drawing.filled(column, "Mouths on the way of {leaf}:", leaf=leaf.name)
    column.template_list("DRY_ASSEMBLY_UL_mouths", "", leaf, "mouths", leaf, "mouth_index", rows=4)
    if 0 <= leaf.mouth_index < len(leaf.mouths):
        _mouth(column, context, leaf.mouths[leaf.mouth_index])


def _mouth(column: UILayout, context: Context, mouth: MouthState) -> None:
    seen = "the side" if mouth.view == "side" else "above"
    drawing.slide_verdict(column, mouth.verdict, f"{mouth.name} at {mouth.at}, seen from {seen}")
    drawing.sentence(column, context, mouth.words)
    if mouth.verdict != "does-not-pass":
        where = f"Off its place as drawn the nose can be {mouth.nose}; the mouth catches {mouth.catch}."
        drawing.sentence(column, context, where)
