"""A finding that the maker accepts: the dialog that asks why, and what stands with it in the panel."""

from __future__ import annotations

from typing import Any, Final

from bpy.types import Context, Event, Operator, UILayout

from ..scene import findings, seeing, tables
from ..scene.state.properties import DRY_ASSEMBLY_PG_finding as FindingState
from ..scene.state.properties import DRY_ASSEMBLY_PG_table as TableState
from ..scene.translation import StringProperty, told
from . import panel
from .operator_kinds import CHANGES, NOTHING, TableOperator, attempt, unbuilt


class _OnFinding(TableOperator):
    """An operator on the finding that is selected."""

    accepted: bool
    """Whether it has to be accepted already."""

    @classmethod
    def lacks(cls, state: TableState) -> str:
        """A finding selected that is open, or accepted, and a table that can be built."""
        finding = chosen(state)
        if finding is None:
            return "There are no findings"
        if bool(finding.reason) != cls.accepted:
            return "The finding is open" if cls.accepted else "The finding is accepted already"
        return unbuilt(state)


class DRY_ASSEMBLY_OT_accept_finding(_OnFinding, Operator):
    bl_idname = "dry_assembly.accept_finding"
    bl_label = "Accept Finding"
    bl_description = (
        "Accept the finding selected as it is, with a reason, which is kept in the table file and printed."
        " What blocks the table blocks it all the same"
    )
    bl_options = CHANGES
    accepted = False

    reason: StringProperty(
        name="Reason",
        description="Why it may stay, in words that are printed with it",
        options={"SKIP_SAVE"},
    )

    def invoke(self, context: Context, _event: Event) -> set[Any]:
        """Asks why."""
        return context.window_manager.invoke_props_dialog(
            self, width=420, title=told("Accept Finding"), confirm_text=told("Accept"), translate=False
        )

    def draw(self, context: Context) -> None:
        """What it is about, and the reason."""
        layout, finding = self.layout, chosen(self.table(context))
        if layout is None or finding is None:
            return
        panel.sentence(layout, context, panel.message(finding), panel.SEVERITY_ICONS[finding.severity], 60)
        panel.field(layout, self.properties, "reason")
        if finding.severity == "error":
            panel.sentence(layout, context, "It blocks the table all the same.", "ERROR", 60)

    def execute(self, context: Context) -> set[Any]:
        """Accepts it."""
        state, reason = self.table(context), self.reason.strip()
        if not reason:
            self.say("WARNING", "Write the reason: without one nothing is accepted")
            return NOTHING
        done = attempt(self, lambda: tables.change(state, findings.accepting_changes(state, reason)))
        seeing.redraw()
        return done


class DRY_ASSEMBLY_OT_open_finding(_OnFinding, Operator):
    bl_idname = "dry_assembly.open_finding"
    bl_label = "Open Again"
    bl_description = "Accept the finding selected no longer"
    bl_options = CHANGES
    accepted = True

    def execute(self, context: Context) -> set[Any]:
        """Takes its entry out of the file."""
        state = self.table(context)
        done = attempt(self, lambda: tables.change(state, findings.opening_changes(state)))
        seeing.redraw()
        return done


def chosen(state: TableState) -> FindingState | None:
    """The finding selected in the list."""
    finding: FindingState | None = panel.selected(state.findings, state.finding_index)
    return finding


def draw(layout: UILayout, context: Context, finding: FindingState) -> None:
    """The reason of a finding that is accepted; else the button."""
    if not finding.reason:
        panel.button(layout, "dry_assembly.accept_finding", "Accept…", "CHECKBOX_HLT")
        return
    panel.label(layout, "Accepted, because:", "CHECKBOX_HLT")
    panel.sentence(layout, context, finding.reason, "BLANK1")
    if finding.severity == "error":
        panel.sentence(layout, context, "It blocks the table all the same.", "ERROR")
    panel.button(layout, "dry_assembly.open_finding", "Open Again", "LOOP_BACK")


def draw_list(layout: UILayout, state: TableState) -> None:
    """What is accepted, to be changed or taken out: it is added where a finding is."""
    body = panel.folded(layout, "Accepted") if state.parameters.accepted else None
    if body is not None:
        panel.entries(body, state, "accepted", added=False)


CLASSES: Final = (DRY_ASSEMBLY_OT_accept_finding, DRY_ASSEMBLY_OT_open_finding)
