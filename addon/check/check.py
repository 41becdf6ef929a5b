"""The check of a table: from the assembly to verdicts and findings."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from ..designs.table import build
from ..sizes.tolerances import CONTACT
from ..sizes.units import format_amount
from ..wood.roles import RIB
from .clearance.kernel import static_overlaps
from .drawn_way import slide_leaves
from .findings import SEVERITIES, Finding, Report
from .lengths import long_parts, short_parts
from .more_room import for_meeting
from .prepared import prepare
from .remedies import as_drawn, for_long_part, for_overlap
from .spans import span_of_overlap
from .stowed import stowed_findings
from .together import meetings_at_once

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ..designs.table.parameters import Table
    from ..wood.assembly import Assembly, StowPath
    from .clearance.kernel import Overlap
    from .drawn_way import Meeting
    from .findings import LeafResult, Rule, Verdict
    from .lengths import LongPart, ShortPart, Stop
    from .prepared import Prepared


def check(table: Table, assembly: Assembly | None = None) -> Report:
    """Slide every leaf home, look for overlaps and gaps, and say what to change.

    Raises ParameterError, AsCutError or PartError for what cannot be built.
    """
    return check_prepared(table, prepare(assembly or build(table)))


def check_prepared(table: Table, prepared: Prepared) -> Report:
    """`check` of an assembly whose pieces are worked out already."""
    findings: list[Finding] = []
    results: list[LeafResult] = []
    judged = slide_leaves(prepared, table.limits.min_clearance)
    for path, (result, meetings) in zip(prepared.assembly.stow_paths, judged, strict=True):
        results.append(result)
        findings += [_meeting(table, prepared, path, meeting) for meeting in meetings]
        findings += stowed_findings(prepared, table, path, result)
    overlaps = _between_fixed_parts(prepared)
    findings += _overlap_findings(table, prepared, overlaps)
    findings += [
        _short(table, prepared, short) for short in short_parts(prepared, table.limits.fit_allowance)
    ]
    findings += meetings_at_once(prepared, table)
    findings.sort(key=lambda finding: (-SEVERITIES.index(finding.severity), finding.rule, finding.parts))
    return Report(table.name, table.units, _verdict(results, overlaps), tuple(results), tuple(findings))


def _verdict(results: list[LeafResult], overlaps: list[Overlap]) -> Verdict:
    """From interference and the leaves' clearance alone."""
    verdicts = {result.verdict for result in results}
    if overlaps or "blocked" in verdicts:
        return "blocked"
    return "tight" if "tight" in verdicts else "clear"


def _between_fixed_parts(prepared: Prepared) -> list[Overlap]:
    """Overlaps of parts that stay in place; leaves are judged by their slides."""
    parts = prepared.assembly.parts
    found = static_overlaps(prepared.scene)
    return [one for one in found if not (parts[one.a].role.slides or parts[one.b].role.slides)]


def _meeting(table: Table, prepared: Prepared, path: StowPath, meeting: Meeting) -> Finding:
    remedy = for_meeting(table, prepared, path, meeting)
    amount = format_amount(abs(meeting.clearance), table.units)
    travel = format_amount(round(meeting.travel, 4) + 0.0, table.units)
    of_part = f"{meeting.part} ({meeting.near})"
    parts = (meeting.part, meeting.leaf)
    if meeting.clearance < -CONTACT:
        message = (
            f"{of_part} stands {amount} in the way of {meeting.leaf} and stops it at {travel} of its travel."
        )
        return Finding(
            "leaf-blocked",
            "error",
            parts,
            meeting.at,
            -meeting.clearance,
            message,
            remedy,
            meeting.leaf,
            meeting.travel,
            meeting.span,
        )
    message = f"{meeting.leaf} passes {of_part} with {amount} at {travel} of its travel."
    if meeting.clearance <= CONTACT:
        message = f"{meeting.leaf} is touching {of_part} from {travel} of its travel."
    return Finding(
        "leaf-tight", "warning", parts, meeting.at, max(meeting.clearance, 0.0), message, remedy, meeting.leaf,
        meeting.travel, meeting.span,
    )  # fmt: skip


def _overlap_findings(table: Table, prepared: Prepared, overlaps: list[Overlap]) -> Iterator[Finding]:
    """Ends that are too long are explained as such, all other overlaps as they are."""
    explained = set()
    parts = prepared.assembly.parts
    spans = {frozenset((parts[one.a].label, parts[one.b].label)): span_of_overlap(one) for one in overlaps}
    for long in long_parts(prepared, overlaps):
        explained |= {(long.part, long.neighbor), (long.neighbor, long.part)}
        yield replace(_long(table, prepared, long), span=spans[frozenset((long.part, long.neighbor))])
    for found in overlaps:
        a, b = parts[found.a], parts[found.b]
        if (a.label, b.label) in explained:
            continue
        place = (float(found.place[0]), float(found.place[1]), float(found.place[2]))
        depth = format_amount(found.depth, table.units)
        message = f"{a.label} ({a.name}) and {b.label} ({b.name}) overlap by {depth}."
        remedy = for_overlap(table, prepared, found)
        yield Finding(
            "overlap",
            "error",
            (a.label, b.label),
            place,
            found.depth,
            message,
            remedy,
            span=span_of_overlap(found),
        )


def _long(table: Table, prepared: Prepared, long: LongPart) -> Finding:
    def amount(value: float) -> str:
        return format_amount(value, table.units)

    part = prepared.assembly.by_label[long.part]
    rule: Rule = "long-rib" if part.role == RIB else "long-part"
    words = [
        f"{long.part} is {amount(long.excess)} too long at its {long.end}"
        f" and overlaps {long.neighbor} by {amount(long.overlap)}"
    ]
    if long.passages:
        words.append(f"the excess stands in the way of {' and '.join(long.passages)}")
    forced = _stops_in_words(table, long.forced)
    pushing = _stops_in_words(table, long.pushing)
    words.append(f"forced in against {long.neighbor} it shifts by {amount(long.excess)} and {forced}")
    words.append(f"pushing {long.neighbor} aside it {pushing}")
    stops = (*long.forced, *long.pushing)
    worst = max(stops, key=lambda stop: stop.depth, default=None)
    return Finding(
        rule=rule,
        severity="error",
        parts=(long.part, long.neighbor),
        at=long.at,
        amount=long.excess,
        message="; ".join(words) + ".",
        remedy=for_long_part(table, prepared.assembly, long),
        leaf=worst.leaf if worst else "",
        travel=worst.travel if worst else None,
    )


def _stops_in_words(table: Table, stops: tuple[Stop, ...]) -> str:
    if not stops:
        return "stops no leaf"
    each = [f"{stop.leaf} at {format_amount(stop.travel, table.units)} of its travel" for stop in stops]
    return f"stops {' and '.join(each)}"


def _short(table: Table, prepared: Prepared, short: ShortPart) -> Finding:
    rule: Rule = "short-rib" if prepared.assembly.by_label[short.part].role == RIB else "short-part"
    gap = format_amount(short.gap, table.units)
    message = f"{short.part} ends {gap} before {short.neighbor} at its {short.end}: the joint stays open."
    remedy = as_drawn(table, prepared.assembly, (short.part, short.neighbor))
    return Finding(rule, "warning", (short.part, short.neighbor), short.at, short.gap, message, remedy)
