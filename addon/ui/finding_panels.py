"""The panels of what the check found, and of what it calls enough."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bpy.types import Panel

from . import drawing, lists
from .panel import SubPanel, TablePanel

if TYPE_CHECKING:
    from bpy.types import Context, UILayout

    from ..scene.state import DRY_ASSEMBLY_PG_scene as SceneState
    from ..scene.state import DRY_ASSEMBLY_PG_table as TableState


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
        group = context.scene.dry_assembly
        if state.findings:
            _filter(column, group, state)
            column.template_list(
                "DRY_ASSEMBLY_UL_findings", "", state, "findings", state, "finding_index", rows=4
            )
        chosen = 0 <= state.finding_index < len(state.findings)
        if chosen and lists.is_shown(group, state.findings[state.finding_index]):
            finding = state.findings[state.finding_index]
            drawing.sentence(column, context, drawing.message(finding))
            if finding.remedy:
                drawing.sentence(column, context, finding.remedy, "TOOL_SETTINGS")
            row = column.row(align=True)
            row.operator("dry_assembly.show_finding", icon="ZOOM_SELECTED")
            if finding.remedy_changes:
                row.operator("dry_assembly.apply_remedy", icon="CHECKMARK")
        layout.operator("dry_assembly.check_now", icon="FILE_REFRESH")


def _filter(column: UILayout, group: SceneState, state: TableState) -> None:
    """One switch for each severity, with how many there are of it."""
    row = column.row(align=True)
    for severity, name in (("error", "show_errors"), ("warning", "show_warnings"), ("note", "show_notes")):
        count = sum(finding.severity == severity for finding in state.findings)
        row.prop(group, name, text=str(count), icon=drawing.SEVERITY_ICONS[severity], toggle=True)  # type: ignore[arg-type]


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
