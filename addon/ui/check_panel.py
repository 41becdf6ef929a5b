"""The panel of the check: what it found, what helps, and what is known of the leaves on their way, a line each."""

from __future__ import annotations

from typing import Any, Final

from bpy.types import Context, Event, Operator, Panel, UILayout

from ..check.progress import Steps
from ..check.tolerance.report import ToleranceReport
from ..designs.findings import Report, SlideReport
from ..designs.table.parameters import Table
from ..scene import built, findings, overlap, seeing, tables, tolerances
from ..scene.state.properties import DRY_ASSEMBLY_PG_finding as FindingState
from ..scene.state.properties import DRY_ASSEMBLY_PG_scene as SceneState
from ..scene.state.properties import DRY_ASSEMBLY_PG_table as TableState
from ..scene.translation import shown
from . import accepted, panel, parts
from .operator_kinds import CHANGES, DONE, NOTHING, ONE_STEP, StepOperator, TableOperator, attempt
from .panel import CLOSED, TablePanel


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
            self.say("WARNING", "The parts of the finding selected only touch")
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
    finding: FindingState | None = panel.selected(state.findings, state.finding_index)
    return finding


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
        seeing.redraw()


class DRY_ASSEMBLY_OT_fix_finding(StepOperator, Operator):
    bl_idname = "dry_assembly.fix_finding"
    bl_label = "Fix Gravest Finding"
    bl_description = (
        "Apply the first remedy of the gravest finding that was tried and holds; where none was tried yet, they are"
        " tried first, which takes some seconds. Esc stops it"
    )
    bl_options = ONE_STEP
    what = "Trying out remedies"

    @classmethod
    def lacks(cls, state: TableState) -> str:
        """A finding that something helps, or may help."""
        if not state.findings or state.findings[0].reason:
            return "There are no findings that are open"
        gravest = state.findings[0]
        helps = tables.tried_remedy(gravest) is not None or may_be_tried(state, gravest)
        return "" if helps else "Nothing that was tried helps: Check says what to do by hand"

    def invoke(self, context: Context, event: Event) -> set[Any]:
        """Applies what is known to help at once."""
        if tables.tried_remedy(self.table(context).findings[0]) is not None:
            return self._applied(context)
        return super().invoke(context, event)

    def execute(self, context: Context) -> set[Any]:
        """The same, and waits."""
        if tables.tried_remedy(self.table(context).findings[0]) is not None:
            return self._applied(context)
        return super().execute(context)

    def steps(self, _context: Context, table: Table) -> Steps[tuple[Report, SlideReport]]:
        """Tries them out."""
        return built.remedied_steps(table)

    def keep(self, state: TableState, result: tuple[Report, SlideReport]) -> None:
        """Lists them, and applies the first that helps against the finding that was the gravest."""
        name = findings.name_of(state.findings[0])
        tables.keep_remedies(state, result)
        names = [findings.name_of(one) for one in state.findings]
        index = names.index(name) if name in names else 0
        which = tables.tried_remedy(state.findings[index])
        if which is None:
            self.say("WARNING", "Nothing that was tried helps: Check says what to do by hand")
            return
        self._apply(state, index, which)

    def _applied(self, context: Context) -> set[Any]:
        state = self.table(context)
        which = tables.tried_remedy(state.findings[0])
        assert which is not None
        return attempt(self, lambda: self._apply(state, 0, which))

    def _apply(self, state: TableState, index: int, which: int) -> None:
        words = state.findings[index].remedies[which].name
        tables.apply_remedy(state, index, which)
        seeing.redraw()
        self.say("INFO", "Done: {remedy}", remedy=words)


def may_be_tried(state: TableState, finding: FindingState) -> bool:
    """Whether there is something to try against a finding that was not tried yet."""
    return not state.remedies_found and (finding.untried or finding.rule == "leaf-steer")


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


class DRY_ASSEMBLY_PT_check(TablePanel, Panel):
    """What the check found, and what is known of the leaves on their way."""

    bl_label = "Check"
    bl_options = CLOSED

    def draw_table(self, context: Context, layout: UILayout, state: TableState) -> None:
        """The findings, the one selected, the lines, the parts."""
        group = context.scene.dry_assembly
        if state.out_of_date:
            panel.label(layout, "Out of date: check pending", "TIME")
        column = layout.column()
        column.active = not state.out_of_date
        if state.findings:
            _filter(column, group, state)
            column.template_list(
                "DRY_ASSEMBLY_UL_findings", "", state, "findings", state, "finding_index", rows=4
            )
        else:
            panel.label(column, "No findings", "CHECKMARK")
        finding = _chosen(state)
        if finding is not None and findings.is_shown(group, finding):
            _finding(column, context, state, finding)
        accepted.draw_list(layout, state)
        _lines(layout, state)
        body = panel.folded(layout, "Parts")
        if body is not None:
            parts.draw_list(body, context, state)


