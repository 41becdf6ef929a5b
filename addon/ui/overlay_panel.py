"""The panel of what is drawn over the view, and the buttons of the overlap."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import bpy
from bpy.types import Operator, Panel

from ..scene import overlap
from . import drawing
from .operators import CHANGES, DONE, NOTHING, TableOperator, attempt
from .panel import TablePanel

if TYPE_CHECKING:
    from bpy.types import Context, UILayout

    from ..scene.state import DRY_ASSEMBLY_PG_finding as FindingState
    from ..scene.state import DRY_ASSEMBLY_PG_table as TableState


class DRY_ASSEMBLY_OT_show_contact(TableOperator, Operator):
    bl_idname = "dry_assembly.show_contact"
    bl_label = "Show Overlap"
    bl_description = (
        "Make an object of the space that both parts of the finding selected claim;"
        " of a leaf, all that it passes through on its way counts"
    )
    bl_options = CHANGES

    @classmethod
    def lacks(cls, state: TableState) -> str:
        """A finding selected about parts in each other's way."""
        finding = _chosen(state)
        overlaps = finding is not None and overlap.has_volume(finding)
        return "" if overlaps else "The finding selected is not about parts in each other's way"

    def execute(self, context: Context) -> set[Any]:
        """Makes it."""
        state = self.table(context)
        shown: list[object] = []
        done = attempt(self, lambda: shown.append(overlap.show(state, state.finding_index)))
        if shown == [None]:
            self.report({"WARNING"}, "The parts of the finding selected only touch")
            return NOTHING
        return done


class DRY_ASSEMBLY_OT_hide_contact(TableOperator, Operator):
    bl_idname = "dry_assembly.hide_contact"
    bl_label = "Hide Overlap"
    bl_description = "Take the overlap away"
    bl_options = CHANGES

    @classmethod
    def lacks(cls, state: TableState) -> str:
        """One that is shown."""
        return "" if state.contact else "No overlap is shown"

    def execute(self, context: Context) -> set[Any]:
        """Takes it away."""
        overlap.hide(self.table(context))
        return DONE


def _chosen(state: TableState) -> FindingState | None:
    """The finding selected in the list."""
    inside = 0 <= state.finding_index < len(state.findings)
    return state.findings[state.finding_index] if inside else None


class DRY_ASSEMBLY_PT_view(TablePanel, Panel):
    """What is drawn over the view."""

    bl_label = "In the View"
    bl_parent_id = "DRY_ASSEMBLY_PT_findings"

    def draw_table(self, context: Context, layout: UILayout, state: TableState) -> None:
        """Switches, gray while the table is exploded, as nothing is drawn then; the overlap."""
        view = context.scene.dry_assembly.view
        together = state.explosion_factor == 0
        column = layout.column()
        column.active = together
        # In one line either way: a panel that grows while the Factor is dragged moves things under the mouse.
        column.prop(view, "show", text="Show Findings" if together else "Show Findings (not while exploded)")
        column = layout.column()
        column.active = together and view.show
        for name in ("only_chosen", "dimensions", "passages"):
            column.prop(view, name)
        row = layout.row(align=True)
        row.operator("dry_assembly.show_contact", icon="MOD_BOOLEAN")
        row.operator("dry_assembly.hide_contact", text="", icon="X")
        if state.contact:
            drawing.sentence(layout, context, state.contact, "MOD_BOOLEAN")


CLASSES: Final[tuple[Any, ...]] = (DRY_ASSEMBLY_OT_show_contact, DRY_ASSEMBLY_OT_hide_contact)


def register() -> None:
    """Adds the operators."""
    for kind in CLASSES:
        bpy.utils.register_class(kind)


def unregister() -> None:
    """Takes the operators away."""
    for kind in reversed(CLASSES):
        bpy.utils.unregister_class(kind)
