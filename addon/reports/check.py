"""A check's report as a JSON document and as text for the screen."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from ..sizes.units import format_amount

if TYPE_CHECKING:
    from ..check.findings import Finding, Gaps, LeafResult, Remedy, Report
    from ..sizes.units import Units

DECIMALS = 9
"""Digits after the point of lengths in JSON, mm: finer than any rounding of the arithmetic matters."""


def report_document(report: Report) -> dict[str, Any]:
    """The report as plain data for JSON.

    `units` is the unit of all lengths in it, always mm; `shown_in` is the unit of the sentences. Lengths that are
    none (an opening that runs out of its part's end) are null.
    """
    return {
        "table": report.table,
        "units": "mm",
        "shown_in": report.units,
        "verdict": report.verdict,
        "leaves": [_leaf(leaf) for leaf in report.leaves],
        "findings": [finding_document(finding) for finding in report.findings],
    }


def number(value: float | None) -> float | None:
    """A number for JSON; None where there is none."""
    return None if value is None or not math.isfinite(value) else round(value, DECIMALS) + 0.0


def _point(at: tuple[float, float, float]) -> list[float | None]:
    return [number(value) for value in at]


def _leaf(leaf: LeafResult) -> dict[str, Any]:
    return {
        "leaf": leaf.leaf,
        "slot": leaf.slot,
        "verdict": leaf.verdict,
        "clearance_mm": number(leaf.clearance),
        "against": leaf.against,
        "travel_mm": number(leaf.travel),
        "at": _point(leaf.at),
        "near": leaf.near,
        "gaps_mm": {gap.part: _gaps(gap) for gap in leaf.gaps},
        "vertical_play_mm": number(leaf.vertical_play),
        "proud_mm": number(leaf.proud),
        "end_gap_mm": number(leaf.end_gap),
        "stops_at": leaf.stops_at,
        "span": [_point(end) for end in leaf.span] if leaf.span else None,
    }


def _gaps(gap: Gaps) -> dict[str, Any]:
    return {
        "above": number(gap.above),
        "below": number(gap.below),
        "left": number(gap.left),
        "right": number(gap.right),
        "entry_chamfer": number(gap.entry_chamfer),
        "exit_chamfer": number(gap.exit_chamfer),
    }


def finding_document(finding: Finding) -> dict[str, Any]:
    """One finding for `--json`."""
    return {
        "rule": finding.rule,
        "severity": finding.severity,
        "parts": list(finding.parts),
        "at": _point(finding.at),
        "amount_mm": _amount(finding.amount),
        "message": finding.message,
        "remedy": _remedy(finding.remedy),
        "leaf": finding.leaf or None,
        "travel_mm": number(finding.travel),
        "span": [_point(end) for end in finding.span] if finding.span else None,
    }


def _amount(value: float) -> float:
    """A number that is never rounded to 0."""
    rounded = round(value, DECIMALS)
    return rounded if rounded or not value else value


def _remedy(remedy: Remedy | None) -> dict[str, Any] | None:
    if remedy is None:
        return None
    return {"text": remedy.text, "set": [{"key": change.key, "value": change.value} for change in remedy.set]}


SEVERITY_WORDS = {"error": "ERROR", "warning": "WARNING", "note": "NOTE"}


def report_text(report: Report) -> str:
    """The report as lines for the screen, in the user's unit."""

    def amount(value: float | None) -> str:
        return "open" if value is None else format_amount(value, report.units)

    lines = [f"{report.table}: {report.verdict.upper()}", "", "Leaves"]
    for leaf in report.leaves:
        lines.append(
            f"  {leaf.leaf} through {leaf.slot}: {leaf.verdict}, least clearance {amount(leaf.clearance)}"
            f" against {leaf.against} ({leaf.near}) at {amount(leaf.travel)} of its travel"
        )
        for gap in leaf.gaps:
            lines.append(
                f"     {gap.part:>4}: above {amount(gap.above)}, below {amount(gap.below)},"
                f" left {amount(gap.left)}, right {amount(gap.right)}"
            )
        lines.append(
            f"     stowed: {_outer_end(leaf, report.units)}; vertical play {amount(leaf.vertical_play)};"
            f" {amount(leaf.end_gap)} to {leaf.stops_at or 'nothing'}"
        )
    lines += ["", f"Findings: {len(report.findings) or 'none'}"]
    for finding in report.findings:
        lines.append(f"  {SEVERITY_WORDS[finding.severity]} [{finding.rule}] {finding.message}")
        lines.append(f"     at {_place(finding, report.units)}")
        if finding.remedy:
            lines.append(f"     Remedy: {finding.remedy.text}.")
    return "\n".join(lines)


def _outer_end(leaf: LeafResult, units: Units) -> str:
    where = "proud of" if leaf.proud > 0 else "inside"
    return f"outer end {format_amount(abs(leaf.proud), units)} {where} the outer face of {leaf.slot}"


def _place(finding: Finding, units: Units) -> str:
    return ", ".join(
        f"{axis} {format_amount(value, units)}" for axis, value in zip("xyz", finding.at, strict=True)
    )
