"""The report of a table's leaves on their way and of its tolerances: a dialog that stays until it is closed.

What it is about is chosen at its top; leaves, openings and positions are chosen in its lists.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from bpy.types import Context, Event, Operator, UILayout

from ..reports.slide import CAUTION
from ..reports.tolerance import CAUTION as TOLERANCE_CAUTION
from ..scene.state.properties import DRY_ASSEMBLY_PG_finding as FindingState
from ..scene.state.properties import DRY_ASSEMBLY_PG_leaf as LeafState
from ..scene.state.properties import DRY_ASSEMBLY_PG_table as TableState
from ..scene.state.results import DRY_ASSEMBLY_PG_analysis as AnalysisState
from ..scene.state.results import DRY_ASSEMBLY_PG_opening as OpeningState
from ..scene.translation import EnumProperty, StringProperty, figures, shown, told
from . import panel
from .operator_kinds import DONE, OWN, SEARCHED, UNLISTED, TableOperator
from .show_panel import chosen_leaf

WIDTH: Final = 640
"""Of the dialog, pixels."""
LETTERS: Final = 92
"""On a line of it."""


class DRY_ASSEMBLY_OT_choose_position(TableOperator, Operator):
    bl_idname = "dry_assembly.choose_position"
    bl_label = "Choose Position"
    bl_options = UNLISTED

    leaf: StringProperty(options=OWN)
    position: StringProperty(options=OWN)

    @classmethod
    def description(cls, _context: Context, properties: Any) -> str:
        """Which leaf in which position."""
        return told(
            "Say how {leaf} goes into the position of {position}",
            leaf=properties.leaf,
            position=properties.position,
        )

    def execute(self, context: Context) -> set[Any]:
        """Chooses it."""
        state = self.table(context)
        state.guest, state.position = self.leaf, self.position
        return DONE


class DRY_ASSEMBLY_OT_open_report(TableOperator, Operator):
    bl_idname = "dry_assembly.open_report"
    bl_label = "Open Report"
    bl_description = "Show all that is known of this, leaf by leaf"
    bl_options = SEARCHED

    about: EnumProperty(
        name="About",
        items=[
            ("finding", "Finding", "The finding selected in the list, in full"),
            ("sliding in", "Sliding In", "Does a leaf go in whichever way it is held"),
            ("tolerances", "Tolerances", "What deviations in the shop do"),
            ("jamming", "Jamming", "Where a hand may push without a leaf jamming"),
            ("droop", "Droop and Sag", "What weight does to a leaf"),
            ("cover", "Cover", "The leaves side by side in the well"),
            ("positions", "Any Position", "Any leaf in any position, any way round"),
        ],
    )

    def invoke(self, context: Context, _event: Event) -> set[Any]:
        """Opens it."""
        title = self.table(context).name
        return context.window_manager.invoke_props_dialog(
            self, width=WIDTH, title=title, confirm_text=told("Done"), translate=False
        )

    def execute(self, _context: Context) -> set[Any]:
        """Closed: nothing was changed."""
        return DONE

    def draw(self, context: Context) -> None:
        """What it is about, and that."""
        layout, state = self.layout, self.table(context)
        assert layout is not None
        panel.expanded(layout, self, "about")
        draw(layout, context, state, self.about)


def draw(layout: UILayout, context: Context, state: TableState, about: str) -> None:
    """What is known of one thing."""
    if about in ("finding", "tolerances"):
        REPORTS[about](layout, context, state)
        return
    if state.proof_out_of_date:
        panel.label(layout, "Out of date: the proof is pending", "TIME")
    column = layout.column()
    column.active = not state.proof_out_of_date
    REPORTS[about](column, context, state)


def _said(layout: UILayout, context: Context, text: str, icon: str = "NONE") -> None:
    panel.sentence(layout, context, text, icon, LETTERS)


def finding(layout: UILayout, context: Context, state: TableState) -> None:
    """The finding selected: all that it says, what was tried and holds."""
    own: FindingState | None = panel.selected(state.findings, state.finding_index)
    if own is None:
        panel.label(layout, "No findings", "CHECKMARK")
        return
    _said(layout, context, panel.message(own), panel.SEVERITY_ICONS[own.severity])
    for remedy in own.remedies:
        panel.clause(layout, context, remedy.name, "TOOL_SETTINGS", LETTERS)
        if remedy.after:
            panel.clause(layout, context, remedy.after, "BLANK1", LETTERS)


def sliding_in(layout: UILayout, context: Context, state: TableState) -> None:
    """The leaves, the openings on the way of the one selected, the opening selected in full."""
    layout.template_list("DRY_ASSEMBLY_UL_sliding_in", "", state, "leaves", state, "leaf_index", rows=2)
    leaf = chosen_leaf(state)
    if leaf is not None:
        _leaf(layout, context, leaf)
    _said(layout, context, CAUTION, "INFO")


def _leaf(layout: UILayout, context: Context, leaf: LeafState) -> None:
    panel.lines_in_full(layout, context, leaf.answer, LETTERS)
    if leaf.held:
        _said(layout, context, leaf.held, "CANCEL")
    if not leaf.openings:
        return
    panel.filled(layout, "Openings on the way of {leaf}:", leaf=leaf.name)
    layout.template_list("DRY_ASSEMBLY_UL_openings", "", leaf, "openings", leaf, "opening_index", rows=4)
    opening: OpeningState | None = panel.selected(leaf.openings, leaf.opening_index)
    if opening is not None:
        _opening(layout, context, opening)


def _opening(layout: UILayout, context: Context, opening: OpeningState) -> None:
    where = (
        "{part} at {travel}, seen from the side"
        if opening.view == "side"
        else "{part} at {travel}, seen from above"
    )
    panel.slide_verdict(layout, opening.verdict, shown(where, part=opening.name, travel=opening.at))
    _said(layout, context, opening.words)
    if opening.verdict != "does-not-pass":
        where = f"Off its place as drawn the nose can be {opening.nose}; the opening catches {opening.catch}."
        _said(layout, context, where)


def jamming(layout: UILayout, context: Context, state: TableState) -> None:
    """From where on each leaf may be pushed anywhere; the one selected in full."""
    panel.label(layout, "May be pushed anywhere from this travel on:")
    panel.heads(layout, "Seen from", "the side", "above")
    layout.template_list("DRY_ASSEMBLY_UL_jamming", "", state, "leaves", state, "leaf_index", rows=2)
    leaf = chosen_leaf(state)
    if leaf is None or not leaf.study.side_words:
        return
    for text, words in (
        ("{leaf} seen from the side:", leaf.study.side_words),
        ("{leaf} seen from above:", leaf.study.plan_words),
    ):
        panel.filled(layout, text, leaf=leaf.name)
        panel.sentences(layout, context, words, LETTERS)


def droop(layout: UILayout, context: Context, state: TableState) -> None:
    """Nose and middle of each leaf; the one selected in full."""
    panel.heads(layout, "Bends", "Free nose", "As cover")
    layout.template_list("DRY_ASSEMBLY_UL_droop", "", state, "leaves", state, "leaf_index", rows=2)
    leaf = chosen_leaf(state)
    if leaf is not None:
        for words in (leaf.study.droop_words, leaf.study.sag_words):
            panel.sentences(layout, context, words, LETTERS)


def cover(layout: UILayout, _context: Context, state: TableState) -> None:
    """Gaps and room to lift."""
    own = state.cover
    if not own.gap:
        panel.label(layout, "No leaves lie in the well")
        return
    column = layout.column(align=True)
    for name, words, wrong in (
        ("Gaps as drawn", own.gap, False),
        ("Worst case", own.gap_worst, own.tight),
        ("To lift one out", own.lift, own.held),
    ):
        split = column.split(factor=0.3)
        panel.label(split, name)
        panel.label(split, words, "ERROR" if wrong else "NONE")


def positions(layout: UILayout, context: Context, state: TableState) -> None:
    """One row a leaf, one column a position, for the way round chosen; the cell selected in full."""
    if not state.positions:
        if not state.proof_out_of_date:
            panel.label(layout, "No leaf has a stow position")
        return
    panel.expanded(layout, state, "turn")
    cells = [cell for cell in state.positions if cell.turn == state.turn]
    across = len({cell.position for cell in cells})
    panel.filled(layout, "Smallest clearance, {unit}, in the position of", unit=state.parameters.units)
    grid = layout.grid_flow(row_major=True, columns=across + 1, even_columns=True, align=True)
    panel.given(grid, "")
    for cell in cells[:across]:
        panel.given(grid, cell.position)
    for number, cell in enumerate(cells):
        if number % across == 0:
            panel.given(grid, cell.name)
        panel.named(
            grid,
            "dry_assembly.choose_position",
            figures(cell.clearance),
            panel.PLACE_ICONS[cell.verdict],
            (cell.name, cell.position) == (state.guest, state.position),
            leaf=cell.name,
            position=cell.position,
        )
    for cell in cells:
        if (cell.name, cell.position) == (state.guest, state.position):
            _said(layout, context, cell.words)


def tolerances(layout: UILayout, context: Context, state: TableState) -> None:
    """Shares, margins, dimensions that matter, router, sheet."""
    panel.lines_in_full(layout, context, state.answer, LETTERS)
    panel.field(panel.split_column(layout), context.scene.dry_assembly, "tolerance_count")
    analysis = state.analysis
    if not analysis.made:
        panel.label(layout, "Analyze Tolerances, in Check, tells more", "INFO")
        return
    if analysis.out_of_date:
        panel.label(layout, "Out of date: analyze anew", "TIME")
    column = layout.column()
    column.active = not analysis.out_of_date
    for share in analysis.shares:
        _said(column, context, f"{share.name}: {share.words}", "CHECKMARK" if share.every else "ERROR")
    _margins(column, analysis)
    if analysis.effects:
        panel.filled(column, "What matters most, {place}:", place=analysis.tightest)
        for number, effect in enumerate(analysis.effects, 1):
            _said(column, context, f"{number}. {effect.words}")
    panel.sentences(column, context, analysis.router, LETTERS)
    panel.sentences(column, context, analysis.thickest, LETTERS)
    _said(column, context, TOLERANCE_CAUTION, "INFO")


def _margins(column: UILayout, analysis: AnalysisState) -> None:
    grid = column.grid_flow(row_major=True, columns=3, even_columns=True, align=True)
    for text in ("Margin", "As drawn", "Worst case"):
        panel.label(grid, text)
    for margin in analysis.margins:
        panel.label(grid, margin.name)
        panel.label(grid, margin.nominal)
        panel.label(grid, margin.worst, "ERROR" if margin.fails else "NONE")


REPORTS: Final[dict[str, Callable[[UILayout, Context, TableState], None]]] = {
    "finding": finding,
    "sliding in": sliding_in,
    "tolerances": tolerances,
    "jamming": jamming,
    "droop": droop,
    "cover": cover,
    "positions": positions,
}
"""What a report is about → what draws it."""

CLASSES: Final = (DRY_ASSEMBLY_OT_choose_position, DRY_ASSEMBLY_OT_open_report)