LINES: Final = 5
"""Of a finding's message that stand in the panel; its report has all."""


def _filter(column: UILayout, group: SceneState, state: TableState) -> None:
    """One switch for each severity, with how many are open of it, and one for those that are accepted."""
    row = column.row(align=True)
    for severity, name in (("error", "show_errors"), ("warning", "show_warnings"), ("note", "show_notes")):
        count = sum(one.severity == severity and not one.reason for one in state.findings)
        panel.counted(row, group, name, count, panel.SEVERITY_ICONS[severity])
    count = sum(bool(one.reason) for one in state.findings)
    if count:
        panel.counted(row, group, "show_accepted", count, "CHECKBOX_HLT")


def _finding(column: UILayout, context: Context, state: TableState, finding: FindingState) -> None:
    """The finding selected: what it says, its places, what to do."""
    panel.sentence(column, context, panel.message(finding), most=LINES)
    if finding.places:
        panel.filled(column, "{count} places:", count=len(finding.places))
        column.template_list(
            "DRY_ASSEMBLY_UL_places", "", finding, "places", finding, "place_index", rows=3
        )  # fmt: skip
    row = column.row(align=True)
    panel.button(row, "dry_assembly.show_finding", "Show Place", "ZOOM_SELECTED")
    if state.shown:
        panel.sign(row, "dry_assembly.stop_showing", "X")
    if state.overlap:
        panel.button(row, "dry_assembly.hide_overlap", "Hide Overlap", "X")
    elif overlap.has_volume(finding):
        panel.button(row, "dry_assembly.show_overlap", "Show Overlap", "MOD_BOOLEAN")
    panel.sign(row, "dry_assembly.open_report", "FILE_TEXT", about="finding")
    if state.overlap:
        panel.sentence(column, context, state.overlap, "MOD_BOOLEAN")
    offered = [number for number, remedy in enumerate(finding.remedies) if remedy.changes]
    for number, remedy in enumerate(finding.remedies):
        panel.clause(column, context, remedy.name, "TOOL_SETTINGS")
        if remedy.after:
            panel.clause(column, context, remedy.after, "BLANK1")
        if remedy.changes:
            name = shown("Apply") if len(offered) == 1 else f"{shown('Apply')} {offered.index(number) + 1}"
            panel.named(column, "dry_assembly.apply_remedy", name, "CHECKMARK", which=number)
    if may_be_tried(state, finding):
        panel.button(column, "dry_assembly.find_remedies", "Find Remedies", "VIEWZOOM")
    accepted.draw(column, context, finding)


_REPORTED: Final = {"sliding in": "sliding in", "jamming": "jamming", "sag": "droop"}
"""Name of a line → what its report is about."""


def _lines(layout: UILayout, state: TableState) -> None:
    """Sliding in, tolerances, jamming and sag: a line each, with a button to its report."""
    column = layout.column(align=True)
    column.active = not state.proof_out_of_date
    shop = state.answer[1] if len(state.answer) > 1 else None
    lines = [(one.name, one.grade, one.short) for one in state.checks]
    if shop is not None:
        lines.insert(1, ("tolerances", shop.grade, shop.short))
    for name, grade, words in lines:
        row = column.row(align=True)
        panel.line(row, name, grade, words)
        panel.sign(row, "dry_assembly.open_report", "FILE_TEXT", about=_REPORTED.get(name, name))
    row = layout.row(align=True)
    panel.button(row, "dry_assembly.analyze_tolerances", "Analyze Tolerances", "OUTLINER_DATA_POINTCLOUD")
    panel.sign(row, "dry_assembly.check_now", "FILE_REFRESH")


CLASSES: Final[tuple[Any, ...]] = (
    DRY_ASSEMBLY_OT_show_overlap,
    DRY_ASSEMBLY_OT_hide_overlap,
    DRY_ASSEMBLY_OT_find_remedies,
    DRY_ASSEMBLY_OT_fix_finding,
    DRY_ASSEMBLY_OT_analyze_tolerances,
)
