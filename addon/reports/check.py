"""A check's report in words and as JSON, and what a rib that came out too long would do."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from ..check.answer import Answer
from ..check.causes import Fitted, Gaps, Stop
from ..check.facts import LeafResult, Place
from ..designs.findings import Finding, Remedy, Report
from ..designs.table.figures import LongRib
from ..designs.words.answer import answer_lines
from ..files.saving import plain
from ..sizes.units import Units, format_amount, format_size

_ROW = "  {:<4} {:<5} {:<13} {:<7} {:<14} {:<36} {:<36} {}"


def long_ribs_text(ribs: Sequence[LongRib], units: Units) -> str:
    """One line a rib and end: what it overlaps, the trim, and which leaf stops in each way to fit it."""

    def amount(value: float) -> str:
        return format_amount(value, units)

    def stops(those: tuple[Stop, ...]) -> str:
        return (
            ", ".join(f"{stop.leaf} at {format_size(stop.travel, units)}" for stop in those)
            or "stops no leaf"
        )

    excess = amount(ribs[0].excess) if ribs else ""
    lines = [
        f"What if one rib came out {excess} too long?",
        "  (a) Windows in place: it seats on one end, and the excess overlaps the neighbor at the other.",
        f"  (b) Forced in: its row is pressed toward that neighbor, and its windows go along by {excess}.",
        "  (c) Pushing: its row is pressed the other way, and the excess pushes the neighbor and all beyond it.",
        "  (d) Evenly: every joint of its row gives alike.",
        _ROW.format(
            "Rib",
            "End",
            "Overlaps",
            "Trim",
            "(a) in place",
            "(b) forced in, at travel",
            "(c) pushing, at travel",
            "(d) evenly, at travel",
        ),
    ]
    for rib in ribs:
        lines.append(
            _ROW.format(
                rib.rib,
                rib.end,
                f"{rib.neighbor} by {amount(rib.overlap)}",
                amount(rib.trim),
                ", ".join(rib.stopped) or "stops no leaf",
                stops(rib.forced.stops),
                stops(rib.pushing.stops),
                stops(rib.evenly.stops),
            )
        )
    return "\n".join(lines)


def long_ribs_document(ribs: Sequence[LongRib]) -> list[dict[str, Any]]:
    """The same as plain data; lengths in mm."""
    return plain([_long_rib(rib) for rib in ribs])


def _long_rib(rib: LongRib) -> dict[str, Any]:
    return {
        "rib": rib.rib,
        "end": rib.end,
        "excess_mm": rib.excess,
        "overlaps": rib.neighbor,
        "overlap_mm": rib.overlap,
        "trim_mm": rib.trim,
        "windows_in_place": {"stops": list(rib.stopped)},
        "forced_in": _fitted(rib, rib.forced),
        "pushing": _fitted(rib, rib.pushing),
        "evenly": _fitted(rib, rib.evenly),
    }


def _fitted(rib: LongRib, way: Fitted) -> dict[str, Any]:
    return {"windows_move_mm": abs(dict(way.shifts).get(rib.rib, 0.0)), "stops": _stops(way.stops)}


def _stops(those: tuple[Stop, ...]) -> list[dict[str, Any]]:
    return [
        {
            "leaf": stop.leaf,
            "travel_mm": stop.travel,
            "depth_mm": stop.depth,
        }
        for stop in those
    ]


def report_document(report: Report) -> dict[str, Any]:
    """The report as plain data for JSON.

    `units` is the unit of all lengths in it, always mm; `shown_in` is the unit of the sentences. Lengths that are
    none (an opening that runs out of its part's end) are null.
    """
    return plain(
        {
            "table": report.name,
            "units": "mm",
            "shown_in": report.units,
            "verdict": report.verdict,
            **answer_document(report.answers.table),
            "leaves": [_leaf(leaf, report.answers.leaves[leaf.leaf]) for leaf in report.leaves],
            "findings": [finding_document(finding) for finding in report.findings],
            "accepted": [accepted_document(finding) for finding in report.accepted],
        }
    )


def answer_document(answer: Answer) -> dict[str, Any]:
    """The three lines as plain data; shares from 0 to 1, null what was not worked out."""
    drawn, shop, hand = answer.as_drawn, answer.in_shop, answer.by_hand
    return {
        "as_drawn": {"verdict": drawn.verdict, "clearance_mm": drawn.clearance},
        "in_shop": None
        if shop is None
        else {
            "share": shop.share.value,
            "of": shop.share.of,
            "worst_mm": shop.worst,
            "worst_case_mm": shop.worst_case,
        },
        "by_hand": {
            "verdict": hand.verdict,
            "steer_mm": hand.steer,
            "share": None if hand.guides is None else hand.guides.value,
        },
    }


def _leaf(leaf: LeafResult, answer: Answer) -> dict[str, Any]:
    return {
        "leaf": leaf.leaf,
        **answer_document(answer),
        "slot": leaf.slot,
        "verdict": leaf.verdict,
        "clearance_mm": leaf.clearance,
        "against": leaf.against,
        "travel_mm": leaf.travel,
        "at": leaf.at,
        "near": leaf.near,
        "gaps_mm": {gap.part: _gaps(gap) for gap in leaf.gaps},
        "vertical_play_mm": leaf.vertical_play,
        "proud_mm": leaf.proud,
        "end_gap_mm": leaf.end_gap,
        "stops_at": leaf.stops_at,
        "span": leaf.span or None,
    }


def _gaps(gap: Gaps) -> dict[str, Any]:
    return {
        "above": gap.above,
        "below": gap.below,
        "left": gap.left,
        "right": gap.right,
        "entry_chamfer": gap.entry_chamfer,
        "exit_chamfer": gap.exit_chamfer,
    }


def finding_document(finding: Finding) -> dict[str, Any]:
    """One finding for `--json`."""
    return {
        "rule": finding.rule,
        "severity": finding.severity,
        "parts": list(finding.parts),
        "at": finding.at,
        "amount_mm": finding.amount,
        "message": finding.message,
        "places": [_place_document(place) for place in finding.places],
        "remedy": None if finding.remedy is None else _remedy(finding.remedy),
        "remedies": [_remedy(remedy) for remedy in finding.remedies],
        "leaf": finding.leaf or None,
        "travel_mm": finding.travel,
        "span": finding.span or None,
    }


def accepted_document(finding: Finding) -> dict[str, Any]:
    """One finding that is accepted, for `--json`: with the reason, and by how much it was then."""
    return {**finding_document(finding), "reason": finding.reason, "accepted_mm": finding.accepted_at}


def _place_document(place: Place) -> dict[str, Any]:
    return {
        "parts": list(place.parts),
        "at": place.at,
        "amount_mm": place.amount,
        "leaf": place.leaf or None,
        "travel_mm": place.travel,
        "span": place.span or None,
    }


def _remedy(remedy: Remedy) -> dict[str, Any]:
    return {
        "text": remedy.text,
        "set": [{"key": change.key, "value": change.value} for change in remedy.set],
        "share_after": remedy.share_after,
        "cost": remedy.cost or None,
    }


SEVERITY_WORDS = {"error": "ERROR", "warning": "WARNING", "note": "NOTE"}


def report_text(report: Report, details: bool = False) -> str:
    """The report as lines for the screen, in the user's unit: the answer first, then the findings, gravest first.

    Parameters
    ----------
    details : also each leaf: its own three lines, gaps and play
    """
    lines = [report.name, *_three_lines(report.answers.table, report.units)]
    lines += ["", f"Findings: {len(report.findings) or 'none'}"]
    for finding in report.findings:
        lines += _finding_lines(finding, report.units)
    lines += accepted_lines(report.accepted, report.units)
    if details:
        for leaf in report.leaves:
            lines += ["", f"{leaf.leaf} through {leaf.slot}"]
            lines += _three_lines(report.answers.leaves[leaf.leaf], report.units)
            lines += _leaf_lines(leaf, report.units)
    return "\n".join(lines)


def _three_lines(answer: Answer, units: Units) -> list[str]:
    return [f"  {name[0].upper()}{name[1:]:<11} {words}" for name, words in answer_lines(answer, units)]


def accepted_lines(accepted: Sequence[Finding], units: Units) -> list[str]:
    """What is accepted, each with its reason; no line where nothing is."""
    lines = ["", f"Accepted: {len(accepted)}"] if accepted else []
    for finding in accepted:
        at = "" if finding.accepted_at is None else f" at {format_amount(finding.accepted_at, units)}"
        lines += _finding_lines(finding, units)
        lines.append(f"     Accepted{at}: {finding.reason}")
        if finding.severity == "error":
            lines.append("     It blocks the table all the same: accepting a finding changes no fact.")
    return lines


def _finding_lines(finding: Finding, units: Units) -> list[str]:
    places = len(finding.others)
    more = f", and {places} more {'place' if places == 1 else 'places'}" if places else ""
    lines = [
        f"  {SEVERITY_WORDS[finding.severity]} [{finding.rule}] {finding.message}",
        f"     at {_place(finding, units)}{more}",
    ]
    return lines + [f"     Remedy: {remedy.text}." for remedy in finding.remedies]


def _leaf_lines(leaf: LeafResult, units: Units) -> list[str]:
    def amount(value: float | None) -> str:
        return "open" if value is None else format_amount(value, units)

    nothing = leaf.stops_at or "nothing"
    ahead = "open" if leaf.end_gap is None else format_size(leaf.end_gap, units)
    return [
        f"  nearest to {leaf.against} ({leaf.near}) at {format_size(leaf.travel, units)} of its travel",
        *(
            f"  {gap.part:>5}: above {amount(gap.above)}, below {amount(gap.below)},"
            f" left {amount(gap.left)}, right {amount(gap.right)}"
            for gap in leaf.gaps
        ),
        f"  stowed: {_outer_end(leaf, units)}; vertical play {amount(leaf.vertical_play)}; {ahead} to {nothing}",
    ]


def _outer_end(leaf: LeafResult, units: Units) -> str:
    where = "proud of" if leaf.proud > 0 else "inside"
    return f"outer end {format_size(abs(leaf.proud), units)} {where} the outer face of {leaf.slot}"


def _place(finding: Finding, units: Units) -> str:
    return ", ".join(
        f"{axis} {format_size(value, units)}" for axis, value in zip("xyz", finding.at, strict=True)
    )
