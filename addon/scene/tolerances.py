"""The tolerance analysis of a table: made at a button, kept with the table until the next one."""

from __future__ import annotations

from typing import Final

from ..check.progress import Steps
from ..check.tolerance.analysis import analysis_steps
from ..check.tolerance.report import RowTolerance, ToleranceReport
from ..check.tolerance.statistics import Share
from ..designs.table.parameters import Table
from ..designs.words.study import amount, effect_words, router_words, share_words, thickness_clause
from ..sizes.units import Units
from . import access, built
from .state import values
from .state.properties import DRY_ASSEMBLY_PG_table as TableState
from .state.results import DRY_ASSEMBLY_PG_analysis as AnalysisState

AT_ONCE: Final = 500
"""Random tables worked out together: few enough for a window to go on in between."""

RANKED: Final = 5
"""Dimensions that are named."""

_VIEWS: Final = {"side": "side", "plan": "above"}


def steps(table: Table, count: int) -> Steps[ToleranceReport]:
    """The analysis of a table, step by step. Raises DryAssemblyError where it cannot be built."""
    return analysis_steps(built.assembly_of(table), count=count, at_once=AT_ONCE)


def store(state: TableState, report: ToleranceReport) -> None:
    """Keeps an analysis of a table as it is now."""
    analysis, units = state.analysis, values.units_of(access.table_in(state))
    analysis.made, analysis.out_of_date, analysis.count = True, False, report.count
    _store_shares(analysis, report)
    analysis.margins.clear()
    for row in report.rows:
        _store_margin(analysis, row, units)
    analysis.effects.clear()
    tightest = report.tightest
    analysis.tightest = ""
    if tightest is not None and tightest.governing is not None:
        analysis.tightest = f"{tightest.leaf} {_VIEWS[tightest.view]}"
        for effect in tightest.governing.effects[:RANKED]:
            item = analysis.effects.add()
            item.name, item.words = effect.name, effect_words(effect, units)
    analysis.router = "" if report.router is None else router_words(report.router, units)
    thinnest = min(report.leaves, key=lambda leaf: leaf.thickest_worst - leaf.thickness, default=None)
    analysis.thickest = "" if thinnest is None else f"{thinnest.leaf} {thickness_clause(thinnest, units)}."


def _store_shares(analysis: AnalysisState, report: ToleranceReport) -> None:
    """What the lines of the answer are made of; how many tables work altogether is theirs to say."""
    shares: list[tuple[str, Share | None]] = [
        ("All leaves go in", report.passes),
        ("Even level and straight", report.passes_level),
        ("All lie in the well", None if report.cover is None else report.cover.fits),
    ]
    analysis.shares.clear()
    for name, share in shares:
        if share is not None:
            item = analysis.shares.add()
            item.name, item.words, item.every = name, share_words(share), share.count == share.of


def _store_margin(analysis: AnalysisState, row: RowTolerance, units: Units) -> None:
    item = analysis.margins.add()
    item.name = f"{row.leaf} {_VIEWS[row.view]}"
    if row.governing is None:
        item.nominal = item.worst = "free"
        return
    item.nominal = amount(row.nominal, units)
    item.worst = amount(row.governing.worst, units)
    item.fails = row.governing.worst < 0
