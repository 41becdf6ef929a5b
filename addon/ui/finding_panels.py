"""The panels of what the check found, of what is drawn over the view, and of what the check calls enough."""

from __future__ import annotations

from typing import Any, Final

from bpy.types import Context, Operator, Panel, UILayout

from ..check.progress import Steps
from ..designs.findings import Report, SlideReport
from ..designs.table.parameters import Table
from ..scene import built, overlap, tables
from ..scene.state.properties import DRY_ASSEMBLY_PG_finding as FindingState
from ..scene.state.properties import DRY_ASSEMBLY_PG_scene as SceneState
from ..scene.state.properties import DRY_ASSEMBLY_PG_table as TableState
from ..sizes.words import capital
from . import lists, panel
from .operator_kinds import CHANGES, DONE, NOTHING, ONE_STEP, StepOperator, TableOperator, attempt
from .panel import SubPanel, TablePanel


class DRY_ASSEMBLY_OT_show_overlap(TableOperator, Operator):
    bl_idname = "dry_assembly.show_overlap"
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


class DRY_ASSEMBLY_OT_hide_overlap(TableOperator, Operator):
    bl_idname = "dry_assembly.hide_overlap"
    bl_label = "Hide Overlap"
    bl_description = "Take the overlap away"
    bl_options = CHANGES

    @classmethod
    def lacks(cls, state: TableState) -> str:
        """One that is shown."""
        return "" if state.overlap else "No overlap is shown"

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
        row.operator("dry_assembly.show_overlap", icon="MOD_BOOLEAN")
        row.operator("dry_assembly.hide_overlap", text="", icon="X")
        if state.overlap:
            panel.sentence(layout, context, state.overlap, "MOD_BOOLEAN")


class DRY_ASSEMBLY_OT_find_remedies(StepOperator, Operator):
    bl_idname = "dry_assembly.find_remedies"
    bl_label = "Find Remedies"
    bl_description = (
        "Try out what makes the findings go away: the table is built and checked with each, and only what holds is"
        " offered. Takes some seconds; Esc stops it"
    )
    bl_options = ONE_STEP
    what = "Trying out remedies"

    @classmethod
    def lacks(cls, state: TableState) -> str:
        """A finding that something may be tried for, and not to know what holds."""
        if state.remedies_found:
            return "The remedies are listed with the findings"
        may_be = any(finding.untried or finding.rule == "leaf-steer" for finding in state.findings)
        return "" if may_be else "There is nothing to be tried for these findings"

    def steps(self, _context: Context, table: Table) -> Steps[tuple[Report, SlideReport]]:
        """Tries them out."""
        return built.remedied_steps(table)

    def keep(self, state: TableState, result: tuple[Report, SlideReport]) -> None:
        """Lists them."""
        tables.keep_remedies(state, result)
        tables.redraw()


CLASSES: Final[tuple[Any, ...]] = (
    DRY_ASSEMBLY_OT_show_overlap,
    DRY_ASSEMBLY_OT_hide_overlap,
    DRY_ASSEMBLY_OT_find_remedies,
)


class DRY_ASSEMBLY_PT_findings(TablePanel, Panel):
    """What the check found."""

    bl_label = "Findings"

    def draw_table(self, context: Context, layout: UILayout, state: TableState) -> None:
        """The list, the selected finding in full, its places, its remedies."""
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
        finding = _chosen(state)
        if finding is not None and lists.is_shown(group, finding):
            _finding(column, context, finding)
        layout.operator("dry_assembly.check_now", icon="FILE_REFRESH")


def _finding(column: UILayout, context: Context, finding: FindingState) -> None:
    panel.sentence(column, context, panel.message(finding))
    if finding.places:
        panel.filled(column, "{count} places:", count=len(finding.places))
        column.template_list(
            "DRY_ASSEMBLY_UL_places", "", finding, "places", finding, "place_index", rows=3
        )  # fmt: skip
    column.operator("dry_assembly.show_finding", icon="ZOOM_SELECTED")
    for number, remedy in enumerate(finding.remedies):
        panel.sentence(column, context, f"{remedy.name}.", "TOOL_SETTINGS")
        if remedy.after:
            panel.sentence(column, context, f"{capital(remedy.after)}.", "BLANK1")
        if remedy.changes:
            panel.button(column, "dry_assembly.apply_remedy", "Apply Remedy", "CHECKMARK", which=number)
    if finding.untried or (finding.rule == "leaf-steer" and not finding.remedies):
        column.operator("dry_assembly.find_remedies", icon="VIEWZOOM")


def _filter(column: UILayout, group: SceneState, state: TableState) -> None:
    """One switch for each severity, with how many there are of it."""
    row = column.row(align=True)
    for severity, name in (("error", "show_errors"), ("warning", "show_warnings"), ("note", "show_notes")):
        count = sum(finding.severity == severity for finding in state.findings)
        row.prop(group, name, text=str(count), icon=panel.SEVERITY_ICONS[severity], toggle=True)  # type: ignore[arg-type]


class DRY_ASSEMBLY_PT_limits(SubPanel, Panel):
    """What the check calls enough."""

    bl_label = "Limits"
    bl_parent_id = "DRY_ASSEMBLY_PT_findings"

    def draw_table(self, _context: Context, layout: UILayout, state: TableState) -> None:
        """The section."""
        panel.section(layout, state, "limits")


class DRY_ASSEMBLY_PT_tolerances(SubPanel, Panel):
    """How far cut dimensions may be off."""

    bl_label = "Tolerances"
    bl_parent_id = "DRY_ASSEMBLY_PT_findings"

    def draw_table(self, _context: Context, layout: UILayout, state: TableState) -> None:
        """The section."""
        panel.section(layout, state, "tolerances")
